"""Pages of written PDFs laid by the registration marks found in their pictures, and held against the exact curve and the
pattern drawn whole: what virtual taping is made of."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cairosvg
import handmade
import numpy as np
import pagereader
import pymupdf
import pytest
import renderers
import shapely
import taping
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from patterns.pattern import Pattern, Role
from tiling import job
from tiling.lattice import cell_of
from tiling.units import UNITS_PER_MM

Reals = NDArray[np.float64]
DPI = 300
PIXEL_MM = 25.4 / DPI
POINT_PX = DPI / 72
INK_OF_GREY = 1 - np.arange(256, dtype=np.float32) / 255
"""How much ink (1 is black) a grey of a picture is."""

BEZIER = "M{:.5f} {:.5f}C{:.5f} {:.5f} {:.5f} {:.5f} {:.5f} {:.5f}"


@dataclass(frozen=True)
class StraightPage:
    """What is known of a page before it is printed: its number, its cell, its map to the part, its mark centres by seam
    (points), points on furniture and the boxes of words (points)."""

    number: int
    cell: tuple[int, int]
    to_part: tuple[float, ...]
    clip: tuple[float, float, float, float]
    marks: dict[tuple, Reals]
    furniture: cKDTree
    words: Reals

    def of_part(self, points: Reals) -> Reals:
        """The place on the page (points) of places of the part (mm)."""
        a, b, c, d, e, f = self.to_part
        return (points - (e, f)) @ np.linalg.inv(np.array([[a, b], [c, d]]))

    def is_plain(self, at: Reals, margin_mm: float) -> NDArray[np.bool_]:
        """Which places (points) are in the window, with no furniture nor words within the margin."""
        margin = margin_mm / pagereader.POINT_MM
        x0, y0, x1, y1 = self.clip
        plain = ((at > (x0 + margin, y0 + margin)) & (at < (x1 - margin, y1 - margin))).all(axis=1)
        plain &= self.furniture.query(at, distance_upper_bound=margin)[0] > margin
        for word in self.words:
            plain &= ~((at > word[:2] - margin) & (at < word[2:] + margin)).all(axis=1)
        return plain


EDGE = 113 / 256
"""Points that a page shows beyond its window: half a cut line and a hair."""


def straight_pages(made: job.Printed, shape: handmade.Handmade, cells: set | None = None) -> list[StraightPage]:
    """What is known of the pages that show the shape's pattern; only those of ``cells`` if they are given."""
    paths = pagereader.pages(made.data)
    drawn = _all_lines(shape.pattern)
    result = []
    with pymupdf.open(stream=made.data) as document:
        for entry in made.to_json()["sheets"]:
            on_page = paths[entry["page"] - 1]
            if entry["parts"][0]["part"] != shape.pattern.name or not (
                cells is None or cell_of(entry["label"]) in cells
            ):
                continue
            to_part = tuple(entry["parts"][0]["to_part"])
            page = document[entry["page"] - 1]
            words = [_upright(word[:4], page.rect.height) for word in page.get_text("words")]
            x0, y0, x1, y1 = next(path.clip for path in on_page if path.clip)
            clip = (x0 + EDGE, y0 + EDGE, x1 - EDGE, y1 - EDGE)
            cell = cell_of(entry["label"])
            furniture = _furniture(on_page, to_part, drawn)
            marks = mark_centres(on_page, cell, clip, _overlap_mm(made, shape) / pagereader.POINT_MM)
            result.append(StraightPage(entry["page"], cell, to_part, clip, marks, cKDTree(furniture), np.array(words)))
    return result


def _overlap_mm(made: job.Printed, shape: handmade.Handmade) -> float:
    forms = [one.layout.lattice.form for one in made.dealt if one.pattern.name == shape.pattern.name]
    return forms[0].overlap / UNITS_PER_MM


def _upright(box: tuple[float, ...], height: float) -> tuple[float, ...]:
    return box[0], height - box[3], box[2], height - box[1]


def _furniture(on_page: list[pagereader.PaintedPath], to_part: tuple[float, ...], drawn: shapely.Geometry) -> Reals:
    """Points on every line of the page that is not the pattern's."""
    points = []
    for path in on_page:
        rows = pagereader.along(path.beziers, 5)
        off = shapely.distance(drawn, shapely.points(pagereader.mapped(to_part, rows))).max(axis=1)
        count = int(np.ceil(np.ptp(path.beziers, axis=(1, 2)).max() / 0.4)) + 2
        points.append(pagereader.along(path.beziers[off > 0.02], count).reshape(-1, 2))
    return np.concatenate(points)


def mark_centres(on_page: list, cell: tuple[int, int], clip: tuple, overlap: float) -> dict[tuple, Reals]:
    """Centres of the circles of registration marks, by the seam and half that they belong to; the same key on both
    sheets of a seam."""
    found = {}
    for path in on_page:
        x0, y0, x1, y1 = path.box
        if path.closed and abs((x1 - x0) * pagereader.POINT_MM - 2 * taping.RADIUS_MM) < 0.05:
            centre = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
            off = [centre[0] - clip[0], clip[2] - centre[0], centre[1] - clip[1], clip[3] - centre[1]]
            side = int(np.argmin(off))
            assert off[side] == pytest.approx(overlap / 2, abs=0.02)
            axis = side // 2
            half = int(centre[1 - axis] > (clip[1 - axis] + clip[3 - axis]) / 2)
            found[(axis, cell[axis] + side % 2, cell[1 - axis], half)] = centre
    assert len(found) == 8
    return found


def pictures(
    made: job.Printed, pages: list[StraightPage], renderer: str, folder: Path, scale: float = 1.0
) -> list[NDArray[np.float32]]:
    """Every page, turned and shifted at random, as ink (1 is black)."""
    random = np.random.default_rng(20)
    file = folder / "turned.pdf"
    turns = random.uniform(-0.05, 0.05, made.page_count)
    shifts = random.uniform(-20, 20, (made.page_count, 2))
    renderers.turned(made.data, file, [(a, x, y) for a, (x, y) in zip(turns, shifts, strict=True)], scale)
    draw = renderers.RENDERERS[renderer]
    return [INK_OF_GREY[draw(file, page.number, DPI)] for page in pages]


def laid(pages: list[StraightPage], inks: list[NDArray[np.float32]]) -> tuple[list[taping.Motion], float]:
    """From each picture (pixels) to the part (mm), by marks alone, and what the adjustment left (rms, pixels).

    The whole taped sheet is then turned and shifted onto the part, as a maker would lay it: one rigid motion for all.
    """
    found = []
    for page, ink in zip(pages, inks, strict=True):
        places = np.array(list(page.marks.values())) * POINT_PX
        found.append(dict(zip(page.marks, taping.find_marks(ink, places, DPI), strict=True)))
    motions, left = taping.adjusted(found)
    here, there = [], []
    for page, marks, motion in zip(pages, found, motions, strict=True):
        for key, place in marks.items():
            if np.isfinite(place).all():
                here.append(motion(place[None])[0])
                there.append(pagereader.mapped(page.to_part, page.marks[key]) / PIXEL_MM)
    whole = taping.fitted(np.array(here), np.array(there))
    together = [taping.Motion(m.angle + whole.angle, tuple(whole(np.array([m.shift]))[0])) for m in motions]
    return together, left


# ---------------------------------------------------------------- against the exact curve


def centre_line(shape, pages, inks, motions) -> tuple[Reals, float]:
    """How far (pixels) the middle of the laid cut line is from the exact curve, wherever it can be seen by itself, and
    the share of the curve's points at which some sheet shows it so."""
    off, seen, count = [], 0, 0
    for exact in shape.exact:
        points = exact.points(1.0)
        tangent = np.gradient(points, axis=0)
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1) / np.hypot(*tangent.T)[:, None]
        inner = slice(3, -3)
        points, normal = points[inner], normal[inner]
        others = [other for other in shape.exact if other is not exact]
        alone = np.min([other.distance(points) for other in others], axis=0) > 1.5
        alone &= _clear_of_lines(shape, points)
        shown = np.zeros(len(points), dtype=bool)
        for page, ink, motion in zip(pages, inks, motions, strict=True):
            plain = alone & page.is_plain(page.of_part(points), 1.2)
            reach = np.arange(-8, 8.01, 0.25)
            at = points[plain][:, None] / PIXEL_MM + reach[None, :, None] * normal[plain][:, None]
            profile = taping.sampled(ink, motion.back(at.reshape(-1, 2)).reshape(at.shape))
            assert (profile.sum(axis=1) * 0.25 > 0.7 * 0.3 / PIXEL_MM).all(), "the cut line is missing"
            off.append((profile * reach).sum(axis=1) / profile.sum(axis=1))
            shown |= plain
        seen, count = seen + int(shown.sum()), count + len(points)
    return np.concatenate(off), seen / count


def _clear_of_lines(shape: handmade.Handmade, points: Reals) -> NDArray[np.bool_]:
    """Which points of the cut line no other line of the pattern comes near."""
    return shapely.distance(_other_lines(shape.pattern), shapely.points(points)) > 1.2


@cache
def _other_lines(pattern: Pattern) -> shapely.Geometry:
    """All lines of a pattern but its cut line."""
    return _prepared([points for role, points in handmade.flattened(pattern) if role is not Role.CUT])


@cache
def _all_lines(pattern: Pattern) -> shapely.Geometry:
    return _prepared([points for _, points in handmade.flattened(pattern)])


def _prepared(lines: list[Reals]) -> shapely.Geometry:
    made = shapely.MultiLineString(lines)
    shapely.prepare(made)
    return made


# ---------------------------------------------------------------- against the pattern drawn whole


def ink_apart(shape, pages, inks, motions, renderer, folder) -> tuple[float, float, int]:
    """The greatest distance (pixels) of an edge of ink on a laid page from one of the whole drawing, and the other way,
    with marks, base lines and words left out of both; and how many places were compared."""
    whole = whole_edges(shape, renderer, folder)
    tree = cKDTree(whole)
    there = back = 0.0
    compared = 0
    for page, ink, motion in zip(pages, inks, motions, strict=True):
        here = motion(edges(ink)) * PIXEL_MM
        plain = here[page.is_plain(page.of_part(here), 0.6)]
        wanted = whole[page.is_plain(page.of_part(whole), 0.6)]
        there = max(there, float(tree.query(plain)[0].max(initial=0.0)) / PIXEL_MM)
        back = max(back, float(cKDTree(here).query(wanted)[0].max(initial=0.0)) / PIXEL_MM)
        compared += len(plain) + len(wanted)
    return there, back, compared


def edges(ink: NDArray) -> Reals:
    """Where the ink passes one half between neighbouring pixels, to a part of a pixel: points on the edges of all ink."""
    found = []
    for axis in (0, 1):
        low, high = (ink[:-1], ink[1:]) if axis == 0 else (ink[:, :-1], ink[:, 1:])
        rows, columns = np.nonzero((low > 0.5) != (high > 0.5))
        a, b = low[rows, columns].astype(float), high[rows, columns].astype(float)
        at = [rows + 0.5, columns + 0.5]
        at[axis] = at[axis] + (0.5 - a) / (b - a)
        found.append(np.stack([at[1], ink.shape[0] - at[0]], axis=1))
    return np.concatenate(found)


def whole_edges(shape: handmade.Handmade, renderer: str, folder: Path) -> Reals:
    """Points of the part (mm) on the edges of all ink of the whole pattern, drawn on one large page."""
    x0, y0, x1, y1 = (round(v) for v in np.add(shape.pattern.bounds, (-5, -5, 5, 5)))
    paths = []
    for role, rows in handmade.drawn(shape.pattern):
        data = "".join(BEZIER.format(*row.ravel()) for row in rows * (1, -1))
        width = 0.3 if role is Role.CUT else 0.15
        paths.append(f'<path d="{data}" fill="none" stroke="#000" stroke-width="{width}" stroke-linecap="round"/>')
    size = f'width="{x1 - x0}mm" height="{y1 - y0}mm" viewBox="{x0} {-y1} {x1 - x0} {y1 - y0}"'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(paths)}</svg>'
    file = folder / "whole.pdf"
    file.write_bytes(cairosvg.svg2pdf(bytestring=svg.encode()))
    ink = INK_OF_GREY[renderers.RENDERERS[renderer](file, 1, DPI)]
    at = edges(ink)
    return np.stack([x0 + at[:, 0] * PIXEL_MM, y1 - (ink.shape[0] - at[:, 1]) * PIXEL_MM], axis=1)
