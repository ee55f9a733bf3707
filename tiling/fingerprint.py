"""A sheet's digest, and the word made from it that is printed on the paper."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

_CONSONANTS = "bdglmnrstvw"
_VOWELS = "aeiou"


def digest_of(content: bytes) -> str:
    """The first 16 hex digits of SHA-256."""
    return hashlib.sha256(content).hexdigest()[:16]


def word_of(digest: str) -> str:
    """A word of five letters that can be said across a table: one of 33,275.

    Two sheets may share a word by chance; the digest is what the programs compare.
    """
    number = int(digest, 16)
    letters = []
    for alphabet in (_CONSONANTS, _VOWELS, _CONSONANTS, _VOWELS, _CONSONANTS):
        number, rest = divmod(number, len(alphabet))
        letters.append(alphabet[rest])
    return "".join(letters)


def revision_word(text: str, given: Mapping[str, str]) -> str:
    """The word of a pattern file's text and of the sizes given beside it: which revision of a piece this is."""
    return word_of(digest_of((text + repr(sorted(given.items()))).encode("utf-8")))
