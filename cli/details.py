"""What ``check`` finds of a part beside its curves: allowances, corners, cuts, holes, marks, glue lines, notes.

As plain values for a program (millimetres and degrees, nothing rounded), and as lines for a person, a line each.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from patterns.display import Display
from patterns.part import Part
from patterns.piece import AllowanceSpec, CornerSpec, CutSpec, EdgeSpec, Given, HoleSpec, MarkSpec, RoundOverSpec
from patterns.shopfile import DEFAULT_SHOP, ShopInForce
from patterns.wording import quoted

Json = dict[str, Any]
Pair = tuple[Given, Given]

FIT = "allowances.fit"
"""The shop's figure: how much longer than drawn an edge is left that is fitted to the piece."""


# -------------------------------------------------------------------- for a program


def of_part(part: Part, shop: ShopInForce) -> Json:
    """Everything of the part that is no curve, as it was understood."""
    spec = part.spec
    return {
        "grain_deg": math.degrees(part.grain),
        "allowances": [_allowance_json(edge, shop) for edge in spec.edges if edge.allowance != AllowanceSpec()],
        "corners": [
            {"corner": one.corner, "form": one.form, "amounts_mm": [given.value for given in one.amounts]}
            for one in spec.corners
        ],
        "cuts": [_cut_json(cut) for cut in spec.cuts],
        "holes": [_hole_json(hole) for hole in spec.holes],
        "marks": [{"form": one.form, "points_mm": _points(one.points), "text": one.text} for one in spec.marks],
        "glue_lines_mm": [given.value for given in spec.glue_lines],
        "shape": spec.shape,
        "notes": list(spec.notes),
    }


def _allowance_json(edge: EdgeSpec, shop: ShopInForce) -> Json:
    allowance, rounded = edge.allowance, edge.allowance.round_over
    return {
        "edge": edge.name,
        "leave_mm": _value(allowance.leave),
        "fit_mm": shop.shop.fit if allowance.fit else None,
        "round_over": None
        if rounded is None
        else {
            "radius_mm": rounded.radius.value,
            "faces": rounded.faces,
            "from_mm": _value(rounded.start),
            "to_mm": _value(rounded.end),
        },
    }


def _cut_json(cut: CutSpec) -> Json:
    return {
        "name": cut.name,
        "from": [cut.start_edge, cut.start_station.value],
        "to": [cut.end_edge, cut.end_station.value],
        "points_mm": _points(cut.points),
        "mirrored": cut.mirror,
    }


def _hole_json(hole: HoleSpec) -> Json:
    return {
        "name": hole.name,
        "form": hole.form,
        "at_mm": _points([hole.at])[0] if hole.at is not None else None,
        "diameter_mm": _value(hole.diameter),
        "length_mm": _value(hole.length),
        "width_mm": _value(hole.width),
        "angle_deg": math.degrees(hole.angle.value) if hole.angle is not None else None,
        "points_mm": _points(hole.points),
        "mirrored": hole.mirror,
    }


def _points(pairs: Sequence[Pair]) -> list[list[float]]:
    return [[x.value, y.value] for x, y in pairs]


def _value(given: Given | None) -> float | None:
    return None if given is None else given.value


# -------------------------------------------------------------------- for a person


def lines(part: Part, shop: ShopInForce, display: Display) -> Iterator[str]:
    """A line for everything of the part that is no curve, by the name that errors use for it."""
    spec = part.spec
    for edge in spec.edges:
        for words in _allowances(edge.allowance, shop, display):
            yield f"edges.{edge.name}: {words}"
    for corner in (one for one in spec.corners if one.form != "round"):  # rounds stand among the curves
        yield f"corners.{corner.corner}: {_corner(corner, part, display)}"
    for number, cut in enumerate(spec.cuts, 1):
        yield f"cut {number}{_name(cut.name)}: {_cut(cut, display)}"
    for number, hole in enumerate(spec.holes, 1):
        yield f"hole {number}{_name(hole.name)}: {_hole(hole, display)}"
    for number, mark in enumerate(spec.marks, 1):
        yield f"mark {number}: {_mark(mark, display)}"
    for number, line in enumerate(spec.glue_lines, 1):
        yield f"glue line {number}: {display.length(line.value)} from the {_glue_side(part)}"
    yield from (f"note: {note}" for note in spec.notes)


def grain(part: Part, display: Display) -> str:
    """How the grain runs."""
    direction = part.spec.grain
    return f"grain at {display.angle(direction.value)}" if isinstance(direction, Given) else f"grain {direction}"


def _allowances(allowance: AllowanceSpec, shop: ShopInForce, display: Display) -> Iterator[str]:
    if allowance.leave is not None:
        yield f"leave {display.length(allowance.leave.value)} outside the line"
    if allowance.fit:
        origin = next((figure.origin for figure in shop.figures if figure.key == FIT), shop.where)
        whose = f"the {DEFAULT_SHOP}" if origin == DEFAULT_SHOP else origin
        yield f"leave {display.length(shop.shop.fit)} longer than drawn, and fit to the piece (figure of {whose})"
    if allowance.round_over is not None:
        yield _round_over(allowance.round_over, display)


def _round_over(spec: RoundOverSpec, display: Display) -> str:
    faces = "both faces" if spec.faces == "both" else f"{spec.faces} face"
    start = f", from {display.length(spec.start.value)}" if spec.start is not None else ""
    end = f"{'' if start else ','} to {display.length(spec.end.value)}" if spec.end is not None else ""
    return f"round over {display.length(spec.radius.value)}, {faces}{start}{end}"


def _corner(corner: CornerSpec, part: Part, display: Display) -> str:
    amounts = [display.length(given.value) for given in corner.amounts]
    if corner.form != "notch":
        return f"{corner.form} {amounts[0]}"
    blank = part.blank.spec
    k = blank.corner_names.index(corner.corner)
    after, before = blank.edge_names[k], blank.edge_names[k - 1]
    return f"notch, {amounts[0]} along {after} and {amounts[1]} along {before}"


def _cut(cut: CutSpec, display: Display) -> str:
    ends = [
        f"{edge} at {display.length(station.value)}"
        for edge, station in ((cut.start_edge, cut.start_station), (cut.end_edge, cut.end_station))
    ]
    return f"from {ends[0]} to {ends[1]}{_through(cut.points)}{_mirrored(cut.mirror)}"


def _hole(hole: HoleSpec, display: Display) -> str:
    at = f", at {_place(hole.at, display)}" if hole.at is not None else ""
    if hole.diameter is not None:
        size = f"circle, {display.length(hole.diameter.value)} across"
    elif hole.length is not None and hole.width is not None:
        size = f"elongated, {display.length(hole.length.value)} by {display.length(hole.width.value)}"
        size += f" at {display.angle(hole.angle.value)}" if hole.angle is not None else ""
    else:
        size = f"closed curve{_through(hole.points)}"
    return f"{size}{at}{_mirrored(hole.mirror)}"


def _mark(mark: MarkSpec, display: Display) -> str:
    places = " to ".join(_place(point, display) for point in mark.points)
    if mark.form == "note":
        return f"{quoted(mark.text)} at {places}"
    return f"line from {places}" if mark.form == "line" else f"centre at {places}"


def _glue_side(part: Part) -> str:
    side = "left" if part.spec.grain == "across" or abs(math.sin(part.grain)) > math.sqrt(0.5) else "bottom"
    return f"{side}; boards are cut out before they are glued" if part.spec.shape == "before glue" else side


def _name(name: str) -> str:
    return f" {quoted(name)}" if name else ""


def _place(pair: Pair, display: Display) -> str:
    return ", ".join(display.length(given.value) for given in pair)


def _through(points: Sequence[Pair]) -> str:
    if not points:
        return ""
    return f", through {len(points)} points" if len(points) > 1 else ", through 1 point"


def _mirrored(mirror: bool) -> str:
    return ", and its reflection" if mirror else ""
