"""Why the curve of a table leaves its blank: a smooth curve swings past the points that it runs through."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from patterns.blank import Blank, Edge
from patterns.display import Display
from patterns.errors import Problem
from patterns.piece import Given, SweepSpec
from patterns.stationtable import from_start
from patterns.stretch import Stretch

LEAVES_MM = 0.001
"""A curve has left its blank when it is further outside than this: the tolerance of an arc."""

Row = tuple[Given, Given]


def swinging_out(
    sweep: SweepSpec,
    stretch: Stretch,
    blank: Blank,
    amount: float,
    past: Edge,
    point: Sequence[float],
    display: Display,
) -> Problem:
    """That the curve of a table is outside the blank by ``amount`` (mm) at ``point`` (mm), past an edge.

    Told are the rows on either side, the cause and what would mend it.
    """
    edge = blank.edge(stretch.edge) or past
    station = edge.from_part.point(*point)[0]
    first, last = (from_start(sweep.table[k][0], sweep, edge) for k in (0, -1))
    turned = sweep.mirror and not first <= station <= last
    station = edge.length - station if turned else station
    rows = _beside(station, sweep, edge)
    at = station if past is edge else past.from_part.point(*point)[0]
    where = f"by {display.amount(amount)} past the {past.name} edge at station {display.length(at)}"
    for row in rows:
        if _is_outside(row, sweep, edge, past, blank, turned):
            words = f"the point {_written(row)} lies outside: the curve leaves the blank {where}; move it in"
            return Problem(row[1].place, f"{words}, or make the blank larger")
    noun = "readings" if sweep.form == "measured" else "points"
    swings = f"between the {noun} {' and '.join(map(_written, rows))} the smooth curve swings past them"
    clamped = ', or take ends = "clamped"' if sweep.ends == "natural" else ""
    deeper = "let the table lie deeper" if past is edge and sweep.table_is == "depths" else "make the blank larger"
    words = f"{swings} and leaves the blank {where}; give a point more there{clamped}, or {deeper}"
    return Problem(sweep.place, words)


def _beside(station: float, sweep: SweepSpec, edge: Edge) -> tuple[Row, Row]:
    """The rows of the table on either side of a station (mm from the edge's start)."""
    pairs = list(pairwise(sweep.table))
    return next((pair for pair in pairs if from_start(pair[1][0], sweep, edge) > station), pairs[-1])


def _is_outside(row: Row, sweep: SweepSpec, edge: Edge, past: Edge, blank: Blank, turned: bool) -> bool:
    """Whether a row of the table, or its reflection, lies itself past an edge of the blank."""
    depth = row[1].value
    opposite = blank.opposite(edge)
    if sweep.table_is == "heights" and opposite is not None:
        depth = edge.from_part.point(*opposite.start)[1] - depth
    station = from_start(row[0], sweep, edge)
    place = edge.to_part.point(edge.length - station if turned else station, depth)
    return past.from_part.point(*place)[1] < -LEAVES_MM


def _written(row: Row) -> str:
    return f"[{row[0].written}, {row[1].written}]"
