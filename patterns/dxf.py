"""A pattern as DXF, for routers and other machines: true lines, arcs and splines in millimetres, on a layer for each role.

DXF release 2010. The layers are named by what their lines are for; words are the outlines of their letters.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from patterns.blockplace import block_labels
from patterns.curve import Curve
from patterns.dashes import RHYTHMS
from patterns.pattern import Pattern, Role
from patterns.shapes import ArcPiece, LinePiece, SplinePiece, pieces_of
from patterns.svg import NARROW_MM, WIDE_MM, letters_of

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

RELEASE = "R2010"
WORDS = "words"
"""The layer of the lettering."""
LETTER_MM = 0.03
"""Letters are polygons, nowhere farther than this from their outlines: nobody measures a letter."""
MILLIMETRES = 4
"""Of the header's $INSUNITS."""


def dxf_bytes(pattern: Pattern) -> bytes:
    """The pattern as a DXF file, the same bytes for the same pattern.

    The cut line is on the layer "cut", the holes among it; every other line is on the layer of its role. Raises
    MachineError where the library that writes DXF is missing.
    """
    document = _document()
    space = document.modelspace()
    for role in Role:
        strokes = [stroke for stroke in pattern.strokes if stroke.role is role]
        if strokes:
            _add_layer(document, role.value, WIDE_MM if role is Role.CUT else NARROW_MM, RHYTHMS.get(role, ()))
        for stroke in strokes:
            _draw(space, stroke.curve, role.value)
    labels = [*pattern.labels, *block_labels(pattern)]
    if labels:
        _add_layer(document, WORDS, NARROW_MM, ())
    for label in labels:
        for letter in letters_of(label):
            points = letter.flattened(LETTER_MM)[:-1].tolist()
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": WORDS})
    _order_classes(document)
    text = io.StringIO(newline="\n")
    document.write(text)
    return text.getvalue().encode(document.output_encoding)


def _document() -> Drawing:
    """An empty drawing in millimetres. Nothing of the clock goes in."""
    from ezdxf._options import options  # late: the library takes a fifth of a second, and few ask for DXF
    from ezdxf.filemanagement import new

    options.write_fixed_meta_data_for_testing = True  # the library's only way to leave out date and random names
    document = new(RELEASE, units=MILLIMETRES)
    document.header["$MEASUREMENT"] = 1
    document.header["$LUNITS"] = 2
    return document


def _order_classes(document: Drawing) -> None:
    """The library lists what a file declares in the order of a set, another one in every run."""
    declared = document.classes
    declared.add_required_classes(document.dxfversion)
    declared.classes = dict(sorted(declared.classes.items()))


def _add_layer(document: Drawing, name: str, width_mm: float, rhythm: Iterable[float]) -> None:
    """A layer in black, or white on a dark screen, with lines of a width and in dashes (dash, gap, dash, gap ... in mm)."""
    lengths = list(rhythm)
    kind = "CONTINUOUS"
    if lengths:
        kind = f"{name}-line"
        signed = [length if k % 2 == 0 else -length for k, length in enumerate(lengths)]
        document.linetypes.add(kind, [sum(lengths), *signed], description=f"dashes of the layer {name}")
    document.layers.add(name, color=7, linetype=kind, lineweight=round(width_mm * 100))


def _draw(space: Modelspace, curve: Curve, layer: str) -> None:
    """The curve as entities of a layer, which give them colour, width and dashes."""
    where = {"layer": layer}
    for piece in pieces_of(curve):
        if isinstance(piece, LinePiece):
            space.add_line(piece.start, piece.end, where)
        elif isinstance(piece, ArcPiece):
            _draw_arc(space, piece, where)
        else:
            _draw_spline(space, piece, where)


def _draw_arc(space: Modelspace, arc: ArcPiece, where: dict[str, str]) -> None:
    """An arc runs counter-clockwise in DXF, whichever way the curve ran."""
    if arc.is_circle:
        space.add_circle(arc.centre, arc.radius, where)
        return
    first, last = sorted((arc.start_angle, arc.start_angle + arc.turn))
    space.add_arc(arc.centre, arc.radius, math.degrees(first), math.degrees(last), dxfattribs=where)


def _draw_spline(space: Modelspace, piece: SplinePiece, where: dict[str, str]) -> None:
    """The Béziers as one spline of degree 3: their own control points, with a threefold knot where two of them meet."""
    count = len(piece.beziers)
    points = [tuple(piece.beziers[0, 0]), *(tuple(point) for point in piece.beziers[:, 1:].reshape(-1, 2))]
    knots = np.concatenate([[0.0], np.repeat(np.arange(count + 1.0), 3), [float(count)]])
    spline = space.add_open_spline([(float(x), float(y), 0.0) for x, y in points], degree=3, dxfattribs=where)
    spline.knots = knots.tolist()
