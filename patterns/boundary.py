"""A closed boundary as a run of stretches: finding places on it, cutting pieces out of it, putting it together."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from patterns.affine import Points
from patterns.blank import Blank
from patterns.crossings import at_x, may_reach, nearest
from patterns.curve import Curve
from patterns.outline import Outline
from patterns.stretch import ON_CURVE_MM, Stretch

Point = tuple[float, float]

CRUMB = 1e-7
"""A rest of a stretch shorter than this in parameter is nothing."""


class Place(Struct, frozen=True, order=True):
    """A place on the boundary: which stretch, and the parameter of its curve."""

    number: int
    t: float


def curve_of(stretches: Sequence[Stretch]) -> Curve:
    """The stretches as one closed curve. Raises ValueError where they leave a gap."""
    return Curve.chain(stretch.curve for stretch in stretches).closed_up()


def outline_of(stretches: Sequence[Stretch], holes: Sequence[Curve] = ()) -> Outline:
    """The outline that the stretches and holes make."""
    return Outline(curve_of(stretches), tuple(holes))


def place_of(
    stretches: Sequence[Stretch], point: Sequence[float] | Points, within: float = ON_CURVE_MM
) -> Place | None:
    """The place on the boundary at ``point``, if that is at most ``within`` mm from it."""
    best: tuple[float, Place] | None = None
    for number, stretch in enumerate(stretches):
        if not may_reach(stretch.curve, point, within):
            continue
        t, distance = nearest(stretch.curve, point)
        if distance <= within and (best is None or distance < best[0]):
            best = distance, Place(number, t)
    return best[1] if best else None


def place_at_station(stretches: Sequence[Stretch], blank: Blank, edge_name: str, station: float) -> Place | None:
    """The place at ``station`` (mm) of an edge, on whatever has replaced it; the one nearest to the edge of several."""
    edge = blank.edge(edge_name)
    if edge is None:
        return None
    found = []
    for number, stretch in enumerate(stretches):
        if stretch.edge == edge_name:
            local = stretch.curve.transformed(edge.from_part)
            found += [(float(local.point(t)[1]), Place(number, float(t))) for t in at_x(local, station)]
            for t, end in ((0.0, local.start), (float(len(local)), local.end)):
                if abs(end[0] - station) <= ON_CURVE_MM:
                    found.append((float(end[1]), Place(number, t)))
    return min(found)[1] if found else None


def point_at(stretches: Sequence[Stretch], place: Place) -> Point:
    """The point at a place (mm)."""
    x, y = stretches[place.number].curve.point(place.t)
    return float(x), float(y)


def run_between(stretches: Sequence[Stretch], start: Place, end: Place) -> list[Stretch]:
    """The stretches from one place on to another, in the boundary's direction, round past its beginning if need be."""
    if start.number == end.number and start.t < end.t:
        return _piece(stretches[start.number], start.t, end.t)
    first, last = stretches[start.number], stretches[end.number]
    count = (end.number - start.number) % len(stretches) or len(stretches)
    middle = [stretches[(start.number + k) % len(stretches)] for k in range(1, count)]
    return [*_piece(first, start.t, len(first.curve)), *middle, *_piece(last, 0.0, end.t)]


def _piece(stretch: Stretch, t0: float, t1: float) -> list[Stretch]:
    return [stretch.trimmed(t0, t1)] if t1 - t0 > CRUMB else []


def corner_between(stretches: Sequence[Stretch], blank: Blank, corner: str) -> tuple[int, int] | None:
    """The numbers of the stretches that meet at a named corner of the blank; None if it has been cut away."""
    k = blank.spec.corner_names.index(corner)
    before, after = blank.edges[k - 1].name, blank.edges[k].name
    for number, stretch in enumerate(stretches):
        following = (number + 1) % len(stretches)
        if stretch.edge == before and stretches[following].edge == after:
            return number, following
    return None
