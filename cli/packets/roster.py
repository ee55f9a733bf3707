"""A roster: a table of a class, a row for each member, as any spreadsheet saves it. All of its mistakes are told at once."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from patterns.errors import MachineError, PatternError, Problem
from patterns.measure import Units
from patterns.slug import slug
from patterns.wording import is_unprintable, listed, quoted, rather

LARGEST_BYTES = 1_000_000
MOST_ROWS = 500
"""Members: more is another kind of table."""
LONGEST_NAME = 60
NAME, PAPER, MIRRORED = "name", "paper", "mirrored"
COLUMNS = (NAME, PAPER, MIRRORED)
"""Columns of any roster; every other one is a size of the pattern file."""

_SEPARATORS = (",", ";", "\t")
_YES, _NO = ("yes", "y", "true", "1", "x"), ("", "no", "n", "false", "0")
_FORMULA = re.compile(r"[=@]|[+-](?![\d.½¼¾⅛⅜⅝⅞])")
"""How a cell begins that a spreadsheet would work out; a figure with its sign is none."""
_FORMULA_NAME = re.compile(r"[=@+-]")
"""The same for a name, which is no figure."""


class Row(Struct, frozen=True, eq=False):
    """A member: the line of the file, the name, the paper asked for (empty: as usual), whether mirrored, sizes by name."""

    line: int
    name: str
    paper: str
    mirrored: bool
    sizes: Mapping[str, str]

    @property
    def place(self) -> str:
        """Where it stands, for what is said of it."""
        return f"line {self.line} ({self.name})" if self.name else f"line {self.line}"

    @property
    def slug(self) -> str:
        """The name of the member's files."""
        return slug(self.name)


class Roster(Struct, frozen=True):
    """The rows that are right, and what is wrong with the others, line by line."""

    name: str
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


def read(path: Path, sizes: Sequence[str], units: Units) -> Roster:
    """Reads a roster for a piece with these sizes.

    Raises PatternError where the table as a whole makes no sense: no text, no column for names, a column that is neither
    one of ours nor a size. Mistakes of single rows are in the result.
    """
    lines = _cells(_text(path), path.name)
    if not lines:
        raise PatternError.of("", "is empty; its first line names the columns: name, paper, mirrored, sizes", path.name)
    (_, head), *body = lines
    head = _without_empty_end(head)
    columns = _columns(head, sizes, path.name)
    if len(body) > MOST_ROWS:
        raise PatternError.of("", f"has {len(body):,} rows; a class of more than {MOST_ROWS} is divided", path.name)
    if not body:
        raise PatternError.of(
            "", "has no member: the first line names the columns, each further line is one", path.name
        )
    rows: list[Row] = []
    problems: list[Problem] = []
    for line, cells in body:
        row, wrong = _row(line, cells, columns, units)
        problems += wrong
        rows += [] if wrong else [row]
    alike = list(_alike(rows))
    twice = {problem.place for problem in alike}
    return Roster(path.name, tuple(row for row in rows if row.place not in twice), (*problems, *alike))


def _text(path: Path) -> str:
    """The file's text, without a byte-order mark."""
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise PatternError.of("", "there is no such file", str(path)) from None
    except IsADirectoryError:
        raise PatternError.of("", "is a folder, not a file", str(path)) from None
    except OSError as error:
        raise MachineError(f"{path}: can't be read: {error.strerror}") from None
    if len(raw) > LARGEST_BYTES:
        raise PatternError.of("", f"is larger than {LARGEST_BYTES:,} bytes, and no roster is", path.name)
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in raw:
        raise PatternError.of("", "is no plain text, or is saved as UTF-16; save it as CSV in UTF-8", path.name)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise PatternError.of(f"line {line}", "is not UTF-8; save it as CSV in UTF-8", path.name) from None


def _cells(text: str, name: str) -> list[tuple[int, list[str]]]:
    """The lines that hold something, each with its number and its cells, whichever separator parts them."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(_SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    found: list[tuple[int, list[str]]] = []
    before = 0
    try:
        for cells in reader:
            tidy = [unicodedata.normalize("NFC", " ".join(cell.split())) for cell in cells]
            if any(tidy):
                found.append((before + 1, tidy))
            before = reader.line_num
    except csv.Error as error:
        raise PatternError.of(f"line {reader.line_num}", f"makes no sense: {error}", name) from None
    return found


def _without_empty_end(head: Sequence[str]) -> list[str]:
    """The names of the columns, less empty ones at the right, which spreadsheets save, too. What stands in such a column is
    told as a cell too many."""
    last = max(k for k, cell in enumerate(head) if cell)
    return list(head[: last + 1])


def _columns(head: Sequence[str], sizes: Sequence[str], name: str) -> list[str]:
    """What each column is: one of ours, or a size."""
    columns = [_column(cell, sizes) for cell in head]
    problems = []
    for cell, column in zip(head, columns, strict=True):
        if not column:
            what = f"there is no size {quoted(cell)}" if cell else "a column has no name"
            problems.append(Problem("line 1", f"{what}; {rather(cell, [*COLUMNS, *sizes])}"))
    doubled = sorted({column for column in columns if column and columns.count(column) > 1})
    problems += [Problem("line 1", f"two columns are called {quoted(column)}") for column in doubled]
    if NAME not in columns:
        problems.append(Problem("line 1", f"no column is called {quoted(NAME)}; its columns are {listed(head, 'and')}"))
    if problems:
        raise PatternError(problems, name)
    return columns


def _column(cell: str, sizes: Sequence[str]) -> str:
    """The column or size that is meant: as it is written, or with other capitals if one size alone is spelt so."""
    if cell.casefold() in COLUMNS:
        return cell.casefold()
    alike = [size for size in sizes if size.casefold() == cell.casefold()]
    return cell if cell in alike else alike[0] if len(alike) == 1 else ""


def _row(line: int, cells: Sequence[str], columns: Sequence[str], units: Units) -> tuple[Row, list[Problem]]:
    given = dict(zip(columns, cells, strict=False))
    name = given.pop(NAME, "")
    place = f"line {line} ({name})" if name and not _FORMULA_NAME.match(name) else f"line {line}"
    paper, mirrored = given.pop(PAPER, ""), given.pop(MIRRORED, "")
    sizes = {size: text for size, text in given.items() if text}
    problems = [Problem(place, what) for what in _wrong(name, paper, mirrored, sizes, units)]
    more = [cell for cell in cells[len(columns) :] if cell]
    if more:
        problems.append(Problem(place, f"has more cells than there are columns: {listed(map(quoted, more), 'and')}"))
    return Row(line, name, paper, mirrored.casefold() in _YES, sizes), problems


def _wrong(name: str, paper: str, mirrored: str, sizes: Mapping[str, str], units: Units) -> Iterator[str]:
    from tiling.paper import paper as paper_of

    for column, text in ((NAME, name), (PAPER, paper), (MIRRORED, mirrored), *sizes.items()):
        if (_FORMULA_NAME if column == NAME else _FORMULA).match(text):
            yield f"{column}: {quoted(text)} begins as a formula does; write the value itself"
        elif any(is_unprintable(c) for c in text):
            yield f"{column}: {quoted(text)} holds a character that can't be printed"
    if not name:
        yield "has no name"
    elif len(name) > LONGEST_NAME:
        yield f"the name is longer than {LONGEST_NAME} letters"
    if mirrored.casefold() not in (*_YES, *_NO):
        yield f"mirrored: {quoted(mirrored)} is neither yes nor no"
    if paper and not _FORMULA.match(paper):
        try:
            paper_of(paper, units)
        except PatternError as error:
            yield f"paper: {error.problems[0].what}"


def _alike(rows: Sequence[Row]) -> Iterator[Problem]:
    """Members who could not be told apart, or whose files could not."""
    by_slug: dict[str, list[Row]] = {}
    for row in rows:
        by_slug.setdefault(row.slug, []).append(row)
    for group in by_slug.values():
        for row in group if len(group) > 1 else ():
            other = next(one for one in group if one is not row)
            same = row.name.casefold() == other.name.casefold()
            what = "has the name of" if same else "has a name too like that of"
            yield Problem(row.place, f"{what} line {other.line}, {quoted(other.name)}; add an initial")
