"""The full-size drawing of one part or board: strokes with roles, and labels. Every output is made from this value."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from msgspec import Struct

from patterns.curve import Curve
from patterns.outline import Outline


class Role(StrEnum):
    """What a stroke is for; it settles the line's width and dashes (ISO 128), and its group in a file."""

    CUT = "cut"
    """The line to cut to: wide, continuous."""
    CENTRE = "centre"
    """Centre lines and centre marks: narrow, long-dashed short-dashed chain."""
    MARK = "mark"
    """Station marks, lines to transfer to the wood: narrow, continuous."""
    HIDDEN = "hidden"
    """Outline of something behind; "do not cut": narrow, dashed."""
    BLANK = "blank"
    """The straight blank round the cut line, where it differs from it: narrow, dash with two short dashes."""
    GLUE = "glue"
    """Glue lines: narrow, long dashes."""
    DIMENSION = "dimension"
    """Dimension and leader lines with their ends: narrow, continuous."""
    GRAIN = "grain"
    """The grain arrow: narrow, continuous."""
    REFERENCE = "reference"
    """Straight reference edges and ticks that lay a pattern on its board: narrow, continuous."""
    SKETCH = "sketch"
    """Small pictures that explain something, and that nothing is measured from: narrow, continuous."""


class Stroke(Struct, frozen=True, eq=False):
    """One line of the drawing, in the part's coordinates (mm). ``key`` says where it comes from ("edges.top")."""

    role: Role
    curve: Curve
    key: str = ""


class Label(Struct, frozen=True):
    """A line of text at a point of the part (mm): ``at`` is the middle of its box, ``angle`` radians counter-clockwise.

    ``height`` is the height of a figure in mm (at least 3.5 for figures that are worked to). ``key`` names the label
    and stays the same while sizes change. The writer of sheets may shift it a little so that it lies whole on one
    sheet, clear of lines.
    """

    key: str
    text: str
    at: tuple[float, float]
    height: float = 3.5
    angle: float = 0.0


class Dimension(Struct, frozen=True):
    """A measured distance between two far points of the drawing, to be proved with a rule after taping (mm)."""

    key: str
    text: str
    start: tuple[float, float]
    end: tuple[float, float]


class Behind(Struct, frozen=True):
    """A line (mm) of a panel that its outline does not show; in a mirror image one of the same ``kind`` is its twin."""

    key: str
    kind: str
    start: tuple[float, float]
    end: tuple[float, float]


class Half(Struct, frozen=True):
    """That a pattern is drawn as far as its flip line, and a strip beyond it.

    The line is upright at x = ``at`` for the left half and level at y = ``at`` for the lower one; the strip is
    ``strip`` wide (mm). ``whole`` are the words for what both halves measure together.
    """

    side: Literal["left", "lower"]
    at: float
    strip: float
    whole: str

    @property
    def axis(self) -> Literal[0, 1]:
        """Which coordinate is the same all along the flip line: 0 for x, 1 for y."""
        return 0 if self.side == "left" else 1


class Pattern(Struct, frozen=True, eq=False):
    """The drawing of a part or of one board of it.

    ``title_block`` are the lines that must survive the scissors (piece, part, "outside face up", quantity, wood and
    thickness, date to write in): whoever lays the drawing out puts them inside ``outline``. ``grain`` is the arrow's
    direction (radians). ``dimensions`` are the measurements drawn with arrows, to be proved with a rule.
    """

    name: str
    slug: str
    part: str
    outline: Outline
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    title_block: tuple[str, ...]
    grain: float
    notes: tuple[str, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    symmetrical_about_x: float | None = None
    """x of the upright line that the outline mirrors in, if it does (mm)."""
    hole_centres: tuple[tuple[float, float], ...] = ()
    """Centres of the holes (mm). Seams keep away from them where they can, and from the two that follow."""
    joints: tuple[tuple[float, float], ...] = ()
    """Where a joint comes out at the outline: the ends of glue lines (mm)."""
    tight_places: tuple[tuple[float, float], ...] = ()
    """Where curves are tightest (mm)."""
    behind: tuple[Behind, ...] = ()
    """Of a panel of a carcass its inside arrises, fingers and rabbets."""
    half: Half | None = None
    """What is drawn, where it is not the whole."""

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y) of all strokes, in mm."""
        boxes = [stroke.curve.bounds for stroke in self.strokes]
        return (
            min(b[0] for b in boxes),
            min(b[1] for b in boxes),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        )
