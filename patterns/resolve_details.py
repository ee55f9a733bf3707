"""Cuts, corners, holes and marks of a part, worked out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from patterns.names import fault_of_text
from patterns.partmodel import CornerTable, CutTable, HoleTable, MarkTable, Pair, Value
from patterns.piece import CornerSpec, CutSpec, Given, HoleSpec, MarkSpec
from patterns.resolve_edges import resolve_ends
from patterns.tables import given_keys
from patterns.values import Values
from patterns.wording import inside, listed, named_place, quoted, rather


def one_form(given: Sequence[str], forms: Sequence[str], place: str, values: Values) -> str | None:
    """The single form that a table has, or None where it has none or several, which is told.

    One whose value was wrong, and told, counts as none, and nothing more is said.
    """
    found = [form for form in forms if form in given]
    if len(found) == 1:
        return found[0]
    if not found and any(values.mistakes.touch(inside(place, form)) for form in forms):
        return None
    wanted = listed(map(quoted, forms))
    what = f"needs one of {wanted}" if not found else f"has {listed(map(quoted, found), 'and')}; it can be only one"
    values.mistakes.broke(place, what)
    return None


def clean(text: str, place: str, values: Values, lines: bool = False) -> str:
    """The text; what can't be printed in it is told."""
    fault = fault_of_text(text, lines)
    if fault is not None:
        values.mistakes.broke(place, fault)
    return text


# -------------------------------------------------------------------- cuts


def resolve_cut(
    table: CutTable, edges: Sequence[str] | None, corners: Sequence[str], place: str, values: Values
) -> CutSpec | None:
    """A cut, or None where there is a mistake in it. ``edges`` is None where the blank is broken."""
    start_edge, start = _on_edge(table.from_, edges, inside(place, "from"), values)
    end_edge, end = _on_edge(table.to, edges, inside(place, "to"), values)
    known = [*(edges or ()), *corners]
    if edges is not None and table.waste and table.waste not in known:
        what = f"the blank has no edge or corner {quoted(table.waste)}; {rather(table.waste, known)}"
        values.mistakes.broke(inside(place, "waste"), what)
    points = values.pairs(table.points, inside(place, "points"))
    ends = resolve_ends(table.ends, inside(place, "ends"), values)
    name = clean(table.name, inside(place, "name"), values)
    if start is None or end is None:
        return None
    return CutSpec(place, start_edge, start, end_edge, end, points, ends, table.mirror, table.waste, name)


def _on_edge(
    pair: tuple[str, Value], edges: Sequence[str] | None, place: str, values: Values
) -> tuple[str, Given | None]:
    name, station = pair
    if edges is not None and name not in edges:
        values.mistakes.add(inside(place, "edge"), f"the blank has no edge {quoted(name)}; {rather(name, edges)}")
    return name, values.length(station, inside(place, "station"), "not negative")


# -------------------------------------------------------------------- corners


def resolve_corners(
    corners: Mapping[str, CornerTable], names: Sequence[str] | None, place: str, values: Values
) -> tuple[CornerSpec, ...]:
    """Every corner that is shaped. ``names`` are the blank's corners, None where the blank is broken."""
    specs = []
    for name, table in corners.items():
        where = named_place(inside(place, "corners"), name)
        if names is not None and name not in names:
            values.mistakes.broke(where, f"the blank has no corner {quoted(name)}; {rather(name, names)}")
        spec = _corner(name, table, where, values)
        if spec is not None:
            specs.append(spec)
    return tuple(specs)


def _corner(name: str, table: CornerTable, place: str, values: Values) -> CornerSpec | None:
    if one_form(given_keys(table), ("round", "chamfer", "notch"), place, values) is None:
        return None
    if table.notch is not None:
        labels = ("along the edge after", "along the edge before")
        pair = values.pair(table.notch, inside(place, "notch"), labels, "positive")
        return None if pair is None else CornerSpec(place, name, "notch", pair)
    radius = values.optional_length(table.round, inside(place, "round"), "positive")
    setback = values.optional_length(table.chamfer, inside(place, "chamfer"), "positive")
    if radius is not None:
        return CornerSpec(place, name, "round", (radius,))
    return None if setback is None else CornerSpec(place, name, "chamfer", (setback,))


# -------------------------------------------------------------------- holes


def resolve_hole(table: HoleTable, place: str, values: Values) -> HoleSpec | None:
    """A hole, or None where there is a mistake in it."""
    name = clean(table.name, inside(place, "name"), values)
    form = one_form(given_keys(table), ("circle", "elongated", "points"), place, values)
    if form is None:
        return None
    if form == "points":
        return _hole_through_points(table, name, place, values)
    at = _required_at(table.at, f"a hole's middle, at = [x, y], beside {quoted(form)}", place, values)
    if table.circle is not None:
        diameter = values.length(table.circle, inside(place, "circle"), "positive")
        return HoleSpec(place, "circle", at, diameter=diameter, mirror=table.mirror, name=name)
    return _elongated(table, at, name, place, values)


def _elongated(
    table: HoleTable, at: tuple[Given, Given] | None, name: str, place: str, values: Values
) -> HoleSpec | None:
    if table.elongated is None:
        return None
    where = inside(place, "elongated")
    length = values.length(table.elongated.length, inside(where, "length"), "positive")
    width = values.length(table.elongated.width, inside(where, "width"), "positive")
    angle = values.optional_angle(table.elongated.angle, inside(where, "angle"))
    if length is not None and width is not None and length.value <= width.value:
        what = f"{length.written} is not more than the width, {width.written}; for a round hole use circle"
        values.mistakes.broke(length.place, what)
    return HoleSpec(place, "elongated", at, length=length, width=width, angle=angle, mirror=table.mirror, name=name)


def _hole_through_points(table: HoleTable, name: str, place: str, values: Values) -> HoleSpec:
    where = inside(place, "points")
    written = table.points or []
    if table.at is not None:
        values.mistakes.broke(inside(place, "at"), "does not go with points: they say where the hole is")
    if len(written) < 3:
        values.mistakes.broke(where, f"has {len(written)} of the 3 points that a closed curve needs at least")
    points = values.pairs(written, where)
    _check_distinct(points, values)
    return HoleSpec(place, "points", points=points, mirror=table.mirror, name=name)


def _check_distinct(points: Sequence[tuple[Given, Given]], values: Values) -> None:
    """Tells a point that is the same as the one before it (before the first comes the last)."""
    for k, (x, y) in enumerate(points):
        other_x, other_y = points[k - 1]
        if k != (k - 1) % len(points) and (x.value, y.value) == (other_x.value, other_y.value):
            here, other = (place.rsplit(", ", 1)[0] for place in (x.place, other_x.place))
            what = f"[{x.written}, {y.written}] is the same point as {other.rsplit(', ', 1)[-1]}"
            values.mistakes.add(here, f"{what}; the curve closes by itself" if k == 0 else what)


def _required_at(at: Pair | None, what: str, place: str, values: Values) -> tuple[Given, Given] | None:
    if at is None:
        values.mistakes.broke(inside(place, "at"), f"is missing: {what}")
        return None
    return values.pair(at, inside(place, "at"))


# -------------------------------------------------------------------- marks


def resolve_mark(table: MarkTable, place: str, values: Values) -> MarkSpec | None:
    """A mark, or None where there is a mistake in it."""
    form = one_form(given_keys(table), ("centre", "line", "note"), place, values)
    if form is None:
        return None
    if table.note is not None:
        return _note(table, table.note, place, values)
    if table.at is not None:
        values.mistakes.broke(inside(place, "at"), f'goes with "note" only; {form} says itself where it is')
    if table.line is not None:
        return _line(table.line, inside(place, "line"), place, values)
    centre = values.optional_pair(table.centre, inside(place, "centre"))
    return None if centre is None else MarkSpec(place, "centre", (centre,))


def _note(table: MarkTable, text: str, place: str, values: Values) -> MarkSpec | None:
    where = inside(place, "note")
    if not text.strip():
        values.mistakes.broke(where, "is empty; write what the note says")
    at = _required_at(table.at, "where the note stands, at = [x, y]", place, values)
    words = clean(text, where, values)
    return None if at is None else MarkSpec(place, "note", (at,), words)


def _line(line: tuple[Pair, Pair], where: str, place: str, values: Values) -> MarkSpec | None:
    ends = values.pairs(line, where)
    if len(ends) != 2:
        return None
    (x0, y0), (x1, y1) = ends
    if (x0.value, y0.value) == (x1.value, y1.value):
        values.mistakes.broke(where, f"[{x0.written}, {y0.written}] is both ends of it; a line needs a length")
    return MarkSpec(place, "line", ends)
