"""Text files that the maker writes: read whole, as UTF-8, and parsed as TOML, with the place of what is wrong."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Any

from msgspec import Struct

from patterns.errors import MachineError, PatternError
from patterns.wording import Figure, listed, nearest, printable, quoted

LARGEST_BYTES = 1_000_000
"""A pattern file is written by hand; a thousand points take about 30 kB."""

DEEPEST_KEY = 20
"""Steps of a dotted key: the reader of TOML takes time that grows with the square of them."""

LIKE_NAMES = 0.75
"""The least likeness of the names of two files one of which may be meant for the other: a slip or two of the pen."""

_DEEP_KEY = re.compile(rf"(?<![\w\-\"'])(?:[\w\-\"']++[ \t]*+\.[ \t]*+){{{DEEPEST_KEY},}}")


class NamedText(Struct, frozen=True):
    """The text of a file, a byte-order mark included, and the name to call it by in messages.

    ``text`` in UTF-8 is the file byte for byte.
    """

    text: str
    name: str


def read(path: Path) -> NamedText:
    """The text of the file at ``path``.

    Raises PatternError where there is no such file, or it is not a text that could be one of ours, and MachineError
    where the system will not let us read it.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        raise PatternError.of("", f"there is no such file{_beside(path)}", str(path)) from None
    except (OSError, ValueError) as error:
        if os.path.isdir(path):  # noqa: PTH112  (unlike Path, it never raises)
            raise PatternError.of("", f"is a folder, not a file{_within(path)}", str(path)) from None
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise MachineError(f"{path}: can't be read: {why[0].lower()}{why[1:]}") from None
    name = printable(path.name)  # a file's name may hold bytes that are no text, and the name is kept in the sheets
    if len(raw) > LARGEST_BYTES:
        what = f"is larger than {LARGEST_BYTES:,} bytes, and no file written by hand is"
        raise PatternError.of("", what, name)
    return NamedText(decoded(raw, name), name)


def decoded(raw: bytes, name: str) -> str:
    """The bytes as text, none of them lost. Raises PatternError, with the place of the byte, where they are not UTF-8."""
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        column = error.start - (raw.rfind(b"\n", 0, error.start) + 1) + 1
        hint = " (it looks like UTF-16)" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else ""
        what = f"byte {error.start + 1} (0x{raw[error.start]:02X}) is not UTF-8{hint}; save the file as UTF-8"
        raise PatternError.of(f"line {line}, byte {column}", what, name) from None


def parse(source: NamedText, begins: str) -> dict[str, Any]:
    """The TOML document, its floats as they were written (``Figure``).

    ``begins`` says what such a file begins with, for whoever hands in an empty one. Raises PatternError with line and
    column where the text is not TOML.
    """
    text = source.text.removeprefix("\ufeff")
    if not text.strip():
        raise PatternError.of("", f"is empty; {begins}", source.name)
    deep = _DEEP_KEY.search(text)
    if deep is not None:
        place = f"line {text.count(chr(10), 0, deep.start()) + 1}"
        raise PatternError.of(place, f"{quoted(deep.group())} has too many steps for a key", source.name)
    try:
        return tomllib.loads(text, parse_float=Figure)
    except RecursionError:
        what = "its lists or tables are nested too deep; a pattern file needs four levels"
        raise PatternError.of("", what, source.name) from None
    except ValueError as error:
        from patterns.tomlfaults import worded  # late: only a mistake needs it

        place, what = worded(str(error), text)
        raise PatternError.of(place, what, source.name) from None


# -------------------------------------------------------------------- files near by


def _beside(path: Path) -> str:
    """A file of a like name in the same folder, if there is one."""
    try:
        others = {other.stem: other.name for other in path.parent.glob("*.toml")}
    except OSError:
        return ""
    near = nearest(path.stem if path.suffix.lower() == ".toml" else path.name, others, LIKE_NAMES)
    return f"; is {quoted(others[near])} meant?" if near else ""


def _within(path: Path) -> str:
    try:
        found = sorted(other.name for other in path.glob("*.toml"))[:3]
    except OSError:
        return ""
    return f"; in it there is {listed(map(quoted, found), 'and')}" if found else ""
