"""A box from measurements: whatever lengths, widths, diagonals and slopes a rule gave, usually more than are needed.

The unknowns are the plan at the bottom (outside), the height, and the splays; walls across from each other lean alike
unless one of them is measured by itself. They are those that fit all measurements with the least squares. Where there are
more than enough, each measurement is left out in turn: one that the others contradict is named as the likely misreading,
and left out. Where there are too few, the measurement that settles most of what is open is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from patterns.carcass.box import WallName
from patterns.carcass.figures import length_reader, of_walls
from patterns.carcass.measures import Figure, Shape, figures, names_alike
from patterns.carcass.model import CarcassTable, MeasuredTable, PlanTable, WallsTable
from patterns.display import Display
from patterns.errors import Problem
from patterns.values import Values
from patterns.wording import inside, listed, quoted, rather

Reals = NDArray[np.float64]

SURE_MM = 25.4 / 8
"""A measurement that the others contradict by less than this may just be inexact. Common practice, no source."""
SURE_TIMES = 4.0
"""A misreading stands out from the rest by so many times what is left over in them."""
CONTRADICT_MM = 25.4 / 4
"""What measurements of one piece may differ from any box by; more, and something else is wrong with them."""
LEAST_SURE = 1e-5
"""A direction in which the unknowns move without moving any measurement by this share is open."""

_USUAL_MM = 300.0

LEAST_LEAN = 1e-3
"""Walls that lean by less (tangent) may as well stand upright."""
SAME_MM = 1e-6
"""Measurements that agree within this are the same."""


class Reading(Struct, frozen=True):
    """One measurement: what of, the figure that the rule showed (mm; of a slope the tangent times the height is), how it
    follows from the shape, and where it stands."""

    of: str
    value: float
    figure: Figure
    is_slope: bool
    written: str
    place: str


class Residual(Struct, frozen=True):
    """A measurement against the solved box: measured less solved (mm); ``left_out`` as the likely misreading. ``perhaps``:
    it contradicts others, and nothing tells which of them was misread."""

    of: str
    written: str
    place: str
    solved: float
    residual: float
    left_out: bool = False
    perhaps: bool = False
    either_way: bool = False
    """It tells how far walls lean, and nothing measured tells which way."""


class Solved(Struct, frozen=True):
    """The box that fits, and how well."""

    shape: Shape
    residuals: tuple[Residual, ...]


# -------------------------------------------------------------------- solving


class _Problem(Struct, frozen=True):
    """The unknowns as a row of numbers: length, width, height, and the tangents of the splays of each group."""

    groups: tuple[tuple[WallName, ...], ...]

    def shape(self, x: Reals) -> Shape:
        splays = {name: math.atan(float(x[3 + k])) for k, group in enumerate(self.groups) for name in group}
        return Shape(float(x[0]), float(x[1]), float(x[2]), splays)

    def values(self, x: Reals, readings: Sequence[Reading]) -> Reals:
        shape = self.shape(x)
        return np.array([reading.figure(shape) for reading in readings])

    def residuals(self, x: Reals, readings: Sequence[Reading]) -> Reals:
        shape = self.shape(x)
        wanted = [reading.value * (shape.height if reading.is_slope else 1.0) for reading in readings]
        result: Reals = self.values(x, readings) - np.array(wanted)
        return result

    def solve(self, readings: Sequence[Reading], start: Reals) -> Reals:
        from scipy.optimize import least_squares  # late: it takes as long to import as all the rest

        scale = np.array([_USUAL_MM] * 3 + [1.0] * len(self.groups))
        found = least_squares(
            lambda y: self.residuals(y * scale, readings),
            start / scale,
            method="trf",
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        result: Reals = found.x * scale
        return result

    def slopes(self, x: Reals, readings: Sequence[Reading]) -> Reals:
        """How the residuals move with the unknowns (m, n), tangents counted as a move of the top by the height."""
        rows = []
        for k in range(len(x)):
            step = np.zeros(len(x))
            step[k] = 1e-4 * (1.0 if k < 3 else 1.0 / max(x[2], 1.0))
            rows.append((self.residuals(x + step, readings) - self.residuals(x - step, readings)) / 2e-4)
        return np.array(rows).T


def _start(readings: Sequence[Reading], groups: Sequence[object]) -> Reals:
    """Something near: what was measured of the plan and the height, the rest as usual."""
    known = {reading.of: reading.value for reading in readings if not reading.is_slope}
    longest = max(known.values(), default=_USUAL_MM)
    length = known.get("bottom length", known.get("top length", longest * 0.9))
    width = known.get("bottom width", known.get("top width", longest * 0.5))
    slants = [value for of, value in known.items() if of.startswith(("slant", "corner"))]
    height = known.get("height", min(slants, default=longest * 0.5))
    return np.array([length, width, height, *[0.1] * len(groups)])


def open_directions(problem: _Problem, x: Reals, readings: Sequence[Reading]) -> int:
    """In how many directions the unknowns can move without any measurement telling."""
    if not readings:
        return len(x)
    sizes = np.linalg.svd(problem.slopes(x, readings), compute_uv=False)
    return len(x) - int((sizes > LEAST_SURE * max(float(sizes[0]), 1e-12)).sum())


def next_to_measure(problem: _Problem, x: Reals, readings: Sequence[Reading], known: Mapping[str, Figure]) -> list[str]:
    """Measurements that would settle what is open, the one that settles most first."""
    asked: list[str] = []
    have = list(readings)
    usual = ("bottom length", "bottom width", "height", "top width", "top length", "slope of sides", "slope of ends")
    for _ in range(open_directions(problem, x, readings)):
        before = open_directions(problem, x, have)
        best = ("", -1.0)
        for of in usual:
            if of in {one.of for one in have}:
                continue
            more = [*have, Reading(of, 0.0, known[of], of.startswith("slope"), "", "")]
            left = open_directions(problem, x, more)
            sizes = np.linalg.svd(problem.slopes(x, more), compute_uv=False)
            score = (before - left) * 1e6 + float(sizes[min(len(sizes), len(x)) - 1])
            if left < before and score > best[1]:
                best = (of, score)
        if not best[0]:
            break
        asked.append(best[0])
        have.append(Reading(best[0], 0.0, known[best[0]], best[0].startswith("slope"), "", ""))
    return asked


def solved(readings: Sequence[Reading], groups: tuple[tuple[WallName, ...], ...]) -> Solved:
    """The box that fits the readings, the likeliest misreading left out. There have to be enough of them."""
    problem = _Problem(groups)
    x = problem.solve(readings, _start(readings, groups))
    suspects = _suspects(problem, x, readings)
    left_out = suspects[0] if len(suspects) == 1 else None
    if left_out is not None:
        x = problem.solve([one for k, one in enumerate(readings) if k != left_out], x)
    shape = problem.shape(x)
    off = -problem.residuals(x, readings)
    values = problem.values(x, readings)
    either_way = _either_way(problem, x, readings)
    told = tuple(
        Residual(
            one.of,
            one.written,
            one.place,
            float(values[k]),
            float(off[k]),
            k == left_out,
            left_out is None and k in suspects,
            k in either_way,
        )
        for k, one in enumerate(readings)
    )
    return Solved(shape, told)


def _either_way(problem: _Problem, x: Reals, readings: Sequence[Reading]) -> set[int]:
    """Which measurements tell how far walls lean where all of them would be the same if those leaned the other way."""
    found: set[int] = set()
    slopes = problem.slopes(x, readings)
    for k in range(3, len(x)):
        over = x.copy()
        over[k] *= -1.0
        apart = np.abs(problem.residuals(over, readings) - problem.residuals(x, readings)).max()
        if abs(x[k]) > LEAST_LEAN and apart < SAME_MM:
            found |= {j for j in range(len(readings)) if abs(slopes[j, k]) > LEAST_SURE}
    return found


def _suspects(problem: _Problem, x: Reals, readings: Sequence[Reading]) -> tuple[int, ...]:
    """The number of the measurement that the others contradict, empty where none stands out; several numbers where nothing
    tells which of them it is.

    Only where at least two more than are needed agree can one be told from the rest. Even then two measurements can't be
    told apart if without both of them the box would not be settled: each then agrees with the rest if the other is gone.
    """
    spare = len(readings) - len(x)
    if spare < 2 or float(np.abs(problem.residuals(x, readings)).max()) < SURE_MM / 8:
        return ()
    left: list[tuple[float, int, float]] = []
    for k in range(len(readings)):
        others = [one for n, one in enumerate(readings) if n != k]
        if open_directions(problem, x, others):
            continue
        y = problem.solve(others, x)
        rest = problem.residuals(y, others)
        apart = abs(float(problem.residuals(y, [readings[k]])[0]))
        left.append((float((rest**2).sum()), k, apart))
    if not left:
        return ()
    least, number, apart = min(left)
    noise = math.sqrt(least / max(spare - 1, 1))
    if apart <= max(SURE_MM, SURE_TIMES * noise):
        return ()
    rivals = [k for _, k, _ in left if k != number and _settle_only_together(problem, x, readings, (k, number))]
    return tuple(sorted([number, *rivals]))


def _settle_only_together(problem: _Problem, x: Reals, readings: Sequence[Reading], pair: tuple[int, int]) -> bool:
    """Whether the box is open without both of two measurements."""
    return open_directions(problem, x, [one for n, one in enumerate(readings) if n not in pair]) > 0


# -------------------------------------------------------------------- in the pattern file


def as_given(table: CarcassTable, values: Values) -> tuple[CarcassTable, tuple[Residual, ...]] | None:
    """The carcass with plan, height and splay as they follow from its measurements; None where they can't be used."""
    place = inside("carcass", "measured")
    for key in ("plan", "splay"):
        if getattr(table, key) is not None:
            values.mistakes.add(
                inside("carcass", key), "follows from the measurements; leave it out, or add it to them"
            )
    thicknesses = of_walls(table.thickness, inside("carcass", "thickness"), length_reader(values), values)
    if thicknesses is None:
        return None
    thick = {name: given.value for name, given in thicknesses.items()}
    known = {at: figures(thick, at) for at in ("outside", "inside")}
    readings = [
        reading
        for k, one in enumerate(table.measured or [])
        if (reading := _reading(one, inside(place, f"measurement {k + 1}"), known, values)) is not None
    ]
    if len(readings) < len(table.measured or []) or values.mistakes.touch(place):
        return None
    problem = _Problem(names_alike([one.of for one in readings]))
    x = _start(readings, problem.groups)
    if open_directions(problem, x, readings):
        asked = next_to_measure(problem, x, readings, known["outside"])
        values.mistakes.add(place, f"these do not settle the box yet; measure {listed(asked, 'and')} next")
        return None
    found = solved(readings, problem.groups)
    worst = max((one for one in found.residuals if not one.left_out), key=lambda one: abs(one.residual))
    if abs(worst.residual) > CONTRADICT_MM or found.shape.height <= 0.0:
        display = Display(values.units)
        off = display.length(abs(worst.residual))
        what = f"contradict each other: the {worst.of} is {off} off any box that fits the others"
        values.mistakes.add(place, f"{what}; measure again, the diagonals first")
        return None
    return _filled(table, found.shape), found.residuals


def _reading(
    one: MeasuredTable, place: str, known: Mapping[str, Mapping[str, Figure]], values: Values
) -> Reading | None:
    of = " ".join(one.of.casefold().replace("_", " ").split()).removeprefix("the ")
    of = of.replace(" of the ", " of ")
    names = known[one.at]
    if of not in names:
        values.mistakes.broke(inside(place, "of"), f"there is no measure {quoted(one.of)}; {rather(of, names)}")
        return None
    is_slope = of.startswith("slope")
    where = inside(place, "value")
    given = values.angle(one.value, where) if is_slope else values.length(one.value, where, "positive")
    if given is None:
        return None
    value = math.tan(given.value) if is_slope else given.value
    return Reading(of, value, names[of], is_slope, given.written, place)


def _filled(table: CarcassTable, shape: Shape) -> CarcassTable:
    def mm(value: float) -> str:
        return f"{value:.9f} mm"

    splay = {name: f"{math.degrees(lean):.9f} deg" for name, lean in shape.splays.items()}
    return replace(
        table,
        plan=PlanTable(length=mm(shape.length), width=mm(shape.width), at="outside"),
        height=mm(shape.height) if table.height is None else table.height,
        splay=WallsTable(**splay),
        measured=None,
    )


def warnings(residuals: Sequence[Residual], display: Display) -> list[Problem]:
    """The likely misreading, by name; or those among which it is."""
    perhaps = [one for one in residuals if one.perhaps]
    if perhaps:
        names = listed([one.of for one in perhaps], "and")
        what = f"{names} contradict one another, and nothing tells which is misread; measure them again"
        return [Problem(perhaps[0].place, f"{what}, or something else that they would show in")]
    either_way = [one for one in residuals if one.either_way]
    if either_way:
        names = listed([one.of for one in either_way], "and")
        what = f"{names} would be the same if the walls leaned in; outward is taken; measure the top, too"
        return [Problem(either_way[0].place, what)]
    return [
        Problem(
            one.place,
            f"{one.of}: {one.written} is likely a misreading: the others say {_shown(one, display)}; it is left out",
        )
        for one in residuals
        if one.left_out
    ]


def _shown(one: Residual, display: Display) -> str:
    over = " over the height" if one.of.startswith("slope") else ""
    return display.length(one.solved) + over
