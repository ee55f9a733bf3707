"""Two independent renderers of PDF pages: MuPDF, by pymupdf, and poppler, by its pdftoppm."""

from __future__ import annotations

import math
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pikepdf
import pymupdf
import pytest
from numpy.typing import NDArray

Grey = NDArray[np.uint8]

MARGIN = 45.0
"""Points added on every side of a page that is turned, so that no corner is lost."""


def mupdf(file: Path, page: int, dpi: int) -> Grey:
    """A page (counted from 1) in grey, 255 for white, as MuPDF draws it."""
    with pymupdf.open(file) as document:
        pixels = document[page - 1].get_pixmap(dpi=dpi, colorspace=pymupdf.csGRAY)
        return np.frombuffer(pixels.samples, dtype=np.uint8).reshape(pixels.height, pixels.stride)[:, : pixels.width]


def poppler(file: Path, page: int, dpi: int) -> Grey:
    """A page (counted from 1) in grey, 255 for white, as poppler draws it."""
    program = shutil.which("pdftoppm")
    if program is None:
        pytest.skip("poppler's pdftoppm is not installed")
    words = [program, "-r", str(dpi), "-gray", "-f", str(page), "-l", str(page), str(file)]
    made = subprocess.run(words, stdout=subprocess.PIPE, check=True).stdout
    magic, size, most, pixels = made.split(b"\n", 3)
    if magic != b"P5" or most != b"255":
        raise ValueError(f"not a grey picture: {made[:20]!r}")
    width, height = map(int, size.split())
    return np.frombuffer(pixels, dtype=np.uint8, count=width * height).reshape(height, width)


RENDERERS = {"MuPDF": mupdf, "poppler": poppler}


def turned(data: bytes, file: Path, motions: Sequence[tuple[float, float, float]], scale: float = 1.0) -> None:
    """Writes the PDF to ``file`` with each page turned by an angle (radians) about its lower-left corner and shifted
    (points), on larger pages; ``scale`` is that of a printer that is not true."""
    source = file.with_suffix(".straight.pdf")
    source.write_bytes(data)
    with pikepdf.open(source) as pdf:
        for page, (angle, dx, dy) in zip(pdf.pages, motions, strict=True):
            cos, sin = scale * math.cos(angle), scale * math.sin(angle)
            width, height = (float(v) for v in page.mediabox[2:])
            x, y = MARGIN + dx, MARGIN + dy
            page.contents_add(f"q {cos:.9f} {sin:.9f} {-sin:.9f} {cos:.9f} {x:.6f} {y:.6f} cm\n".encode(), prepend=True)
            page.contents_add(b"\nQ")
            page.mediabox = [0, 0, width + 2 * MARGIN, height + 2 * MARGIN]
        pdf.save(file)
