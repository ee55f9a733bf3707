"""A pattern's grid of sheets as a small picture in characters: what becomes of each, as it lies on the bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cli.report import columns_of
from tiling.fates import REPLACED, SheetFate
from tiling.lattice import cell_name, cell_of
from tiling.units import Cell

WORDS = {"print": "print", "replace": "print *", "keep": "keep", "discard": "throw away", "": "-"}
"""What a cell says where there is room for words."""
SIGNS = {"print": "P", "replace": "*", "keep": "k", "discard": "x", "": "."}
"""What it says in a wide grid."""
MEANINGS = {"print": "print", "replace": REPLACED, "keep": "keep", "discard": "throw away", "": "nothing there"}

GAP = 2
"""Columns of the terminal between two sheets."""


def pictures(fates: Sequence[SheetFate], width: int) -> list[str]:
    """The grids of all patterns that have a sheet to print or to throw away, with what their signs mean beneath.

    A pattern on a single sheet, or on one that it shares, has no grid: the table says all. ``width`` is the terminal's,
    in columns.
    """
    lines: list[str] = []
    used: set[tuple[str, str]] = set()
    for name in dict.fromkeys(fate.pattern for fate in fates):
        cells = states(fate for fate in fates if fate.pattern == name)
        if len(cells) > 1 and set(cells.values()) != {"keep"}:
            lines += ["", name, *_grid(cells, width, used)]
    legend = [f"{sign} {MEANINGS[state]}" for state in WORDS if (sign := _explained(state, used))]
    return [*lines, *([""] if legend else []), *legend]


def states(fates: Iterable[SheetFate]) -> dict[Cell, str]:
    """What becomes of each sheet of one pattern's grid: print, replace (an old one is thrown away), keep or discard."""
    found: dict[Cell, str] = {}
    for fate in fates:
        if fate.shared:
            continue
        cell = cell_of(fate.name)
        before = found.get(cell)
        found[cell] = "replace" if before is not None and before != fate.state else fate.state
    return found


def _grid(cells: dict[Cell, str], width: int, used: set[tuple[str, str]]) -> list[str]:
    """The rows from above, each from the left, in words if they fit, else in signs, and those in blocks if need be."""
    columns = range(min(c for c, _ in cells), max(c for c, _ in cells) + 1)
    rows = range(max(r for _, r in cells), min(r for _, r in cells) - 1, -1)
    every = [cells.get((column, row), "") for row in rows for column in columns]
    margin = max(len(row_name(row)) for row in rows)
    for words in (WORDS, SIGNS):
        pitch = GAP + max(columns_of(text) for text in [*map(words.get, every), *map(column_name, columns)] if text)
        if margin + len(columns) * pitch <= width:
            break
    kind = "words" if words is WORDS else "signs"
    used |= {(kind, state) for state in every}
    most = max(1, (width - margin) // pitch)
    lines: list[str] = []
    for start in range(0, len(columns), most):
        block = columns[start : start + most]
        lines += [""] if start else []
        lines.append(" " * margin + _row(map(column_name, block), pitch))
        lines += [
            row_name(row).ljust(margin) + _row((words[cells.get((c, row), "")] for c in block), pitch) for row in rows
        ]
    return [line.rstrip() for line in lines]


def _row(texts: Iterable[str], pitch: int) -> str:
    return "".join(" " * GAP + text.ljust(pitch - GAP) for text in texts)


def _explained(state: str, used: set[tuple[str, str]]) -> str:
    """The sign of the legend for a state; none where words have said it."""
    if state == "replace" and {("words", state), ("signs", state)} & used:
        return "*"
    return SIGNS[state] if ("signs", state) in used else ""


def row_name(row: int) -> str:
    """The letters of a row's sheets."""
    return cell_name((0, row))[:-1]


def column_name(column: int) -> str:
    """The number of a column's sheets."""
    return cell_name((column, 0))[1:]
