"""From the checked tables of a pattern file to a Piece: sizes in force, every value worked out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from patterns.filemodel import FileTable
from patterns.formula import names_in
from patterns.measure import Quantity, Units
from patterns.memory import FORGETFUL, Memory
from patterns.mistakes import Mistakes
from patterns.names import bare_name, fault_of_name
from patterns.partmodel import PartTable
from patterns.piece import PartSpec, Piece
from patterns.resolve_blank import names_of, resolve_blank
from patterns.resolve_details import clean
from patterns.resolve_features import resolve_features
from patterns.sizes import resolve_sizes
from patterns.tables import item_places
from patterns.values import PlacedReading, Values
from patterns.wording import inside, quoted

if TYPE_CHECKING:
    from patterns.carcass.spec import Carcass

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
    parts: list[PartSpec | None] = []
    carcass, panels = _carcass(table, values)
    if len(table.part) > MOST_PARTS:
        mistakes.broke("part", f"there are {len(table.part)} parts; {MOST_PARTS} is the most")
    elif not table.part and table.carcass is None:
        mistakes.add("part", "is missing; a piece has at least one part, under [[part]], or a [carcass]")
    else:
        _check_part_names(table.part, places, panels, mistakes)
        parts = [_kept_part(part, place, values, memory) for part, place in zip(table.part, places, strict=True)]
    piece = Piece(
        title=table.title,
        units=table.units,
        parts=(*panels, *(part for part in parts if part is not None)),
        sizes=sizes,
        about=table.about,
        revision=table.revision,
        date=table.date,
        carcass=carcass,
    )
    return Resolved(piece, tuple(values.readings))


def _carcass(table: FileTable, values: Values) -> tuple[Carcass | None, tuple[PartSpec, ...]]:
    """The carcass with the parts that it makes; nothing where there is none, or a mistake in it."""
    if table.carcass is None:
        return None, ()
    from patterns.carcass.parts import carcass_of  # late: few files have one

    return carcass_of(table.carcass, values) or (None, ())


def _check_texts(table: FileTable, values: Values) -> None:
    fault = fault_of_name(table.title)
    if fault is not None:
        values.mistakes.broke("title", fault)
    clean(table.about, "about", values, lines=True)
    clean(table.revision, "revision", values)
    clean(table.date, "date", values)


def _check_part_names(
    parts: Sequence[PartTable], places: Sequence[str], panels: Sequence[PartSpec], mistakes: Mistakes
) -> None:
    """Tells names that can't be used, and names that differ only in case, accents, spaces or signs."""
    first: dict[str, int] = {}
    taken = {bare_name(panel.name) for panel in panels}
    for k, (part, place) in enumerate(zip(parts, places, strict=True)):
        where = inside(place, "name")
        fault = fault_of_name(part.name)
        if fault is not None:
            mistakes.broke(where, fault)
            continue
        if bare_name(part.name) in taken:
            mistakes.add(where, f"{quoted(part.name)} is the name of a part of the carcass; every part needs its own")
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
    features = resolve_features(table, names_of(table.blank), place, values)
    if blank is None:
        return None
    return PartSpec(
        name=table.name,
        place=place,
        blank=blank,
        quantity=table.quantity,
        opposite_hand=_opposite_hand(table, place, values),
        **features,
    )


def _opposite_hand(table: PartTable, place: str, values: Values) -> int:
    """How many are of the opposite hand: not all of them, since the part is then drawn the wrong way round."""
    if table.opposite_hand and table.opposite_hand >= table.quantity:
        what = f"{table.opposite_hand} of the opposite hand are not fewer than the quantity, {table.quantity}"
        remedy = "quantity counts both hands" if table.quantity > 1 else "give quantity = 2 for a pair"
        values.mistakes.add(inside(place, "opposite_hand"), f"{what}; {remedy}")
    return table.opposite_hand
