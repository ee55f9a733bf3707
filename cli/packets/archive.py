"""The zip file of a packet, and its list of checksums. Nothing of the clock or the machine goes in."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping

SUMS = "SHA256SUMS"
"""The list of checksums: a line a file, as ``sha256sum`` writes and checks it."""

_BEGINNING_OF_TIME = (1980, 1, 1, 0, 0, 0)
"""The earliest date that a zip file knows."""
_PLAIN_FILE = 0o100644 << 16
"""Readable by all, writable by its owner, for systems that keep such things in the upper half."""
_MADE_ON_UNIX = 3


def sums_of(files: Mapping[str, bytes]) -> bytes:
    """The list of checksums of all files by path, in the order of their paths."""
    lines = [f"{hashlib.sha256(files[path]).hexdigest()}  {path}\n" for path in sorted(files)]
    return "".join(lines).encode("utf-8")


def zip_bytes(folder: str, files: Mapping[str, bytes]) -> bytes:
    """A zip file with the files by path in one folder, in the order given."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for path, data in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{path}", _BEGINNING_OF_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = _MADE_ON_UNIX
            entry.external_attr = _PLAIN_FILE
            archive.writestr(entry, data)
    return out.getvalue()
