"""Several sizes nudged as little as possible, so that figures become what is wanted or whole divisions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from cli import quantities
from cli.figures import Figure
from cli.leastmoves import Goal, LeastMoves, Moved
from cli.solving import Range, range_of
from cli.trials import Trials, Untried, own_unit
from patterns.errors import PatternError

if TYPE_CHECKING:
    from patterns.display import Display
    from patterns.piece import Size

MOST_WISHES = 10
"""More figures than this are not brought onto divisions together: their combinations can't be looked through."""


class Wish(Struct, frozen=True):
    """What is wanted of a figure."""

    figure: Figure
    goal: Goal


class Nudged(Struct, frozen=True):
    """What moved and what came of it; all in mm, degrees or numbers. See ``Outcome`` for ``unmet`` and ``spoilt``.

    ``on_the_rule`` are the figures with every size on the nearest division of the rule; None where that can't be made.
    """

    sizes: tuple[Size, ...]
    ranges: tuple[Range, ...]
    wishes: tuple[Wish, ...]
    before: tuple[float, ...]
    figures_before: tuple[float, ...]
    moved: Moved | None
    unmet: int | None
    tried: int
    spoilt: str
    rule: tuple[float, ...] = ()
    on_the_rule: tuple[float, ...] | None = None


def nudged(trials: Trials, wishes: tuple[Wish, ...], display: Display) -> Nudged:
    """The least moves of the trials' sizes. Raises PatternError where it can't be looked for at all."""
    sizes = trials.sizes
    reaches = tuple(range_of(size) for size in sizes)
    stuck = [size.name for size, reach in zip(sizes, reaches, strict=True) if reach.low == reach.high]
    if stuck:
        raise PatternError.of(f"--vary {stuck[0]}", "its least and its most are the same, so it can't move")
    before = tuple(own_unit(size, size.value) for size in sizes)
    try:
        now = tuple(float(v) for v in trials.at(*before))
        outcome = LeastMoves(trials, before, reaches, [wish.goal for wish in wishes]).found()
    except Untried as error:
        raise PatternError.of("--vary", error.why) from error
    rule, rounded = _rounded(trials, outcome.best, reaches, display)
    return Nudged(
        sizes,
        reaches,
        wishes,
        before,
        now,
        outcome.best,
        outcome.unmet,
        outcome.tried,
        outcome.spoilt,
        rule,
        rounded,
    )


def _rounded(
    trials: Trials, moved: Moved | None, reaches: tuple[Range, ...], display: Display
) -> tuple[tuple[float, ...], tuple[float, ...] | None]:
    """The sizes on the nearest divisions within their ranges, and the figures then."""
    if moved is None:
        return (), None
    values = []
    for size, value, reach in zip(trials.sizes, moved.values, reaches, strict=True):
        step = quantities.division(size, display, reach.high - reach.low)
        near = [one for one in quantities.beside(value, step) if reach.low <= one <= reach.high]
        values.append(min(near, key=lambda one: abs(one - value), default=value))
    try:
        return tuple(values), tuple(float(v) for v in trials.proved(*values))
    except Untried:
        return tuple(values), None
