"""What the cover of a printed job has to tell: the piece, its patterns on their sheets, what is in force."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from patterns.affine import Affine
from patterns.display import Display
from patterns.measure import Units
from patterns.pattern import Pattern
from tiling.fates import SheetFate
from tiling.form import SheetForm
from tiling.lattice import Lattice, cell_name
from tiling.paper import Paper
from tiling.seams import Seams
from tiling.units import Cell

SheetState = Literal["print", "keep", "join", "left out", "discard"]
"""What becomes of a sheet: printed now; kept from the last printing; printed with marks only, to hold others together;
not needed; or needed no longer, its old print to be thrown away."""


class SheetOnCover(Struct, frozen=True):
    """A sheet of a part's grid; ``word`` is the fingerprint printed on it, empty where none is printed."""

    cell: Cell
    state: SheetState
    word: str = ""
    shared: str = ""
    """The name of the sheet, where several patterns share it."""
    replaces: bool = False
    """Whether it is printed anew, and its old print thrown away."""

    @property
    def name(self) -> str:
        """A1 at the lower left, or the shared sheet's name."""
        return self.shared or cell_name(self.cell)

    @property
    def is_taped(self) -> bool:
        """Whether it is one of the sheets that are taped together."""
        return self.state in ("print", "keep", "join")


class PatternOnCover(Struct, frozen=True, eq=False):
    """A part or board, and its sheets. ``to_drawing`` maps the part's mm to draw units, turn and correction included.

    ``note`` is a line for the maker beneath the picture ("on one sheet with the peg"). ``seams`` tells where the marks
    stand, if it is not where no line comes near.
    """

    pattern: Pattern
    lattice: Lattice
    to_drawing: Affine
    sheets: tuple[SheetOnCover, ...]
    warnings: tuple[str, ...] = ()
    note: str = ""
    seams: Seams | None = None

    @property
    def taped(self) -> tuple[SheetOnCover, ...]:
        """The sheets that are taped together, row by row from the bottom, each from left to right."""
        return tuple(sorted((s for s in self.sheets if s.is_taped), key=lambda s: (s.cell[1], s.cell[0])))

    def in_state(self, *states: SheetState) -> tuple[SheetOnCover, ...]:
        """The sheets that are in one of these states, in the same order."""
        return tuple(sorted((s for s in self.sheets if s.state in states), key=lambda s: (s.cell[1], s.cell[0])))


class CoverFacts(Struct, frozen=True, eq=False):
    """All that stands on the cover. ``sizes`` are (name, value, note) as they are to be read; ``fates`` are what
    becomes of each sheet in a reprint, old and new.

    ``recipe_word`` is the fingerprint of the pattern file and the sizes given with it. ``correction`` says in words what
    printer the pages are made for, empty if for none. ``fresh_sheet_count`` is what a fresh printing would take. ``form``
    is the cover's own; ``printed_on`` the paper of the sheets, where it is another: off a roll. ``member`` is whom of a
    class the sheets are for; ``mirrored``, that they are of the piece's mirror image.
    """

    title: str
    form: SheetForm
    units: Units
    display: Display
    patterns: tuple[PatternOnCover, ...]
    about: str = ""
    revision: str = ""
    date: str = ""
    recipe_word: str = ""
    sizes: tuple[tuple[str, str, str], ...] = ()
    fates: tuple[SheetFate, ...] = ()
    warnings: tuple[str, ...] = ()
    correction: str = ""
    reprint: bool = False
    fresh_sheet_count: int | None = None
    printed_on: Paper | None = None
    member: str = ""
    mirrored: bool = False

    @property
    def paper(self) -> Paper:
        """The paper of the sheets."""
        return self.printed_on or self.form.paper

    def count(self, *states: SheetState) -> int:
        """How many sheets of paper are in one of these states; a shared one counts once."""
        return len({("" if s.shared else p.pattern.slug, s.name) for p in self.patterns for s in p.in_state(*states)})
