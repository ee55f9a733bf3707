"""Words of error messages: values as the maker wrote them, places as the maker would find them, names that are near."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

SHOWN_CHARACTERS = 60
"""A longer text is cut short in a message; nobody reads on, and a terminal stays whole."""


MOST_LISTED = 12
"""Longer lists of names tell a reader nothing."""


MIRRORED = "/mirror"
"""What the key of a reflection ends with."""

_NUMBERED = re.compile(r"^([\w.]+)\[(\d+)\]")
_NOUNS = {"cut": "cut", "hole": "hole", "mark": "mark", "glue": "glue line"}


class Figure(str):
    """A TOML float as it was written, so that ``1e400`` and ``nan`` are refused as written and not as read."""

    __slots__ = ()


def printable(text: str) -> str:
    """The text on one line, with control characters and the like written as escapes."""
    return "".join(f"\\u{ord(c):04x}" if is_unprintable(c) else c for c in text)


def is_unprintable(character: str) -> bool:
    """Whether it is a control or invisible format, a line break, half a character or an unassigned one."""
    return unicodedata.category(character) in {"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"}


def quoted(text: str) -> str:
    """A text as written, in quotes, cut short where it is long."""
    shown = printable(text[: SHOWN_CHARACTERS + 1])
    if len(shown) > SHOWN_CHARACTERS:
        shown = shown[:SHOWN_CHARACTERS] + "..."
    return f'"{shown}"'


def shown(value: object) -> str:
    """A value of a TOML file as the maker wrote it; a table or a list only by its kind."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Figure):
        return printable(value[:SHOWN_CHARACTERS])
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)}" if value else "an empty list"
    text = bare(value)
    return text if len(text) <= SHOWN_CHARACTERS else f"{text[:SHOWN_CHARACTERS]}..."


def bare(value: object) -> str:
    """A figure as text, without quotes; in base 16 where it has more digits than Python writes out."""
    try:
        return str(value)
    except ValueError:
        return hex(value) if isinstance(value, int) else ""


def inside(place: str, key: str) -> str:
    """The place of ``key`` in the table at ``place``."""
    return f"{place}, {key}" if place else key


def named_place(place: str, name: str) -> str:
    """The place of a table with a name of the maker's own: ``edges.bottom``."""
    return f"{place}.{printable(name[:SHOWN_CHARACTERS])}"


def key_in_words(key: str) -> str:
    """The key of a stretch, hole or glue line as the places of errors name it: ``edges.top, sweep 2``, ``cut 1``."""
    words = _NUMBERED.sub(lambda match: f"{_NOUNS.get(match[1], f'{match[1]}, sweep')} {int(match[2]) + 1}", key)
    return words.replace(MIRRORED, " mirrored").replace("/", ", ")


def listed(words: Iterable[str], last: str = "or") -> str:
    """``a, b or c``."""
    every = list(words)
    return every[0] if len(every) == 1 else f"{', '.join(every[:-1])} {last} {every[-1]}"


def nearest(word: str, known: Iterable[str], likeness: float = 0.5) -> str | None:
    """The known word that means the same as ``word`` or is spelt most like it; None where none is like it.

    ``likeness`` is the least share of letters that two spellings have in common, from 0 to 1.
    """
    by_plain = {_plain(name): name for name in known}
    plain = _plain(word[:SHOWN_CHARACTERS])
    meant = next((other for other in _of_like_meaning(plain) if other in by_plain), None)
    if meant is not None:
        return by_plain[meant]
    from difflib import get_close_matches  # late: only a mistake needs it

    found = get_close_matches(plain, by_plain, n=1, cutoff=likeness)
    return by_plain[found[0]] if found else None


def _plain(word: str) -> str:
    return word.casefold().replace("-", "_").replace(" ", "_")


def _of_like_meaning(word: str) -> tuple[str, ...]:
    """What a maker may have meant by a word that is no key here: the same place said otherwise, or another name for it."""
    steps = [_PLACES.get(step, step) for step in word.split("_")]
    return "_".join(steps), "_".join(reversed(steps)), *_MEANINGS.get(word, ())


_PLACES = {"lower": "bottom", "upper": "top", "bot": "bottom", "base": "bottom"}

_MEANINGS: dict[str, tuple[str, ...]] = {
    "min": ("least",),
    "minimum": ("least",),
    "max": ("most",),
    "maximum": ("most",),
    "default": ("value",),
    "comment": ("note", "notes", "about"),
    "description": ("note", "notes", "about"),
    "species": ("wood",),
    "material": ("wood",),
    "timber": ("wood",),
    "count": ("quantity",),
    "number": ("quantity",),
    "qty": ("quantity",),
    "diameter": ("circle",),
    "radius": ("round",),
    "fillet": ("round",),
    "bevel": ("chamfer",),
    "depth": ("width",),
    "start": ("from",),
    "end": ("to",),
    "unit": ("units",),
    **dict.fromkeys(("inch", "inches", "ins", '"', "imperial"), ("in",)),
    **dict.fromkeys(("millimetre", "millimetres", "millimeter", "millimeters", "metric"), ("mm",)),
    **dict.fromkeys(("centimetre", "centimetres", "centimeter", "centimeters"), ("cm",)),
}
"""Other names for what a key or a word of the file says, plain; one that is spelt like its key needs none here."""


def rather(word: str, known: Iterable[str]) -> str:
    """What to write instead of an unknown word: the nearest known one, or all of them."""
    names = list(known)
    near = nearest(word, names)
    if near is not None:
        return f'the nearest is "{near}"'
    if len(names) > MOST_LISTED:
        names = [*names[:MOST_LISTED], f"{len(names) - MOST_LISTED} more"]
    return f"known are {listed(names, 'and')}" if names else "none is known here"
