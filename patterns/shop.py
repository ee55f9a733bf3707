"""What is true of one shop: its machines, bits, blades and habits, in millimetres and radians.

Frozen msgspec structs, as in ``piece``: they are made in a hundredth of the time that a dataclass takes.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from patterns.display import Display
from patterns.measure import Units


class TableSaw(Struct, frozen=True):
    """Which way and how far (radians) it tilts, what its gauge reads at square, its crosscut capacity and kerf (mm)."""

    tilts: Literal["left", "right"]
    most_tilt: float
    gauge_at_square: Literal[0, 90]
    crosscut_capacity: float
    kerf: float


class Bit(Struct, frozen=True):
    """A router bit: diameter at its wide tip (mm), and how far its flank leans from the axis (radians)."""

    name: str
    diameter: float
    angle: float


class RoundOverBit(Struct, frozen=True):
    """A round-over bit: its radius, the diameter of its bearing (mm), and the radius as the shop writes it."""

    radius: float
    bearing: float
    written: str


class Blade(Struct, frozen=True):
    """A band-saw blade: its width, the least radius that it follows (mm), its width as the shop writes it."""

    width: float
    least_radius: float
    written: str


class Drum(Struct, frozen=True):
    """A sanding drum: its diameter (mm), also as the shop writes it."""

    diameter: float
    written: str


class Shop(Struct, frozen=True):
    """One shop. Every length is in mm; ``bushings`` are outside diameters."""

    table_saw: TableSaw
    portable_saw_base_offset: float
    router_base_offset: float
    bushings: tuple[float, ...]
    bits: tuple[Bit, ...]
    round_over_bits: tuple[RoundOverBit, ...]
    blades: tuple[Blade, ...]
    drums: tuple[Drum, ...]
    template_spacings: tuple[float, ...]
    leave: float
    fit: float
    proud: float
    inch_fraction: int
    metric_step_mm: float

    def display(self, units: Units) -> Display:
        """How this shop shows figures of a file in ``units``."""
        return Display(units, self.inch_fraction, self.metric_step_mm)
