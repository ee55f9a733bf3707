"""The vocabulary of the pattern file as a whole; that of a part is in ``partmodel``, that of a carcass in its own room."""

# No "from __future__ import annotations" here: msgspec would have to evaluate each annotation from its text.

from typing import Annotated

from msgspec import field

from patterns.carcass.model import CarcassTable
from patterns.measure import Units
from patterns.partmodel import PartTable, SizeTable, Table, Value, meaning

FORMAT_VERSION = 1


class FileTable(Table, frozen=True):
    """A pattern file: one piece, in TOML."""

    curvewright: Annotated[int, meaning("Version of the file format.")]
    title: Annotated[str, meaning("What the piece is called.")]
    units: Annotated[Units, meaning("Unit of a figure that is written without one.")]
    about: Annotated[str, meaning("What the piece is for, in a sentence or two.")] = ""
    revision: Annotated[str, meaning("The maker's own word for this state of the file.")] = ""
    date: Annotated[str, meaning("Printed on the cover if it is given.")] = ""
    sizes: Annotated[
        dict[str, SizeTable | Value], meaning("Named numbers, to be used in formulas and changed at will.")
    ] = field(default_factory=dict)
    part: Annotated[list[PartTable], meaning("The parts of the piece, each under [[part]].", item="part")] = field(
        default_factory=list
    )
    carcass: Annotated[
        CarcassTable | None, meaning("Walls that lean and meet at corners: their shapes follow from a few figures.")
    ] = None
