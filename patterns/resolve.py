"""From the checked tables of a pattern file to a Piece: sizes in force, every value worked out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from patterns.filemodel import FileTable, PartTable, Value
from patterns.formula import names_in
from patterns.measure import Quantity, Units
from patterns.memory import FORGETFUL, Memory
from patterns.mistakes import Mistakes
from patterns.names import bare_name, fault_of_name
from patterns.piece import Given, GrainDirection, PartSpec, Piece
from patterns.resolve_blank import names_of, resolve_blank
from patterns.resolve_details import clean, resolve_corners, resolve_cut, resolve_hole, resolve_mark
from patterns.resolve_edges import check_rising, resolve_edges
from patterns.sizes import resolve_sizes
from patterns.tables import item_places
from patterns.values import PlacedReading, Values
from patterns.wording import inside, nearest, quoted

MOST_PARTS = 500
"""A piece of more parts was not written by hand."""


class Resolved(Struct, frozen=True):
    """A piece with those of its parts that are free of mistakes, and how its values were read."""

    piece: Piece
    readings: tuple[PlacedReading, ...]


class _Made(Struct, frozen=True):
    """A part that was worked out without a mistake, and what it follows from: its table and the sizes in its formulas."""

    table: PartTable
    units: Units
    sizes: Mapping[str, Quantity]
    spec: PartSpec
    readings: Sequence[PlacedReading]

    def holds(self, table: PartTable, values: Values) -> bool:
        """Whether the part comes to the same again."""
        same = all(values.names.get(name) == size for name, size in self.sizes.items())
        return same and not values.broken and self.units == values.units and self.table == table


def resolve(table: FileTable, overrides: Mapping[str, str], mistakes: Mistakes, memory: Memory = FORGETFUL) -> Resolved:
    """Works out every value of the file, ``overrides`` in place of sizes. Mistakes are told to ``mistakes``."""
    values = Values(table.units, mistakes)
    _check_texts(table, values)
    sizes = resolve_sizes(table.sizes, overrides, values)
    places = item_places("part", "part", "part", list(table.part))
    parts = []
    if len(table.part) > MOST_PARTS:
        mistakes.broke("part", f"there are {len(table.part)} parts; {MOST_PARTS} is the most")
    elif not table.part:
        mistakes.add("part", "is missing; a piece has at least one part, under [[part]]")
    else:
        _check_part_names(table.part, places, mistakes)
        parts = [_kept_part(part, place, values, memory) for part, place in zip(table.part, places, strict=True)]
    piece = Piece(
        title=table.title,
        units=table.units,
        parts=tuple(part for part in parts if part is not None),
        sizes=sizes,
        about=table.about,
        revision=table.revision,
        date=table.date,
    )
    return Resolved(piece, tuple(values.readings))


def _check_texts(table: FileTable, values: Values) -> None:
    fault = fault_of_name(table.title)
    if fault is not None:
        values.mistakes.broke("title", fault)
    clean(table.about, "about", values, lines=True)
    clean(table.revision, "revision", values)
    clean(table.date, "date", values)


def _check_part_names(parts: Sequence[PartTable], places: Sequence[str], mistakes: Mistakes) -> None:
    """Tells names that can't be used, and names that differ only in case, accents, spaces or signs."""
    first: dict[str, int] = {}
    for k, (part, place) in enumerate(zip(parts, places, strict=True)):
        where = inside(place, "name")
        fault = fault_of_name(part.name)
        if fault is not None:
            mistakes.broke(where, fault)
            continue
        other = first.setdefault(bare_name(part.name), k)
        if other != k:
            same = "is" if parts[other].name == part.name else "is too like"
            what = f"{quoted(part.name)} {same} the name of part {other + 1}, {quoted(parts[other].name)}"
            mistakes.add(where, f"{what}; every part needs a name of its own")


def _kept_part(table: PartTable, place: str, values: Values, memory: Memory) -> PartSpec | None:
    """The part as it was made before where it comes to the same; else it is made, and remembered if it is sound."""
    key = ("part table", place)
    made: _Made | None = memory.last(key)
    if made is None or not made.holds(table, values):
        first, marks = len(values.readings), values.mistakes.marks
        spec = _sound_part(table, place, values)
        if spec is None or values.mistakes.marks != marks:
            return spec
        readings = values.readings[first:]
        used = frozenset[str]().union(*(names_in(placed.reading.written) for placed in readings))
        sizes = {name: size for name, size in values.names.items() if name in used}
        made = _Made(table, values.units, sizes, spec, readings)
    else:
        values.readings += made.readings
    memory.put(key, made)
    return made.spec


def _sound_part(table: PartTable, place: str, values: Values) -> PartSpec | None:
    """The part, or None where there is a mistake in it."""
    part = _part(table, place, values)
    return None if values.mistakes.touch(place) else part


def _part(table: PartTable, place: str, values: Values) -> PartSpec | None:
    blank = resolve_blank(table.blank, inside(place, "blank"), values)
    edge_names, corner_names = names_of(table.blank) or (None, None)
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
    thickness = values.optional_length(table.thickness, inside(place, "thickness"), "positive")
    grain = _grain(table.grain, inside(place, "grain"), values)
    glue_lines = _glue_lines(table, place, values)
    wood = clean(table.wood, inside(place, "wood"), values)
    notes = tuple(clean(note, inside(place, f"note {k + 1}"), values, lines=True) for k, note in enumerate(table.notes))
    if blank is None:
        return None
    return PartSpec(
        name=table.name,
        place=place,
        blank=blank,
        quantity=table.quantity,
        opposite_hand=_opposite_hand(table, place, values),
        thickness=thickness,
        wood=wood,
        grain=grain,
        edges=edges,
        cuts=tuple(cut for cut in cuts if cut is not None),
        corners=corners,
        holes=tuple(hole for hole in holes if hole is not None),
        marks=tuple(mark for mark in marks if mark is not None),
        glue_lines=glue_lines,
        shape=table.shape,
        notes=notes,
    )


def _opposite_hand(table: PartTable, place: str, values: Values) -> int:
    """How many are of the opposite hand: not all of them, since the part is then drawn the wrong way round."""
    if table.opposite_hand and table.opposite_hand >= table.quantity:
        what = f"{table.opposite_hand} of the opposite hand are not fewer than the quantity, {table.quantity}"
        remedy = "quantity counts both hands" if table.quantity > 1 else "give quantity = 2 for a pair"
        values.mistakes.add(inside(place, "opposite_hand"), f"{what}; {remedy}")
    return table.opposite_hand


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


def _glue_lines(table: PartTable, place: str, values: Values) -> tuple[Given, ...]:
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
