"""What looks wrong in the distances that were measured on a printer's test sheet.

Some can be no page's and are refused. Others could be true but seldom are: those are questioned, each with what it would
mean, so that a slip of the pen does not spoil every later sheet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from patterns.errors import Problem
from tiling.distortion import SHEETS, Distances, Drawn, distortion_of, misclosure, off_alone

PLACES = ("--across", "--down", "--rising", "--falling")

MOST_OFF = 0.15
"""No printer is so far off that would still be used."""
QUESTIONED_OFF = 0.03
"""A printer that keeps its scale is within 1 % (common practice, no source); 3 % is another matter."""
QUESTIONED_SKEW = math.radians(1.0)
READ_WITHIN_MM = 0.25
"""Each of the four may be off by this before they are said not to go together: twice what careful reading leaves."""
ALIKE = 0.004
"""So near to the other test sheet's rectangle, all four are taken to be that sheet's."""

SHRUNK, FITTED = 0.941, 0.973
"""Letter or A4 shrunk into quarter-inch margins, or A4 onto letter (279.4 / 297); letter fitted to A4 (210 / 215.9)."""
NEAR_MISHAP = 0.006


def length_text(drawn: Drawn, mm: float) -> str:
    """A length as it is read off a rule on this sheet: 150.25 mm, 6.01 in."""
    value, unit = (mm / 25.4, "in") if drawn.units == "in" else (mm, "mm")
    return f"{f'{value:.3f}'.rstrip('0').rstrip('.')} {unit}"


def refusals(drawn: Drawn, measured: Distances) -> list[Problem]:
    """Why these can be no distances of this sheet; empty where they can."""
    swapped = _swapped(drawn, measured)
    if swapped:
        return [Problem("--across, --down", swapped)]
    pairs = list(zip(PLACES, measured.values(), drawn.distances.values(), strict=True))
    scale = _scaled([length / wanted for _, length, wanted in pairs])
    if scale:
        what = f"all four are about {scale * 100:.0f} % of what is drawn: print the test sheet at actual size (100 %)"
        return [Problem("", what)]
    found = [
        Problem(place, _refusal(drawn, length, wanted))
        for place, length, wanted in pairs
        if not abs(length / wanted - 1) <= MOST_OFF
    ]
    if not found and abs(_skew(drawn, measured)) > math.asin(MOST_OFF):
        what = f"the diagonals differ as on a page skewed by {math.degrees(abs(_skew(drawn, measured))):.0f} degrees"
        found.append(Problem("--rising, --falling", f"{what}: no printer does that; measure them again"))
    return found


def _scaled(ratios: Sequence[float]) -> float:
    """The scale that a print dialogue was set to, if all four distances share one that no printer has by itself; else 0."""
    low, high = min(ratios), max(ratios)
    alike = low >= 0.5 and high <= min(2.0, 1.01 * low)
    return low if alike and abs(low - 1) > MOST_OFF else 0.0


def _refusal(drawn: Drawn, length: float, wanted: float) -> str:
    if length <= 0:
        return "a distance is more than nothing"
    is_, should = length_text(drawn, length), length_text(drawn, wanted)
    says = f"{is_} can't be a distance that is drawn {should} long"
    for factor, words in ((10, "ten times"), (25.4, "25.4 times"), (2.54, "2.54 times")):
        for ratio, side in ((length / wanted, "too long"), (wanted / length, "too short")):
            if abs(ratio / factor - 1) < 0.1:
                return f"{says}: it is {words} {side}; is its unit right?"
    other = {"down": drawn.height_mm, "across": drawn.width_mm, "a diagonal": drawn.distances.rising}
    like = next((name for name, mm in other.items() if abs(length / mm - 1) < QUESTIONED_OFF), "")
    return f"{says}: it looks like {like}" if like else f"{says}: measure it again, from cross to cross"


def doubts(drawn: Drawn, measured: Distances) -> tuple[str, ...]:
    """What looks wrong and what it would mean; empty where nothing does. For distances that are not refused."""
    return tuple(_doubts(drawn, measured))


def _doubts(drawn: Drawn, measured: Distances) -> Iterator[str]:
    other = SHEETS["in" if drawn.units == "mm" else "mm"]
    if _largest_off(other, measured) <= min(ALIKE, _largest_off(drawn, measured)):
        size = f"{length_text(other, other.width_mm)} by {length_text(other, other.height_mm)}"
        yield (
            f"all four are those of the other test sheet, {size}, printed true: "
            f"its own foot says --units {other.units}; which sheet was measured?"
        )
        return
    if _apart(measured):
        yield _said_apart(drawn, measured)
    across, down = measured.across / drawn.width_mm, measured.down / drawn.height_mm
    if max(abs(across - 1), abs(down - 1)) > QUESTIONED_OFF or _mishap(across, down):
        yield _said_off(across, down)
    skew = _skew(drawn, measured)
    if abs(skew) > QUESTIONED_SKEW and not _apart(measured):
        yield (
            f"the diagonals differ as on a page skewed by {math.degrees(abs(skew)):.1f} degrees: was the paper fed askew, "
            "or is one diagonal misread?"
        )


def _swapped(drawn: Drawn, measured: Distances) -> str:
    """Where across and down have changed places."""
    off = max(abs(measured.across / drawn.height_mm - 1), abs(measured.down / drawn.width_mm - 1))
    if off > QUESTIONED_OFF:
        return ""
    return (
        f"{length_text(drawn, measured.across)} across and {length_text(drawn, measured.down)} down have changed places: "
        f"across is from A to B and drawn {length_text(drawn, drawn.width_mm)} long, "
        f"down from D to A and drawn {length_text(drawn, drawn.height_mm)} long"
    )


def _largest_off(drawn: Drawn, measured: Distances) -> float:
    """How far the worst distance is from what a true printer shows, as a part of it."""
    pairs = zip(measured.values(), drawn.distances.values(), strict=True)
    return max(abs(length / wanted - 1) for length, wanted in pairs)


def _apart(measured: Distances) -> bool:
    """Whether the four don't go together, even if each is misread a little."""
    reach = 2 * READ_WITHIN_MM * (2 * measured.across + 2 * measured.down + measured.rising + measured.falling)
    return abs(misclosure(measured)) > reach


def _said_apart(drawn: Drawn, measured: Distances) -> str:
    parts = [
        f"{place} is {_about(drawn, abs(off))} too {'long' if off > 0 else 'short'}"
        for place, off in zip(PLACES, off_alone(measured).values(), strict=True)
    ]
    return (
        "the four do not go together: the diagonals of such a figure follow from its sides. If only one is wrong, then "
        f"either {', or '.join(parts)}; measure all four again"
    )


def _about(drawn: Drawn, mm: float) -> str:
    return f"{mm / 25.4:.2f} in" if drawn.units == "in" else f"{mm:.1f} mm"


def _said_off(across: float, down: float) -> str:
    says = f"the page is {_percent(across)} across and {_percent(down)} down"
    mishap = _mishap(across, down)
    if mishap:
        return f"{says}: {mishap}; print the test sheet again at actual size (100 %)"
    if abs(across - down) < NEAR_MISHAP:
        return (
            f"{says}, alike both ways: was it printed at actual size (100 %)? Print it again and look at the dialogue"
        )
    return f"{says}: no printer in order does that; is the figure read off the right rule, from cross to cross?"


def _mishap(across: float, down: float) -> str:
    """The setting of a print dialogue that scales a page so; empty for any other scale."""
    for scale, why in ((SHRUNK, "shrunk to fit the page"), (FITTED, "fitted to another paper size")):
        if max(abs(across - scale), abs(down - scale)) < NEAR_MISHAP:
            return f"at about {scale * 100:.1f} % it was {why}"
    return ""


def _percent(scale: float) -> str:
    return f"{abs(scale - 1) * 100:.1f} % too {'large' if scale > 1 else 'small'}"


def _skew(drawn: Drawn, measured: Distances) -> float:
    """How far (radians) the printed corners are from square."""
    try:
        printed = distortion_of(drawn, measured)
    except ValueError:
        return math.pi / 2
    return math.atan2(printed.d, printed.c) - math.atan2(printed.b, printed.a) - math.pi / 2
