"""Names turned into file names and identifiers."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

MOST_LETTERS = 80
"""Longer slugs are cut: some file systems allow no more than 255 bytes, and a suffix has to fit too."""

DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
"""Names that one family of systems keeps for devices, whatever the extension."""


def slug(name: str) -> str:
    """``name`` in lower-case letters, digits and hyphens; "part" if it has no letter and no digit.

    Accents fall away; a letter outside the Latin alphabet is written as its code point.
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    spelled = "".join(_spelled(c) for c in plain if not unicodedata.combining(c))
    result = re.sub(r"-+", "-", spelled)[:MOST_LETTERS].strip("-") or "part"
    return f"{result}-part" if result in DEVICES else result


def slugs(names: Sequence[str]) -> tuple[str, ...]:
    """A slug for each name, in order, no two alike: later ones of the same slug are numbered -2, -3, ..."""
    taken: set[str] = set()
    result = []
    for name in names:
        plain = candidate = slug(name)
        number = 1
        while candidate in taken:
            number += 1
            candidate = f"{plain}-{number}"
        taken.add(candidate)
        result.append(candidate)
    return tuple(result)


def _spelled(character: str) -> str:
    if character.isascii():
        return character if character.isalnum() else "-"
    return f"u{ord(character):x}" if character.isalnum() else "-"
