"""A piece with every size resolved: what the pattern file says, in millimetres and radians, still unbuilt.

Each value keeps how the maker wrote it and where, so that whoever builds from it can name both. The values are frozen
msgspec structs rather than dataclasses: these are made in a hundredth of the time, and a command starts by making them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from msgspec import Struct, field

if TYPE_CHECKING:
    from patterns.carcass.panel import Panel
    from patterns.carcass.spec import Carcass

Ends = Literal["natural", "clamped"] | tuple["Given", "Given"]
GrainDirection = Literal["along", "across"]


class Given(Struct, frozen=True):
    """A value as resolved (mm, radians or a bare number), as written, and its place in the file."""

    value: float
    written: str
    place: str


class Size(Struct, frozen=True):
    """A named number the maker may change. ``kind`` is "length" (mm), "angle" (radians) or "number"."""

    name: str
    kind: Literal["length", "angle", "number"]
    value: float
    written: str
    least: float | None = None
    most: float | None = None
    note: str = ""
    overridden: bool = False
    """Whether the value was given on the command line instead of by the file."""


class BlankSpec(Struct, frozen=True):
    """The straight-sided shape a part is cut from: corners counter-clockwise from the lower left, and edge names.

    A "panel" has the four sides of a trapezoid, none of which need be parallel.

    ``edge_names[k]`` is the side from ``vertices[k]`` to ``vertices[k + 1]``. ``corner_names[k]`` is the corner at
    ``vertices[k]``. ``figures`` are the given measurements by key (length, width, bottom, ...).
    """

    kind: Literal["rectangle", "trapezoid", "panel", "polygon"]
    vertices: tuple[tuple[float, float], ...]
    edge_names: tuple[str, ...]
    corner_names: tuple[str, ...]
    figures: tuple[tuple[str, Given], ...]
    place: str


class RoundOverSpec(Struct, frozen=True):
    """A rounded arris: cutter radius (mm), which faces, and between which stations (None: the whole edge)."""

    radius: Given
    faces: Literal["both", "outside", "inside"]
    start: Given | None
    end: Given | None


class AllowanceSpec(Struct, frozen=True):
    """What is left on an edge: ``leave`` (mm) outside the line, ``fit`` to the piece, a round-over."""

    leave: Given | None = None
    fit: bool = False
    round_over: RoundOverSpec | None = None


class SweepSpec(Struct, frozen=True):
    """A curve that replaces a stretch of an edge.

    ``form`` is "arch", "points", "heights" or "measured". For the last three ``table`` holds (station, value) pairs in the
    order written; ``table_is`` says whether the values are depths from this edge or heights from the opposite one.
    ``start`` and ``end`` are the stations given as from and to (None: the edge's ends).
    """

    form: Literal["arch", "points", "heights", "measured"]
    place: str
    start: Given | None = None
    end: Given | None = None
    mirror: bool = False
    arch: str = ""
    rise: Given | None = None
    radius: Given | None = None
    end_radius: Given | None = None
    arch_to: Literal["edge", "inside"] = "edge"
    table: tuple[tuple[Given, Given], ...] = ()
    table_is: Literal["depths", "heights"] = "depths"
    stations_from: Literal["start", "middle"] = "start"
    within: Given | None = None
    leave_out: tuple[tuple[Given, Given], ...] = ()
    ends: Ends = "natural"


class EdgeSpec(Struct, frozen=True):
    """What replaces an edge, and what is left on it."""

    name: str
    place: str
    sweeps: tuple[SweepSpec, ...] = ()
    allowance: AllowanceSpec = field(default_factory=AllowanceSpec)


class CutSpec(Struct, frozen=True):
    """A line from a station on one edge to a station on another, through points (x, y) of the part.

    ``waste`` names an edge or a corner on the side that falls away; empty: the smaller side does.
    """

    place: str
    start_edge: str
    start_station: Given
    end_edge: str
    end_station: Given
    points: tuple[tuple[Given, Given], ...] = ()
    ends: Ends = "natural"
    mirror: bool = False
    waste: str = ""
    name: str = ""


class CornerSpec(Struct, frozen=True):
    """A corner that is rounded (radius), chamfered (setback) or notched (along the edge after it, along the one before)."""

    place: str
    corner: str
    form: Literal["round", "chamfer", "notch"]
    amounts: tuple[Given, ...]


class HoleSpec(Struct, frozen=True):
    """A hole: a circle by diameter, an elongated one by overall length, width and angle, or a closed curve."""

    place: str
    form: Literal["circle", "elongated", "points"]
    at: tuple[Given, Given] | None = None
    diameter: Given | None = None
    length: Given | None = None
    width: Given | None = None
    angle: Given | None = None
    points: tuple[tuple[Given, Given], ...] = ()
    mirror: bool = False
    name: str = ""


class MarkSpec(Struct, frozen=True):
    """A centre mark at a point, a line between two, or a note at a point."""

    place: str
    form: Literal["centre", "line", "note"]
    points: tuple[tuple[Given, Given], ...]
    text: str = ""


class PartSpec(Struct, frozen=True):
    """A panel or board as the pattern file describes it."""

    name: str
    place: str
    blank: BlankSpec
    quantity: int = 1
    opposite_hand: int = 0
    """How many of them are of the opposite hand."""
    thickness: Given | None = None
    wood: str = ""
    grain: GrainDirection | Given = "along"
    edges: tuple[EdgeSpec, ...] = ()
    cuts: tuple[CutSpec, ...] = ()
    corners: tuple[CornerSpec, ...] = ()
    holes: tuple[HoleSpec, ...] = ()
    marks: tuple[MarkSpec, ...] = ()
    glue_lines: tuple[Given, ...] = ()
    shape: Literal["whole", "before glue"] = "whole"
    notes: tuple[str, ...] = ()
    biscuits: Given | None = None
    """About how far biscuits are apart along the glue lines, if there are any (mm)."""
    panel: Panel | None = None
    """What it is in the carcass, if it is a part of one."""


class Piece(Struct, frozen=True):
    """The whole thing being built, its sizes in force. ``units`` is that of a bare number in the file."""

    title: str
    units: Literal["in", "mm", "cm"]
    parts: tuple[PartSpec, ...]
    sizes: tuple[Size, ...] = ()
    about: str = ""
    revision: str = ""
    date: str = ""
    carcass: Carcass | None = None
    """The walls that lean and meet, if the piece has any; they are among its parts."""
