"""Names turned into file names."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

MOST_LETTERS = 60
"""Longer names are cut: some file systems allow no more than 255 bytes, and a suffix has to fit too."""


def slug(name: str) -> str:
    """``name`` in small ASCII letters, figures and hyphens, fit for a file name and an id; "part" if nothing is left."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:MOST_LETTERS].strip("-") or "part"


def slugs(names: Sequence[str]) -> tuple[str, ...]:
    """A slug for each name, in order, no two alike: later ones of the same slug are numbered -2, -3, ..."""
    taken: set[str] = set()
    result = []
    for name in names:
        plain = slug(name)
        candidate, number = plain, 1
        while candidate in taken:
            number += 1
            candidate = f"{plain}-{number}"
        taken.add(candidate)
        result.append(candidate)
    return tuple(result)
