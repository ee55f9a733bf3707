"""The usual arches by span and rise: segmental, elliptical, three-centred, pointed, four-centred and ogee.

An arch runs from its left springing (-span / 2, 0) over the crown (0, rise) to its right springing (span / 2, 0).
How each is struck is in ``arch_layouts``; here stand what may be asked for and what no arch can have.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal, get_args

from msgspec import Struct

from patterns import arch_layouts
from patterns.affine import Affine
from patterns.arch_layouts import ArchRadius, Half
from patterns.curve import Curve

__all__ = ["KINDS", "Arch", "ArchError", "ArchKind", "ArchRadius", "arch", "rise_limits"]

ArchKind = Literal["segmental", "elliptical", "three-centred", "pointed", "four-centred", "ogee"]
KINDS: tuple[ArchKind, ...] = get_args(ArchKind)

BY_RADIUS: tuple[ArchKind, ...] = ("segmental", "pointed")
"""Arches that span and radius define."""

BY_END_RADIUS: tuple[ArchKind, ...] = ("three-centred", "four-centred", "ogee")
"""Arches whose end radius may be chosen."""

SAME = 1e-9
"""Relative difference under which a value counts as being on its limit: noise of inches turned into mm."""

ArchKey = Literal["kind", "span", "rise", "radius", "end_radius"]


class Arch(Struct, frozen=True, eq=False):
    """An arch: its curve from springing to springing and every radius it is struck with (all mm).

    ``rule`` says in words what fixed its shape beyond span and rise.
    """

    kind: ArchKind
    span: float
    rise: float
    curve: Curve
    radii: tuple[ArchRadius, ...]
    rule: str


class ArchError(ValueError):
    """An arch that can't be. ``key`` is the value at fault and ``value`` it, in mm (None where it is missing).

    ``reason`` completes the sentence "<value> ..." and may hold ``{span}``. ``limit`` is the length in mm that would
    just do (``bound`` is "most" or "least") or that must not be reached ("under"); None where no length would mend
    it. ``worded`` puts the sentence together in the maker's own unit.
    """

    def __init__(
        self,
        key: ArchKey,
        reason: str,
        value: float | None = None,
        limit: float | None = None,
        bound: Literal["most", "least", "under"] = "most",
        span: float = 0.0,
    ) -> None:
        self.key = key
        self.reason = reason
        self.value = value
        self.limit = limit
        self.bound = bound
        self.span = span
        super().__init__(self.worded(lambda mm: f"{mm:.6g} mm"))

    def worded(
        self,
        length: Callable[[float], str],
        written: str | None = None,
        at_most: Callable[[float], str] | None = None,
        at_least: Callable[[float], str] | None = None,
    ) -> str:
        """The sentence, with lengths put into words by ``length`` and the value as ``written``, where given.

        ``at_most`` and ``at_least`` word the limit: rounded to the side on which it can be asked for.
        """
        value = written if written is not None else ("" if self.value is None else length(self.value))
        sentence = f"{value} {self.reason.replace('{span}', length(self.span))}".strip()
        if self.limit is None:
            return sentence
        limit = ((at_least if self.bound == "least" else at_most) or length)(self.limit)
        right = {"most": f"{limit} is the most", "least": f"{limit} is the least", "under": f"it must be under {limit}"}
        return f"{sentence}; {right[self.bound]}"


def arch(
    kind: str,
    span: float,
    rise: float | None = None,
    radius: float | None = None,
    end_radius: float | None = None,
) -> Arch:
    """The arch of a kind by span and rise (mm); segmental and pointed also by radius in place of the rise.

    ``end_radius`` chooses the radius at the springing of a three-centred, four-centred or ogee arch; left out, a
    named rule sets it. Raises ArchError for anything that leaves no arch.
    """
    known = _known(kind)
    _positive("span", span)
    half_span = span / 2.0
    height = _rise(known, half_span, rise, radius)
    _rise_fits(known, half_span, height, end_radius)
    if end_radius is not None:
        _end_radius_fits(known, half_span, height, end_radius)
    half = _struck(known, half_span, height, end_radius)
    whole = Curve.chain([half.curve, half.curve.transformed(Affine.reflection_x(0.0)).reversed()])
    return Arch(known, span, height, whole, half.radii, half.rule)


def rise_limits(kind: str, span: float) -> tuple[float, float]:
    """(least, most) rise in mm that the kind can have over a span by its own rule; 0 and inf where there is none.

    A four-centred arch stays under its most.
    """
    known = _known(kind)
    least = span / 2.0 if known == "pointed" else 0.0
    most = {"segmental": 0.5, "three-centred": 0.5, "four-centred": 0.75}.get(known, math.inf) * span
    return least, most


def _struck(kind: ArchKind, half_span: float, rise: float, end_radius: float | None) -> Half:
    match kind:
        case "segmental":
            return arch_layouts.segmental(half_span, rise)
        case "elliptical":
            return arch_layouts.elliptical(half_span, rise)
        case "three-centred":
            return arch_layouts.three_centred(half_span, rise, end_radius)
        case "pointed":
            return arch_layouts.pointed(half_span, rise)
        case "four-centred":
            return arch_layouts.four_centred(half_span, rise, end_radius)
        case "ogee":
            return arch_layouts.ogee(half_span, rise, end_radius)


# -------------------------------------------------------------------- what an arch can be


def _known(kind: str) -> ArchKind:
    for known in KINDS:
        if kind == known:
            return known
    raise ArchError("kind", f'"{kind}" is not an arch; choose from {", ".join(KINDS)}')


def _positive(key: ArchKey, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ArchError(key, "leaves no arch: it must be a length above zero", value)


def _rise(kind: ArchKind, half_span: float, rise: float | None, radius: float | None) -> float:
    """The rise in mm, as given or from the radius."""
    if radius is not None and kind not in BY_RADIUS:
        raise ArchError("radius", f"has no place in {_named(kind)} arch: give its rise", radius)
    if rise is not None and radius is not None:
        raise ArchError("radius", "is one too many: the rise and the span set the radius already", radius)
    if rise is not None:
        _positive("rise", rise)
        return rise
    if radius is None:
        wanted = "rise or radius" if kind in BY_RADIUS else "rise"
        raise ArchError("rise", f"{_named(kind)} arch needs its {wanted}")
    return _rise_of_radius(kind, half_span, radius)


def _rise_of_radius(kind: ArchKind, half_span: float, radius: float) -> float:
    _positive("radius", radius)
    if radius < half_span * (1.0 - SAME):
        reason = "is less than half the span ({span}): such a circle can't reach across"
        raise ArchError("radius", reason, radius, half_span, "least", 2.0 * half_span)
    radius = max(radius, half_span)
    if kind == "pointed":
        return math.sqrt(half_span * (2.0 * radius - half_span))
    # c²/4 over R + sqrt(R² - c²/4): the textbook's difference loses the rise of a flat arch to rounding.
    return half_span**2 / (radius + math.sqrt((radius - half_span) * (radius + half_span)))


def _rise_fits(kind: ArchKind, half_span: float, rise: float, end_radius: float | None) -> None:
    span = 2.0 * half_span
    least, most = rise_limits(kind, span)
    if kind == "four-centred":
        if end_radius is None and rise >= most * (1.0 - SAME):
            reason = "is three quarters of the span ({span}) or more: give an end radius, for the usual one is too wide"
            raise ArchError("rise", reason, rise, most, "under", span)
    elif rise > most * (1.0 + SAME):
        fault = "the arch would overhang its springing" if kind == "segmental" else "its three arcs would not meet"
        raise ArchError("rise", f"is more than half the span ({{span}}): {fault}", rise, most, "most", span)
    elif rise < least * (1.0 - SAME):
        reason = "is less than half the span ({span}): arcs struck from the springing line would dip at the crown"
        raise ArchError("rise", reason, rise, least, "least", span)


def _end_radius_fits(kind: ArchKind, half_span: float, rise: float, end_radius: float) -> None:
    if kind not in BY_END_RADIUS:
        raise ArchError("end_radius", f"has no place in {_named(kind)} arch", end_radius)
    _positive("end_radius", end_radius)
    if kind == "ogee":
        most, fault = arch_layouts.ogee_radii_sum(half_span, rise), "leaves no room for the upper arc"
    else:
        most, fault = min(half_span, rise), f"is {'the rise' if rise <= half_span else 'half the span'} or more"
    semicircle = kind == "three-centred" and math.isclose(rise, half_span, rel_tol=SAME)
    if end_radius >= most * (1.0 - SAME) and not (semicircle and end_radius <= most * (1.0 + SAME)):
        raise ArchError("end_radius", fault, end_radius, most, "under")


def _named(kind: ArchKind) -> str:
    return f"{'an' if kind[0] in 'aeo' else 'a'} {kind}"
