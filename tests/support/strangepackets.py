"""Packets taken apart and packed again by hand, for tests of what comes from strangers."""

from __future__ import annotations

import zipfile
from pathlib import Path

from cli.packets.archive import SUMS, sums_of

FOLDER = "step-stool"
"""Of the stool's packet."""


def entries_of(path: Path) -> dict[str, bytes]:
    """Every file of a zip file by its name."""
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(files: dict[str, bytes], path: Path, kind: int = zipfile.ZIP_DEFLATED) -> Path:
    """Packs the files as they are."""
    with zipfile.ZipFile(path, "w", kind, compresslevel=1) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return path


def summed(files: dict[str, bytes], path: Path) -> Path:
    """Packs the files with checksums that fit them."""
    inner = {name.removeprefix(f"{FOLDER}/"): data for name, data in files.items()}
    inner.pop(SUMS, None)
    inner[SUMS] = sums_of(inner)
    return packed({f"{FOLDER}/{name}": data for name, data in inner.items()}, path)
