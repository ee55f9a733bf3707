"""Text files that the maker writes: read whole, as UTF-8, and parsed as TOML, with the place of what is wrong."""

from __future__ import annotations

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

_DEEP_KEY = re.compile(rf"(?<![\w\-\"'])(?:[\w\-\"']++[ \t]*+\.[ \t]*+){{{DEEPEST_KEY},}}")
_UNQUOTED = re.compile(r"[=\[,]\s*[+-]?\d[\d.]*(?:\s+\d+)?\s*(?:/\s*\d|'|\"|in\b|mm\b|cm\b|ft\b|deg\b)")
_AT_LINE = re.compile(r"\s*\(at line (\d+), column (\d+)\)$")
_AT_END = re.compile(r"\s*\(at end of document\)$")


class NamedText(Struct, frozen=True):
    """The text of a file, and the name to call it by in messages."""

    text: str
    name: str


def read(path: Path) -> NamedText:
    """The text of the file at ``path``, without a byte-order mark.

    Raises PatternError where there is no such file, or it is not a text that could be one of ours, and MachineError
    where the system will not let us read it.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise PatternError.of("", f"there is no such file{_beside(path)}", str(path)) from None
    except (IsADirectoryError, NotADirectoryError, PermissionError) as error:
        if path.is_dir():
            raise PatternError.of("", f"is a folder, not a file{_within(path)}", str(path)) from None
        raise MachineError(f"{path}: can't be read: {error.strerror}") from None
    except (OSError, ValueError) as error:
        raise MachineError(f"{printable(str(path))}: can't be read: {error}") from None
    if len(raw) > LARGEST_BYTES:
        what = f"is larger than {LARGEST_BYTES:,} bytes, and no file written by hand is"
        raise PatternError.of("", what, path.name)
    return NamedText(decoded(raw, path.name), path.name)


def decoded(raw: bytes, name: str) -> str:
    """The bytes as text. Raises PatternError, with the place of the byte, where they are not UTF-8."""
    try:
        return raw.decode("utf-8-sig")
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
        place, what = _worded(str(error), text)
        raise PatternError.of(place, what, source.name) from None


# -------------------------------------------------------------------- words for what is wrong


def _worded(message: str, text: str) -> tuple[str, str]:
    """The place and the words for an error of the TOML reader."""
    lines = text.splitlines() or [""]
    where = _AT_LINE.search(message)
    if where is not None:
        number = int(where.group(1))
        place, line = f"line {number}, column {where.group(2)}", lines[min(number, len(lines)) - 1].strip()
    elif _AT_END.search(message):
        place, line = f"line {len(lines)}, the end of the file", ""
    else:
        return "", f"not right as TOML: {_IN_WORDS.get(message, _lowered(message))}"
    fault = _AT_END.sub("", _AT_LINE.sub("", message))
    what = f"not right as TOML: {_IN_WORDS.get(fault, _lowered(fault))}"
    if line:
        what += f"; the line reads {quoted(line)}"
    if _UNQUOTED.search(line[:500]):
        what += '; a figure with a fraction or a unit stands in quotes, such as "22 13/16"'
    return place, what


_IN_WORDS = {
    "Expected newline or end of document after a statement": "there is more on the line after the value has ended",
    "Expected '=' after a key in a key/value pair": "a key must be followed by =",
    "Cannot overwrite a value": "this key stands twice",
    "Invalid value": "this is not a value; text, fractions and formulas stand in quotes",
    "Invalid statement": "this is neither key = value nor a [table]",
    "Unclosed inline table": "an inline table { ... } must be closed on the same line, with commas between its entries",
    "Unclosed array": "a list [ ... ] is not closed, or lacks a comma between its entries",
    "Unterminated string": "a text in quotes is not closed",
    "Invalid initial character for a key part": "a key is expected here; an inline table { ... } stands on one line",
    "Illegal character '\\n'": "a text in quotes is not closed on its line",
}


def _lowered(message: str) -> str:
    if message.startswith("Exceeds the limit"):
        return "a number in it has thousands of digits"
    return printable(message[:1].lower() + message[1:])


def _beside(path: Path) -> str:
    """A file of a like name in the same folder, if there is one."""
    try:
        near = nearest(path.name, [other.name for other in path.parent.glob("*.toml")])
    except OSError:
        return ""
    return f"; is {quoted(near)} meant?" if near else ""


def _within(path: Path) -> str:
    try:
        found = sorted(other.name for other in path.glob("*.toml"))[:3]
    except OSError:
        return ""
    return f"; in it there is {listed(map(quoted, found), 'and')}" if found else ""
