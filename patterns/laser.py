"""A pattern for a laser cutter: SVG at true size, what is cut apart from what is engraved.

The group "cut" holds closed paths alone, holes before the outline, so that nothing falls out before it is finished; the
group "engrave" holds what the maker needs on the finished template: centre lines, marks, hidden and glue lines, the grain,
and the words. Dimensions and the straight blank round the outline are left out.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
import svgwrite
from svgwrite.container import Group

from patterns.blockplace import block_labels
from patterns.curve import Curve
from patterns.numbers import decimal
from patterns.outline import Outline
from patterns.pattern import Label, Pattern, Role
from patterns.svg import MARGIN_MM, group_of, letters_of, path_data, words_of

HAIRLINE_MM = 0.05
"""A laser follows the middle of a line; a thin one shows best where that is."""
ENGRAVED = (Role.CENTRE, Role.MARK, Role.HIDDEN, Role.GLUE, Role.GRAIN, Role.REFERENCE)
"""What is engraved, in this order."""


def laser_svg(pattern: Pattern) -> str:
    """The pattern as an SVG document for a laser cutter, the same text for the same pattern.

    One user unit is one millimetre. ``cut`` and ``engrave`` are two groups, named by ids and titles; nothing tells them
    apart but that: a machine's own colours are set in its own program.
    """
    x0, y0, x1, y1 = pattern.outline.bounds
    low, high = (x0 - MARGIN_MM, y0 - MARGIN_MM), (x1 + MARGIN_MM, y1 + MARGIN_MM)
    width, height = decimal(high[0] - low[0]), decimal(high[1] - low[1])
    drawing = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), debug=False)
    drawing["viewBox"] = f"{decimal(low[0])} {decimal(-high[1])} {width} {height}"
    drawing.set_desc(title=pattern.name, desc=", ".join(pattern.title_block[:-1]))
    drawing.add(_engraved(pattern, (*low, *high)))
    drawing.add(_cut(pattern))
    text = io.StringIO()
    drawing.write(text, pretty=True, indent=1)
    return text.getvalue()


def _cut(pattern: Pattern) -> Group:
    """Each closed line once, the holes first."""
    outline, *holes = pattern.outline.curves
    group = _group("cut", "cut through, in this order: holes first, the outline last")
    for number, curve in enumerate((*holes, outline)):
        path = drawing_path(curve)
        path["id"] = f"hole-{number + 1}" if number < len(holes) else "outline"
        group.add(path)
    return group


def _engraved(pattern: Pattern, page: tuple[float, float, float, float]) -> Group:
    """Lines and words on the template, a group for each role."""
    group = _group("engrave", "engrave lightly, before anything is cut")
    for role in ENGRAVED:
        strokes = [s for s in pattern.strokes if s.role is role and _is_within(s.curve.bounds, page)]
        if strokes:
            group.add(group_of(role.value, strokes, HAIRLINE_MM))
    labels = (*pattern.labels, *block_labels(pattern))
    group.add(words_of([(label, letters_of(label)) for label in labels if _is_on(pattern.outline, label)]))
    return group


def _is_on(outline: Outline, label: Label) -> bool:
    """Whether a label is on the template; what stands beside it would be engraved in the waste, or beside the sheet."""
    return bool(outline.contains(np.array([label.at]))[0])


def _is_within(box: Sequence[float], page: tuple[float, float, float, float]) -> bool:
    return box[0] >= page[0] and box[1] >= page[1] and box[2] <= page[2] and box[3] <= page[3]


def _group(name: str, title: str) -> Group:
    group = Group(debug=False)
    group["id"] = name
    group.set_desc(title=title)
    group["fill"] = "none"
    group["stroke"] = "black"
    group["stroke-width"] = decimal(HAIRLINE_MM)
    return group


def drawing_path(curve: Curve) -> svgwrite.path.Path:
    """A path along one curve."""
    return svgwrite.path.Path(d=path_data([curve]), debug=False)
