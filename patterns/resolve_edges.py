"""The edges of a part, worked out: sweeps that replace stretches of them, and what is left on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Literal

from patterns.partmodel import EdgeTable, EndsValue, Pair, RoundOverTable, Value
from patterns.piece import AllowanceSpec, EdgeSpec, Ends, Given, RoundOverSpec, SweepSpec
from patterns.tables import given_keys
from patterns.values import Values
from patterns.wording import inside, listed, named_place, quoted, rather

Form = Literal["arch", "points", "heights", "measured"]

ALLOWANCES = ("leave", "fit", "round_over")
FORMS: dict[Form, tuple[str, ...]] = {
    "arch": ("rise", "radius", "end_radius", "arch_to"),
    "points": ("stations_from", "ends"),
    "heights": ("stations_from", "ends"),
    "measured": ("within", "leave_out", "stations_from", "ends"),
}
"""For each form of sweep the keys that go with it; mirror, from and to go with all of them."""

LEAST_ROWS = {"points": 2, "heights": 2, "measured": 4}
"""Two points make a line; a measured table needs more points than a curve that passes them all exactly."""

TABLE_ROW: dict[str, tuple[str, str]] = {
    "points": ("station", "depth"),
    "heights": ("station", "height"),
    "measured": ("station", "depth"),
}


def resolve_edges(
    edges: Mapping[str, EdgeTable | list[EdgeTable]],
    names: Sequence[str] | None,
    place: str,
    values: Values,
) -> tuple[EdgeSpec, ...]:
    """Every edge that the file says something of. ``names`` are the blank's edges, None where the blank is broken."""
    specs = []
    for name, said in edges.items():
        where = named_place(inside(place, "edges"), name)
        if names is not None and name not in names:
            values.mistakes.broke(where, f"the blank has no edge {quoted(name)}; {rather(name, names)}")
        tables = said if isinstance(said, list) else [said]
        places = [inside(where, f"sweep {k + 1}") for k in range(len(tables))] if isinstance(said, list) else [where]
        specs.append(_edge(name, tables, places, where, values))
    return tuple(specs)


def _edge(name: str, tables: Sequence[EdgeTable], places: Sequence[str], place: str, values: Values) -> EdgeSpec:
    sweeps, allowance = [], AllowanceSpec()
    said: dict[str, str] = {}
    for table, where in zip(tables, places, strict=True):
        sweep = _sweep(table, where, values)
        if sweep is not None:
            sweeps.append(sweep)
        for key in given_keys(table):
            if key in ALLOWANCES and said.setdefault(key, where) != where:
                values.mistakes.add(inside(where, key), f"is said twice for this edge, first in {_last(said[key])}")
        allowance = _merged(allowance, _allowance(table, where, values))
    if not tables:
        values.mistakes.add(place, "is an empty list; leave the edge out, or give it a sweep")
    return EdgeSpec(name, place, tuple(sweeps), allowance)


def _merged(one: AllowanceSpec, other: AllowanceSpec) -> AllowanceSpec:
    return AllowanceSpec(one.leave or other.leave, one.fit or other.fit, one.round_over or other.round_over)


def _allowance(table: EdgeTable, place: str, values: Values) -> AllowanceSpec:
    leave = values.optional_length(table.leave, inside(place, "leave"), "positive")
    round_over = None
    if table.round_over is not None:
        round_over = _round_over(table.round_over, inside(place, "round_over"), values)
    return AllowanceSpec(leave, table.fit, round_over)


def _round_over(table: RoundOverTable, place: str, values: Values) -> RoundOverSpec | None:
    radius = values.length(table.radius, inside(place, "radius"), "positive")
    start, end = stretch_of(table.from_, table.to, place, values)
    return None if radius is None else RoundOverSpec(radius, table.faces, start, end)


def stretch_of(start: Value | None, end: Value | None, place: str, values: Values) -> tuple[Given | None, Given | None]:
    """The stations ``from`` and ``to``, told where they do not follow each other."""
    first = values.optional_length(start, inside(place, "from"))
    last = values.optional_length(end, inside(place, "to"))
    if first is not None and last is not None and last.value <= first.value:
        values.mistakes.add(last.place, f"{last.written} is not beyond from = {first.written}")
    return first, last


# -------------------------------------------------------------------- sweeps


def _sweep(table: EdgeTable, place: str, values: Values) -> SweepSpec | None:
    """The sweep, or None where there is none or it has no form."""
    given = [key for key in given_keys(table) if key not in ALLOWANCES]
    form = _form(given, place, values)
    if form is None:
        return None
    _check_keys(form, given, place, values)
    start, end = stretch_of(table.from_, table.to, place, values)
    rows = {"points": table.points, "heights": table.heights, "measured": table.measured}.get(form) or []
    stretches = values.pairs(table.leave_out or [], inside(place, "leave_out"), ("from", "to"), "stretch")
    _check_stretches(stretches, values)
    return SweepSpec(
        form=form,
        place=place,
        start=start,
        end=end,
        mirror=table.mirror,
        arch=table.arch or "",
        rise=values.optional_length(table.rise, inside(place, "rise"), "positive"),
        radius=values.optional_length(table.radius, inside(place, "radius"), "positive"),
        end_radius=values.optional_length(table.end_radius, inside(place, "end_radius"), "positive"),
        arch_to=table.arch_to or "edge",
        table=_table(rows, form, place, values) if form != "arch" else (),
        table_is="heights" if form == "heights" else "depths",
        stations_from=table.stations_from or "start",
        within=values.optional_length(table.within, inside(place, "within"), "positive"),
        leave_out=stretches,
        ends=resolve_ends(table.ends, inside(place, "ends"), values),
    )


def _form(given: Sequence[str], place: str, values: Values) -> Form | None:
    forms: list[Form] = [form for form in FORMS if form in given]
    if len(forms) > 1:
        what = f"a sweep has one form, not {listed(forms, 'and')}; several sweeps on an edge are a list"
        values.mistakes.broke(place, what)
        return None
    told = any(values.mistakes.touch(inside(place, form)) for form in FORMS)
    if not forms and given and not told:
        has, lacks = listed(map(quoted, given), "and"), listed(quoted(form) for form in FORMS)
        values.mistakes.add(place, f"has {has}, but to make a sweep it needs one of {lacks}")
    return forms[0] if forms else None


def _check_keys(form: Form, given: Sequence[str], place: str, values: Values) -> None:
    """Tells keys that do not go with the form, and those that it can't be without."""
    for key in given:
        owners = [quoted(name) for name, keys in FORMS.items() if key in keys]
        if owners and quoted(form) not in owners:
            values.mistakes.broke(inside(place, key), f"does not go with {quoted(form)}, only with {listed(owners)}")
    if form == "measured" and "within" not in given:
        what = 'is missing: how far the curve may pass from a measured point, such as "1/32"'
        values.mistakes.broke(inside(place, "within"), what)
    if form == "arch" and "rise" not in given and "radius" not in given:
        what = "is missing; an arch needs a rise (or a radius, where that defines it)"
        values.mistakes.broke(inside(place, "rise"), what)


def _table(rows: Sequence[Pair], form: Form, place: str, values: Values) -> tuple[tuple[Given, Given], ...]:
    where = inside(place, form)
    if len(rows) < LEAST_ROWS[form]:
        values.mistakes.broke(where, f"has {len(rows)} of the {LEAST_ROWS[form]} points that it needs at least")
    table = values.pairs(rows, where, TABLE_ROW[form])
    check_rising([station for station, _ in table], values)
    return table


def check_rising(stations: Sequence[Given], values: Values, noun: str = "station") -> None:
    """Tells every figure that is not beyond the one before it, both with their places."""
    for before, after in pairwise(stations):
        if after.value > before.value:
            continue
        fault = "repeats" if after.value == before.value else "comes before"
        what = f"{after.written} {fault} {before.written} ({_last(before.place)}); {noun}s must rise"
        values.mistakes.add(after.place, what)


def _last(place: str) -> str:
    """The last numbered step of a place: ``point 3`` of ``..., points, point 3, station``."""
    return place.split(", ")[-2] if place.split(", ")[-1] in {"station", "x", "from"} else place.split(", ")[-1]


def _check_stretches(stretches: Sequence[tuple[Given, Given]], values: Values) -> None:
    for first, last in stretches:
        if last.value <= first.value:
            values.mistakes.add(last.place, f"{last.written} is not beyond from = {first.written}")


def resolve_ends(ends: EndsValue | None, place: str, values: Values) -> Ends:
    """How a curve arrives at its ends; natural where nothing is said or what is said is wrong."""
    if ends is None or isinstance(ends, str):
        return ends or "natural"
    return values.angles(ends, place) or "natural"
