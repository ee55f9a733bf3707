"""The figures of a hood's table, worked out, and what would have to be other where they make no roof."""

from __future__ import annotations

import math
from collections.abc import Iterator

from patterns.carcass.box import Box
from patterns.carcass.hood import Hood
from patterns.carcass.model import HoodTable, OverhangTable
from patterns.carcass.planes import Plane
from patterns.display import Display
from patterns.piece import Given
from patterns.values import Values
from patterns.wording import inside

PLACE = "carcass, hood"

STEEPEST = math.radians(80)
"""Past this a roof is a wall: the head board's edge would stand upright."""
MOST_FRONT = math.radians(45)


def hood_of(table: HoodTable, head_thickness: float, base_below: float, values: Values) -> Hood | None:
    """The hood; None where there is a mistake in it. ``base_below`` is taken off its heights (mm)."""
    before = values.mistakes.marks

    def length(key: str, sign: str = "positive") -> float:
        given = values.optional_length(getattr(table, key), inside(PLACE, key), sign)  # type: ignore[arg-type]
        return given.value if given is not None else 0.0

    slopes = _slopes(table, values)
    depth, eaves, thickness = length("depth"), length("eaves"), length("thickness")
    bottom, break_height = length("front_bottom"), length("break_height")
    if table.break_height is None and len(slopes) > 1:
        values.mistakes.add(inside(PLACE, "break_height"), "is missing: how far above the eaves the two slopes meet")
    if table.break_height is not None and len(slopes) == 1:
        values.mistakes.add(inside(PLACE, "break_height"), "there is one slope a side, which meets no other")
    flat = None
    if table.flat is not None:
        flat = length("flat")
    overhangs = _overhangs(table, values)
    lap, lap_flat = length("lap", "not negative"), length("lap_flat", "not negative")
    if table.joint != "lap" and (table.lap is not None or table.lap_flat is not None):
        values.mistakes.add(inside(PLACE, "joint"), "lap and lap_flat are those of a lap; the roof boards are mitred")
    if lap_flat >= thickness > 0.0:
        values.mistakes.add(inside(PLACE, "lap_flat"), "is no less than the board is thick")
    front = _front(table, values)
    front_thickness = length("front_thickness") if table.front_thickness is not None else head_thickness
    if values.mistakes.marks != before:
        return None
    return Hood(
        depth,
        eaves - base_below,
        tuple(given.value for given in slopes),
        thickness,
        front_thickness,
        bottom - base_below,
        break_height,
        flat,
        front,
        *overhangs,
        table.joint,
        lap,
        lap_flat,
    )


def _slopes(table: HoodTable, values: Values) -> list[Given]:
    place = inside(PLACE, "slopes")
    if not 1 <= len(table.slopes) <= 2:
        values.mistakes.broke(place, f"one slope a side, or a lower and an upper one, not {len(table.slopes)}")
        return []
    found = []
    for k, value in enumerate(table.slopes):
        where = inside(place, f"slope {k + 1}")
        given = values.angle(value, where)
        if given is None:
            continue
        least_is_level = given.value == 0.0 and len(table.slopes) == 1
        if not (0.0 < given.value <= STEEPEST or least_is_level):
            most = f"more than 0 and at most {math.degrees(STEEPEST):g} degrees"
            what = f"{given.written} is no slope of a roof: {most}, or else the head board's edge is upright"
            values.mistakes.broke(where, what)
            continue
        found.append(given)
    if len(found) == 2 and found[1].value >= found[0].value:
        what = f"{found[1].written} is no less than the lower one, {found[0].written}; the lower slope is the steeper"
        values.mistakes.add(found[1].place, what)
    return found


def _overhangs(table: HoodTable, values: Values) -> tuple[float, float, float]:
    place = inside(PLACE, "overhang")
    if not isinstance(table.overhang, OverhangTable):
        given = values.length(table.overhang, place, "not negative")
        return (given.value,) * 3 if given is not None else (0.0, 0.0, 0.0)
    found = [
        values.length(getattr(table.overhang, key), inside(place, key), "not negative")
        for key in ("eaves", "front", "back")
    ]
    eaves, front, back = (given.value if given is not None else 0.0 for given in found)
    return eaves, front, back


def _front(table: HoodTable, values: Values) -> float | None:
    if table.front == "parallel":
        return None
    if table.front == "upright":
        return 0.0
    given = values.angle(table.front, inside(PLACE, "front"))
    if given is not None and abs(given.value) > MOST_FRONT:
        values.mistakes.add(
            inside(PLACE, "front"), f"{given.written} is more than a front leans; 45 degrees is the most"
        )
    return given.value if given is not None else 0.0


# -------------------------------------------------------------------- whether it makes a roof


def hood_trouble(box: Box, hood: Hood, display: Display) -> Iterator[tuple[str, str]]:
    """What makes the hood impossible: (key inside the hood's table, what is wrong and which limit would work)."""
    from msgspec.structs import replace

    plain = replace(box, hood=None)
    walls = {wall.name: wall for wall in plain.walls}
    left, right = walls["left_side"].outside, walls["right_side"].outside
    head, foot = walls["head_board"].outside, walls["foot_board"].outside
    span = _x(right, hood.eaves) - _x(left, hood.eaves)
    long = _y(head, hood.eaves) - _y(foot, hood.eaves)
    rail = max(max(box.heights[name]) for name in ("left_side", "right_side"))
    if hood.eaves <= rail:
        yield (
            "eaves",
            f"{display.length(hood.eaves)} is no higher than the sides, {display.length(rail)}; the hood stands on them",
        )
    if hood.depth >= long - box.thicknesses["foot_board"]:
        most = display.at_most(long - box.thicknesses["foot_board"])
        yield "depth", f"{display.length(hood.depth)} is deeper than the piece is long at the eaves; {most} is the most"
    if hood.is_level:
        return
    thick = max(box.thicknesses[name] / math.cos(box.splays[name]) for name in ("left_side", "right_side"))
    run = span
    if len(hood.slopes) == 2:
        inward = hood.break_height / math.tan(hood.slopes[0])
        run = span - 2 * inward
        if run <= 0.0:
            most = display.at_most(span / 2 * math.tan(hood.slopes[0]))
            yield (
                "break_height",
                f"the lower slopes meet {most} above the eaves, below the break; less than that would work",
            )
            return
        lean = min(math.tan(box.splays[name]) for name in ("left_side", "right_side"))
        if inward <= thick - hood.break_height * min(lean, 0.0):
            least = display.at_least(thick * math.tan(hood.slopes[0]))
            yield "break_height", f"the lower slope is no wider than the sides are thick; {least} or more would work"
            return
    if hood.flat is not None and hood.flat >= run:
        yield (
            "flat",
            f"{display.length(hood.flat)} is as wide as what it covers; less than {display.length(run)} would work",
        )
        return
    upper = (run - (hood.flat or 0.0)) / 2 / math.cos(hood.slopes[-1])
    if hood.joint == "lap" and hood.lap >= upper:
        yield "lap", f"{display.length(hood.lap)} reaches past the ridge; less than {display.length(upper)} would work"
    top = hood.eaves + (run - (hood.flat or 0.0)) / 2 * math.tan(hood.slopes[-1]) + hood.break_height
    if hood.front_bottom >= top:
        yield (
            "front_bottom",
            f"{display.length(hood.front_bottom)} is above the roof, which is {display.length(top)} high there",
        )


def _x(side: Plane, z: float) -> float:
    return (side.offset - side.normal[2] * z) / side.normal[0]


def _y(end: Plane, z: float) -> float:
    return (end.offset - end.normal[2] * z) / end.normal[1]
