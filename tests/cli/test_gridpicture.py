"""The picture of a grid in characters: where each sheet lies, what becomes of it, and that it fits a terminal."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from cli.gridpicture import pictures
from cli.report import columns_of
from tiling.fates import SheetFate
from tiling.lattice import cell_name


def fates_of(cells: dict[tuple[int, int], str], pattern: str = "rail") -> list[SheetFate]:
    found = []
    for cell, state in cells.items():
        for one in ("discard", "print") if state == "replace" else (state,):
            found.append(SheetFate(pattern, cell_name(cell), one))
    return found


def test_a_small_grid_says_it_in_words() -> None:
    cells = {(0, 0): "keep", (1, 0): "replace", (0, 1): "keep", (1, 1): "discard", (-1, 0): "print"}
    assert pictures(fates_of(cells), 80) == [
        "",
        "rail",
        "   -1          1           2",
        "B  -           keep        throw away",
        "A  print       keep        print *",
        "",
        "* print, and throw the old one away",
    ]


def test_a_wide_grid_says_it_in_signs_and_explains_them() -> None:
    cells = {(c, r): "keep" for c in range(22) for r in (0, 1)} | {(21, 1): "replace", (22, 0): "print"}
    lines = pictures(fates_of(cells), 80)
    assert max(map(len, lines)) <= 80
    assert lines[2].split() == [str(n) for n in range(1, 24)][: len(lines[2].split())]
    assert {"P print", "* print, and throw the old one away", "k keep", ". nothing there"} <= set(lines)


def test_what_has_no_grid_or_no_change_has_no_picture() -> None:
    assert pictures(fates_of({(0, 0): "replace"}), 80) == []
    assert pictures(fates_of({(0, 0): "keep", (1, 0): "keep"}), 80) == []
    assert (
        pictures([SheetFate("peg", "shared 1", "print", True), SheetFate("peg", "shared 1", "discard", True)], 80) == []
    )


grids = st.dictionaries(
    st.tuples(st.integers(-3, 120), st.integers(-2, 30)),
    st.sampled_from(["print", "replace", "keep", "discard"]),
    min_size=2,
    max_size=40,
)
MEANING = {"print": "print", "print *": "replace", "keep": "keep", "throw away": "discard"}
MEANING |= {"P": "print", "*": "replace", "k": "keep", "x": "discard"}


@settings(max_examples=60, deadline=None)
@given(grids, st.integers(60, 100))
def test_read_back_it_says_what_becomes_of_every_sheet(cells: dict[tuple[int, int], str], width: int) -> None:
    """Each word stands under its column's number and right of its row's letters; no line is wider than the terminal."""
    lines = pictures(fates_of(cells), width)
    if set(cells.values()) == {"keep"}:
        assert lines == []
        return
    assert all(columns_of(line) <= width for line in lines)
    read: dict[str, str] = {}
    heads: dict[int, str] = {}
    for line in lines[2:]:
        if re.fullmatch(r"\s+-?\d.*", line):
            heads = {found.start(): found[0] for found in re.finditer(r"\S+", line)}
        elif heads and (row := re.match(r"(-?[A-Z]+)\s+(?=\S)", line)) and line[row.end() - 1] == " ":
            for at, column in heads.items():
                word = re.split(r"\s{2,}", line[at:])[0].strip()
                if word in MEANING:
                    read[row[1] + column] = MEANING[word]
        else:
            heads = {}
    assert read == {cell_name(cell): state for cell, state in cells.items()}
