"""Draws the pictures of the README again, from real output of the demo pieces, into ``demo/pictures``.

    tests/run                                # once, for the packages that it needs
    .venv/bin/python demo/draw_pictures.py

The sheets are shown as another PDF reader (MuPDF) renders them, laid where the JSON of ``sheets`` says they belong.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import tempfile
from pathlib import Path
from typing import Any

import pymupdf
from PIL import Image, ImageChops, ImageDraw

from cli.main import run

HERE = Path(__file__).parent
PICTURES = HERE / "pictures"
DPI = 64.0
PX_PER_MM = DPI / 25.4
EDGE = 130
"""Grey of the paper's edges, which a white page on a white README would not show."""


def curvewright(*words: str | Path) -> str:
    """Runs a command; returns its standard output."""
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        status = run([str(word) for word in words])
    if status != 0:
        raise SystemExit(f"curvewright {' '.join(map(str, words))} ended with {status}")
    return told.getvalue()


def page_picture(document: pymupdf.Document, number: int, dpi: float = DPI) -> Image.Image:
    """A page (from 1) in greys, with the paper's edge drawn."""
    pixmap = document[number - 1].get_pixmap(dpi=round(dpi), colorspace=pymupdf.csGRAY)
    picture = Image.frombytes("L", (pixmap.width, pixmap.height), pixmap.samples)
    ImageDraw.Draw(picture).rectangle((0, 0, picture.width - 1, picture.height - 1), outline=EDGE)
    return picture


def laid(document: pymupdf.Document, page: int, piece: dict[str, Any]) -> tuple[float, float, Image.Image]:
    """A trimmed sheet turned as it lies on the part, and its upper left corner there (mm, y up)."""
    a, b, c, d, e, f = piece["to_part"]
    rect = document[page - 1].rect
    corners = [(a * x + c * y + e, b * x + d * y + f) for x in (0.0, rect.width) for y in (0.0, rect.height)]
    left, top = min(x for x, _ in corners), max(y for _, y in corners)
    turned = page_picture(document, page).rotate(round(math.degrees(math.atan2(b, a))), expand=True)
    x0, y0, x1, y1 = piece["window_mm"]
    box = [round(PX_PER_MM * side) for side in (x0 - left, top - y1, x1 - left, top - y0)]
    trimmed = turned.crop((box[0], box[1], box[2], box[3]))
    ImageDraw.Draw(trimmed).rectangle((0, 0, trimmed.width - 1, trimmed.height - 1), outline=EDGE)
    return x0, y1, trimmed


def taped(document: pymupdf.Document, sheets: list[dict[str, Any]], part: str) -> Image.Image:
    """The sheets of a part where they lie when they are trimmed and taped."""
    placed = [
        laid(document, sheet["page"], piece) for sheet in sheets for piece in sheet["parts"] if piece["part"] == part
    ]
    left, top = min(x for x, _, _ in placed), max(y for _, y, _ in placed)
    boxes = [(round((x - left) * PX_PER_MM), round((top - y) * PX_PER_MM), picture) for x, y, picture in placed]
    size = max(x + p.width for x, _, p in boxes), max(y + p.height for _, y, p in boxes)
    canvas = Image.new("L", size, 255)
    for x, y, picture in boxes:
        layer = Image.new("L", size, 255)
        layer.paste(picture, (x, y))
        canvas = ImageChops.darker(canvas, layer)
    return canvas


def saved(picture: Image.Image, name: str, width: int) -> None:
    """Scales a picture down to ``width`` pixels and writes it with few greys."""
    scale = min(1.0, width / picture.width)
    small = picture.convert("L").resize((round(picture.width * scale), round(picture.height * scale)), Image.LANCZOS)
    small.quantize(16).save(PICTURES / name, optimize=True)
    print(f"demo/pictures/{name}: {small.width} x {small.height}")


def main() -> None:
    """Draws them all."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        cradle = HERE / "dolls-cradle.toml"
        sheets = json.loads(curvewright("sheets", cradle, "-o", folder / "cradle.pdf", "--json"))["sheets"]
        with pymupdf.open(folder / "cradle.pdf") as document:
            saved(taped(document, sheets, "head board"), "head-board-taped.png", 900)
            saved(page_picture(document, 1, 90), "cover.png", 700)
            page = next(s["page"] for s in sheets if s["parts"][0]["part"] == "foot board")
            saved(page_picture(document, page, 90), "sheet.png", 700)
        curvewright("patterns", cradle, "-o", folder / "cradle", "--png", "--part", "rocker", "--part", "side")
        saved(Image.open(folder / "cradle" / "rocker.png"), "rocker.png", 1000)
        curvewright("patterns", HERE / "bench-back.toml", "-o", folder / "bench", "--png", "--part", "back")
        saved(Image.open(folder / "bench" / "back-board-2.png"), "short-board.png", 1000)


if __name__ == "__main__":
    main()
