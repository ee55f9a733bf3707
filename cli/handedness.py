"""How the two hands of a part are made, for reports: worked out from its drawings, and only where it has two."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cli.request import Job
from patterns.part import Part

if TYPE_CHECKING:
    from patterns.hands import Hands


def hands(part: Part, job: Job) -> Hands | None:
    """None where the part has none of the opposite hand."""
    if not part.spec.opposite_hand:
        return None
    from patterns.drawing import patterns_of  # late: few parts have two hands, and a report draws nothing else
    from patterns.hands import hands_of

    return hands_of(part, patterns_of(part, job.piece, job.shop.shop, job.display), job.display)


def as_json(part: Part, job: Job) -> dict[str, Any] | None:
    """For a program."""
    found = hands(part, job)
    if found is None:
        return None
    return {"way": found.way, "drawn": found.drawn, "opposite": found.opposite, "reasons": list(found.reasons)}
