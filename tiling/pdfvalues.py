"""Values of a PDF as this package writes them: names, which are written over and over, and dictionaries of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from pypdf.generic import DictionaryObject, NameObject


class Name(NameObject):
    """A name of PDF. The bytes of each are made once: a job has hundreds of names, and some thirty different ones."""

    __slots__ = ()

    def clone(
        self, pdf_dest: Any, force_duplicate: bool = False, ignore_fields: Sequence[str | int] | None = ()
    ) -> NameObject:
        """The name itself, which nothing can change."""
        return self

    def renumber(self) -> bytes:
        """The bytes in a file, with what is special in PDF as numbers."""
        return _bytes_of(str(self))


@lru_cache(maxsize=512)
def _bytes_of(name: str) -> bytes:
    return NameObject(name).renumber()


def dictionary(**entries: object) -> DictionaryObject:
    """A PDF dictionary of the given entries."""
    return DictionaryObject({Name("/" + key): value for key, value in entries.items()})
