"""The line of one edge from its first station to its last: sweeps, straight runs between them and steps."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec.structs import replace

from patterns.blank import Blank, Edge
from patterns.curve import Curve
from patterns.display import Display
from patterns.edgewarnings import edge_warnings
from patterns.errors import PatternError, Problem
from patterns.piece import AllowanceSpec, EdgeSpec
from patterns.stationtable import SAME_STATION_MM
from patterns.stretch import Stretch, StretchKind
from patterns.sweep import Swept, swept

Point = tuple[float, float]


def edge_line(edge: Edge, spec: EdgeSpec | None, blank: Blank, display: Display) -> tuple[list[Stretch], list[Problem]]:
    """The stretches of an edge in the part's coordinates, in the order of the boundary, and warnings.

    Raises PatternError with all that is wrong with the edge.
    """
    allowance = spec.allowance if spec else AllowanceSpec()
    sweeps = _sweeps(edge, spec, blank, display) if spec else []
    line = _Line(edge, allowance, spec.place if spec else "", bool(sweeps))
    for item in sweeps:
        line.add(item)
    line.finish()
    stretches = [stretch.transformed(edge.to_part) for stretch in line.stretches]
    if not edge.forward:
        stretches = [stretch.turned_round() for stretch in reversed(stretches)]
    return stretches, edge_warnings(sweeps, spec.place if spec else "", edge, display)


def _sweeps(edge: Edge, spec: EdgeSpec, blank: Blank, display: Display) -> list[Swept]:
    """All sweeps of the edge by their first station. Raises PatternError for what is wrong, overlaps among it."""
    found: list[Swept] = []
    problems: list[Problem] = []
    for k, sweep in enumerate(spec.sweeps):
        key = f"edges.{edge.name}" if len(spec.sweeps) == 1 else f"edges.{edge.name}[{k}]"
        try:
            found += swept(sweep, key, edge, blank, display)
        except PatternError as error:
            problems += error.problems
    found.sort(key=lambda item: (item.first, item.last))
    problems += _overlaps(found, display)
    if problems:
        raise PatternError(problems)
    return found


def _overlaps(found: Sequence[Swept], display: Display) -> list[Problem]:
    problems = []
    for before, after in pairwise(found):
        shared = before.last - after.first
        if shared > SAME_STATION_MM:
            names = " and ".join(_named(item) for item in (before, after))
            where = f"from {display.length(after.first)} to {display.length(min(before.last, after.last))}"
            problems.append(Problem(after.spec.place, f"{names} overlap {where}; let one end where the other begins"))
    return problems


def _named(item: Swept) -> str:
    """The last of the sweep's place ("sweep 2", "edges.top"), and whether it is the reflection."""
    name = item.spec.place.rpartition(", ")[2]
    return f"the reflection of {name}" if item.stretch.key.endswith("/mirror") else name


class _Line:
    """Collects the stretches of an edge in its own coordinates, filling in what lies between the sweeps."""

    def __init__(self, edge: Edge, allowance: AllowanceSpec, place: str, has_sweeps: bool) -> None:
        self.edge = edge
        self.allowance = allowance
        self.place = place
        self.has_sweeps = has_sweeps
        self.stretches: list[Stretch] = []
        self.here: Point | None = (0.0, 0.0)
        self._straights = 0
        self._steps = 0

    def add(self, item: Swept) -> None:
        """A sweep, after whatever leads up to it."""
        curve = item.stretch.curve
        start = (float(curve.start[0]), float(curve.start[1]))
        if not (item.at_start and not self.stretches):
            self._lead_to(start)
        self.stretches.append(replace(item.stretch, allowance=self.allowance))
        self.here = None if item.at_end else (float(curve.end[0]), float(curve.end[1]))

    def finish(self) -> None:
        """The straight rest of the edge."""
        if self.here is not None:
            self._lead_to((self.edge.length, 0.0))

    def _lead_to(self, target: Point) -> None:
        here = self.here or (self.edge.length, 0.0)
        if target[0] - here[0] > SAME_STATION_MM:
            self._line(here, (here[0], 0.0))
            self._line((here[0], 0.0), (target[0], 0.0))
            here = (target[0], 0.0)
        self._line(here, target)

    def _line(self, start: Point, end: Point) -> None:
        along, deep = abs(end[0] - start[0]), abs(end[1] - start[1])
        if max(along, deep) <= SAME_STATION_MM:
            return
        kind: StretchKind = "straight" if along > deep else "step"
        key = f"edges.{self.edge.name}"
        if kind == "step":
            self._steps += 1
            key = f"{key}/step {self._steps}"
        elif self.has_sweeps:
            self._straights += 1
            key = f"{key}/straight {self._straights}"
        curve = Curve.line(start, end)
        length = curve.length
        self.stretches.append(
            Stretch(key, self.edge.name, kind, curve, span=length, allowance=self.allowance, place=self.place)
        )
