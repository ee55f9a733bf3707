"""Lettering in the one open font: shaped by HarfBuzz, so that every machine measures and prints it alike.

Texts are normalised to NFC and ligatures are off, so that a glyph stands for one character. Heights are the height of a
capital or a figure, in millimetres, as drawing standards give them.
"""

from __future__ import annotations

import itertools
import unicodedata
from functools import cache, lru_cache
from pathlib import Path

import fontpkg_noto_sans
import numpy as np
import uharfbuzz
from msgspec import Struct

from patterns.affine import Affine, Points
from patterns.curve import Curve

FONT_NAME = "Noto Sans"
UNITS_PER_EM = 1000
CAP_HEIGHT = 0.714
"""Height of a capital or a figure over the font size: sCapHeight 714 of 1000 in the font's OS/2 table."""
DESCENT = 0.22
"""How far letters reach under the base line, over the font size."""

_FEATURES = {"liga": False, "clig": False}


class Run(Struct, frozen=True):
    """A line of text in font units: glyph numbers, their advances (kerning included), the characters each stands for."""

    numbers: tuple[int, ...]
    advances: tuple[int, ...]
    texts: tuple[str, ...]
    lifts: tuple[tuple[int, int], ...]
    """How far each glyph is set off from the line: across, up."""


class Shaped(Struct, frozen=True):
    """A line of text ready to set: ``size`` is the font size and ``width`` the length of the line, in mm.

    ``missing`` are the characters that the font lacks.
    """

    run: Run
    size: float
    width: float
    missing: tuple[str, ...] = ()


def font_path() -> Path:
    """The font file, as its package carries it."""
    return next((Path(fontpkg_noto_sans.ROOT) / "files").glob("NotoSans[[]*.ttf"))


@cache
def font_face() -> uharfbuzz.Face:
    """The font, opened once; its default instance is Regular."""
    return uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(font_path())))


@cache
def _font() -> uharfbuzz.Font:
    return uharfbuzz.Font(font_face())


@lru_cache(maxsize=8192)
def run_of(text: str) -> Run:
    """The glyphs of a line of text; normalised, unhinted, without ligatures."""
    text = text if text.isascii() else unicodedata.normalize("NFC", text)
    if not text:
        return Run((), (), (), ())
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    uharfbuzz.shape(_font(), buffer, _FEATURES)
    infos, places = buffer.glyph_infos, buffer.glyph_positions
    numbers = tuple([info.codepoint for info in infos])
    advances = tuple([place.x_advance for place in places])
    if text.isascii() and len(infos) == len(text):
        return Run(numbers, advances, tuple(text), ((0, 0),) * len(numbers))
    lifts = tuple([(place.x_offset, place.y_offset) for place in places])
    return Run(numbers, advances, _clusters(text, [info.cluster for info in infos]), lifts)


def _clusters(text: str, starts: list[int]) -> tuple[str, ...]:
    """The characters that each glyph stands for; those of a cluster go to its first glyph."""
    ends = dict(itertools.pairwise([*sorted(set(starts)), len(text)]))
    told: set[int] = set()
    texts = []
    for start in starts:
        texts.append("" if start in told else text[start : ends[start]])
        told.add(start)
    return tuple(texts)


@lru_cache(maxsize=1024)
def own_advance(glyph: int) -> int:
    """A glyph's advance in the font, before kerning, in font units."""
    return int(_font().get_glyph_h_advance(glyph))


@lru_cache(maxsize=1024)
def plain_advance(character: str) -> int:
    """The advance of one character by itself, in font units: its place in a line before kerning."""
    glyph = _font().get_nominal_glyph(ord(character))
    return own_advance(glyph or 0)


@lru_cache(maxsize=8192)
def shape(text: str, height: float) -> Shaped:
    """Sets ``text`` with capitals ``height`` mm high."""
    run = run_of(text)
    size = height / CAP_HEIGHT
    missing = tuple(text for number, text in zip(run.numbers, run.texts, strict=True) if number == 0 and text)
    return Shaped(run, size, sum(run.advances) * size / UNITS_PER_EM, missing)


def outlines(text: str, height: float) -> list[Curve]:
    """The letters as closed curves (mm), base line at y = 0, beginning at x = 0; to be filled by the non-zero rule."""
    run = run_of(text)
    scale, curves, pen_x = height / CAP_HEIGHT / UNITS_PER_EM, [], 0
    for number, advance, (across, up) in zip(run.numbers, run.advances, run.lifts, strict=True):
        place = Affine.translation((pen_x + across) * scale, up * scale) @ Affine.scaling(scale)
        curves += [contour.transformed(place) for contour in _contours(number)]
        pen_x += advance
    return curves


@lru_cache(maxsize=1024)
def _contours(glyph: int) -> tuple[Curve, ...]:
    """The contours of a glyph in font units, as closed curves."""
    pen = _ContourPen()
    _font().draw_glyph_with_pen(glyph, pen)
    return tuple(pen.contours)


class _ContourPen:
    """Collects contours; quadratic curves are raised to cubic ones, which is exact."""

    def __init__(self) -> None:
        self.contours: list[Curve] = []
        self._beziers: list[list[tuple[float, float]]] = []
        self._here = (0.0, 0.0)
        self._first = (0.0, 0.0)

    def moveTo(self, point: tuple[float, float]) -> None:
        self._here = self._first = point

    def lineTo(self, point: tuple[float, float]) -> None:
        if point != self._here:
            self._beziers.append([self._here, _toward(self._here, point), _toward(point, self._here), point])
        self._here = point

    def qCurveTo(self, handle: tuple[float, float], point: tuple[float, float]) -> None:
        a, b = _between(self._here, handle, 2 / 3), _between(point, handle, 2 / 3)
        self._beziers.append([self._here, a, b, point])
        self._here = point

    def curveTo(self, a: tuple[float, float], b: tuple[float, float], point: tuple[float, float]) -> None:
        self._beziers.append([self._here, a, b, point])
        self._here = point

    def closePath(self) -> None:
        self.lineTo(self._first)
        if self._beziers:
            self.contours.append(Curve(_array(self._beziers)))
        self._beziers = []

    endPath = closePath


def _between(start: tuple[float, float], end: tuple[float, float], share: float) -> tuple[float, float]:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _toward(start: tuple[float, float], end: tuple[float, float]) -> tuple[float, float]:
    return _between(start, end, 1 / 3)


def _array(beziers: list[list[tuple[float, float]]]) -> Points:

    return np.array(beziers, dtype=np.float64)
