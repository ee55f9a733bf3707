"""The pattern file: from bytes to a piece, with every mistake in one go.

A pattern file is one TOML document that describes one piece. ``filemodel`` holds its vocabulary, ``resolve`` what its
values come to.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from patterns.errors import PatternError, Problem
from patterns.filemodel import FORMAT_VERSION, FileTable
from patterns.filetext import NamedText, parse, read
from patterns.memory import FORGETFUL, Memory
from patterns.mistakes import Mistakes
from patterns.piece import Piece
from patterns.resolve import resolve
from patterns.tables import read_table
from patterns.values import PlacedReading
from patterns.wording import nearest, quoted, shown

__all__ = ["Examined", "Loaded", "PatternSource", "examine", "load", "open_file", "read"]

PatternSource = NamedText
"""The text of a pattern file and the file's name."""


class Loaded(Struct, frozen=True):
    """A piece, and how each value of its file was read."""

    piece: Piece
    readings: tuple[PlacedReading, ...]


class Examined(Struct, frozen=True):
    """What a file comes to, right or wrong.

    ``piece`` holds the parts without a mistake, and is None where nothing can be read.
    """

    piece: Piece | None
    problems: tuple[Problem, ...]
    readings: tuple[PlacedReading, ...] = ()


def open_file(path: Path, overrides: Mapping[str, str] | None = None) -> Loaded:
    """Reads and loads the file at ``path``. Raises PatternError with every mistake in it."""
    return load(read(path), overrides)


def load(source: PatternSource, overrides: Mapping[str, str] | None = None) -> Loaded:
    """The piece that the file describes, ``overrides`` (name to formula) in place of its sizes.

    Raises PatternError with every mistake in the file.
    """
    examined = examine(source, overrides)
    if examined.problems or examined.piece is None:
        raise PatternError(examined.problems, source.name)
    return Loaded(examined.piece, examined.readings)


def examine(source: PatternSource, overrides: Mapping[str, str] | None = None, memory: Memory = FORGETFUL) -> Examined:
    """As ``load``, but returns the mistakes beside what is right, so that right parts can be built and checked too.

    ``memory`` is what earlier files of the same process came to.
    """
    try:
        raw = parse(source, "a pattern file begins with curvewright = 1")
    except PatternError as error:
        return Examined(None, error.problems)
    fault = _fault_of_version(raw)
    if fault is not None:
        return Examined(None, (Problem("curvewright", fault),))
    if isinstance(raw.get("date"), datetime.date):
        raw["date"] = raw["date"].isoformat()
    mistakes = Mistakes()
    table = read_table(FileTable, raw, mistakes)
    resolved = resolve(table, overrides or {}, mistakes, memory)
    return Examined(resolved.piece, mistakes.problems, resolved.readings)


def _fault_of_version(raw: Mapping[str, Any]) -> str | None:
    """What is wrong with the format version. Nothing else of a file in another format is looked at."""
    if "curvewright" not in raw:
        near = nearest("curvewright", raw)
        hint = f" (is {quoted(near)} meant to be it?)" if near else ""
        return f"is missing: a pattern file begins with curvewright = {FORMAT_VERSION}, the format's version{hint}"
    version = raw["curvewright"]
    if isinstance(version, bool) or not isinstance(version, int):
        return f"must be {FORMAT_VERSION}, a whole number without quotes: the format's version; not {shown(version)}"
    if version > FORMAT_VERSION:
        return f"{shown(version)} is newer than this program, which reads format {FORMAT_VERSION}; get a newer one"
    if version < FORMAT_VERSION:
        return f"must be {FORMAT_VERSION}, the format's version; there is no format {shown(version)}"
    return None
