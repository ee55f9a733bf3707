"""From the checked tables of a carcass to the carcass, its figures worked out and its walls known to meet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from patterns.carcass.base import base_inside, base_under
from patterns.carcass.board import Board
from patterns.carcass.box import SIDES, WALLS, Box, WallName
from patterns.carcass.figures import (
    FingerFigures,
    Heights,
    bevels_of,
    fingers_of,
    heights_of,
    in_words,
    length_reader,
    of_walls,
    splay_reader,
)
from patterns.carcass.fingers import Layout, Owner
from patterns.carcass.hoodfigures import hood_of
from patterns.carcass.model import BaseTable, CarcassTable, PanelTable, WallsTable
from patterns.carcass.ring import Bevel, Joint
from patterns.carcass.vessel import Vessel
from patterns.piece import Given
from patterns.tables import given_keys
from patterns.values import Values
from patterns.wording import inside, listed, named_place, quoted, rather

if TYPE_CHECKING:
    from patterns.carcass.measured import Residual

PLACE = "carcass"

LEAST_STAVES, MOST_STAVES = 3, 12

OF_KIND: dict[Literal["box", "staved"], tuple[str, ...]] = {
    "box": ("plan", "long_boards", "measured", "hood"),
    "staved": ("sides", "across", "over", "at"),
}
"""Keys that belong to one kind alone."""

PANELS: dict[Literal["box", "staved"], tuple[str, ...]] = {
    "box": (
        *("sides", "left_side", "right_side", "ends", "head_board", "foot_board", "base"),
        *("front_board", "roof", "lower_roof", "upper_roof", "roof_top"),
    ),
    "staved": ("stave", "base"),
}


class Figures(Struct, frozen=True):
    """A carcass's shape with what is not of its shape alone."""

    shape: Box | Vessel
    heights: Given
    fingers: FingerFigures | None
    base: BaseFigures | None
    residuals: tuple[Residual, ...] = ()


class BaseFigures(Struct, frozen=True):
    """The base as given (mm)."""

    table: BaseTable
    thickness: float
    overhang: Mapping[WallName, float]
    chamfer: float


def figures_of(table: CarcassTable, values: Values) -> Figures | None:
    """Works out the figures; None where there is a mistake, which is told."""
    before = values.mistakes.marks
    _check_keys(table, values)
    fingers = _fingers(table, values)
    base = _base(table, values) if table.base is not None else None
    figures = _box(table, fingers, base, values) if table.kind == "box" else _vessel(table, fingers, base, values)
    return figures if values.mistakes.marks == before else None


def _check_keys(table: CarcassTable, values: Values) -> None:
    """Keys that belong to the other kind, and panels that there are not."""
    other: Literal["box", "staved"] = "staved" if table.kind == "box" else "box"
    for key in given_keys(table):
        if key in OF_KIND[other]:
            values.mistakes.broke(
                inside(PLACE, key), f"belongs to a carcass of kind {quoted(other)}, and this is {quoted(table.kind)}"
            )
    for name in table.panels:
        if name not in PANELS[table.kind]:
            where = named_place(inside(PLACE, "panels"), name)
            values.mistakes.broke(where, f"there is no panel {quoted(name)}; {rather(name, PANELS[table.kind])}")
    for both, each in (("sides", SIDES), ("ends", ("head_board", "foot_board"))):
        twice = [name for name in each if both in table.panels and name in table.panels]
        for name in twice:
            where = named_place(inside(PLACE, "panels"), name)
            values.mistakes.add(where, f"{both} speaks of it already; describe {listed(each, 'and')} each by itself")
    if table.height_from == "base" and table.base is None:
        values.mistakes.add(inside(PLACE, "height_from"), "there is no base; add [carcass.base], or leave it out")
    if "base" in table.panels and table.base is None:
        values.mistakes.add(named_place(inside(PLACE, "panels"), "base"), "there is no base; add [carcass.base]")


def _fingers(table: CarcassTable, values: Values) -> FingerFigures | None:
    place = inside(PLACE, "fingers")
    if table.corner_joint != "finger":
        if table.fingers is not None:
            values.mistakes.add(place, f"the corners are {quoted(table.corner_joint)} joints, and have no fingers")
        return None
    if table.fingers is None:
        values.mistakes.broke(place, "is missing: finger joints need a spacing, or a count")
        return None
    return fingers_of(table.fingers, place, values)


def _base(table: CarcassTable, values: Values) -> BaseFigures | None:
    base, place = table.base, inside(PLACE, "base")
    if base is None:
        return None
    thickness = values.length(base.thickness, inside(place, "thickness"), "positive")
    overhang = of_walls(base.overhang, inside(place, "overhang"), length_reader(values, positive=False), values)
    chamfer = values.optional_length(base.chamfer, inside(place, "chamfer"), "positive")
    if table.kind == "staved" and isinstance(base.overhang, WallsTable):
        values.mistakes.broke(inside(place, "overhang"), "all staves are alike; give one figure")
    if thickness is None or overhang is None:
        return None
    if chamfer is not None and chamfer.value > thickness.value:
        values.mistakes.add(chamfer.place, f"{chamfer.written} is more than the base is thick, {thickness.written}")
    if base.place == "inside" and any(given.value for given in overhang.values()):
        values.mistakes.add(inside(place, "overhang"), "a base inside the walls overhangs nothing; leave it out")
    reaches = {name: given.value for name, given in overhang.items()}
    return BaseFigures(base, thickness.value, reaches, chamfer.value if chamfer else 0.0)


# -------------------------------------------------------------------- a box


def _box(
    table: CarcassTable, fingers: FingerFigures | None, base: BaseFigures | None, values: Values
) -> Figures | None:
    residuals: tuple[Residual, ...] = ()
    solved_from = 0
    if table.measured:
        from patterns.carcass.measured import as_given  # late: only measurements ask for least squares

        found = as_given(table, values)
        if found is None:
            return None
        table, residuals = found
        solved_from = len(values.readings)
    plan = table.plan
    length = width = None
    if plan is None:
        values.mistakes.broke(
            inside(PLACE, "plan"), "is missing; it is { length, width } at the bottom, or measurements"
        )
    else:
        place = inside(PLACE, "plan")
        for key in ("length", "width"):
            if getattr(plan, key) is None:
                values.mistakes.broke(inside(place, key), "is missing")
        length = values.optional_length(plan.length, inside(place, "length"), "positive")
        width = values.optional_length(plan.width, inside(place, "width"), "positive")
    heights = _heights(table, values)
    splays = of_walls(table.splay, inside(PLACE, "splay"), splay_reader(values), values)
    thicknesses = of_walls(table.thickness, inside(PLACE, "thickness"), length_reader(values), values)
    if residuals:  # what was solved is told with the measurements
        del values.readings[solved_from:]
    joint = _joint(
        table, fingers, min((t.value for t in thicknesses.values()), default=0.0) if thicknesses else 0.0, values
    )
    bevels = _bevels(table, values)
    if plan is None or None in (length, width, heights, splays, thicknesses, joint):
        return None
    assert length and width and heights and splays and thicknesses and joint  # noqa: S101
    less = base.thickness if base is not None and table.height_from == "base" and base.table.place == "under" else 0.0
    if heights.least.value <= less:
        values.mistakes.add(heights.least.place, f"{heights.least.written} leaves no wall above the base")
        return None
    hood = None
    if table.hood is not None:
        hood = hood_of(table.hood, thicknesses["head_board"].value, less, values)
        if hood is None:
            return None
    box = Box(
        length.value,
        width.value,
        heights.by_wall(less),
        {name: given.value for name, given in splays.items()},
        {name: given.value for name, given in thicknesses.items()},
        joint,
        table.long_boards or "sides",
        plan.at,
        table.height_to,
        bevels,
        hood,
    )
    return Figures(box, heights.least, fingers, base, residuals)


def _heights(table: CarcassTable, values: Values) -> Heights | None:
    if table.height is None:
        values.mistakes.broke(
            inside(PLACE, "height"), "is missing; it is square to the bottom, one for all walls or of each"
        )
        return None
    return heights_of(table.height, inside(PLACE, "height"), values)


def _joint(table: CarcassTable, fingers: FingerFigures | None, thinnest: float, values: Values) -> Joint | None:
    rabbet = values.optional_length(table.rabbet, inside(PLACE, "rabbet"), "positive")
    if table.rabbet is not None and table.corner_joint != "rabbet":
        values.mistakes.add(
            inside(PLACE, "rabbet"), f"the corners are {quoted(table.corner_joint)} joints, without a rabbet"
        )
    depth = rabbet.value if rabbet is not None else thinnest / 2
    if rabbet is not None and thinnest and depth >= thinnest:
        values.mistakes.add(rabbet.place, f"{rabbet.written} goes through the board; less than its thickness would do")
        return None
    return Joint(
        table.corner_joint,
        rabbet=depth if table.corner_joint == "rabbet" else 0.0,
        proud=fingers.proud if fingers is not None else 0.0,
    )


def _bevels(table: CarcassTable, values: Values) -> dict[tuple[WallName, str], Bevel | float | WallName]:
    found: dict[tuple[WallName, str], Bevel | float | WallName] = {}
    for name in WALLS:
        for key, panel in panels_of(table, name):
            for edge, bevel in bevels_of(
                panel.bevels, WALLS, named_place(inside(PLACE, "panels"), key), values
            ).items():
                if bevel == name:
                    where = named_place(inside(named_place(inside(PLACE, "panels"), key), "bevels"), edge)
                    values.mistakes.add(where, f"the {in_words(name)} can't be cut in its own plane; name another wall")
                    continue
                found[name, edge] = bevel
    return found


def panels_of(table: CarcassTable, name: str) -> list[tuple[str, PanelTable]]:
    """What the file says of a wall: under its own name, or under that of both."""
    both = "sides" if name in SIDES else "ends" if name in WALLS else ""
    return [(key, table.panels[key]) for key in (name, both) if key in table.panels]


# -------------------------------------------------------------------- a vessel


def _vessel(
    table: CarcassTable, fingers: FingerFigures | None, base: BaseFigures | None, values: Values
) -> Figures | None:
    count = table.sides
    if count is None:
        values.mistakes.broke(inside(PLACE, "sides"), "is missing: how many staves there are")
    elif not LEAST_STAVES <= count <= MOST_STAVES:
        what = f"a vessel has from {LEAST_STAVES} to {MOST_STAVES} staves, not {count}"
        values.mistakes.broke(inside(PLACE, "sides"), what)
    if table.corner_joint not in ("mitre", "butt"):
        values.mistakes.broke(
            inside(PLACE, "corner_joint"), f'staves meet as "mitre" or "butt", not {quoted(table.corner_joint)}'
        )
    across = _needed(table.across, "across", "the distance across the plan at the bottom", values)
    height = None
    if table.height is None:
        values.mistakes.broke(inside(PLACE, "height"), "is missing; it is square to the bottom")
    elif isinstance(table.height, str | int | float):
        height = values.length(table.height, inside(PLACE, "height"), "positive")
    else:
        values.mistakes.broke(inside(PLACE, "height"), "all staves have one height; give one figure")
    splay = _one(table, "splay", splay_reader(values), values)
    thickness = _one(table, "thickness", length_reader(values), values)
    bevels = {}
    if "stave" in table.panels:
        bevels = bevels_of(table.panels["stave"].bevels, (), named_place(inside(PLACE, "panels"), "stave"), values)
    if count is None or across is None or height is None or splay is None or thickness is None:
        return None
    less = base.thickness if base is not None and table.height_from == "base" and base.table.place == "under" else 0.0
    if height.value <= less:
        values.mistakes.add(height.place, f"{height.written} leaves no wall above the base")
        return None
    vessel = Vessel(
        count,
        across.value,
        height.value - less,
        splay.value,
        thickness.value,
        Joint(table.corner_joint),
        table.over or "flats",
        table.at or "outside",
        table.height_to,
        bevels.get("top", "level"),  # type: ignore[arg-type]
        bevels.get("bottom", "level"),  # type: ignore[arg-type]
    )
    return Figures(vessel, height, fingers, base)


def _needed(value: object, key: str, what: str, values: Values) -> Given | None:
    place = inside(PLACE, key)
    if value is None:
        values.mistakes.broke(place, f"is missing: {what}")
        return None
    return values.length(value, place, "positive")  # type: ignore[arg-type]


def _one(table: CarcassTable, key: str, read: object, values: Values) -> Given | None:
    value, place = getattr(table, key), inside(PLACE, key)
    if value is None:
        values.mistakes.broke(place, "is missing; all staves have one")
        return None
    if not isinstance(value, str | int | float):
        values.mistakes.broke(place, "all staves are alike; give one figure")
        return None
    return read(value, place)  # type: ignore[operator,no-any-return]


# -------------------------------------------------------------------- joints of fingers


def layouts_of(figures: Figures) -> tuple[Layout, ...]:
    """How the fingers of each corner are laid out, in the order of the walls."""
    fingers = figures.fingers
    if fingers is None:
        return ()
    spacing = fingers.spacing.value if fingers.spacing is not None else 0.0
    found = []
    for name in WALLS:
        first: Owner = "this" if (name in SIDES) == (fingers.table.first == "sides") else "next"
        found.append(
            Layout(
                first,
                spacing / 2,
                fingers.count or 0,
                fingers.table.remainder,
                fingers.play,
                fingers.table.cut,
                fingers.table.start,
            )
        )
    return tuple(found)


def base_of(figures: Figures) -> Board | None:
    """The base as a board, None where there is none."""
    base = figures.base
    if base is None:
        return None
    walls = figures.shape.walls
    if base.table.place == "inside":
        return base_inside(walls, base.thickness)
    return base_under(walls, base.thickness, [base.overhang.get(wall.name, _even(base)) for wall in walls])


def _even(base: BaseFigures) -> float:
    """The overhang of a vessel's base, which is the same all round."""
    return max(base.overhang.values())
