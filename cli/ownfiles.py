"""Telling our own drawings from a stranger's, and from those of ours that someone has worked on since.

A drawing says in a comment of its format which command drew it, with the SHA-256 of all the rest. A program that saves it
again drops the comment or leaves one that no longer fits; either way it is no longer what we would draw, and is not lost.
"""

from __future__ import annotations

import hashlib
import re
import struct
import zlib
from pathlib import Path
from typing import Literal

from patterns.errors import MachineError

State = Literal["ours", "changed", "another's"]

LARGEST_BYTES = 200_000_000
"""No drawing is larger; what is, is not looked into."""

_WORDS = "drawn by 'curvewright {command}', sha256 of the rest {digest}"
_FOUND = re.compile(rb"drawn by 'curvewright (\w+)', sha256 of the rest ([0-9a-f]{64})")
_END_CHUNK_BYTES = 12
"""The last chunk of a PNG, which says that it ends (ISO/IEC 15948, 11.2.5)."""


def signed(data: bytes, ending: str, command: str) -> bytes:
    """The drawing with a comment that says whose it is. ``ending`` is that of its name: .svg, .dxf or .png."""
    digest = hashlib.sha256(data).hexdigest()
    words = _WORDS.format(command=command, digest=digest).encode("ascii")
    if ending == ".dxf":
        return _dxf_comment(words) + data
    if ending == ".png":
        return data[:-_END_CHUNK_BYTES] + _png_comment(words) + data[-_END_CHUNK_BYTES:]
    return data + _svg_comment(words)


def state(path: Path, command: str) -> State:
    """Whose the file at ``path`` is, if the command writes such files; an empty one is anybody's, and so ours.

    Raises MachineError where it can't be read.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return "another's"
        data = path.read_bytes()
    except OSError as error:
        raise MachineError(f"{path}: can't be read: {error.strerror}") from error
    found = _FOUND.search(data)
    if not data:
        return "ours"
    if found is None or found[1].decode("ascii") != command:
        return "another's"
    comment = {".dxf": _dxf_comment, ".png": _png_comment}.get(path.suffix, _svg_comment)(found[0])
    rest = data.replace(comment, b"", 1)
    is_as_drawn = len(rest) < len(data) and hashlib.sha256(rest).hexdigest().encode("ascii") == found[2]
    return "ours" if is_as_drawn else "changed"


def _svg_comment(words: bytes) -> bytes:
    return b"<!-- " + words + b" -->\n"


def _dxf_comment(words: bytes) -> bytes:
    """Group 999, which readers skip (DXF Reference, "Group codes in numerical order")."""
    return b"999\n" + words + b"\n"


def _png_comment(words: bytes) -> bytes:
    """A chunk of text (ISO/IEC 15948, 11.3.4.3)."""
    body = b"tEXtComment\0" + words
    return struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
