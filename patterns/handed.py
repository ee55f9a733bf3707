"""The drawings of a part with all its hands, of the piece as the file has it or as its mirror image."""

from __future__ import annotations

from msgspec.structs import replace

from patterns.display import Display
from patterns.drawing import patterns_of
from patterns.part import Part
from patterns.pattern import Pattern
from patterns.piece import Piece
from patterns.shop import Shop
from patterns.slug import slugs


def drawn(part: Part, piece: Piece, shop: Shop, display: Display, mirrored: bool = False) -> tuple[Pattern, ...]:
    """One pattern, or one for each board; and again for the opposite hand, where the paper of the one does not serve.

    Of a ``mirrored`` piece every part is its mirror image, under a name that says so; one that is its own mirror image
    stays as it is.
    """
    patterns = patterns_of(part, piece, shop, display)
    if not mirrored and not part.spec.opposite_hand:
        return patterns
    from patterns import hands as handing  # late: few pieces have two hands

    taken = set(slugs([spec.name for spec in piece.parts]))
    if mirrored and not all(handing.is_alike(pattern, display) for pattern in patterns):
        slug = handing.free_slug(patterns[0].slug if not part.boards else part.slug, taken, handing.MIRRORED)
        part = handing.mirrored(part, f"{part.name}, {handing.MIRRORED}", slug)
        patterns = _of_part(
            patterns_of(part, piece, shop, display), part.spec.name, "mirror image of the piece as drawn"
        )
    hands = handing.hands_of(part, patterns, display)
    if hands is None:
        return patterns
    own = handing.with_hands(patterns, hands)
    if hands.way != "own pattern":
        return own
    slug = handing.free_slug(part.slug, {*taken, part.slug}, handing.OPPOSITE)
    twin = handing.mirrored(part, f"{part.name}, {handing.OPPOSITE}", slug)
    twins = _of_part(patterns_of(twin, piece, shop, display), part.spec.name)
    return (*own, *(handing.as_twin(pattern, hands, part.spec.name) for pattern in twins))


def _of_part(patterns: tuple[Pattern, ...], part: str, *said: str) -> tuple[Pattern, ...]:
    """The drawings under their part's own name, with a line more in the title."""
    result = []
    for pattern in patterns:
        piece, name, face, *others = pattern.title_block
        result.append(replace(pattern, part=part, title_block=(piece, name, face, *said, *others)))
    return tuple(result)
