"""What stands where a packet is to be written: an older packet of the same piece may go, anything else stays."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

from patterns.errors import PatternError
from patterns.wording import quoted

REMEDY = "name another file, or add --replace to write over it"
LARGEST_RECORD = 1_000_000
"""Bytes of packet.json unpacked."""


def check(path: Path, title: str) -> None:
    """Raises PatternError where there is a file at ``path`` that is no packet of the piece ``title``."""
    if not path.is_file() or not path.stat().st_size:
        return
    held = title_of(path)
    if held is None:
        raise PatternError.of("", f"{path} is there already and is no packet of 'curvewright packet'; {REMEDY}")
    if held != title:
        raise PatternError.of(
            "", f"{path} is there already and is a packet of {quoted(held)}, not of {quoted(title)}; {REMEDY}"
        )


def title_of(path: Path) -> str | None:
    """The title of the piece that a packet says it holds; None where it is no packet, or a damaged one."""
    try:
        with zipfile.ZipFile(path) as archive:
            name = next(
                (n for n in archive.namelist()[:10_000] if n.count("/") == 1 and n.endswith("/packet.json")), None
            )
            if name is None or archive.getinfo(name).file_size > LARGEST_RECORD:
                return None
            with archive.open(name) as stream:
                return str(json.loads(stream.read(LARGEST_RECORD))["title"])
    except Exception:  # whatever a library comes upon in bytes that anyone may have written
        return None
