"""What becomes of each sheet in a reprint: print it, keep the old one, throw the old one away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from tiling.deal import Dealt
from tiling.form import shared_name
from tiling.recipe import PatternRecord, Recipe
from tiling.sheet import Sheet

STATES = {"print": "print", "keep": "keep", "discard": "throw away"}
"""What becomes of a sheet, and the word for it, on the cover as in the terminal."""

REPLACED = "print, and throw the old one away"
"""What becomes of a sheet that is printed anew."""


class SheetFate(Struct, frozen=True):
    """What becomes of one sheet in a reprint."""

    pattern: str
    name: str
    state: str
    """print, keep or discard"""
    shared: bool = False
    """Whether the sheet is one that several patterns share."""


def count(fates: Iterable[SheetFate], state: str) -> int:
    """How many sheets of paper have this fate; a shared one counts once."""
    return len({("" if fate.shared else fate.pattern, fate.name) for fate in fates if fate.state == state})


def digests_of(record: PatternRecord | None) -> dict[str, str]:
    """The digest of each sheet of an earlier printing by the sheet's name."""
    return {record.layout.lattice.name_of(cell): digest for cell, digest in record.sheets.items()} if record else {}


def is_printed(dealt: Dealt, sheet: Sheet, old: Recipe | None) -> bool:
    """Whether a sheet is not among those of the old job."""
    record = old.of(dealt.pattern.slug) if old else None
    return record is None or digests_of(record).get(dealt.layout.lattice.name_of(sheet.cell)) != sheet.digest


def fates_of(dealt: Sequence[Dealt], old: Recipe | None) -> tuple[SheetFate, ...]:
    """For a reprint: every sheet, old and new, and whether to print it, keep it or throw the old one away."""
    if old is None:
        return ()
    fates: list[SheetFate] = []
    for one in dealt:
        record = old.of(one.pattern.slug)
        before = digests_of(record)
        lattice = one.layout.lattice
        shared = shared_name(lattice.form) != ""
        for sheet in one.sheets:
            name = lattice.name_of(sheet.cell)
            old_digest = before.pop(name, None)
            if old_digest == sheet.digest:
                fates.append(SheetFate(one.pattern.name, name, "keep", shared))
                continue
            if old_digest is not None:
                fates.append(SheetFate(one.pattern.name, name, "discard", shared))
            fates.append(SheetFate(one.pattern.name, name, "print", shared))
        fates += _discarded(record, before)
    slugs = {one.pattern.slug for one in dealt}
    for record in old.patterns:
        if record.slug not in slugs:
            fates += _discarded(record, digests_of(record))
    return tuple(fates)


def _discarded(record: PatternRecord | None, names: Iterable[str]) -> list[SheetFate]:
    if record is None:
        return []
    shared = shared_name(record.layout.lattice.form) != ""
    return [SheetFate(record.name, name, "discard", shared) for name in names]
