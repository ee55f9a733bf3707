"""The small picture of a part on the start page: its shape, in lines that are seen where a long part is drawn small."""

from __future__ import annotations

import io

import svgwrite

from patterns.numbers import decimal
from patterns.pattern import Pattern, Role
from patterns.svg import path_data

SHOWN = {Role.CUT: 1.0, Role.CENTRE: 0.4, Role.GLUE: 0.4, Role.MARK: 0.4, Role.GRAIN: 0.4}
"""What is drawn, and how wide beside the cut line."""
LINE_SHARE = 1 / 220
"""The width of the cut line, as a part of the picture's longer side."""
LONGEST_PX = 480


def picture_svg(pattern: Pattern) -> bytes:
    """The picture, the same bytes for the same pattern."""
    x0, y0, x1, y1 = pattern.outline.bounds
    longest = max(x1 - x0, y1 - y0)
    line = longest * LINE_SHARE
    rim = 2 * line
    width, height = x1 - x0 + 2 * rim, y1 - y0 + 2 * rim
    scale = LONGEST_PX / (longest + 2 * rim)
    drawing = svgwrite.Drawing(size=(f"{width * scale:.0f}px", f"{height * scale:.0f}px"), debug=False)
    drawing["viewBox"] = " ".join(decimal(value) for value in (x0 - rim, -y1 - rim, width, height))
    drawing.set_desc(title=pattern.name)
    for role, share in SHOWN.items():
        data = path_data(stroke.curve for stroke in pattern.strokes if stroke.role is role)
        if data:
            looks = {
                "fill": "none",
                "stroke": "black",
                "stroke_width": decimal(line * share),
                "stroke_linejoin": "round",
            }
            drawing.add(svgwrite.path.Path(d=data, debug=False, **looks))
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode("utf-8")
