"""What is wrong with a text that is not TOML, in a maker's words: a quote, a bracket or a comma that is missing."""

from __future__ import annotations

import re

from patterns.wording import printable

_AT_LINE = re.compile(r"\s*\(at line (\d+), column (\d+)\)$")
_AT_END = re.compile(r"\s*\(at end of document\)$")
_UNQUOTED = re.compile(r"[=\[,]\s*[+-]?\d[\d.]*(?:\s+\d+)?\s*(?:/\s*\d|'|\"|in\b|mm\b|cm\b|ft\b|deg\b)")
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')
_KEY_NEXT = re.compile(r"[A-Za-z_][\w.-]*\s*=")
_HEADER = re.compile(r"\s*\[\[?\s*[A-Za-z_]")
_INCH_MARK = re.compile(r'\d""')

EXCERPT = 70
"""So much of a line is shown: about what a terminal has beside the place and the words."""

LONGEST_LOOKED_AT = 500
"""No more of a line is searched for a figure without quotes."""

CURLY = "“”„‟‘’‚‛«»"


def worded(message: str, text: str) -> tuple[str, str]:
    """The place, and what is wrong there, for an error ``message`` of the TOML reader about ``text``."""
    lines = text.replace("\r\n", "\n").split("\n")
    where = _AT_LINE.search(message)
    fault = _AT_END.sub("", _AT_LINE.sub("", message))
    if where is None:
        place = f"line {len(text.splitlines())}, the end of the file" if _AT_END.search(message) else ""
        return place, _in_words(fault)
    number, column = int(where[1]), int(where[2])
    line = lines[min(number, len(lines)) - 1]
    return f"line {number}, column {column}", _of_line(fault, line, column - 1)


def _of_line(fault: str, line: str, at: int) -> str:
    """What is wrong with a line, and the line."""
    shown = f"the line reads: {_excerpt(line, 0 if fault.startswith(_TWICE) else at)}" if line.strip() else ""
    found = _diagnosed(fault, line, at) or _in_words(fault)
    return f"{found}; {shown}" if shown else found


def _diagnosed(fault: str, line: str, at: int) -> str | None:
    """The slip of the pen behind a fault, where the line gives it away."""
    rest = line[at:]
    if fault in _QUOTES_APART and _has_open_quote(line):
        inch = ' (an inch mark within quotes is written \\", or left off)' if _INCH_MARK.search(line) else ""
        return f"a quote is missing or one too many: they stand in pairs{inch}"
    if fault == "Invalid value" and rest[:1] in tuple(CURLY):
        return f'{rest[0]} is a quote of a word processor; write a straight one: "'
    if fault == "Invalid value" and _KEY_NEXT.match(rest):
        return "a ] is missing before this key: a list is still open"
    if fault in ("Invalid value", "Unclosed array") and _HEADER.match(line):
        return "a ] is missing above this line: a list is still open"
    if fault == "Unclosed inline table" and not rest.strip():
        return "a } is missing: what { opens must be closed on the same line"
    if "=" in line and _UNQUOTED.search(_STRING.sub('""', line[:LONGEST_LOOKED_AT])):
        return 'a figure with a fraction or a unit stands in quotes, such as "22 13/16"'
    return None


def _has_open_quote(line: str) -> bool:
    """Whether a quote is left over once those of the line are paired."""
    bare = _STRING.sub("", line).partition("#")[0]
    return '"' in bare


def _excerpt(line: str, at: int) -> str:
    """The line as written, or so much of it about index ``at`` as a message has room for."""
    start = 0 if len(line) <= EXCERPT else max(0, min(at - EXCERPT // 2, len(line) - EXCERPT))
    part = line[start : start + EXCERPT]
    lead, trail = ("... " if start else ""), (" ..." if start + EXCERPT < len(line) else "")
    return printable(lead + part.strip() + trail)


def _in_words(fault: str) -> str:
    words = next((words for begins, words in _WORDS.items() if fault.startswith(begins)), None)
    return words or f"not right as TOML: {printable(fault[:1].lower() + fault[1:])}"


_TWICE = ("Cannot overwrite a value", "Cannot declare", "Duplicate inline table key")

_QUOTES_APART = (
    "Unclosed inline table",
    "Unclosed array",
    "Expected newline or end of document after a statement",
    "Invalid initial character for a key part",
)
"""Faults that a quote too few or too many comes to."""

_WORDS = {
    "Expected newline or end of document after a statement": "there is more on the line after the value has ended",
    "Expected '=' after a key in a key/value pair": "a key must be followed by =, and holds no spaces",
    **dict.fromkeys(_TWICE, "this key stands twice"),
    "Cannot redefine namespace": "this table has been given already; write all of it in one place",
    "Cannot mutate immutable namespace": "this table has been given already; write all of it in one place",
    "Invalid value": "this is not a value; text, fractions and formulas stand in quotes",
    "Invalid statement": "this is neither key = value nor a [table]",
    "Unclosed inline table": "a comma is missing between the entries of { ... }, or the } that closes it on the same line",
    "Unclosed array": "a list [ ... ] is not closed, or lacks a comma between its entries",
    "Unterminated string": "a text in quotes is not closed",
    "Unescaped '\\'": "a \\ in double quotes has a meaning of its own: write \\\\, or put the text in single quotes",
    "Invalid initial character for a key part": "a key is expected here; an inline table { ... } stands on one line",
    "Illegal character '\\n'": "a text in quotes is not closed on its line",
    "Expected ']": "a heading such as [sizes] or [[part]] is not closed",
    "Invalid date": "this is no date: write it as 2031-04-30",
    "Exceeds the limit": "a number in it has thousands of digits",
}
"""What the TOML reader's faults are called here, by how they begin."""
