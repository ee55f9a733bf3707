"""A small interpreter of page content on top of pikepdf, a library that the sheets are not written with.

It follows the operators of ISO 32000-1, table 51 and clause 8.5: graphics state, matrices, paths, clipping, painting.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field

import numpy as np
import pikepdf
from numpy.typing import NDArray

Reals = NDArray[np.float64]
POINT_MM = 25.4 / 72
TEXT = {"BT", "ET", "Tf", "Tm", "Td", "TJ", "Tj"}
LOOKS = {"J", "j", "M", "d", "g", "G", "rg", "RG", "gs", "BMC", "BDC", "EMC"}
"""Operators of ends, joins, dashes, colour and marked content: they move no line."""


@dataclass(frozen=True)
class PaintedPath:
    """A stroked path: its Béziers (n, 4, 2) and line width in points of the page, and the clip box in force, if any."""

    beziers: Reals
    width: float
    clip: tuple[float, float, float, float] | None
    closed: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Of its control points."""
        low, high = self.beziers.min(axis=(0, 1)), self.beziers.max(axis=(0, 1))
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


@dataclass
class _State:
    matrix: Reals = field(default_factory=lambda: np.eye(3))
    width: float = 1.0
    clip: tuple[float, float, float, float] | None = None

    def copy(self) -> _State:
        return _State(self.matrix.copy(), self.width, self.clip)


def pages(data: bytes) -> list[list[PaintedPath]]:
    """The stroked paths of every page."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return [read_page(page) for page in pdf.pages]


def read_page(page: pikepdf.Page) -> list[PaintedPath]:
    """The stroked paths of one page, in page points."""
    return _Reader().read(page)


class _Reader:
    def __init__(self) -> None:
        self.state, self.stack = _State(), [_State()][:0]
        self.painted: list[PaintedPath] = []
        self._clear()

    def _clear(self) -> None:
        self.rows: list[Reals] = []
        self.rectangle: Reals | None = None
        self.clipping = self.closed = False

    def read(self, page: pikepdf.Page) -> list[PaintedPath]:
        self._read(page, page.obj.get("/Resources"))
        if self.stack:
            raise ValueError("q without Q")
        return self.painted

    def _read(self, stream: pikepdf.Page | pikepdf.Object, resources: pikepdf.Object | None) -> None:
        for operands, operator in pikepdf.parse_content_stream(stream):
            name = str(operator)
            if name in TEXT or name in LOOKS:
                continue
            if name == "Do":
                self._form(resources.XObject[operands[0]], resources)
            else:
                self._do(name, [float(v) for v in operands])

    def _form(self, form: pikepdf.Object, resources: pikepdf.Object) -> None:
        """A form XObject: its content under its matrix (clause 8.10)."""
        outer, self.state = self.state, self.state.copy()
        self._do("cm", [float(v) for v in form.get("/Matrix", [1, 0, 0, 1, 0, 0])])
        self._read(form, form.get("/Resources", resources))
        self.state = outer

    def _do(self, name: str, v: list[float]) -> None:
        match name:
            case "q":
                self.stack.append(self.state.copy())
            case "Q":
                self.state = self.stack.pop()
            case "cm":
                a, b, c, d, e, f = v
                self.state.matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ self.state.matrix
            case "w":
                self.state.width = v[0]
            case "m":
                self.here = self.first = np.array(v)
            case "l":
                self._line_to(np.array(v))
            case "c":
                a, b, end = np.array(v).reshape(3, 2)
                self.rows.append(np.stack([self.here, a, b, end]))
                self.here = end
            case "h":
                if not np.array_equal(self.here, self.first):
                    self._line_to(self.first)
                self.closed = True
            case "re":
                x, y, w, h = v
                self.rectangle = np.array([[x, y], [x + w, y + h]])
            case "W":
                self.clipping = True
            case "S" | "n":
                self._end_path(stroked=name == "S")
            case _:
                raise ValueError(f"an operator that a sheet should not use: {name}")

    def _line_to(self, end: Reals) -> None:
        third = (end - self.here) / 3
        self.rows.append(np.stack([self.here, self.here + third, end - third, end]))
        self.here = end

    def _end_path(self, *, stroked: bool) -> None:
        if self.clipping and self.rectangle is not None:
            (x0, y0), (x1, y1) = self._mapped(self.rectangle)
            self.state.clip = (x0, y0, x1, y1)
        if stroked and self.rows:
            scale = float(np.sqrt(abs(np.linalg.det(self.state.matrix[:2, :2]))))
            beziers = self._mapped(np.array(self.rows))
            self.painted.append(PaintedPath(beziers, self.state.width * scale, self.state.clip, self.closed))
        self._clear()

    def _mapped(self, points: Reals) -> Reals:
        return points @ self.state.matrix[:2, :2] + self.state.matrix[2, :2]


def mapped(values: tuple[float, ...] | list[float], points: Reals) -> Reals:
    """Points (..., 2) under the map of six numbers in PDF order."""
    a, b, c, d, e, f = values
    x, y = points[..., 0], points[..., 1]
    return np.stack([a * x + c * y + e, b * x + d * y + f], axis=-1)


def along(beziers: Reals, count: int) -> Reals:
    """``count`` points on each Bézier, ends included: shape (n, count, 2)."""
    t = np.linspace(0, 1, count)[:, None]
    weights = [(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3]
    return sum(w[None] * beziers[:, None, k] for k, w in enumerate(weights))


def is_cut(path: PaintedPath) -> bool:
    """Whether a path is drawn 0.3 mm wide, as cut lines alone are."""
    return abs(path.width * POINT_MM - 0.3) < 0.01
