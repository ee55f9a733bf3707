"""The answer for one size: where in its range a figure is as wanted, and what the shop's rule makes of that."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from msgspec import Struct

from cli import quantities, ranges, roots
from cli.figures import Figure
from cli.ranges import Course, GapFound, Point, Reach
from cli.roots import Jump
from cli.trials import Trials, Untried, own_unit
from patterns.errors import PatternError

if TYPE_CHECKING:
    from patterns.display import Display
    from patterns.piece import Size

SAMPLES = 33
"""Values at which a figure is looked at before its roots are closed in on."""

FINE = 8
"""The ends of a count's range are found to this part of the rule's division."""

ROUND_DEG = 15.0
"""How far an angle without limits may go to either side."""

ROUND_ZERO = 25.0
"""The same for a length of nothing (mm)."""


class Range(Struct, frozen=True):
    """From where to where a size may go (mm, degrees or a number), and whether a limit of the file is missing there."""

    low: float
    high: float
    low_is_supposed: bool = False
    high_is_supposed: bool = False

    @property
    def is_supposed(self) -> bool:
        """Whether either end is."""
        return self.low_is_supposed or self.high_is_supposed


class Choice(Struct, frozen=True):
    """A value of the size (mm, degrees or a number) and what the figure comes to with it; ``why`` not, where it can't."""

    value: float
    figure: float | None
    why: str = ""


class Solution(Struct, frozen=True):
    """A size that gives what is wanted, and the whole divisions of the rule beside it; ``reach`` is that of a count."""

    exact: Choice
    on_the_rule: tuple[Choice, ...]
    reach: Reach | None = None


class Answer(Struct, frozen=True):
    """What came of it. ``solutions`` are nearest to the present size first; without any, ``least`` and ``most`` say how
    far the figure goes, and ``nearest`` where it comes nearest. ``spoilt`` are solutions that another part forbids."""

    size: Size
    figure: Figure
    wanted: float
    now: Choice
    range: Range
    solutions: tuple[Solution, ...]
    least: Point
    most: Point
    nearest: Point
    gaps: tuple[GapFound, ...]
    jumps: tuple[Jump, ...]
    spoilt: tuple[Choice, ...] = ()
    trials: int = 0

    @property
    def never_changes(self) -> bool:
        """Whether the figure is the same whatever the size."""
        return self.most.y - self.least.y <= roots.EXACT * max(1.0, abs(self.most.y))


def range_of(size: Size) -> Range:
    """The limits of a size; where one is missing, half or twice its value, or 15 degrees to either side."""
    here = own_unit(size, size.value)
    if size.kind == "angle":
        low, high = here - ROUND_DEG, here + ROUND_DEG
    elif here == 0.0:
        reach = ROUND_ZERO if size.kind == "length" else 1.0
        low, high = -reach, reach
    else:
        low, high = sorted((here / 2, here * 2))
    least = None if size.least is None else own_unit(size, size.least)
    most = None if size.most is None else own_unit(size, size.most)
    low, high = low if least is None else least, high if most is None else most
    return Range(min(low, here), max(high, here), least is None, most is None)


def solved(trials: Trials, wanted: float, display: Display) -> Answer:
    """Looks for the wanted figure over the whole range of the trials' one size."""
    (size,), (figure,) = trials.sizes, trials.figures
    reach = range_of(size)
    here = own_unit(size, size.value)
    now = Choice(here, _of(trials, here))
    course = ranges.course_of(_function(trials), reach.low, reach.high, SAMPLES, (here,))
    step = quantities.division(size, display, reach.high - reach.low)
    if figure.is_count:
        found = _counts(trials, course, wanted, step, reach)
        jumps: tuple[Jump, ...] = ()
    else:
        result = roots.roots_of(_function(trials), course, wanted)
        found = [_solution(trials, x, step, reach) for x in result.roots]
        jumps = result.jumps
    found.sort(key=lambda one: abs(one.exact.value - here))
    sound = tuple(one for one in found if not one.exact.why)
    spoilt = tuple(one.exact for one in found if one.exact.why)
    least, most, nearest = _ends(trials, course, wanted, bool(sound) or figure.is_count)
    return Answer(
        size, figure, wanted, now, reach, sound, least, most, nearest, course.gaps, jumps, spoilt, trials.count
    )


def _function(trials: Trials) -> ranges.Function:
    return lambda x: trials.at(x)[0]


def _of(trials: Trials, value: float) -> float | None:
    try:
        return trials.at(value)[0]
    except Untried:
        return None


def _ends(trials: Trials, course: Course, wanted: float, by_samples: bool) -> tuple[Point, Point, Point]:
    """The least and the most that the figure comes to, and the nearest to what is wanted; by samples alone where nobody
    asks, or where the figure goes in steps."""
    points = course.points
    if not points:
        raise PatternError.of(f"--vary {trials.sizes[0].name}", course.gaps[0].why)
    if by_samples:
        here = own_unit(trials.sizes[0], trials.sizes[0].value)
        nearest = min(points, key=lambda p: (abs(p.y - wanted), abs(p.x - here)))
        return min(points, key=lambda p: p.y), max(points, key=lambda p: p.y), nearest
    function = _function(trials)

    def lowest(of: Callable[[float], float]) -> Point:
        stretches = tuple(tuple(Point(p.x, of(p.y)) for p in stretch) for stretch in course.stretches)
        x = ranges.least_of(lambda x: of(function(x)), stretches).x
        return Point(x, function(x))

    return lowest(lambda y: y), lowest(lambda y: -y), lowest(lambda y: abs(y - wanted))


def _solution(trials: Trials, x: float, step: float, reach: Range) -> Solution:
    near = [value for value in quantities.beside(x, step) if reach.low <= value <= reach.high]
    return Solution(_proved(trials, x), tuple(_proved(trials, value) for value in near))


def _proved(trials: Trials, value: float) -> Choice:
    """The figure with every part of the piece built."""
    try:
        return Choice(value, trials.proved(value)[0])
    except Untried as error:
        return Choice(value, None, error.why)


def _counts(trials: Trials, course: Course, wanted: float, step: float, within: Range) -> list[Solution]:
    """For each range with the wanted count: its value nearest to the present one, on a whole division where it has one."""
    here = own_unit(trials.sizes[0], trials.sizes[0].value)
    found = []
    for reach in ranges.reaches(_function(trials), course, wanted, step / FINE):
        nearest = reach.nearest_to(here)
        whole = [value for value in quantities.beside(nearest, step) if reach.low <= value <= reach.high]
        on_the_rule = tuple(_proved(trials, value) for value in whole[:1] or whole)
        found.append(Solution(_proved(trials, nearest), on_the_rule, reach))
    return found
