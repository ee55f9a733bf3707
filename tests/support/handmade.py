"""Patterns put together by hand, each with the exact formulas of its cut lines, and orders to print them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from exact import Exact, ExactArc, ExactGraph, ExactLine, Reals
from scipy.interpolate import CubicSpline

from patterns.affine import Affine
from patterns.arches import arch
from patterns.curve import Curve
from patterns.dashes import dash_beziers
from patterns.display import Display
from patterns.filetext import NamedText
from patterns.fitting import through_offsets
from patterns.outline import Outline
from patterns.pattern import Label, Pattern, Role, Stroke
from patterns.piece import Piece
from tiling.order import Order

SIDES = ("bottom", "right", "top", "left")
TITLE = "Long bench of the evening class"


@dataclass(frozen=True)
class Handmade:
    """A pattern, the exact shapes of its cut lines, and where its sweep lies (x0, y0, x1, y1; mm)."""

    pattern: Pattern
    exact: tuple[Exact, ...]
    sweep: tuple[float, float, float, float] = field(default=(0.0, 0.0, 0.0, 0.0))


def arched_panel(width: float, height: float, rise: float, *, hole: float = 25.0, springing: float | None = None):
    """A panel whose top edge is a segmental arch; ``springing`` is its height at both sides (else ``height - rise``)."""
    low = height - rise if springing is None else springing
    middle = width / 2
    curve = arch("segmental", width, rise).curve.transformed(Affine.translation(middle, low)).reversed()
    sides = [Curve.line((0, 0), (width, 0)), Curve.line((width, 0), (width, low)), curve, Curve.line((0, low), (0, 0))]
    centre = (middle, low * 0.55)
    exact: tuple[Exact, ...] = (
        ExactLine((0, 0), (width, 0)),
        ExactLine((width, 0), (width, low)),
        ExactArc.over_chord((0, low), (width, low), rise),
        ExactLine((0, low), (0, 0)),
        ExactArc(centre, hole, 0, 2 * np.pi),
    )
    strokes = [Stroke(Role.CUT, side, f"edges.{name}") for side, name in zip(sides, SIDES, strict=True)]
    strokes += [
        Stroke(Role.CUT, Curve.circle(centre, hole).reversed(), "hole[0]"),
        Stroke(Role.CENTRE, Curve.line((middle, -4), (middle, low * 0.9)), "centre"),
        Stroke(Role.GRAIN, Curve.line((middle - 40, low / 4), (middle + 40, low / 4)), "grain"),
        Stroke(Role.MARK, Curve.line((width * 0.2, low * 0.5), (width * 0.8, low * 0.45)), "mark"),
    ]
    stations = range(1, max(2, int(width // 50)))
    labels = tuple(Label(f"station.{k}", f"{50 * k} mm", (50.0 * k, 8.0)) for k in stations)
    outline = Outline(Curve.chain(sides).closed_up(), (Curve.circle(centre, hole).reversed(),))
    pattern = _pattern("arched panel", outline, strokes, labels, (centre,))
    return Handmade(pattern, exact, (-1.0, low - 1, width + 1, low + rise + 1))


def flowing_rail(length: float, depths: tuple[float, ...], width: float) -> Handmade:
    """A rail with a straight bottom and a natural spline through ``depths`` along its top."""
    stations = np.linspace(0, length, len(depths))
    top = through_offsets(stations, np.array(depths), None, None)
    spline = CubicSpline(stations, depths, bc_type="natural")
    first, last = float(depths[0]), float(depths[-1])
    sides = [
        Curve.line((0, -width), (length, -width)),
        Curve.line((length, -width), (length, last)),
        top.reversed(),
        Curve.line((0, first), (0, -width)),
    ]
    exact: tuple[Exact, ...] = (
        ExactLine((0, -width), (length, -width)),
        ExactLine((length, -width), (length, last)),
        ExactGraph(spline, spline.derivative(), 0.0, length),
        ExactLine((0, first), (0, -width)),
    )
    strokes = [Stroke(Role.CUT, side, f"edges.{name}") for side, name in zip(sides, SIDES, strict=True)]
    strokes.append(Stroke(Role.GLUE, Curve.line((0, -width / 2), (length, -width / 2)), "glue"))
    return Handmade(_pattern("flowing rail", Outline(Curve.chain(sides).closed_up()), strokes, (), ()), exact)


def outlined(curve: Curve, name: str = "shape") -> Pattern:
    """A pattern that is one closed cut line and nothing else."""
    return _pattern(name, Outline(curve), [Stroke(Role.CUT, curve, "edge")], (), ())


def _pattern(name: str, outline: Outline, strokes, labels, holes) -> Pattern:
    block = (TITLE, name, "outside face up", "make 1 · oak, 22 mm", "date ____________")
    return Pattern(name, name.replace(" ", "-"), name, outline, tuple(strokes), labels, block, 0.0, hole_centres=holes)


def drawn(pattern: Pattern) -> list[tuple[Role, Reals]]:
    """The role and the Béziers (n, 4, 2; mm) of every stroke that is drawn on sheets, dashes cut."""
    return [(s.role, dash_beziers(s)) for s in pattern.strokes if s.role is not Role.DIMENSION]


def flattened(pattern: Pattern) -> list[tuple[Role, Reals]]:
    """The same as points (m, 2) of one line for each Bézier, chords within 0.001 mm of it."""
    return [(role, Curve(row[None]).flattened(0.001)) for role, rows in drawn(pattern) for row in rows]


def order_of(*patterns: Pattern, units: str = "mm") -> Order:
    """An order of these patterns, as a pattern file would have given it."""
    source = NamedText("# made by hand\n", "bench.toml")
    piece = Piece(TITLE, units, ())
    return Order(source, {}, "", piece, Display(units), patterns)
