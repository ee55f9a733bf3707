"""What is said of a board whatever gives it its straight-sided shape: sweeps, cuts, corners, holes, marks, grain, wood."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from patterns.partmodel import FeaturesTable, Value
from patterns.piece import Given, GrainDirection
from patterns.resolve_details import clean, resolve_corners, resolve_cut, resolve_hole, resolve_mark
from patterns.resolve_edges import check_rising, resolve_edges
from patterns.values import Values
from patterns.wording import inside, nearest, quoted

LEAST_APART_MM = 70.0
"""A large biscuit is 56 mm long. Common practice, no source."""


def resolve_features(
    table: FeaturesTable,
    names: tuple[tuple[str, ...], tuple[str, ...]] | None,
    place: str,
    values: Values,
    usual_grain: GrainDirection = "along",
) -> dict[str, Any]:
    """The fields of a ``PartSpec`` that follow from the table; ``names`` are those of the blank's edges and corners, None
    where the blank is broken. The grain runs in its usual direction where the table says nothing."""
    edge_names, corner_names = names or (None, None)
    edges = resolve_edges(table.edges, edge_names, place, values)
    cuts = [
        resolve_cut(cut, edge_names, corner_names or (), where, values)
        for cut, where in zip(table.cut, _numbered(place, "cut", table.cut), strict=True)
    ]
    corners = resolve_corners(table.corners, corner_names, place, values)
    holes = [
        resolve_hole(hole, where, values)
        for hole, where in zip(table.hole, _numbered(place, "hole", table.hole), strict=True)
    ]
    marks = [
        resolve_mark(mark, where, values)
        for mark, where in zip(table.mark, _numbered(place, "mark", table.mark), strict=True)
    ]
    return {
        "thickness": values.optional_length(table.thickness, inside(place, "thickness"), "positive"),
        "grain": _grain(usual_grain if table.grain is None else table.grain, inside(place, "grain"), values),
        "glue_lines": _glue_lines(table, place, values),
        "wood": clean(table.wood, inside(place, "wood"), values),
        "notes": tuple(
            clean(note, inside(place, f"note {k + 1}"), values, lines=True) for k, note in enumerate(table.notes)
        ),
        "edges": edges,
        "cuts": tuple(cut for cut in cuts if cut is not None),
        "corners": corners,
        "holes": tuple(hole for hole in holes if hole is not None),
        "marks": tuple(mark for mark in marks if mark is not None),
        "shape": table.shape,
        "biscuits": _biscuits(table, place, values),
    }


def _numbered(place: str, noun: str, rows: Sequence[object]) -> list[str]:
    return [inside(place, f"{noun} {k + 1}") for k in range(len(rows))]


def _grain(value: Value, place: str, values: Values) -> GrainDirection | Given:
    if value == "along":
        return "along"
    if value == "across":
        return "across"
    if isinstance(value, str) and value.isalpha() and value not in values.names:
        near = nearest(value, ("along", "across"))
        hint = f"; the nearest is {quoted(near)}" if near else ""
        values.mistakes.broke(place, f'must be "along", "across" or an angle in degrees, not {quoted(value)}{hint}')
        return "along"
    return values.angle(value, place) or "along"


def _biscuits(table: FeaturesTable, place: str, values: Values) -> Given | None:
    where = inside(place, "biscuits")
    given = values.optional_length(table.biscuits, where, "positive")
    if table.biscuits is not None and not table.glue_lines:
        values.mistakes.add(where, "there is no glue line to set them in; add glue_lines")
    if given is not None and given.value < LEAST_APART_MM:
        values.mistakes.add(
            where, f"{given.written} is less than a biscuit is long; {LEAST_APART_MM:g} mm is the least"
        )
    return given


def _glue_lines(table: FeaturesTable, place: str, values: Values) -> tuple[Given, ...]:
    where = inside(place, "glue_lines")
    lines = [
        values.length(value, inside(where, f"glue line {k + 1}"), "positive")
        for k, value in enumerate(table.glue_lines)
    ]
    rising = tuple(line for line in lines if line is not None)
    check_rising(rising, values, "glue line")
    if table.shape == "before glue" and not table.glue_lines:
        values.mistakes.add(inside(place, "shape"), '"before glue" needs glue_lines: where the boards meet')
    return rising
