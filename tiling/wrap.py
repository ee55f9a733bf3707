"""Breaking text into lines by its shaped width. Whatever a maker writes is laid out; nothing here fails on odd text."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from patterns.lettering import CAP_HEIGHT, UNITS_PER_EM, plain_advance
from patterns.wording import is_unprintable

ELLIPSIS = "…"
LONGEST_WORD = 200


def text_mm(text: str, height: float) -> float:
    """The width of a line of text with capitals ``height`` mm high, in mm."""
    return _em_width(text) * height


@lru_cache(maxsize=4096)
def _em_width(text: str) -> float:
    """The width over the height of a capital, before kerning: letters stand a little closer, hardly ever wider."""
    return sum(map(plain_advance, text)) / UNITS_PER_EM / CAP_HEIGHT


SPACE = 260 / UNITS_PER_EM / CAP_HEIGHT
"""The width of a space in the font, over the height of a capital."""


def plain(text: str) -> str:
    """The text on one line: control characters and line breaks become spaces, other invisible ones go."""
    if not text.isprintable():
        text = "".join(_shown(character) for character in text)
    return unicodedata.normalize("NFC", text).strip()


def _shown(character: str) -> str:
    if unicodedata.category(character) in ("Cc", "Zl", "Zp"):
        return " "
    return "" if is_unprintable(character) else character


def wrapped(text: str, width: float, height: float) -> list[str]:
    """The lines of ``text`` with capitals ``height`` mm high, none wider than ``width`` mm; at least one line.

    Line breaks in the text are kept, words are kept whole where they can be, and a no-break space holds two together.
    """
    return [line for part in text.splitlines() or [""] for line in _paragraph(plain(part), width / height)]


def _paragraph(text: str, width: float) -> list[str]:
    """``width`` is over the height of a capital, as all widths here."""
    lines: list[str] = []
    line, used = "", 0.0
    for word in _words(text):
        size = _em_width(word)
        if line and used + SPACE + size <= width:
            line, used = f"{line} {word}", used + SPACE + size
            continue
        if line:
            lines.append(line)
        while size > width and len(word) > 1:
            head = _head(word, width)
            lines.append(head)
            word = word[len(head) :]
            size = _em_width(word)
        line, used = word, size
    return [*lines, line]


def _words(text: str) -> list[str]:
    """Split at spaces; a text without any, as no one writes it, is cut so that it costs no more than another."""
    return [word[k : k + LONGEST_WORD] for word in text.split(" ") for k in range(0, len(word) or 1, LONGEST_WORD)]


def _head(word: str, width: float) -> str:
    """The longest beginning of a word that is no wider than ``width``: a character at least, its accents with it."""
    low, high = 1, len(word)
    while low < high:
        middle = (low + high + 1) // 2
        if _em_width(word[:middle]) <= width:
            low = middle
        else:
            high = middle - 1
    end = low
    while end > 1 and end < len(word) and unicodedata.combining(word[end]):
        end -= 1
    while end == 1 and end < len(word) and unicodedata.combining(word[end]):
        end += 1
    return word[:end]


def fitted(text: str, width: float, height: float) -> str:
    """The text on one line, cut short with an ellipsis where it is wider than ``width`` mm."""
    text = plain(text[:1000])
    if text_mm(text, height) <= width:
        return text
    room = width / height - _em_width(ELLIPSIS)
    return _head(text, room).rstrip() + ELLIPSIS if room > 0 else ELLIPSIS
