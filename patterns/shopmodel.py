"""The vocabulary of the shop file: what is true of one shop and of no piece.

Every key may be left out: the default shop then stands. Lengths and angles are written as in a pattern file; there are
no sizes to refer to.
"""

# No "from __future__ import annotations" here: msgspec would have to evaluate each annotation from its text.

from typing import Annotated, Any, Literal

from msgspec import Meta, Struct

from patterns.measure import Units
from patterns.partmodel import Value


def _is(description: str, item: str = "") -> Meta:
    """What a key means; ``item`` is what one entry of a list is called."""
    extra: dict[str, Any] = {"rows": (), "item": item}
    return Meta(description=description, extra=extra)


class ShopTable(Struct, frozen=True, forbid_unknown_fields=True):
    """A table of the shop file: a key that it does not know is a mistake."""


class TableSawTable(ShopTable, frozen=True):
    """The table saw and its mitre gauge."""

    tilts: Annotated[Literal["left", "right"], _is("the way the top of the blade leans, seen by who feeds the saw")]
    most_tilt: Annotated[Value, _is("furthest tilt from square")]
    gauge_at_square: Annotated[Literal[0, 90], _is("what the mitre gauge reads for a square cut")]
    crosscut_capacity: Annotated[Value, _is("widest board it can crosscut")]
    kerf: Annotated[Value, _is("width of its cut")]


class PortableSawTable(ShopTable, frozen=True):
    """The portable circular saw, run along a straight edge."""

    base_offset: Annotated[Value, _is("from the edge of its base to the near side of the blade")]


class BitTable(ShopTable, frozen=True):
    """A router bit."""

    name: Annotated[str, _is("what it is called")]
    diameter: Annotated[Value, _is("diameter at its wide tip")]
    angle: Annotated[Value, _is("how far its flank leans from its axis; 0 for a straight bit")] = 0


class RoundOverBitTable(ShopTable, frozen=True):
    """A round-over bit with a bearing at its tip."""

    radius: Annotated[Value, _is("radius of the round-over")]
    bearing: Annotated[Value, _is("diameter of its bearing")]


class RouterTable(ShopTable, frozen=True):
    """The router, its bushings and its bits."""

    base_offset: Annotated[Value, _is("from the edge of its base to the axis of the bit")]
    bushings: Annotated[list[Value], _is("outside diameters of guide bushings", "bushing")]
    bits: Annotated[list[BitTable], _is("bits: diameter at the wide tip, angle", "bit")]
    round_over_bits: Annotated[list[RoundOverBitTable], _is("round-over bits: radius, bearing", "bit")]


class BladeTable(ShopTable, frozen=True):
    """A band-saw blade."""

    width: Annotated[Value, _is("its width")]
    least_radius: Annotated[Value, _is("the least radius that it follows without strain")]


class BandSawTable(ShopTable, frozen=True):
    """The band-saw."""

    blades: Annotated[list[BladeTable], _is("blades: width, least radius", "blade")]


class SandingTable(ShopTable, frozen=True):
    """What hollows are sanded with."""

    drums: Annotated[list[Value], _is("diameters of sanding drums", "drum")]


class FingersTable(ShopTable, frozen=True):
    """Templates for finger joints."""

    template_spacing: Annotated[list[Value], _is("one finger and one gap of each template", "spacing")]


class AllowancesTable(ShopTable, frozen=True):
    """What this shop leaves by habit; shown on a pattern only where its file asks for an allowance."""

    leave: Annotated[Value, _is("outside the line, to be planed to it")]
    fit: Annotated[Value, _is("longer than drawn, where an edge is fitted to the piece")]
    proud: Annotated[Value, _is("how far fingers stand out before they are flushed")]


class DisplayTable(ShopTable, frozen=True):
    """How figures are rounded where they are shown."""

    inch_fraction: Annotated[Literal[1, 2, 4, 8, 16, 32, 64], _is("inches are shown to this part")]
    metric_step: Annotated[Value, _is("millimetres are shown in steps of this")]


class ShopFileTable(ShopTable, frozen=True):
    """A whole shop file, what it leaves out filled in from the default shop."""

    units: Annotated[Units, _is("unit of a figure that is written without one")]
    table_saw: Annotated[TableSawTable, _is("the table saw")]
    portable_saw: Annotated[PortableSawTable, _is("the portable saw")]
    router: Annotated[RouterTable, _is("the router")]
    band_saw: Annotated[BandSawTable, _is("the band-saw")]
    sanding: Annotated[SandingTable, _is("sanding drums")]
    fingers: Annotated[FingersTable, _is("finger-joint templates")]
    allowances: Annotated[AllowancesTable, _is("allowances by habit")]
    display: Annotated[DisplayTable, _is("how figures are shown")]
