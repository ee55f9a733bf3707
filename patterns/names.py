"""Names and texts that the maker gives: which are refused, and when two names are too alike."""

from __future__ import annotations

import re
import unicodedata

from patterns.wording import is_unprintable, printable

LONGEST_NAME = 60
"""A name must fit on a sheet's edge and in a file name."""

IDENTIFIER = re.compile(r"[A-Za-z][A-Za-z0-9_]*\Z")
"""The name of a size, an edge or a corner: it stands in formulas and in dotted keys."""


def bare_name(name: str) -> str:
    """The letters and digits alone, without case and accents: two parts that share it would share a file name."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    return "".join(c for c in plain if c.isalnum())


def fault_of_name(name: str) -> str | None:
    """What is wrong with the name of a part or a piece, or None."""
    if not name.strip():
        return "is empty; give it a name"
    fault = fault_of_text(name)
    if fault is not None:
        return fault
    if len(name) > LONGEST_NAME:
        return f"has {len(name)} characters; {LONGEST_NAME} is the most"
    if not bare_name(name):
        return f'"{name}" needs a letter or a digit'
    return None


def fault_of_text(text: str, lines: bool = False) -> str | None:
    """What is wrong with a text that is printed (line breaks and tabs are right where ``lines``), or None."""
    for character in text:
        if is_unprintable(character) and not (lines and character in "\n\r\t"):
            return f"holds the invisible character {printable(character)}; take it out"
    return None
