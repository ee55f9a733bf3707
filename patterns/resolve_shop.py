"""From the checked tables of a shop file to a Shop: every figure worked out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from patterns import shopmodel
from patterns.names import fault_of_text
from patterns.partmodel import Value
from patterns.shop import Bit, Blade, Drum, RoundOverBit, Shop, TableSaw
from patterns.values import Sign, Values, written
from patterns.wording import inside

FINEST_STEP_MM = 0.01
"""Finer than this no rule and no calliper of a wood shop shows."""

MOST_TILT = math.radians(60)
"""No saw tilts further; 45 degrees and a little is usual. Common practice, no source."""


def resolve_shop(table: shopmodel.ShopFileTable, values: Values) -> Shop:
    """The shop. Where there are mistakes, which the collector of ``values`` is told, it is not to be used."""
    read = _Reader(values)
    return Shop(
        table_saw=_table_saw(table.table_saw, read),
        portable_saw_base_offset=read.length(table.portable_saw.base_offset, "portable_saw, base_offset"),
        router_base_offset=read.length(table.router.base_offset, "router, base_offset"),
        bushings=read.lengths(table.router.bushings, "router, bushings", "bushing"),
        bits=tuple(_bit(bit, f"router, bits, bit {k + 1}", read) for k, bit in enumerate(table.router.bits)),
        round_over_bits=tuple(
            RoundOverBit(
                read.length(bit.radius, f"router, round_over_bits, bit {k + 1}, radius"),
                read.length(bit.bearing, f"router, round_over_bits, bit {k + 1}, bearing"),
                written(bit.radius),
            )
            for k, bit in enumerate(table.router.round_over_bits)
        ),
        blades=tuple(
            Blade(
                read.length(blade.width, f"band_saw, blades, blade {k + 1}, width"),
                read.length(blade.least_radius, f"band_saw, blades, blade {k + 1}, least_radius"),
                written(blade.width),
            )
            for k, blade in enumerate(table.band_saw.blades)
        ),
        drums=tuple(
            Drum(diameter, written(value))
            for value, diameter in zip(
                table.sanding.drums, read.lengths(table.sanding.drums, "sanding, drums", "drum"), strict=True
            )
        ),
        template_spacings=read.lengths(table.fingers.template_spacing, "fingers, template_spacing", "spacing"),
        leave=read.length(table.allowances.leave, "allowances, leave", "not negative"),
        fit=read.length(table.allowances.fit, "allowances, fit", "not negative"),
        proud=read.length(table.allowances.proud, "allowances, proud", "not negative"),
        inch_fraction=table.display.inch_fraction,
        metric_step_mm=_metric_step(table.display.metric_step, "display, metric_step", read),
    )


class _Reader(Struct, frozen=True):
    """Reads lengths; one that is wrong is told, and stands as 0 in a shop that is not used."""

    values: Values

    def length(self, value: Value, place: str, sign: Sign = "positive") -> float:
        given = self.values.length(value, place, sign)
        return 0.0 if given is None else given.value

    def lengths(self, figures: Sequence[Value], place: str, item: str) -> tuple[float, ...]:
        return tuple(self.length(value, inside(place, f"{item} {k + 1}")) for k, value in enumerate(figures))

    def angle(self, value: Value, place: str, most: float) -> float:
        given = self.values.angle(value, place)
        if given is None:
            return 0.0
        if not 0.0 <= given.value <= most + 1e-12:
            what = f"{given.written} must be from 0 to {math.degrees(most):g} degrees"
            self.values.mistakes.broke(place, what)
        return given.value


def _table_saw(table: shopmodel.TableSawTable, read: _Reader) -> TableSaw:
    return TableSaw(
        tilts=table.tilts,
        most_tilt=read.angle(table.most_tilt, "table_saw, most_tilt", MOST_TILT),
        gauge_at_square=table.gauge_at_square,
        crosscut_capacity=read.length(table.crosscut_capacity, "table_saw, crosscut_capacity"),
        kerf=read.length(table.kerf, "table_saw, kerf"),
    )


def _bit(table: shopmodel.BitTable, place: str, read: _Reader) -> Bit:
    fault = fault_of_text(table.name)
    if fault is not None:
        read.values.mistakes.broke(inside(place, "name"), fault)
    diameter = read.length(table.diameter, inside(place, "diameter"))
    return Bit(table.name, diameter, read.angle(table.angle, inside(place, "angle"), math.radians(45)))


def _metric_step(value: Value, place: str, read: _Reader) -> float:
    step = read.length(value, place)
    if 0.0 < step < FINEST_STEP_MM:
        read.values.mistakes.broke(place, f"{written(value)} is finer than any rule shows; 0.01 mm is the least")
    return step
