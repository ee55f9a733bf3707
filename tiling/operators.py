"""The integer drawing on its way through SVG and PDF: written by svgwrite, turned into operators by cairosvg, read back.

The drawing's unit is cairo's own grid, so that the way there and back changes nothing.
"""

from __future__ import annotations

import io
import re

import numpy as np

from tiling.content import NARROW, WIDE
from tiling.segments import ROLES, Segments
from tiling.units import UNITS_PER_POINT, Flags, Integers, Reals

_PATH = re.compile(rb"cm\s+([-+.\d\smlc]+?)\sS\b")
_LETTERS_OUT = bytes.maketrans(b"mlc", b"   ")


LONGEST_PATH = 50
"""Lines in one path: cairosvg takes a time that grows with the square of a path's length."""


class DrawingLost(Exception):
    """The operators that came back are not the drawing that was sent; a library changed its ways."""


def drawing_svg(segments: Segments) -> tuple[str, tuple[int, int]]:
    """The drawing as SVG, a group for each role, and the corner (units) that is its origin."""
    import svgwrite
    from svgwrite.path import Path

    flat = segments.points.reshape(-1, 2)
    corner = flat.min(axis=0)
    width, height = (int(n) // UNITS_PER_POINT + 1 for n in flat.max(axis=0) - corner)
    drawing = svgwrite.Drawing(
        size=(f"{width}pt", f"{height}pt"),
        viewBox=f"0 0 {width * UNITS_PER_POINT} {height * UNITS_PER_POINT}",
        debug=False,
    )
    for index, role in enumerate(ROLES):
        chosen = np.flatnonzero(segments.role == index)
        if not len(chosen):
            continue
        width_of = str(WIDE if role.value == "cut" else NARROW)
        line = {"stroke": "#000", "fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round"}
        group = drawing.add(drawing.g(id=role.value, stroke_width=width_of, debug=False, **line))
        for some in np.split(chosen, range(LONGEST_PATH, len(chosen), LONGEST_PATH)):
            data = _path_data(segments.points[some] - corner, segments.straight[some])
            group.add(Path(d=data, debug=False))
    return drawing.tostring(), (int(corner[0]), int(corner[1]))


def _path_data(points: Integers, straight: Flags) -> str:
    """Each segment with a move of its own."""
    texts = []
    for row, is_straight in zip(points.reshape(-1, 8).tolist(), straight.tolist(), strict=True):
        if is_straight:
            texts.append(f"M{row[0]} {row[1]}L{row[6]} {row[7]}")
        else:
            texts.append("M{} {}C{} {} {} {} {} {}".format(*row))
    return "".join(texts)


def through_pdf(segments: Segments) -> Segments:
    """The drawing as the operators of the PDF that cairosvg makes of its SVG give it back.

    It is the same drawing: raises DrawingLost where it would not be.
    """
    if not len(segments):
        return segments
    import cairosvg
    import pypdf

    svg, corner = drawing_svg(segments)
    pdf = cairosvg.svg2pdf(bytestring=svg.encode("utf-8"))
    contents = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].get_contents()
    data = contents.get_data() if contents is not None else b""
    points, straight = _read(data)
    if len(points) != len(segments):
        raise DrawingLost(f"{len(segments)} lines were sent and {len(points)} came back")
    back = Segments(points + np.array(corner), straight, segments.role)
    if not np.array_equal(back.points, segments.points) or not np.array_equal(straight, segments.straight):
        raise DrawingLost("the lines that came back are not those that were sent")
    return back


def _read(data: bytes) -> tuple[Integers, Flags]:
    """The path operators m, l, c and S of a content stream: control points and straightness.

    cairo writes each path after a ``cm`` of its own: ``q 1 0 0 1 0 0 cm`` path ``S Q``.
    """
    beziers: list[Reals] = []
    straight: list[Flags] = []
    for path in _PATH.findall(data):
        letters = np.frombuffer(path.translate(None, b"0123456789+-. \r\n\t"), dtype=np.uint8)
        numbers = np.array(path.translate(_LETTERS_OUT).split(), dtype=np.float64)
        taken = np.where(letters == ord("c"), 6, 2)
        last = np.cumsum(taken)
        ends = np.stack([numbers[last - 2], numbers[last - 1]], axis=1)
        drawn = np.flatnonzero(letters != ord("m"))
        start, end = ends[drawn - 1], ends[drawn]
        bent = letters[drawn] == ord("c")
        first = last[drawn][bent] - 6
        handles = np.stack([start, end], axis=1)
        handles[bent] = np.stack([numbers[first + k] for k in range(4)], axis=1).reshape(-1, 2, 2)
        beziers.append(np.stack([start, handles[:, 0], handles[:, 1], end], axis=1))
        straight.append(~bent)
    if not beziers:
        return np.zeros((0, 4, 2), dtype=np.int64), np.zeros(0, dtype=bool)
    points = np.rint(np.concatenate(beziers) * UNITS_PER_POINT).astype(np.int64)
    return points, np.concatenate(straight)
