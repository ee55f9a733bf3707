"""What to ask about an edge: steps in its line that may not be meant, and readings that look misread."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from patterns.blank import Edge
from patterns.display import Display
from patterns.errors import Problem
from patterns.piece import Given, SweepSpec
from patterns.stationtable import SAME_STATION_MM, from_start
from patterns.sweep import Swept
from patterns.wording import MIRRORED, listed

LEAST_STEP_MM = 0.02
"""A lower step is smaller than a tenth of the cut line's width: nobody could see or saw it."""

Step = tuple[str, str]
"""Place and words of a warning, ``{at}`` standing for where."""


def edge_warnings(sweeps: Sequence[Swept], place: str, edge: Edge, display: Display) -> list[Problem]:
    """Everything to warn of. ``sweeps`` are the edge's in the order of their stations, ``place`` is the edge's own."""
    return [*_step_warnings(sweeps, place, edge, display), *_misread(sweeps, edge, display)]


# -------------------------------------------------------------------- steps


def _step_warnings(sweeps: Sequence[Swept], place: str, edge: Edge, display: Display) -> list[Problem]:
    """Each step that the sweeps leave; where a sweep and its reflection leave the same one, once with all places."""
    found: dict[Step, list[str]] = {}
    for step, station in _steps(sweeps, place, display):
        found.setdefault(step, []).append(_where(station, edge, sweeps, display))
    return [
        Problem(where, words.replace("{at}", listed(dict.fromkeys(places), "and")))
        for (where, words), places in found.items()
    ]


def _where(station: float, edge: Edge, sweeps: Sequence[Swept], display: Display) -> str:
    if any(item.spec.stations_from == "middle" for item in sweeps):
        return f"{display.length(abs(station - edge.length / 2))} from the middle"
    return display.length(station)


def _steps(sweeps: Sequence[Swept], place: str, display: Display) -> Iterator[tuple[Step, float]]:
    """The steps and their stations (mm), from the edge's first station to its last."""
    for before, after in pairwise([None, *sweeps, None]):
        if before and after and after.first - before.last <= SAME_STATION_MM:
            high = abs(after.stretch.curve.start[1] - before.stretch.curve.end[1])
            if high > LEAST_STEP_MM:
                yield (place, _between(before, after, display.amount(float(high)))), before.last
            continue
        if before and not before.at_end:
            yield from _off_edge(before, before.last, float(before.stretch.curve.end[1]), display)
        if after and not after.at_start:
            yield from _off_edge(after, after.first, float(after.stretch.curve.start[1]), display)


def _between(before: Swept, after: Swept, high: str) -> str:
    if before.spec is after.spec:
        return f"between the sweep and its reflection a step of {high} is cut at {{at}}"
    one, other = sorted((_named(item) for item in (before, after)), key=lambda name: (len(name), name))
    return (
        f"between {one} and {other} a step of {high} is cut at {{at}}; give both the same depth there if none is meant"
    )


def _named(item: Swept) -> str:
    return item.spec.place.rpartition(", ")[2]


def _off_edge(item: Swept, station: float, depth: float, display: Display) -> Iterator[tuple[Step, float]]:
    """A sweep that ends off the edge with nothing beside it: its line goes back to the edge at a right angle."""
    if depth <= LEAST_STEP_MM:
        return
    deep = display.amount(depth)
    if item.spec.form == "arch":
        words = f"the arch springs {deep} inside the edge at {{at}}"
    else:
        words = f"the table stops {deep} deep at {{at}}, short of the edge's end"
    words += f": a step of {deep} is cut there, square to the edge; let a neighbour meet it there if none is meant"
    yield (item.spec.place, words), station


# -------------------------------------------------------------------- readings


def _misread(sweeps: Sequence[Swept], edge: Edge, display: Display) -> list[Problem]:
    """Readings that look misread, each once however often its sweep is mirrored."""
    found: list[Problem] = []
    for item in sweeps:
        fitted = item.stretch.fitted
        if fitted is None or item.stretch.key.endswith(MIRRORED):
            continue
        for suspect in fitted.suspects:
            station, reading = _row_at(suspect.station, item.spec, edge)
            problem = Problem(reading.place, _misread_words(station, reading, suspect.expected, display))
            if problem.place not in [other.place for other in found]:
                found.append(problem)
    return found


def _row_at(station: float, spec: SweepSpec, edge: Edge) -> tuple[Given, Given]:
    """The row of the table that stands at a station (mm from the edge's start) or that is reflected there."""
    places = (station, edge.length - station) if spec.mirror else (station,)
    return min(spec.table, key=lambda row: min(abs(from_start(row[0], spec, edge) - at) for at in places))


def _misread_words(station: Given, reading: Given, expected: float, display: Display) -> str:
    wanted = display.length(expected)
    if wanted == display.length(reading.value):
        wanted = f"{display.amount(abs(expected - reading.value))} {'more' if expected > reading.value else 'less'}"
    return (
        f"{reading.written} at {station.written} looks misread: its neighbours ask for {wanted}; measure it again, or "
        "leave its stretch out (leave_out)"
    )
