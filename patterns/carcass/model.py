"""The vocabulary of a carcass in the pattern file: which keys there are, what each may hold, and what it means."""

# No "from __future__ import annotations" here: msgspec would have to evaluate each annotation from its text.

from typing import Annotated, Literal

from msgspec import field

from patterns.partmodel import FeaturesTable, Pair, Table, Value, meaning

_AT = "Whether the figures are those of the outside or of the inside faces."


class PlanTable(Table, frozen=True, kw_only=True):
    """A box's rectangle at the bottom, where the walls stand."""

    length: Annotated[Value | None, meaning("From the foot board to the head board.")] = None
    width: Annotated[Value | None, meaning("From side to side.")] = None
    at: Annotated[Literal["outside", "inside"], meaning(_AT)] = "outside"


class HeightTable(Table, frozen=True, kw_only=True):
    """Heights of the walls, where they differ."""

    sides: Annotated[
        Value | Pair,
        meaning("Of the sides: one height, or [at the head board, at the foot board].", ("at the head", "at the foot")),
    ]
    head_board: Annotated[Value | None, meaning("Of the head board. Left out: as the sides there.")] = None
    foot_board: Annotated[Value | None, meaning("Of the foot board. Left out: as the sides there.")] = None


class WallsTable(Table, frozen=True, kw_only=True):
    """A figure for each wall: for both sides at once or each by itself, for both ends or each by itself."""

    sides: Annotated[Value | None, meaning("Both sides.")] = None
    left_side: Annotated[Value | None, meaning("The side at the left of who stands at the foot board.")] = None
    right_side: Annotated[Value | None, meaning("The side at the right.")] = None
    ends: Annotated[Value | None, meaning("Head board and foot board.")] = None
    head_board: Annotated[Value | None, meaning("The head board.")] = None
    foot_board: Annotated[Value | None, meaning("The foot board.")] = None


class FingersTable(Table, frozen=True, kw_only=True):
    """How finger joints are laid out along the corners."""

    spacing: Annotated[Value | None, meaning("One finger and one gap.")] = None
    count: Annotated[int | None, meaning("How many fingers and gaps there are along a corner.")] = None
    first: Annotated[Literal["sides", "ends"], meaning("Which boards have the finger at the end that start names.")] = (
        "sides"
    )
    start: Annotated[Literal["bottom", "top"], meaning("At which end of the corner first is said of.")] = "bottom"
    remainder: Annotated[
        Literal["both ends", "bottom", "top"],
        meaning("Where what is left over goes when the spacing does not divide the corner."),
    ] = "both ends"
    proud: Annotated[Value | None, meaning("How far fingers stand out before they are flushed. Left out: 0.")] = None
    play: Annotated[Value | None, meaning("How much wider a gap is than its finger. Left out: 0.")] = None
    cut: Annotated[
        Literal["tilted", "square"],
        meaning(
            "tilted: tips and roots follow the slope, and fit exactly. square: on a square jig, which leaves a gap "
            "that the pattern tells."
        ),
    ] = "tilted"


class PanelTable(FeaturesTable, frozen=True, kw_only=True):
    """What is said of a wall or of the base beside what the carcass gives: sweeps, cuts, holes, marks, as of any part."""

    bevels: Annotated[
        dict[str, Value],
        meaning(
            "How the straight top or bottom edge is cut across the thickness: level (the usual), square to the face, "
            "plumb, a wall's name (in the plane of that wall's edge), or degrees from square, positive where the "
            "outside face is the short one."
        ),
    ] = field(default_factory=dict)
    curves: Annotated[
        dict[str, Literal["square", "level"]],
        meaning("How a curved edge is cut across the thickness: square to the face (the usual) or level."),
    ] = field(default_factory=dict)


class BaseTable(Table, frozen=True, kw_only=True):
    """A flat board that closes the bottom."""

    thickness: Annotated[Value, meaning("Its thickness.")]
    place: Annotated[
        Literal["under", "inside"], meaning("under the walls, or inside them at the bottom, its edges as they lean.")
    ] = "under"
    overhang: Annotated[Value | WallsTable, meaning("How far it reaches beyond the walls that stand on it.")] = 0
    chamfer: Annotated[Value | None, meaning("Chamfer along its upper edges.")] = None
    fit: Annotated[bool, meaning("Measure the piece first, and fit the board to it.")] = False


class OverhangTable(Table, frozen=True, kw_only=True):
    """How far roof boards reach beyond what carries them."""

    eaves: Annotated[Value, meaning("Level, beyond the outside of the sides.")] = 0
    front: Annotated[Value, meaning("Beyond the front.")] = 0
    back: Annotated[Value, meaning("Beyond the head board.")] = 0


class HoodTable(Table, frozen=True, kw_only=True):
    """A roof over the head end of a box, with a front board under it."""

    depth: Annotated[Value, meaning("Level along the piece at the eaves, from the head board's outside to the front.")]
    eaves: Annotated[Value, meaning("Height at which the roof leaves the outside of the sides.")]
    slopes: Annotated[
        list[Value],
        meaning(
            "How steeply the roof rises from the eaves, in degrees from level or as rise over run: one slope a side, or the "
            "lower and the upper one. A single 0 is one level board.",
            item="slope",
        ),
    ]
    break_height: Annotated[Value | None, meaning("With two slopes: how far above the eaves they meet.")] = None
    flat: Annotated[Value | None, meaning("Width of a level top between the slopes. Left out: a ridge.")] = None
    thickness: Annotated[Value, meaning("Of the roof boards.")]
    front: Annotated[
        Value,
        meaning("parallel to the head board (the usual), upright, or degrees out of plumb towards the foot."),
    ] = "parallel"
    front_bottom: Annotated[Value, meaning("Height of the front board's lower edge.")]
    front_thickness: Annotated[Value | None, meaning("Of the front board. Left out: as the head board.")] = None
    overhang: Annotated[Value | OverhangTable, meaning("How far roof boards reach beyond what carries them.")] = 0
    joint: Annotated[
        Literal["mitre", "lap"],
        meaning("How roof boards of different slopes meet: mitred, or the upper one over the edge of the lower one."),
    ] = "mitre"
    lap: Annotated[
        Value | None, meaning("How far an upper board reaches beyond the lower one's face. Left out: 0.")
    ] = None
    lap_flat: Annotated[
        Value | None,
        meaning(
            "What is left flat of the lower board's thin arris under a lap, where its bevel would run out to nothing."
        ),
    ] = None


class MeasuredTable(Table, frozen=True, kw_only=True):
    """A distance that was measured on the piece, or a slope as offset over height."""

    of: Annotated[
        str, meaning("What was measured, such as bottom length, top width, slant of sides, diagonal of bottom.")
    ]
    value: Annotated[Value, meaning("What the rule showed; a slope as offset over height.")]
    at: Annotated[Literal["outside", "inside"], meaning(_AT)] = "outside"


class CarcassTable(Table, frozen=True, kw_only=True):
    """Walls that lean and meet at corners: a box, or a vessel of equal staves."""

    kind: Annotated[
        Literal["box", "staved"], meaning("box: two sides, a head board and a foot board. staved: equal staves round.")
    ] = "box"
    plan: Annotated[PlanTable | None, meaning("Box: its rectangle at the bottom.")] = None
    sides: Annotated[int | None, meaning("Staved: how many staves there are.")] = None
    across: Annotated[Value | None, meaning("Staved: the distance across its plan at the bottom.")] = None
    over: Annotated[
        Literal["flats", "corners"] | None, meaning("Staved: whether across is over flats (the usual) or over corners.")
    ] = None
    at: Annotated[Literal["outside", "inside"] | None, meaning("Staved: " + _AT + " Left out: outside.")] = None
    height: Annotated[
        Value | HeightTable | None, meaning("Square to the bottom; one for all walls, or those of each.")
    ] = None
    height_to: Annotated[
        Literal["outside", "inside"],
        meaning("Which arris of the top edge the height is to: of the outside or inside face."),
    ] = "outside"
    height_from: Annotated[
        Literal["walls", "base"],
        meaning("Whether heights are from the walls' bottom or from that of the base under them."),
    ] = "walls"
    splay: Annotated[
        Value | WallsTable | None,
        meaning("How far the walls lean out of plumb, outward positive; one for all or of each."),
    ] = None
    thickness: Annotated[Value | WallsTable | None, meaning("Of the boards; one for all, or that of each.")] = None
    corner_joint: Annotated[
        Literal["finger", "rabbet", "butt", "mitre"], meaning("How the walls meet at the corners.")
    ] = "butt"
    long_boards: Annotated[
        Literal["sides", "ends"] | None,
        meaning("Box: which boards run full length at a butt or rabbet corner. Left out: the sides."),
    ] = None
    rabbet: Annotated[Value | None, meaning("How deep the rabbet is. Left out: half of its board's thickness.")] = None
    fingers: Annotated[FingersTable | None, meaning("How finger joints are laid out.")] = None
    wood: Annotated[str, meaning("What the walls and the base are made of, where a panel says nothing else.")] = ""
    panels: Annotated[
        dict[str, PanelTable],
        meaning(
            "For each wall by its name (left_side, right_side or both as sides; head_board, foot_board or both as "
            "ends; stave; base; front_board, roof, lower_roof, upper_roof, roof_top): what a part may have."
        ),
    ] = field(default_factory=dict)
    base: Annotated[BaseTable | None, meaning("A flat board that closes the bottom.")] = None
    hood: Annotated[HoodTable | None, meaning("Box: a roof over the head end.")] = None
    measured: Annotated[
        list[MeasuredTable] | None,
        meaning(
            "Box: measurements, instead of plan and splay: as many as there are. The height follows from them, too, unless "
            "it is given because the walls are not all as high as where the top was measured.",
            item="measurement",
        ),
    ] = None
