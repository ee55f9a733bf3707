"""A table of offsets made ready to fit: stations from the edge's start, depths from the edge, both in mm, checked."""

from __future__ import annotations

import math
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from patterns.blank import Blank, Edge
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.piece import Given, SweepSpec

SAME_STATION_MM = 1e-6
"""Stations nearer than this are the same: float noise of formulas, far under what a rule can show."""

Row = tuple[Given, Given]


class StationTable(Struct, frozen=True):
    """``start`` and ``end`` are the slopes of the depth there (None: free); ``left_out`` are stretches of stations.

    ``height`` is that of the edge over the opposite one where the table was given in heights. ``zero`` is the station
    that the maker counts from. A table of both halves is ``mirrored_at`` the middle; ``given_beyond`` says that the
    half past it is the one that was given.
    """

    stations: tuple[float, ...]
    depths: tuple[float, ...]
    start: float | None
    end: float | None
    left_out: tuple[tuple[float, float], ...] = ()
    height: float | None = None
    zero: float = 0.0
    mirrored_at: float | None = None
    given_beyond: bool = False

    def is_reflected(self, station: float) -> bool:
        """Whether a station (mm) is on the half that mirrors the one given."""
        if self.mirrored_at is None:
            return False
        beyond = station - self.mirrored_at
        return (-beyond if self.given_beyond else beyond) > SAME_STATION_MM

    def as_given(self, station: float) -> float:
        """The station (mm) on the half that was given."""
        if self.mirrored_at is not None and self.is_reflected(station):
            return 2 * self.mirrored_at - station
        return station

    def reflected(self, length: float) -> StationTable:
        """The table seen from the other end of an edge ``length`` mm long."""
        stations = tuple(length - s for s in reversed(self.stations))
        start = None if self.end is None else -self.end
        end = None if self.start is None else -self.start
        left_out = tuple((length - b, length - a) for a, b in reversed(self.left_out))
        return replace(self, stations=stations, depths=self.depths[::-1], start=start, end=end, left_out=left_out)

    def reaches(self, station: float) -> bool:
        """Whether the table begins or ends at ``station`` (mm)."""
        return min(abs(self.stations[0] - station), abs(self.stations[-1] - station)) <= SAME_STATION_MM

    def joined_to_reflection(self, length: float) -> StationTable:
        """One table of both halves, for a table that reaches the middle of an edge ``length`` mm long."""
        beyond = self.stations[-1] > length / 2 + SAME_STATION_MM
        left = self.reflected(length) if beyond else self
        right = left.reflected(length)
        stations = left.stations + right.stations[1:]
        depths, left_out = left.depths + right.depths[1:], left.left_out + right.left_out
        table = StationTable(stations, depths, left.start, right.end, left_out, self.height, self.zero)
        return replace(table, mirrored_at=length / 2, given_beyond=beyond)


def from_start(given: Given, spec: SweepSpec, edge: Edge) -> float:
    """A station as given, counted from the edge's start (mm)."""
    return given.value + zero_of(spec, edge)


def zero_of(spec: SweepSpec, edge: Edge) -> float:
    """The station that the sweep counts from (mm from the edge's start)."""
    return edge.length / 2 if spec.stations_from == "middle" else 0.0


def on_edge(given: Given, spec: SweepSpec, edge: Edge, display: Display) -> list[Problem]:
    """The problem of a station that is not on the edge, if it is not."""
    station, length = from_start(given, spec, edge), edge.length
    if -SAME_STATION_MM <= station <= length + SAME_STATION_MM:
        return []
    if spec.stations_from == "middle":
        half = display.at_most(length / 2)
        return [
            Problem(given.place, f"{given.written} is beyond the edge, which reaches {half} to each side of its middle")
        ]
    return [Problem(given.place, f"{given.written} is beyond the edge, which runs from 0 to {display.at_most(length)}")]


def table_of(spec: SweepSpec, edge: Edge, blank: Blank, display: Display) -> StationTable:
    """The sweep's table, ready to fit. Raises PatternError with all that is wrong in it."""
    height = _height_over_opposite(spec, edge, blank)
    problems = [problem for row in spec.table for problem in on_edge(row[0], spec, edge, display)]
    problems += _order_problems(spec) or _range_problems(spec, display)
    if not spec.mirror or problems:
        pass
    elif spec.table and _spans_middle(spec, edge):
        middle = display.at_most(edge.length / 2)
        past = f"the table reaches past the middle of the edge ({middle}), where its reflection begins"
        words = f"{past}; end it there, or take mirror out"
        problems.append(Problem(spec.place, words))
    problems += [p for row in spec.table for p in _depth_problems(row[1], height, display)]
    if problems:
        raise PatternError(problems)
    start, end = _slopes(spec, edge, height)
    stations = tuple(from_start(station, spec, edge) for station, _ in spec.table)
    depths = tuple(value.value if height is None else height - value.value for _, value in spec.table)
    left_out = tuple((from_start(a, spec, edge), from_start(b, spec, edge)) for a, b in spec.leave_out)
    return StationTable(stations, depths, start, end, left_out, height, zero_of(spec, edge))


def _height_over_opposite(spec: SweepSpec, edge: Edge, blank: Blank) -> float | None:
    """How far the edge is from the one opposite (mm), where the table gives heights. Raises PatternError if unknown."""
    if spec.table_is != "heights":
        return None
    other = blank.opposite(edge)
    if other is None:
        why = "of a polygon" if blank.spec.kind == "polygon" else "whose opposite edge is not parallel to it"
        raise PatternError.of(
            spec.place, f"heights can't be measured on an edge {why}; give depths (points) from the edge itself"
        )
    return edge.from_part.point(*other.start)[1]


def _order_problems(spec: SweepSpec) -> list[Problem]:
    if len(spec.table) < 2:
        return [Problem(spec.place, f"a table needs at least two rows, not {len(spec.table)}")]
    problems = []
    for (before, _), (station, _) in pairwise(spec.table):
        if abs(station.value - before.value) <= SAME_STATION_MM:
            words = f"{station.written} repeats the station before it ({before.written}); each station stands once"
            problems.append(Problem(station.place, words))
        elif station.value < before.value:
            words = f"{station.written} comes after {before.written}: list the stations from least to greatest"
            problems.append(Problem(station.place, words))
    return problems


def _range_problems(spec: SweepSpec, display: Display) -> list[Problem]:
    """A table must say what happens from ``from`` to ``to``."""
    problems = []
    for limit, row, verb in ((spec.start, spec.table[0], "starts"), (spec.end, spec.table[-1], "ends")):
        if limit is not None and abs(limit.value - row[0].value) > SAME_STATION_MM:
            at = f"{limit.written}: the table {verb} at {row[0].written}"
            words = f"{at}; give a row at {limit.written}, or leave this out"
            problems.append(Problem(limit.place, words))
    return problems


def _depth_problems(value: Given, height: float | None, display: Display) -> list[Problem]:
    if height is None and value.value < 0:
        return [
            Problem(value.place, f"{value.written} would be outside the blank: a depth goes into it and is 0 or more")
        ]
    if height is not None and value.value > height + SAME_STATION_MM:
        over = display.amount(value.value - height)
        most = display.at_most(height)
        return [Problem(value.place, f"{value.written} is {over} above the edge; {most} is the most")]
    if height is not None and value.value < 0:
        return [Problem(value.place, f"{value.written} would be below the opposite edge; a height is 0 or more")]
    return []


def _spans_middle(spec: SweepSpec, edge: Edge) -> bool:
    middle = edge.length / 2
    first, last = (from_start(spec.table[k][0], spec, edge) for k in (0, -1))
    return first < middle - SAME_STATION_MM and last > middle + SAME_STATION_MM


def _slopes(spec: SweepSpec, edge: Edge, height: float | None) -> tuple[float | None, float | None]:
    """The slopes of the depth at the table's ends. Raises PatternError for an upright end or a kink at the middle."""
    if spec.ends == "natural":
        return None, None
    if spec.ends == "clamped":
        return 0.0, 0.0
    problems = []
    for given in spec.ends:
        if abs(given.value) >= math.radians(89):
            words = f"{given.written} is too steep: a table has one depth at each station; a cut can turn upright"
            problems.append(Problem(given.place, words))
    middle = edge.length / 2
    for given, row in zip(spec.ends, (spec.table[0], spec.table[-1]), strict=True):
        at_middle = abs(from_start(row[0], spec, edge) - middle) <= SAME_STATION_MM
        if spec.mirror and at_middle and abs(given.value) > 1e-12:
            words = f"{given.written}: the halves join smoothly in the middle, so the curve is level there (0)"
            problems.append(Problem(given.place, words))
    if problems:
        raise PatternError(problems)
    sign = 1.0 if height is None else -1.0
    first, last = spec.ends
    return sign * math.tan(first.value), sign * math.tan(last.value)
