"""The lattice of sheets over a pattern, and the sheets' names."""

from __future__ import annotations

import re

from msgspec import Struct

from tiling.form import AnyForm, SlotForm
from tiling.units import Cell


class Lattice(Struct, frozen=True):
    """Sheets of one form laid edge to edge; ``phase`` is the lower-left corner of the core of sheet A1, in draw units.

    What lies in a slot of a shared sheet has a lattice of which only A1 is used.
    """

    form: AnyForm
    phase: tuple[int, int]

    def core(self, cell: Cell) -> tuple[int, int, int, int]:
        """(x0, y0, x1, y1) between the seams."""
        across, up = self.form.step
        x, y = self.phase[0] + cell[0] * across, self.phase[1] + cell[1] * up
        return x, y, x + across, y + up

    def window(self, cell: Cell) -> tuple[int, int, int, int]:
        """(x0, y0, x1, y1) of what the sheet shows: the core and half an overlap all round."""
        x0, y0, x1, y1 = self.core(cell)
        half = self.form.overlap // 2
        return x0 - half, y0 - half, x1 + half, y1 + half

    def name_of(self, cell: Cell) -> str:
        """The name of a sheet: A1 at the lower left, or that of the shared sheet."""
        return self.form.name if isinstance(self.form, SlotForm) else cell_name(cell)

    def cell_at(self, x: float, y: float) -> Cell:
        """The sheet whose core holds a point (the lower left one on a seam)."""
        across, up = self.form.step
        return int((x - self.phase[0]) // across), int((y - self.phase[1]) // up)


def cell_name(cell: Cell) -> str:
    """Row letter and column number: A1 is the lower left, B1 above it, A2 to its right; -A and -1 where the grid grew."""
    column, row = cell
    number = str(column + 1) if column >= 0 else str(column)
    return f"{_letters(row)}{number}" if row >= 0 else f"-{_letters(-row - 1)}{number}"


def cell_of(name: str) -> Cell:
    """The reverse of ``cell_name``. Raises ValueError for any other text."""
    match = re.fullmatch(r"(-?)([A-Z]{1,4})(-?)([1-9][0-9]{0,4})", name)
    if not match:
        raise ValueError(f"{name!r} is not the name of a sheet")
    index = 0
    for letter in match[2]:
        index = index * 26 + ord(letter) - ord("A") + 1
    column = -int(match[4]) if match[3] else int(match[4]) - 1
    return column, -index if match[1] else index - 1


def _letters(row: int) -> str:
    """0 -> A, 25 -> Z, 26 -> AA."""
    text = ""
    row += 1
    while row:
        row, rest = divmod(row - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
