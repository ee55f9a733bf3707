"""Tables that a person reads at 80 columns, and JSON that a program reads."""

from __future__ import annotations

import json
import shutil
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar

GAP = "  "
NARROWEST = 24
"""A column of words is not folded narrower than this; on a narrower terminal the lines run over."""


def json_text(value: object) -> str:
    """JSON with two spaces of indent, in plain ASCII so that any console passes it on whole.

    Raises ValueError for a number that JSON can't say (nan, infinity).
    """
    return json.dumps(value, indent=2, ensure_ascii=True, allow_nan=False)


def print_json(value: object) -> None:
    """JSON alone on standard output."""
    print(json_text(value))


_width: ContextVar[int | None] = ContextVar("width", default=None)


@contextmanager
def at_width(columns: int) -> Iterator[None]:
    """Within it tables are so wide, whatever the terminal's width: for what is written to a file."""
    token = _width.set(columns)
    try:
        yield
    finally:
        _width.reset(token)


def page_width() -> int:
    """How wide a table may be: the terminal's columns, at most 100; 80 where there is no terminal."""
    return _width.get() or max(60, min(100, shutil.get_terminal_size((80, 24)).columns))


def columns_of(text: str) -> int:
    """How many columns a text takes in a terminal: wide letters take two, combining marks none."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: str = "", width: int | None = None) -> list[str]:
    """Lines of a table with its head underlined; a column that is empty throughout is left out.

    ``right`` holds an "r" at the place of each column that is set to the right ("lrr"). The last column is folded so
    that the lines stay within ``width``; a row with several lines in its last cell goes on below.
    """
    keep = [k for k in range(len(head)) if any(row[k] for row in rows)]
    head = [head[k] for k in keep]
    rows = [[row[k] for k in keep] for row in rows]
    right = "".join("r" if k < len(right) and right[k] == "r" else "l" for k in keep)
    if not keep:
        return []
    widths = [max(columns_of(cell) for cell in column) for column in zip(head, *rows, strict=True)]
    room = (width or page_width()) - sum(widths[:-1]) - len(GAP) * (len(widths) - 1)
    widths[-1] = max(NARROWEST, min(widths[-1], room)) if widths[-1] > room else widths[-1]
    lines = _row(head, widths, right)
    lines.append(GAP.join("-" * w for w in widths))
    for row in rows:
        lines += _row(row, widths, right)
    return lines


def _row(cells: Sequence[str], widths: Sequence[int], right: str) -> list[str]:
    folded = fold(cells[-1], widths[-1]) or [""]
    lines = []
    for k, last in enumerate(folded):
        shown = [*(cells[:-1] if k == 0 else [""] * (len(cells) - 1)), last]
        padded = [_pad(cell, w, side) for cell, w, side in zip(shown, widths, right, strict=True)]
        lines.append(GAP.join(padded).rstrip())
    return lines


def _pad(cell: str, width: int, side: str) -> str:
    space = " " * (width - columns_of(cell))
    return space + cell if side == "r" else cell + space


def fold(text: str, width: int) -> list[str]:
    """Folds words to ``width`` columns; long words are not broken."""
    return textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False)


def paragraph(text: str, indent: str = "") -> list[str]:
    """A paragraph folded to the page, the lines after the first indented by two spaces more."""
    return textwrap.wrap(
        text,
        page_width(),
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def heading(text: str) -> list[str]:
    """A title with an empty line before it."""
    return ["", text]
