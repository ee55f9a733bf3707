"""Whether a part can be cut: nothing outside its blank, no line through another, every hole in the wood."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from patterns.affine import Points
from patterns.blank import Blank, Edge
from patterns.crossings import between, nearest
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import Problem
from patterns.formula import names_in
from patterns.outline import Outline, OutlineProblem
from patterns.piece import EdgeSpec
from patterns.stretch import Hole, Stretch
from patterns.swingout import LEAVES_MM, swinging_out
from patterns.wording import MIRRORED, key_in_words

SAMPLES_MM = 0.5
"""How closely chords follow a curve while the place furthest outside a blank that is not convex is sought."""


def blank_problems(
    stretches: Sequence[Stretch], blank: Blank, edges: Sequence[EdgeSpec], display: Display
) -> list[Problem]:
    """Every stretch that leaves the blank: where, by how much and why, as far as ``edges`` (what is asked for) tell.

    A worked corner never does; one that turns inward is filled when it is rounded, which is meant. Of a sweep and its
    reflection one is told.
    """
    tables = {sweep.place: sweep for edge in edges for sweep in edge.sweeps if sweep.table}
    frames = np.array([(edge.from_part.b, edge.from_part.d, edge.from_part.f) for edge in blank.edges])
    found: list[Problem] = []
    reflected: list[Problem] = []
    for stretch in stretches:
        if stretch.kind == "corner":
            continue
        worst = _worst_convex(stretch.curve, blank, frames) if blank.is_convex else _worst(stretch.curve, blank)
        if worst is None:
            continue
        sweep = tables.get(stretch.place) if stretch.kind == "spline" else None
        if sweep is None or (stretch.reach is not None and worst[1].name != stretch.edge):
            problem = _leaving(stretch, *worst, display)
        else:
            problem = swinging_out(sweep, stretch, blank, *worst, display)
        (reflected if stretch.key.endswith(MIRRORED) else found).append(problem)
    told = {problem.place for problem in found}
    every = found + [problem for problem in reflected if problem.place not in told]
    return list(dict.fromkeys(every))


def _leaving(stretch: Stretch, amount: float, edge: Edge, point: tuple[float, float], display: Display) -> Problem:
    """That a stretch leaves the blank past an edge at a point, told of the value that sets how far it reaches."""
    by = display.amount(amount)
    where = f"past the {edge.name} edge at station {display.length(edge.from_part.point(*point)[0])}"
    reach = stretch.reach
    if reach is None or edge.name == stretch.edge:
        words = f"the curve leaves the blank by {by}, {where}; make it shallower or the blank larger"
        return Problem(stretch.place or stretch.key, words)
    value = f"{reach.written}, which is {display.length(reach.value)}," if names_in(reach.written) else reach.written
    words = f"{value} is too much: the curve leaves the blank by {by}, {where}; make it less, or the blank larger"
    return Problem(reach.place, words)


def _worst_convex(curve: Curve, blank: Blank, frames: Points) -> tuple[float, Edge, tuple[float, float]] | None:
    """How far the curve is outside the edge that it is furthest outside of, that edge, and where.

    ``frames`` are the factors of x, of y, and of 1 in the depth from each edge. An edge that no handle of the curve is
    outside of has all of the curve inside, too.
    """
    worst = None
    least = (curve.beziers.reshape(-1, 2) @ frames[:, :2].T).min(axis=0) + frames[:, 2]
    for edge in (blank.edges[k] for k in np.flatnonzero(least < -LEAVES_MM)):
        local = curve.transformed(edge.from_part)
        outside = -local.bounds[1]
        if outside > LEAVES_MM and (worst is None or outside > worst[0]):
            worst = outside, edge, edge.to_part.point(*_lowest(local))
    return worst


def _lowest(curve: Curve) -> tuple[float, float]:
    points = curve.flattened(LEAVES_MM)
    x, y = points[np.argmin(points[:, 1])]
    return float(x), float(y)


def _worst(curve: Curve, blank: Blank) -> tuple[float, Edge, tuple[float, float]] | None:
    """The same for a blank that turns inward somewhere, from points along the curve between its crossings.

    Between two crossings the curve is all inside or all outside, so a few points of each piece tell which; those that
    are outside are then followed closely.
    """
    outline = blank.outline
    pieces = curve.split_at(t for t, _ in between(curve, blank.boundary))
    few = [np.vstack([piece.flattened(SAMPLES_MM), piece.point(len(piece) / 2)]) for piece in pieces]
    ends = np.cumsum([len(points) for points in few])[:-1]
    clear = [part.min() for part in np.split(outline.clearance(np.vstack(few)), ends)]
    outside = [piece.flattened(LEAVES_MM / 2) for piece, least in zip(pieces, clear, strict=True) if least < 0.0]
    if not outside:
        return None
    points = np.vstack(outside)
    clearance = outline.clearance(points)
    least = int(np.argmin(clearance))
    if clearance[least] >= -LEAVES_MM:
        return None
    x, y = points[least]
    edge = min(blank.edges, key=lambda e: _distance(e, (float(x), float(y))))
    return float(-clearance[least]), edge, (float(x), float(y))


def _distance(edge: Edge, point: tuple[float, float]) -> float:
    station, depth = edge.from_part.point(*point)
    beyond = max(-station, station - edge.length, 0.0)
    return float(np.hypot(beyond, depth))


def outline_problems(
    outline: Outline, stretches: Sequence[Stretch], holes: Sequence[Hole], place: str, display: Display
) -> list[Problem]:
    """Everything that makes the outline impossible to cut, in words; of a hole's meetings with one other line the first."""
    found: list[Problem] = []
    told: set[tuple[str, tuple[int, ...]]] = set()
    for trouble in outline.problems():
        problem = _in_words(trouble, stretches, holes, place, display)
        if problem not in found and (trouble.fault, trouble.holes) not in told:
            found.append(problem)
        if trouble.holes:
            told.add((trouble.fault, trouble.holes))
    return found


def _in_words(
    trouble: OutlineProblem, stretches: Sequence[Stretch], holes: Sequence[Hole], place: str, display: Display
) -> Problem:
    where = f"at {display.length(trouble.at[0])}, {display.length(trouble.at[1])}"
    if trouble.fault == "boundary meets itself":
        return _boundary_crossing(trouble, stretches, place, where)
    hole = holes[trouble.holes[0]]
    name = f'the hole "{hole.spec.name}"' if hole.spec.name else "the hole"
    if hole.key.endswith(MIRRORED):
        name = f"the reflection of {name}"
    if trouble.fault == "hole meets itself":
        return Problem(hole.spec.place, f"{name} crosses its own line {where}")
    if hole.spec.at is not None:
        name = f"{name} at [{', '.join(given.written for given in hole.spec.at)}]"
    if trouble.fault == "hole outside":
        return Problem(hole.spec.place, f"{name} is outside the part")
    if trouble.fault == "hole meets boundary":
        return Problem(
            hole.spec.place, f"{name} cuts through the part's outline {where}; move it in or make it smaller"
        )
    other = holes[trouble.holes[1]]
    second = f'the hole "{other.spec.name}"' if other.spec.name else other.spec.place.rpartition(", ")[2]
    if other.spec is hole.spec:
        second = "its own reflection"
    elif other.key.endswith(MIRRORED):
        second = f"the reflection of {second}"
    words = "overlaps" if trouble.fault == "holes meet" else "is in the same place as"
    return Problem(hole.spec.place, f"{name} {words} {second} {where}")


def _boundary_crossing(trouble: OutlineProblem, stretches: Sequence[Stretch], place: str, where: str) -> Problem:
    keys = sorted({s.key for s in stretches if nearest(s.curve, trouble.at)[1] <= LEAVES_MM})
    if len(keys) == 1:
        return Problem(place, f"the outline crosses itself {where}: {key_in_words(keys[0])} runs through its own line")
    names = " and ".join(map(key_in_words, keys[:2]))
    return Problem(place, f"the outline crosses itself {where}, where {names} meet")
