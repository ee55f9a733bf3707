"""The vocabulary of a part in the pattern file: which keys there are, what each may hold, and what it means.

These tables check the shape of a file and yield its JSON Schema. What the values come to is worked out in
``resolve``. A length, an angle or a number may be written as a bare figure or, in quotes, with fractions, units and
arithmetic on named sizes.
"""

# No "from __future__ import annotations" here: msgspec would have to evaluate each annotation from its text.

from typing import Annotated, Any, Literal

from msgspec import Meta, Struct, field

Value = str | int | float
Pair = tuple[Value, Value]
ArchKind = Literal["segmental", "elliptical", "three-centred", "pointed", "four-centred", "ogee"]
EndsValue = Literal["natural", "clamped"] | Pair


def meaning(description: str, rows: tuple[str, ...] = (), item: str = "", **more: Any) -> Meta:
    """What a key means; ``rows`` names the figures of each row of a table, ``item`` what one row is called."""
    return Meta(description=description, extra={"rows": rows, "item": item}, **more)


class Table(Struct, frozen=True, forbid_unknown_fields=True):
    """A table of the file: a key that it does not know is a mistake."""


class SizeTable(Table, frozen=True):
    """A named number the maker may change, with its limits."""

    value: Annotated[Value, meaning("The size itself: a figure or a formula of other sizes.")]
    least: Annotated[Value | None, meaning("The least it may be.")] = None
    most: Annotated[Value | None, meaning("The most it may be.")] = None
    note: Annotated[str, meaning("What the size is, for whoever changes it.")] = ""
    kind: Annotated[
        Literal["length", "angle", "number"] | None,
        meaning(
            "What the value measures. Left out: a length, or an angle where it is written in degrees or as a slope."
        ),
    ] = None


class BlankTable(Table, frozen=True):
    """The straight-sided shape a part is cut from: rectangle, trapezoid or polygon."""

    length: Annotated[Value | None, meaning("Rectangle: its length, along x.")] = None
    width: Annotated[Value | None, meaning("Rectangle: its width, up.")] = None
    bottom: Annotated[Value | None, meaning("Trapezoid: length of the bottom edge.")] = None
    top: Annotated[Value | None, meaning("Trapezoid: length of the top edge.")] = None
    height: Annotated[Value | None, meaning("Trapezoid: distance square from the bottom edge to the top edge.")] = None
    overhang_left: Annotated[
        Value | None,
        meaning(
            "Trapezoid: how far the top edge reaches beyond the bottom edge at the left, negative where it falls "
            "short. Left out: the same at both sides."
        ),
    ] = None
    vertices: Annotated[
        list[Pair] | None,
        meaning("Polygon: its corners [x, y], counter-clockwise.", ("x", "y"), "vertex"),
    ] = None
    edge_names: Annotated[
        list[str] | None,
        meaning(
            "Polygon: a name for each side, the first for the side from the first vertex to the second. "
            "Left out: edge_1, edge_2 and so on.",
            item="name",
        ),
    ] = None


class RoundOverTable(Table, frozen=True):
    """An arris rounded with a bearing-guided bit."""

    radius: Annotated[Value, meaning("Radius of the round-over.")]
    faces: Annotated[
        Literal["both", "outside", "inside"], meaning("Which faces are rounded where they meet the edge.")
    ] = "both"
    from_: Annotated[Value | None, meaning("Station at which the round-over starts. Left out: the edge's start.")] = (
        field(name="from", default=None)
    )
    to: Annotated[Value | None, meaning("Station at which the round-over stops. Left out: the edge's end.")] = None


class EdgeTable(Table, frozen=True):
    """A sweep that replaces a stretch of an edge, and what is left on the edge. Either may stand alone.

    Stations run left to right on bottom and top, bottom to top on left and right.
    """

    arch: Annotated[ArchKind | None, meaning("The sweep is an arch of this kind, by its rise or its radius.")] = None
    rise: Annotated[Value | None, meaning("Arch: height of the crown above the springing line.")] = None
    radius: Annotated[Value | None, meaning("Arch: its radius, where that defines it; instead of the rise.")] = None
    end_radius: Annotated[
        Value | None, meaning("Arch: radius next to the springing, where rise and span leave a choice.")
    ] = None
    arch_to: Annotated[
        Literal["edge", "inside"] | None,
        meaning(
            "edge: the crown touches the edge, the springing lies the rise inside (an arched top, a rocker). "
            "inside: the springing is on the edge, the crown is cut the rise into the blank (an arched apron)."
        ),
    ] = None
    points: Annotated[
        list[Pair] | None,
        meaning(
            "The sweep passes through these points: [station, depth into the blank].", ("station", "depth"), "point"
        ),
    ] = None
    heights: Annotated[
        list[Pair] | None,
        meaning(
            "The sweep passes through these points: [station, height above the opposite edge].",
            ("station", "height"),
            "point",
        ),
    ] = None
    measured: Annotated[
        list[Pair] | None,
        meaning(
            "Measurements with the small errors of measuring: [station, depth into the blank]. The sweep is the "
            "smoothest curve that passes every one within the distance said by within.",
            ("station", "depth"),
            "point",
        ),
    ] = None
    within: Annotated[Value | None, meaning("Measured: how far the curve may pass from a measured point.")] = None
    leave_out: Annotated[
        list[Pair] | None,
        meaning(
            "Measured: stretches [from, to] whose points are not to be trusted, such as a worn place.",
            ("from", "to"),
            "stretch",
        ),
    ] = None
    stations_from: Annotated[
        Literal["start", "middle"] | None,
        meaning("Where the table's stations are counted from: the edge's start or its middle."),
    ] = None
    mirror: Annotated[bool, meaning("Repeat the sweep, reflected, at the other end of the edge.")] = False
    ends: Annotated[
        EndsValue | None,
        meaning(
            "How the curve arrives at its ends: natural (without bending), clamped (along the edge), or two angles "
            "[at the start, at the end] from the edge, positive where depth (or height) grows with the station.",
            ("angle at the start", "angle at the end"),
        ),
    ] = None
    from_: Annotated[Value | None, meaning("Station at which the sweep starts. Left out: the edge's start.")] = field(
        name="from", default=None
    )
    to: Annotated[Value | None, meaning("Station at which the sweep ends. Left out: the edge's end.")] = None
    leave: Annotated[Value | None, meaning("How much wood to leave outside the line, to be planed to it.")] = None
    fit: Annotated[bool, meaning("Leave the edge long and fit it to the piece.")] = False
    round_over: Annotated[RoundOverTable | None, meaning("Round the edge's arrises.")] = None


class CutTable(Table, frozen=True):
    """A line from a station on one edge to a station on another: the part beyond it falls away."""

    from_: Annotated[tuple[str, Value], meaning("Where the cut starts: [edge, station].", ("edge", "station"))] = field(
        name="from"
    )
    to: Annotated[tuple[str, Value], meaning("Where the cut ends: [edge, station].", ("edge", "station"))]
    points: Annotated[
        list[Pair], meaning("Points [x, y] that the cut passes between its ends.", ("x", "y"), "point")
    ] = []
    ends: Annotated[
        EndsValue | None,
        meaning(
            "natural, clamped (square to the edges), or two angles from the x direction. Left out: natural.",
            ("angle at the start", "angle at the end"),
        ),
    ] = None
    mirror: Annotated[bool, meaning("Repeat the cut, reflected, at the other end of the blank.")] = False
    waste: Annotated[
        str, meaning("An edge or a corner on the side that falls away. Left out: the smaller side falls away.")
    ] = ""
    name: Annotated[str, meaning("What the cut is called.")] = ""


class CornerTable(Table, frozen=True):
    """One of: round, chamfer, notch."""

    round: Annotated[Value | None, meaning("Round the corner with this radius.")] = None
    chamfer: Annotated[Value | None, meaning("Cut the corner off straight, this far along both edges.")] = None
    notch: Annotated[
        Pair | None,
        meaning(
            "Cut a rectangle out: [along the edge that follows the corner, along the edge before it], going round "
            "counter-clockwise.",
            ("along the edge after", "along the edge before"),
        ),
    ] = None


class ElongatedTable(Table, frozen=True):
    """A hole with round ends: two half circles and the straight lines between."""

    length: Annotated[Value, meaning("Overall length.")]
    width: Annotated[Value, meaning("Overall width: the diameter of its ends.")]
    angle: Annotated[Value | None, meaning("Direction of its length, counter-clockwise from x. Left out: 0.")] = None


class HoleTable(Table, frozen=True):
    """One of: circle, elongated (both with at), points."""

    circle: Annotated[Value | None, meaning("Diameter of a round hole.")] = None
    elongated: Annotated[ElongatedTable | None, meaning("A hole with round ends.")] = None
    points: Annotated[
        list[Pair] | None, meaning("Points [x, y] that a closed smooth curve passes.", ("x", "y"), "point")
    ] = None
    at: Annotated[Pair | None, meaning("Middle of the hole [x, y].", ("x", "y"))] = None
    mirror: Annotated[bool, meaning("Repeat the hole, reflected, in the other half of the blank.")] = False
    name: Annotated[str, meaning("What the hole is for.")] = ""


class MarkTable(Table, frozen=True):
    """One of: centre, line, note (with at). Drawn on the pattern; nothing is cut."""

    centre: Annotated[Pair | None, meaning("A centre mark at [x, y].", ("x", "y"))] = None
    line: Annotated[tuple[Pair, Pair] | None, meaning("A line between two points [x, y].", ("x", "y"), "point")] = None
    note: Annotated[str | None, meaning("A text on the pattern, beside a small cross at the point it is about.")] = None
    at: Annotated[Pair | None, meaning("The point that the note is about: [x, y].", ("x", "y"))] = None


class FeaturesTable(Table, frozen=True, kw_only=True):
    """What is said of a board whatever gives it its straight-sided shape."""

    thickness: Annotated[Value | None, meaning("Thickness of the board.")] = None
    wood: Annotated[str, meaning("What it is made of.")] = ""
    grain: Annotated[
        Value | None,
        meaning(
            "Direction of the grain: along the blank's length, across it, or degrees counter-clockwise from x. Left out: "
            "along; of a stave, across, which is up."
        ),
    ] = None
    edges: Annotated[
        dict[str, EdgeTable | list[EdgeTable]],
        meaning("For each edge by its name: one sweep, a list of sweeps, or what is left on it.", item="sweep"),
    ] = {}
    cut: Annotated[list[CutTable], meaning("Cuts from edge to edge.", item="cut")] = []
    corners: Annotated[dict[str, CornerTable], meaning("For each corner by its name: round, chamfer or notch.")] = {}
    hole: Annotated[list[HoleTable], meaning("Holes: round, elongated, or through points.", item="hole")] = []
    mark: Annotated[list[MarkTable], meaning("Centre marks, lines and notes.", item="mark")] = []
    glue_lines: Annotated[
        list[Value],
        meaning("Heights above the blank's bottom at which the part is jointed from boards.", item="glue line"),
    ] = []
    biscuits: Annotated[
        Value | None, meaning("Biscuits along the glue lines, about so far apart: marked on both boards.")
    ] = None
    shape: Annotated[
        Literal["whole", "before glue"],
        meaning("before glue: the boards are cut out before they are glued, and each has its own pattern."),
    ] = "whole"
    notes: Annotated[list[str], meaning("Lines of text for whoever makes the part.", item="note")] = []


class PartTable(FeaturesTable, frozen=True, kw_only=True):
    """A panel or board of the piece as it stands when finished: a blank whose edges may be replaced by curves."""

    name: Annotated[str, meaning("What the part is called; no two parts share a name.")]
    blank: Annotated[BlankTable, meaning("The straight-sided shape the part is cut from.")]
    quantity: Annotated[int, meaning("How many of it the piece has.", ge=1, le=1000)] = 1
    opposite_hand: Annotated[
        int, meaning("How many of them are of the opposite hand: its mirror image.", ge=0, le=999)
    ] = 0
