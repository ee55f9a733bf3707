"""What looks wrong in a carcass as a whole: a measurement that was misread, fingers that no cutter of the shop makes."""

from __future__ import annotations

from patterns.carcass.fingers import comb_of
from patterns.carcass.spec import Carcass
from patterns.display import Display
from patterns.errors import Problem
from patterns.shop import Shop

PLACE = "carcass, fingers"


def warnings(carcass: Carcass, shop: Shop, display: Display) -> list[Problem]:
    """All of it."""
    found: list[Problem] = []
    if carcass.residuals:
        from patterns.carcass.measured import warnings as of_measurements  # late: it reckons with arrays

        found += of_measurements(carcass.residuals, display)
    return [*found, *_of_fingers(carcass, shop, display)]


def _of_fingers(carcass: Carcass, shop: Shop, display: Display) -> list[Problem]:
    """Gaps narrower than the slimmest cutter."""
    if not carcass.layouts:
        return []
    walls = carcass.shape.walls
    width = min(comb_of(wall, walls[(k + 1) % len(walls)], carcass.layouts[k]).width for k, wall in enumerate(walls))
    straight = [bit.diameter for bit in shop.bits if bit.angle == 0.0]
    slimmest = min([shop.table_saw.kerf, *straight])
    if width >= slimmest - 1e-9:
        return []
    least = display.at_least(2 * slimmest)
    what = f"a gap of {display.amount(width)} is slimmer than any cutter of this shop, {display.length(slimmest)}"
    return [Problem(PLACE, f"{what}; a spacing of {least} or more would do")]
