"""Where the tops of walls meet at a corner: which one stands higher, and which edge is rounded lower."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from patterns.carcass.figures import in_words
from patterns.carcass.panel import EndJoint
from patterns.carcass.panelcheck import straight_from_bottom
from patterns.part import Part

SAME_MM = 0.05
"""Tops this near to each other are flush."""


class Step(Struct, frozen=True):
    """At the corner of two parts ``higher`` stands so much (mm) above ``lower``."""

    higher: str
    lower: str
    amount: float


class Lowered(Struct, frozen=True):
    """Where two boards meet, the rounded edge of ``rounded`` comes down by so much (mm) beside that of ``other``."""

    rounded: str
    other: str
    amount: float


def steps(parts: Sequence[Part]) -> tuple[Step, ...]:
    """At every corner whose two walls are not flush, along the corner line."""
    found = []
    for one, other, mine, theirs in _corners(parts):
        up, others = _reach(one, mine), _reach(other, theirs)
        if abs(up - others) > SAME_MM:
            pair = (one.name, other.name) if up > others else (other.name, one.name)
            found.append(Step(*pair, abs(up - others)))
    return tuple(dict.fromkeys(found))


def lowered_edges(parts: Sequence[Part]) -> tuple[Lowered, ...]:
    """Where upper edges that are rounded differently come together at a corner."""
    found = []
    for one, other, joint, others in _corners(parts):
        mine, theirs = _radius(one), _radius(other)
        apart = abs(_reach(one, joint) - _reach(other, others))
        if abs(mine - theirs) > SAME_MM and apart < max(mine, theirs) and not _is_roofed(one, joint):
            pair = (one.name, other.name) if mine > theirs else (other.name, one.name)
            found.append(Lowered(*pair, abs(mine - theirs)))
    return tuple(dict.fromkeys(found))


def _corners(parts: Sequence[Part]) -> list[tuple[Part, Part, EndJoint, EndJoint]]:
    """Each corner once: the two parts, and the joint as each of them has it."""
    walls = {in_words(name): part for part in parts if part.spec.panel for name in part.spec.panel.stands}
    found = []
    seen = set()
    for part in parts:
        panel = part.spec.panel
        if panel is None or panel.carcass != "box":
            continue
        for joint in panel.joints:
            other = walls.get(joint.other)
            if other is None or other.spec.panel is None:
                continue
            mine = [in_words(name) for name in panel.stands]
            theirs = next((one for one in other.spec.panel.joints if one.other in mine), None)
            key = frozenset((part.name, other.name))
            if theirs is not None and (key, joint.edge) not in seen and key not in seen:
                seen |= {(key, joint.edge), key}
                found.append((part, other, joint, theirs))
    return found


def _reach(part: Part, joint: EndJoint) -> float:
    edge = part.blank.edge(joint.edge)
    cut_off = edge.length - straight_from_bottom(part.stretches, edge) if edge is not None else 0.0
    return joint.stands - cut_off


def _is_roofed(part: Part, joint: EndJoint) -> bool:
    """Whether a roof lies on the part at its joint, so that no edge is rounded there."""
    names = part.blank.spec.edge_names
    number = names.index(joint.edge)
    beside = names[number + 1 if joint.edge == "right" else number - 1]
    return beside != "top"


def _radius(part: Part) -> float:
    """Of the round-over on its top edge; 0 where there is none."""
    top = next((edge for edge in part.spec.edges if edge.name == "top"), None)
    rounded = top.allowance.round_over if top is not None else None
    return rounded.radius.value if rounded is not None else 0.0
