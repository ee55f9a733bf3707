"""A pattern for a laser cutter: SVG at true size, what is cut apart from what is engraved.

The group "cut" holds closed paths alone, holes before the outline, so that nothing falls out before it is finished; the
group "engrave" holds what the maker needs on the finished template: centre lines, marks, hidden and glue lines, the grain,
and the words, as far as they lie on it. Dimensions and the straight blank round the outline are left out.
"""

from __future__ import annotations

import io

import svgwrite
from msgspec.structs import replace
from svgwrite.container import Group

from patterns.blockplace import block_labels
from patterns.curve import Curve
from patterns.inside import inside, is_inside
from patterns.numbers import decimal
from patterns.pattern import Pattern, Role
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
    drawing.add(_engraved(pattern))
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


def _engraved(pattern: Pattern) -> Group:
    """Lines and words on the template, a group for each role; what lies beside it would be engraved in the waste."""
    group = _group("engrave", "engrave lightly, before anything is cut")
    for role in ENGRAVED:
        strokes = [
            replace(s, curve=one) for s in pattern.strokes if s.role is role for one in inside(s.curve, pattern.outline)
        ]
        if strokes:
            group.add(group_of(role.value, strokes, HAIRLINE_MM))
    labels = (*pattern.labels, *block_labels(pattern))
    group.add(words_of([(label, letters_of(label)) for label in labels if is_inside(label, pattern.outline)]))
    return group


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
