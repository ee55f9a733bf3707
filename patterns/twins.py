"""What of a pattern has no twin on the other side of a centre line: outline, holes, marks, glue lines, allowances.

Figures and station marks, which only describe a curve, need none; nor does a note that names a line it stands on.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

import numpy as np
from msgspec import Struct

from patterns.affine import Points
from patterns.crossings import nearest_to_each
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import Problem
from patterns.outline import signed_area
from patterns.pattern import Pattern, Role, Stroke
from patterns.symmetry import ALIKE_MM, CentreLine
from patterns.wording import key_in_words, quoted

STEPS = 16
"""Each Bézier is looked at in so many places."""
NEARBY_MM = 100.0
"""What is further off than this was never meant as a twin."""
ON_LINE_MM = 1.2
"""A note this near to a line stands on it and says what it is: half the small cross that is drawn for it."""
MOST_TOLD = 6
"""More reasons than this tell a maker nothing new."""

_EDGE = re.compile(r"edges\.(\w+)")
_MARK = re.compile(r"mark\[\d+\]$")
_ALLOWANCE = re.compile(r"edges\.(\w+)\.(?:leave|fit|round_over)$")


class Miss(Struct, frozen=True):
    """A thing without a twin: by how much the nearest misses (mm; endless where there is none), and the words for it.

    ``shape`` says that it is the boundary itself.
    """

    by: float
    problem: Problem
    shape: bool = False


def is_hole(stroke: Stroke) -> bool:
    """Whether a cut line goes round a hole by itself; one that a glue line parts is outline."""
    return stroke.role is Role.CUT and stroke.curve.is_closed and signed_area(stroke.curve) < 0.0


def boundary_of(pattern: Pattern) -> list[Stroke]:
    """The cut lines of the boundary, in order."""
    return [stroke for stroke in pattern.strokes if stroke.role is Role.CUT and not is_hole(stroke)]


def misses(pattern: Pattern, line: CentreLine, display: Display) -> list[Miss]:
    """Everything without a twin, the outline first; empty where the one half is the other's mirror image."""
    place = f"part {quoted(pattern.part)}"
    if pattern.name != pattern.part:
        place += pattern.name.removeprefix(pattern.part)
    search = _Search(pattern, line, display, place)
    return [*search.outline(), *search.holes(), *search.points(), *search.behind()]


def told(found: Sequence[Miss], place: str) -> list[Problem]:
    """The problems, not more of them than anyone reads."""
    problems = list(dict.fromkeys(miss.problem for miss in found))
    if len(problems) <= MOST_TOLD:
        return problems
    return [*problems[: MOST_TOLD - 1], Problem(place, f"{len(problems) - MOST_TOLD + 1} more such differences")]


class _Item(Struct, frozen=True, eq=False):
    """Something that stands at a point or between two, shape (1 or 2, 2); only what is of one kind can be twins."""

    key: str
    kind: str
    points: Points


class _Apart(Struct, frozen=True, eq=False):
    """A stretch of the boundary whose reflection is off it: by how much, the point where (mm), and what lies across."""

    off: float
    at: Points
    number: int
    twin: int


class _Search(Struct, frozen=True, eq=False):
    pattern: Pattern
    line: CentreLine
    display: Display
    place: str

    # ---------------------------------------------------------------- outline

    def outline(self) -> list[Miss]:
        """Stretches of the boundary that differ, told once for two that should be twins; then what is said of them."""
        strokes = boundary_of(self.pattern)
        chain = Curve.chain(stroke.curve for stroke in strokes)
        ends = np.cumsum([len(stroke.curve) for stroke in strokes])
        t = np.arange(len(chain) * STEPS) / STEPS + 0.5 / STEPS
        t = np.sort(np.concatenate([t, np.arange(len(chain) + 1.0)]))
        points = chain.point(t)
        foot, off = nearest_to_each(chain, self.line.over.apply(points))
        owner = np.minimum(np.searchsorted(ends, t, side="right"), len(strokes) - 1)
        found: list[_Apart] = []
        alike: list[tuple[int, int]] = []
        for k in range(len(strokes)):
            mine = np.flatnonzero(owner == k)
            worst = mine[off[mine].argmax()]
            middle = foot[mine[len(mine) // 2]]
            twin = int(min(np.searchsorted(ends, middle, side="right"), len(strokes) - 1))
            if off[worst] > ALIKE_MM:
                found.append(_Apart(float(off[worst]), points[worst], k, twin))
            else:
                alike.append((k, twin))
        return self._shapes(found, strokes) + self._allowances(alike, strokes)

    def _shapes(self, found: list[_Apart], strokes: Sequence[Stroke]) -> list[Miss]:
        """The worst first; what differs in the same place, or in its reflection, is one difference."""
        groups: list[list[_Apart]] = []
        for one in sorted(found, key=lambda each: -each.off):
            folded = self._folded(one.at)
            near = (group for group in groups if math.dist(folded, self._folded(group[0].at)) <= 2.0 * group[0].off)
            group = next(near, None)
            if group is None:
                groups.append([one])
            else:
                group.append(one)
        return [self._shape(group, strokes) for group in groups]

    def _shape(self, group: Sequence[_Apart], strokes: Sequence[Stroke]) -> Miss:
        """One difference, told of the corner or cut that makes it rather than of the edge beside that."""
        off, at = group[0].off, group[0].at
        told = next((one for one in group if _is_worked(strokes[one.number].key)), group[0])
        key, twin = strokes[told.number].key, strokes[told.twin].key
        apart = f"up to {self.display.amount(off)} apart"
        apart += "" if _is_worked(key) else f", at {self._point(at)}"
        if key == twin:
            words = f"its two halves are no mirror images in the {self.line.lie} centre line: {apart}"
        elif _is_worked(key) and not _is_worked(twin):
            words = f"has no twin on the other side of the {self.line.lie} centre line: {apart}"
        else:
            words = f"is no mirror image of {key_in_words(twin)} in the {self.line.lie} centre line: {apart}"
        return Miss(off, self._problem(key, words), shape=True)

    def _point(self, at: Points) -> str:
        return f"[{self.display.length(at[0])}, {self.display.length(at[1])}]"

    def _folded(self, at: Points) -> Points:
        """The point, or its reflection: whichever lies before the line."""
        return at if at[self.line.axis] <= self.line.at else self.line.over.apply(at)

    def _allowances(self, alike: Sequence[tuple[int, int]], strokes: Sequence[Stroke]) -> list[Miss]:
        """What is left on an edge, or glued there, and not at its twin."""
        said: dict[str, set[str]] = {}
        for label in self.pattern.labels:
            if match := _ALLOWANCE.match(label.key):
                said.setdefault(match[1], set()).add(label.text)
        result = []
        for k, twin in alike:
            mine, other = (self._worked(strokes[n].key, said) for n in (k, twin))
            for words in sorted(mine - other):
                what = f'has "{words}", and {key_in_words(strokes[twin].key)} across the centre line has not'
                result.append(Miss(0.0, self._problem(strokes[k].key, what)))
        return result

    def _worked(self, key: str, said: dict[str, set[str]]) -> set[str]:
        if key.startswith("glue"):
            return {"glue line"}
        match = _EDGE.match(key)
        return said.get(match[1], set()) if match else set()

    # ---------------------------------------------------------------- holes

    def holes(self) -> list[Miss]:
        """Holes without a twin of their shape."""
        holes = [stroke for stroke in self.pattern.strokes if is_hole(stroke)]
        samples = [hole.curve.point(np.arange(len(hole.curve) * STEPS) / STEPS) for hole in holes]
        off = np.array(
            [
                [float(nearest_to_each(other.curve, self.line.over.apply(mine))[1].max()) for other in holes]
                for mine in samples
            ]
        ).reshape(len(holes), len(holes))
        off = np.maximum(off, off.T)
        return self._without([hole.key for hole in holes], off)

    # ---------------------------------------------------------------- marks and lines

    def points(self) -> list[Miss]:
        """Centre marks, lines, notes, ends of round-overs and glue lines."""
        items = [*self._marks(), *self._lines()]
        off = np.full((len(items), len(items)), np.inf)
        for i, mine in enumerate(items):
            reflected = self.line.over.apply(mine.points)
            for j, other in enumerate(items):
                if mine.kind == other.kind:
                    ways = (other.points, other.points[::-1])
                    off[i, j] = min(float(np.hypot(*(reflected - way).T).max()) for way in ways)
        return self._without([item.key for item in items], off)

    # ---------------------------------------------------------------- what is behind a panel's outline

    def behind(self) -> list[Miss]:
        """Inside arrises, fingers and rabbets of a panel, told once for each edge."""
        lines = self.pattern.behind
        if not lines:
            return []
        points = np.array([(one.start, one.end) for one in lines])
        over = self.line.over.apply(points.reshape(-1, 2)).reshape(points.shape)
        off = np.full((len(lines), len(lines)), np.inf)
        kinds = np.array([one.kind for one in lines])
        for kind in dict.fromkeys(kinds):
            those = np.flatnonzero(kinds == kind)
            mine, others = over[those][:, None], points[those][None]
            ways = [np.hypot(*np.moveaxis(mine - way, -1, 0)).max(axis=-1) for way in (others, others[:, :, ::-1])]
            off[np.ix_(those, those)] = np.minimum(*ways)
        lone = {lines[k].key: k for k in np.flatnonzero(off.min(axis=1) > ALIKE_MM)[::-1]}
        words = f"its bevel, fingers or rabbet are no mirror image in the {self.line.lie} centre line"
        return [Miss(float(off[k].min()), self._problem(key, words)) for key, k in lone.items()]

    def _marks(self) -> Iterable[_Item]:
        """Each mark of the maker's. A note on a centre mark makes that mark another kind than one without."""
        groups: dict[str, list[Stroke]] = {}
        for stroke in self.pattern.strokes:
            if _MARK.match(stroke.key):
                groups.setdefault(stroke.key, []).append(stroke)
        texts = {label.key.removesuffix(".text"): label for label in self.pattern.labels if label.key.endswith(".text")}
        middles = {key: _middle(strokes) for key, strokes in groups.items()}
        centres = [key for key, strokes in groups.items() if strokes[0].role is Role.CENTRE]
        on_centre: dict[str, list[str]] = {key: [] for key in centres}
        for key, label in texts.items():
            if key not in groups and centres:
                nearest = min(centres, key=lambda each: math.dist(middles[each], label.at))
                on_centre[nearest].append(label.text)
        for key, strokes in groups.items():
            if key in on_centre:
                yield _Item(key, f"centre {sorted(on_centre[key])}", middles[key][None])
            elif len(strokes) == 1:
                yield _Item(key, "line", np.array([strokes[0].curve.start, strokes[0].curve.end]))
            elif not self._stands_on_a_line(middles[key], groups.values()):
                yield _Item(key, f"note {texts[key].text if key in texts else ''}", middles[key][None])

    def _stands_on_a_line(self, at: Points, marks: Iterable[list[Stroke]]) -> bool:
        lines = [one[0] for one in marks if len(one) == 1]
        lines += [stroke for stroke in self.pattern.strokes if stroke.role is Role.GLUE]
        return any(float(nearest_to_each(one.curve, at[None])[1][0]) <= ON_LINE_MM for one in lines)

    def _lines(self) -> Iterable[_Item]:
        """Glue lines, and the ticks between which an edge is rounded over."""
        for stroke in self.pattern.strokes:
            if stroke.role is Role.GLUE:
                yield _Item(stroke.key, "glue", np.array([stroke.curve.start, stroke.curve.end]))
            elif ".round_over." in stroke.key:
                yield _Item(stroke.key, "round_over", stroke.curve.start[None])

    # ---------------------------------------------------------------- in words

    def _without(self, keys: Sequence[str], off: Points) -> list[Miss]:
        """What of several has none among them; ``off[i, j]`` is how far j is from the reflection of i (mm)."""
        result = []
        nearest = off.argmin(axis=1) if len(keys) else []
        for i, j in enumerate(nearest):
            by = float(off[i, j])
            if by <= ALIKE_MM or (nearest[j] == i and j < i):
                continue
            result.append(Miss(by, self._problem(keys[i], self._lone(by, "" if i == j else _named(keys[j])))))
        return result

    def _lone(self, by: float, other: str) -> str:
        lie = self.line.lie
        if by > NEARBY_MM:
            return f"has no twin on the other side of the {lie} centre line"
        if other:
            return (
                f"has no twin on the other side of the {lie} centre line; {other} misses by {self.display.amount(by)}"
            )
        return f"is {self.display.amount(by / 2)} off the {lie} centre line, and has no twin on its other side"

    def _problem(self, key: str, words: str) -> Problem:
        return Problem(f"{self.place}, {_named(key)}", words)


def _is_worked(key: str) -> bool:
    return key.startswith(("corners", "cut"))


def _named(key: str) -> str:
    edge = key.partition(".round_over.")
    return f"{key_in_words(edge[0])}, round_over, {edge[2]}" if edge[1] else key_in_words(key)


def _middle(strokes: Sequence[Stroke]) -> Points:
    boxes = np.array([stroke.curve.bounds for stroke in strokes])
    middle: Points = (boxes[:, :2].min(axis=0) + boxes[:, 2:].max(axis=0)) / 2
    return middle
