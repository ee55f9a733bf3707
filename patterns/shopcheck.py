"""What a shop's machines can't do of a part, and what looks weak in it: warnings, which stop nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from patterns.curvature import LeastRadius, Turning
from patterns.display import ROUNDED, Display
from patterns.errors import Problem
from patterns.part import Part
from patterns.roundcheck import round_over_warnings
from patterns.shop import Blade, Shop
from patterns.shortgrain import LEAST_WIDTH_MM, WIDTHS_OF_THICKNESS, necks
from patterns.tightest import SAME_RADIUS, tightest_of_each
from patterns.wording import listed

_AT = re.compile(r" at (\[[^]]*\])")
_HERE = " at []"

MOST_POINTS = 4
"""A warning for more points than these names so many, and counts the rest."""

Radii = Mapping[Turning, LeastRadius]
"""The tightest place of a curve to either side."""


def warnings(part: Part, shop: Shop, display: Display) -> list[Problem]:
    """Everything to warn of, lengths worded by ``display``. Each place is that of the part's own file."""
    found: list[Problem] = []
    holes = [hole for hole in part.holes if hole.spec.form == "points" and not hole.key.endswith("/mirror")]
    for stretch, radii in zip(part.stretches, part.tightest, strict=True):
        place = stretch.place or f"{part.spec.place}, {stretch.key}"
        found += _saw_warnings(radii, place, shop, display)
        found += _drum_warnings(radii, place, shop, display)
    for hole, radii in zip(holes, tightest_of_each([hole.curve for hole in holes]), strict=True):
        found += _drum_warnings(radii, hole.spec.place, shop, display)
    found += round_over_warnings(part, shop, display)
    return [*_once(found), *_grain_warnings(part, display)]


def blade_for(radius_mm: float, shop: Shop) -> Blade | None:
    """The widest blade of the shop's band-saw that follows a curve of that radius (mm); None if there is none."""
    fit = [blade for blade in shop.blades if blade.least_radius <= radius_mm * (1.0 + SAME_RADIUS)]
    return max(fit, key=lambda blade: blade.width, default=None)


# -------------------------------------------------------------------- saw and drum


def _saw_warnings(radii: Radii, place: str, shop: Shop, display: Display) -> Iterator[Problem]:
    """A curve that no blade follows, at its tightest place to either side."""
    nimblest = min(shop.blades, key=lambda blade: blade.least_radius, default=None)
    if nimblest is None:
        return
    remedies: tuple[tuple[Turning, str], ...] = (
        ("left", "saw it off in short straight cuts and file to the line"),
        ("right", "drill it out first, or use a coping saw"),
    )
    for turning, remedy in remedies:
        tightest = radii.get(turning)
        if tightest is None or tightest.radius >= nimblest.least_radius * (1.0 - SAME_RADIUS):
            continue
        yield Problem(
            place,
            f"{_curve_words(tightest, display)} is tighter than any band-saw blade of this shop can follow: the "
            f"{nimblest.written} blade needs a radius of {display.at_least(nimblest.least_radius)}; {remedy}",
        )


def _drum_warnings(radii: Radii, place: str, shop: Shop, display: Display) -> Iterator[Problem]:
    """A hollow that no sanding drum enters. Along a counter-clockwise boundary a hollow turns to the right."""
    slimmest = min(shop.drums, key=lambda drum: drum.diameter, default=None)
    tightest = radii.get("right")
    if slimmest is None or tightest is None or tightest.radius >= slimmest.diameter / 2 * (1.0 - SAME_RADIUS):
        return
    yield Problem(
        place,
        f"{_curve_words(tightest, display)} is tighter than any sanding drum of this shop: the slimmest, "
        f"{slimmest.written} across, needs a radius of {display.at_least(slimmest.diameter / 2)}; sand it by hand",
    )


def _curve_words(tightest: LeastRadius, display: Display) -> str:
    kind = "hollow" if tightest.turning == "right" else "curve"
    return f"the {kind} of radius {display.length(tightest.radius)} {at_words(tightest.at, display)}"


def at_words(point: Sequence[float], display: Display) -> str:
    """A point of the part, as ``at [x, y]``."""
    return f"at [{display.length(float(point[0]))}, {display.length(float(point[1]))}]"


def _once(found: Sequence[Problem]) -> list[Problem]:
    """One warning a place and kind, with every point that it is for: those of a sweep and its reflection, of corners."""
    gathered: dict[tuple[str, str], list[str]] = {}
    for problem in found:
        points = gathered.setdefault((problem.place, _AT.sub(_HERE, problem.what)), [])
        points += [point for point in _AT.findall(problem.what) if point not in points]
    return [Problem(place, what.replace(_HERE, _at(points))) for (place, what), points in gathered.items()]


def _at(points: Sequence[str]) -> str:
    """Where a warning is for, the last of many points only counted."""
    if not points:
        return _HERE
    shown = [*points[:MOST_POINTS], f"{len(points) - MOST_POINTS} more"] if len(points) > MOST_POINTS else points
    return f" at {listed(shown, 'and')}"


# -------------------------------------------------------------------- grain


def _grain_warnings(part: Part, display: Display) -> Iterator[Problem]:
    """Narrow necks that the grain runs across."""
    thickness = part.spec.thickness
    limit = LEAST_WIDTH_MM if thickness is None else WIDTHS_OF_THICKNESS * thickness.value
    for neck in necks(part.outline, part.grain, limit):
        place = ", ".join(display.length(v).removeprefix(ROUNDED) for v in neck.at)
        yield Problem(
            part.spec.place,
            f"short grain: about [{place}] the wood is only {display.length(neck.width)} wide and the grain runs across "
            "it, so that it may break; turn the grain, make it wider, or glue it up from two layers",
        )
