"""Which sheets a change touches: on the layout of the old PDF, or on the one that a first printing would have."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from msgspec import Struct

from cli import halving, printing, templating
from patterns.errors import PatternError

if TYPE_CHECKING:
    from cli.request import Job
    from tiling.fates import SheetFate
    from tiling.order import Progress
    from tiling.recipe import Recipe


class SheetChanges(Struct, frozen=True):
    """What becomes of each sheet. ``printed``: the old sheets are those of a PDF; ``paper`` is their paper's name.

    Where nothing can be said of sheets, ``reason`` says why.
    """

    fates: tuple[SheetFate, ...] = ()
    printed: bool = False
    paper: str = ""
    reason: str = ""

    @property
    def differing(self) -> bool:
        """Whether any sheet is to be printed or thrown away."""
        return any(fate.state != "keep" for fate in self.fates)


def sheet_changes(old: Job, new: Job, parts: Collection[str], progress: Progress) -> SheetChanges:
    """The fates of the sheets of these parts, when the old sheets become the new ones as ``reprint`` would do it."""
    from tiling.dealing import deal_all  # late: what prints takes longer to load than to compare
    from tiling.fates import fates_of
    from tiling.sheet import DRAWING_VERSION

    printed = old.carried is not None
    if old.piece.title != new.piece.title:
        return SheetChanges(printed=printed, reason="every sheet carries the title, so no old sheet fits the new piece")
    if not {part.name for part in old.parts} & {part.name for part in new.parts}:
        return SheetChanges(printed=printed, reason="the two have no part in common")
    try:
        recipe = old.carried or _first_printing(old, progress)
        if recipe.drawing != DRAWING_VERSION:
            reason = (
                "the old sheets were drawn by another version, whose marks would not match: print all of them again"
            )
            return SheetChanges(printed=printed, reason=reason)
        halved = templating.as_before(halving.halved(new, (), recipe), recipe)
        order = printing.order_of(halved, recipe, many=True)
        fates = fates_of(deal_all(order, recipe.form, recipe, progress), recipe)
    except PatternError as error:
        return SheetChanges(printed=printed, reason="; ".join(map(str, error.problems)))
    patterns = {pattern.name for job in (old, halved) for pattern in job.patterns if pattern.part in parts}
    kept = tuple(fate for fate in fates if fate.pattern in patterns)
    return SheetChanges(kept, printed, recipe.form.paper.name)


def _first_printing(job: Job, progress: Progress) -> Recipe:
    """The record that a first printing on the usual paper would carry."""
    from tiling.dealing import deal_all
    from tiling.job import recipe_of
    from tiling.order import usual_form

    form = usual_form(job.piece.units)
    order = printing.order_of(job, None, many=True, form=form)
    return recipe_of(order, deal_all(order, form, None, progress), form)
