"""A small picture of a pattern with its grid of sheets, to find one's way by."""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from msgspec import Struct

from patterns.affine import Affine
from patterns.pattern import Role
from tiling.content import NARROW, WIDE, Content
from tiling.coverfacts import PatternOnCover, SheetOnCover, SheetState
from tiling.lattice import cell_name
from tiling.units import UNITS_PER_MM, Cell, Integers, Reals, to_units
from tiling.wrap import text_mm

NAME_MM = 2.3
"""Height of a sheet's name in the picture."""
TOLERANCE_MM = 0.03
"""How far a chord of the picture may stray from the curve, on paper."""
BOLD = to_units(0.6)
"""The frame of a sheet to print, where others are kept."""
RIM_MM = 1.0
"""Around the picture, so that lines at its edge do not touch what is beside it."""
RIM_NAMES_MM = 5.5
"""Room for the names of rows and columns beside the grid, where cells are too small for names of their own."""
CLEAR_MM = 0.7
WORDS: dict[SheetState, str] = {"print": "print", "keep": "keep"}
"""Beside a sheet's name, where some are printed and others kept."""
REPLACING = "*"
"""After the name of a sheet whose old print is thrown away."""

PIXEL_MM = 0.5
"""Of the coarse image in which names look for a place that no line crosses."""

Box = tuple[float, float, float, float]


class Picture(Struct, frozen=True, eq=False):
    """A pattern on its grid, ``width`` by ``height`` mm on paper; ``scale`` is mm on paper for a draw unit."""

    on_cover: PatternOnCover
    extent: Box
    scale: float
    names_in_cells: bool
    width: float
    height: float

    @property
    def cell_mm(self) -> tuple[float, float]:
        """(width, height) of a sheet's core in the picture."""
        across, up = self.on_cover.lattice.form.step
        return across * self.scale, up * self.scale

    def draw(self, page: Content, x: float, y: float, tell_apart: bool) -> None:
        """Draws it with its upper left corner at (x, y) mm from the page's lower left corner.

        ``tell_apart`` sets the sheets to print off against those to keep.
        """
        _Drawing(self, page, x, y, tell_apart).draw()


@lru_cache(maxsize=256)  # most patterns of a watch stay as they were
def picture(on_cover: PatternOnCover, width: float, height: float) -> Picture:
    """The picture that fits a box of ``width`` by ``height`` mm."""
    extent = _extent(on_cover)
    for rim in (RIM_MM, RIM_NAMES_MM):
        span_x, span_y = extent[2] - extent[0], extent[3] - extent[1]
        scale = min((width - RIM_MM - rim) / span_x, (height - RIM_MM - rim) / span_y)
        across, up = on_cover.lattice.form.step
        fits = _names_fit(on_cover, across * scale, up * scale)
        if fits or rim == RIM_NAMES_MM:
            break
    return Picture(on_cover, extent, scale, fits, span_x * scale + RIM_MM + rim, span_y * scale + RIM_MM + rim)


def _names_fit(on_cover: PatternOnCover, cell_width: float, cell_height: float) -> bool:
    widest = max((text_mm(_name(sheet), NAME_MM) for sheet in on_cover.sheets), default=0.0)
    return cell_width >= widest + 2 * CLEAR_MM and cell_height >= NAME_MM + 2 * CLEAR_MM


def _extent(on_cover: PatternOnCover) -> Box:
    """What the picture shows, in draw units: every sheet's core and the whole outline."""
    cores = [on_cover.lattice.core(sheet.cell) for sheet in on_cover.sheets]
    x0, y0, x1, y1 = on_cover.pattern.outline.bounds
    corners = on_cover.to_drawing.apply(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
    low, high = corners.min(axis=0), corners.max(axis=0)
    cores.append((int(low[0]), int(low[1]), int(high[0]), int(high[1])))
    return (
        float(min(core[0] for core in cores)),
        float(min(core[1] for core in cores)),
        float(max(core[2] for core in cores)),
        float(max(core[3] for core in cores)),
    )


class _CutLines(Struct, frozen=True, eq=False, dict=True):
    """The cut lines of a pattern where they come to lie on a page: polylines (m, 2), and the box of the picture, in mm."""

    polylines: list[Reals]
    box: Box

    @cached_property
    def path(self) -> str:
        """The operators that draw them."""
        return "".join(_path(line) for line in self.polylines) + "S\n"

    @cached_property
    def taken(self) -> _Taken:
        """Where they leave no room for names."""
        return _Taken(self.polylines, self.box)


@lru_cache(maxsize=128)  # most pictures of a watch stay as they were
def _cut_lines(picture: Picture, left: float, bottom: float) -> _CutLines:
    """The cut lines in a picture with its grid's lower left corner at (left, bottom) mm."""
    on_cover = picture.on_cover
    to_page = _to_page(picture, left, bottom) @ on_cover.to_drawing
    tolerance = TOLERANCE_MM / max(abs(to_page.determinant) ** 0.5, 1e-12)
    cuts = [stroke.curve for stroke in on_cover.pattern.strokes if stroke.role is Role.CUT]
    curves = cuts or list(on_cover.pattern.outline.curves)
    polylines = [to_page.apply(curve.flattened(tolerance)) for curve in curves]
    return _CutLines(polylines, (left, bottom, left + picture.width, bottom + picture.height))


def _to_page(picture: Picture, left: float, bottom: float) -> Affine:
    """From draw units of the drawing to mm of the page."""
    away = Affine.translation(-picture.extent[0], -picture.extent[1])
    return Affine.translation(left, bottom) @ Affine.scaling(picture.scale) @ away


class _Drawing:
    """One picture being drawn: knows where the pattern's points come to lie on the page."""

    def __init__(self, picture: Picture, page: Content, x: float, y: float, tell_apart: bool) -> None:
        self.picture, self.page, self.tell_apart = picture, page, tell_apart
        rim = RIM_MM if picture.names_in_cells else RIM_NAMES_MM
        self.left, self.bottom = x + rim, y - picture.height + rim
        self.to_page = _to_page(picture, self.left, self.bottom)
        self.lines = _cut_lines(picture, self.left, self.bottom)

    def draw(self) -> None:
        sheets = self.picture.on_cover.sheets
        self._grid([s for s in sheets if not (self.tell_apart and s.state == "print")])
        for sheet in sheets:
            self._crosses(sheet)
        if self.tell_apart:
            self._bold_frames([s for s in sheets if s.state == "print"])
        self._outline()
        if self.picture.names_in_cells:
            self._names()
        else:
            self._names_beside()

    # ---------------------------------------------------------------- lines

    def _outline(self) -> None:
        self.page.width(WIDE)
        self.page.raw(self.lines.path)

    def _box(self, cell: Cell, inset: float = 0.0) -> tuple[float, float, float, float]:
        """A sheet's core in mm of the page."""
        x0, y0, x1, y1 = self.picture.on_cover.lattice.core(cell)
        left, bottom = self.to_page.point(x0, y0)
        right, top = self.to_page.point(x1, y1)
        return left + inset, bottom + inset, right - inset, top - inset

    def _grid(self, sheets: list[SheetOnCover]) -> None:
        """The frames, every line once."""
        edges: set[tuple[int, int, int, int]] = set()
        for sheet in sheets:
            x0, y0, x1, y1 = (to_units(v) for v in self._box(sheet.cell))
            edges |= {(x0, y0, x1, y0), (x0, y1, x1, y1), (x0, y0, x0, y1), (x1, y0, x1, y1)}
        self.page.width(NARROW)
        self.page.lines(sorted(edges))

    def _bold_frames(self, sheets: list[SheetOnCover]) -> None:
        self.page.width(BOLD)
        for sheet in sheets:
            self.page.rectangle(*(to_units(v) for v in self._box(sheet.cell, inset=0.5)))
        self.page.width(NARROW)

    def _crosses(self, sheet: SheetOnCover) -> None:
        """Left out: a thin cross. To be thrown away: a wide one, open round the name. Marks only: one open line."""
        if sheet.state in ("print", "keep"):
            return
        x0, y0, x1, y1 = self._box(sheet.cell)
        named = self.picture.names_in_cells and not sheet.shared and sheet.state != "left out"
        gap = _gap(_name(sheet), x1 - x0, y1 - y0) if named else 0.0
        rising = [(x0, y0, x1, y1)]
        strokes = rising if sheet.state == "join" else [*rising, (x0, y1, x1, y0)]
        self.page.width(WIDE * 2 if sheet.state == "discard" else NARROW)
        self.page.lines([tuple(to_units(v) for v in part) for line in strokes for part in _opened(*line, gap)])

    # ---------------------------------------------------------------- names

    def _names(self) -> None:
        """Each sheet's name where the fewest lines cross it; in the middle where the sheet is crossed out."""
        taken = self.lines.taken
        for sheet in self.picture.on_cover.sheets:
            name = self._said(sheet)
            if sheet.state == "left out" or not name:
                continue
            width = text_mm(name, NAME_MM)
            places = _places(self._box(sheet.cell, inset=0.9 if self.tell_apart else 0.0), width)
            if sheet.state in ("print", "keep"):
                x, y = _emptiest(places, width, taken)
            else:
                x, y = places[0]
            self.page.text(to_units(x), to_units(y), name, NAME_MM)

    def _said(self, sheet: SheetOnCover) -> str:
        """A sheet's name; in a reprint with the word for what is done with it, where there is room."""
        if not self.tell_apart:
            return _name(sheet)
        said = _name(sheet, WORDS.get(sheet.state, ""))
        x0, _, x1, _ = self._box(sheet.cell)
        return said if text_mm(said, NAME_MM) + 4 * CLEAR_MM <= x1 - x0 else _name(sheet)

    def _names_beside(self) -> None:
        """Letters of rows at the left, numbers of columns beneath; only every so many where they stand too close."""
        columns = sorted({sheet.cell[0] for sheet in self.picture.on_cover.sheets})
        rows = sorted({sheet.cell[1] for sheet in self.picture.on_cover.sheets})
        cell_width, cell_height = self.picture.cell_mm
        widest = max(text_mm(_column_name(column), NAME_MM) for column in columns)
        for column in columns[:: _every(widest + 1.0, cell_width)]:
            x0, _, x1, _ = self._box((column, rows[0]))
            base = self.bottom - 1.0 - NAME_MM
            self.page.text(to_units((x0 + x1) / 2), to_units(base), _column_name(column), NAME_MM, anchor="middle")
        for row in rows[:: _every(NAME_MM * 1.5, cell_height)]:
            _, y0, _, y1 = self._box((columns[0], row))
            base = (y0 + y1 - NAME_MM) / 2
            self.page.text(to_units(self.left - 1.0), to_units(base), _row_name(row), NAME_MM, anchor="end")


def _name(sheet: SheetOnCover, word: str = "") -> str:
    """What stands on a sheet in the picture: its name, the word, and the sign for an old print to be thrown away. A
    shared sheet's name stands over the picture."""
    words = ("" if sheet.shared else sheet.name, word, REPLACING if sheet.replaces else "")
    return " ".join(filter(None, words))


def _row_name(row: int) -> str:
    return cell_name((0, row))[:-1]


def _column_name(column: int) -> str:
    return cell_name((column, 0))[1:]


def _every(wanted: float, room: float) -> int:
    """One of how many names can be written, where each wants ``wanted`` and is given ``room`` mm."""
    return max(1, int(np.ceil(wanted / room)))


def _path(points: Reals) -> str:
    whole: Integers = np.rint(points * UNITS_PER_MM).astype(np.int64)
    pairs = [f"{x} {y}" for x, y in whole.tolist()]
    return f"{pairs[0]} m {' l '.join(pairs[1:])} l\n"


def _places(box: Box, width: float) -> list[tuple[float, float]]:
    """Where a name may stand in a cell (left end, base line): the middle first, then towards the corners and sides."""
    x0, y0, x1, y1 = box
    left, right = x0 + CLEAR_MM, x1 - CLEAR_MM - width
    low, high = y0 + CLEAR_MM, y1 - CLEAR_MM - NAME_MM
    middle_x, middle_y = (x0 + x1 - width) / 2, (y0 + y1 - NAME_MM) / 2
    corners = [(left, high), (right, high), (left, low), (right, low)]
    return [(middle_x, middle_y), *corners, (middle_x, high), (middle_x, low), (left, middle_y), (right, middle_y)]


def _emptiest(places: list[tuple[float, float]], width: float, taken: _Taken) -> tuple[float, float]:
    """The place that the fewest lines cross, the first of those that are equal."""
    counts: list[int] = []
    for x, y in places:
        counts.append(taken.count_in(x, y, x + width, y + NAME_MM))
        if counts[-1] == 0:
            break
    return places[counts.index(min(counts))]


def _gap(name: str, width: float, height: float) -> float:
    """The share of a cell's diagonal that is left open round its name."""
    return min(0.85, (text_mm(name, NAME_MM) + 1.0) / width, (NAME_MM + 1.0) / height)


def _opened(x0: float, y0: float, x1: float, y1: float, gap: float) -> list[tuple[float, float, float, float]]:
    """A line with the middle share ``gap`` left out."""
    if gap <= 0.0:
        return [(x0, y0, x1, y1)]
    low, high = 0.5 - gap / 2, 0.5 + gap / 2
    at = [(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in (low, high)]
    return [(x0, y0, *at[0]), (*at[1], x1, y1)]


class _Taken:
    """Which places the lines cross: a coarse image, summed so that any box is asked at once."""

    def __init__(self, lines: list[Reals], box: Box) -> None:
        self.x0, self.y0 = box[0], box[1]
        size = int((box[2] - box[0]) / PIXEL_MM) + 3, int((box[3] - box[1]) / PIXEL_MM) + 3
        image = np.zeros((size[0] + 1, size[1] + 1), dtype=np.int32)
        points = _dense(lines)
        column = np.clip(((points[:, 0] - self.x0) / PIXEL_MM).astype(np.int64), 0, size[0] - 1)
        row = np.clip(((points[:, 1] - self.y0) / PIXEL_MM).astype(np.int64), 0, size[1] - 1)
        image[column + 1, row + 1] = 1
        self.sums = image.cumsum(axis=0).cumsum(axis=1)

    def count_in(self, x0: float, y0: float, x1: float, y1: float) -> int:
        """How many pixels of lines are in the box or within a pixel of it."""
        top_x, top_y = self.sums.shape[0] - 1, self.sums.shape[1] - 1
        a, c = (min(max(int((x - self.x0) / PIXEL_MM) + k, 0), top_x) for x, k in ((x0, -1), (x1, 2)))
        b, d = (min(max(int((y - self.y0) / PIXEL_MM) + k, 0), top_y) for y, k in ((y0, -1), (y1, 2)))
        return int(self.sums[c, d] - self.sums[a, d] - self.sums[c, b] + self.sums[a, b])


def _dense(lines: list[Reals]) -> Reals:
    """Points along polylines, no farther apart than a pixel."""
    starts = np.concatenate([line[:-1] for line in lines])
    steps = np.concatenate([line[1:] for line in lines]) - starts
    counts = np.maximum(1, np.ceil(np.hypot(steps[:, 0], steps[:, 1]) / PIXEL_MM)).astype(np.int64)
    which = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[which]
    points: Reals = starts[which] + steps[which] * share[:, None]
    return points
