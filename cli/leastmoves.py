"""The least moves of several sizes that bring figures where they are wanted, within the sizes' limits.

A move is measured as a part of its size's range, and the sum of the squares of the moves is made least. The figures are
taken as straight near the present sizes, the least moves for that found, and both done again from there until nothing
changes (successive linear-quadratic steps: Nocedal and Wright, Numerical Optimization, 2nd ed. 2006, chapter 18). What is
returned was worked out from the piece itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from cli.trials import Trials, Untried

if TYPE_CHECKING:
    from cli.solving import Range

Vector = NDArray[np.float64]

MET = 1e-6
"""A figure this near to what is wanted (mm, degrees) is there."""

DIFFERENCE = 1e-5
"""The part of a range over which a slope is taken."""

STILL = 1e-10
"""Moves that change by no more than this part of their ranges have settled."""

SHORT = 1e-4
"""Over moves as short as this slopes are taken to stay what they are."""

FIRM = 1e7
"""How much heavier a miss weighs than a move: so much that it is not traded for one."""

SOFT = 1e3
"""The same for a figure that can't be met while others are held."""

STEPS = 40
HALVINGS = 7

PATIENCE = 5
"""So many steps may go by without the figures coming nearer by half to what is wanted."""

DEPENDENT = 1e-6
"""Figures that can be made of one another to this part of their slopes can't be set one by one."""

NEAREST = 7
"""So many multiples are looked at for each figure, the nearest ones; fewer where there are many figures."""

MOST_COMBINATIONS = 2000
"""So many combinations of multiples are put in order."""

MOST_TRIED = 40
"""So many of them are worked out, the most promising first."""

ENOUGH = 2.0
"""No combination is worked out that promises more than this many times the best sum of squares."""

MOST_RESTARTED = 2
"""So many combinations are tried from other sizes too where none works from the present ones."""

MOST_UNLIKELY = 6
"""So many combinations are worked out that straight figures could not meet."""


class Goal(Struct, frozen=True):
    """What a figure shall be: ``wanted``, or a whole multiple of ``step`` (in its own unit)."""

    wanted: float | None = None
    step: float | None = None

    def targets(self, now: float, count: int) -> list[float]:
        """What it may become, the nearest first."""
        if self.step is None:
            return [self.wanted or 0.0]
        middle = round(now / self.step)
        every = [(middle + k) * self.step for k in range(-count, count + 1)]
        return sorted(every, key=lambda target: abs(target - now))[:count]


class Moved(Struct, frozen=True):
    """Sizes (mm, degrees or numbers) and the figures that they give, what was aimed at, and the sum of squared moves."""

    values: tuple[float, ...]
    figures: tuple[float, ...]
    targets: tuple[float, ...]
    cost: float

    @property
    def misses(self) -> tuple[float, ...]:
        """By how much each figure is off what was aimed at."""
        return tuple(figure - target for figure, target in zip(self.figures, self.targets, strict=True))


class Outcome(Struct, frozen=True):
    """What came of it. ``best`` meets all goals where ``unmet`` is None; else it meets those before ``unmet``, and comes
    as near to that one as was found. ``tried`` combinations of multiples were worked out. ``spoilt``: why sizes that
    meet all goals can't be used, where there are such."""

    best: Moved | None
    unmet: int | None
    tried: int
    spoilt: str = ""


class _Run(Struct, frozen=True):
    best: Moved | None
    tried: int
    spoilt: str


class _Combination(Struct, frozen=True):
    """What the figures shall become, the sum of squared moves that straight figures would need, and what those miss by."""

    targets: tuple[float, ...]
    promise: float
    miss: float


class LeastMoves:
    """The sizes of ``trials`` and their ranges, against goals for its figures, in their order."""

    def __init__(self, trials: Trials, start: Sequence[float], reaches: Sequence[Range], goals: Sequence[Goal]) -> None:
        self.trials = trials
        self.goals = tuple(goals)
        self.start = np.array(start, dtype=np.float64)
        self.lows = np.array([reach.low for reach in reaches])
        self.highs = np.array([reach.high for reach in reaches])
        self.spans = self.highs - self.lows
        self.bounds = ((self.lows - self.start) / self.spans, (self.highs - self.start) / self.spans)

    def found(self) -> Outcome:
        """The least moves; or which goal can't be met with those before it, and how near it comes. Raises Untried where
        the figures can't be told near the present sizes."""
        run = self._run(len(self.goals))
        tried = run.tried
        if run.best is not None:
            return Outcome(run.best, None, tried)
        for met in range(len(self.goals) - 1, -1, -1):
            held = self._run(met) if met else None
            tried += held.tried if held is not None else 0
            if held is None or held.best is not None:
                near, more = self._nearest_to(met)
                return Outcome(near, met, tried + more, run.spoilt)
        raise Untried("nothing is wanted")

    # ------------------------------------------------------------------------------------- runs over combinations

    def _run(self, count: int) -> _Run:
        """The best combination for the first ``count`` goals."""
        here = np.zeros(len(self.start))
        now = self._at(here)[:count]
        nearest = [goal.targets(float(y), 1)[0] for goal, y in zip(self.goals, now, strict=False)]
        if all(abs(y - target) <= MET for y, target in zip(now, nearest, strict=True)):
            return _Run(self._moved(here, nearest), 0, "")
        slopes = self._slopes(here)
        order = self._in_order(count, now, slopes)
        best: Moved | None = None
        spoilt, tried, unlikely = "", 0, 0
        for one in order[:MOST_TRIED]:
            if best is not None and one.promise > ENOUGH * best.cost:
                break
            unlikely += one.miss > MET
            if unlikely > MOST_UNLIKELY:
                break
            tried += 1
            moved = self._towards(one.targets, here, slopes)
            if moved is None or (best is not None and moved.cost >= best.cost):
                continue
            why = self._objection(moved)
            spoilt, best = (why, best) if why else (spoilt, moved)
        if best is None and not _depend(slopes[:count]):
            best = self._from_elsewhere([one.targets for one in order[:MOST_RESTARTED]])
        return _Run(best, tried, spoilt)

    def _in_order(self, count: int, now: Vector, slopes: Vector) -> list[_Combination]:
        """Combinations of targets, those first that straight figures could meet, by the moves that they would need."""
        each = max(2, min(NEAREST, int(MOST_COMBINATIONS ** (1 / max(count, 1)))))
        around = self._with_the_exact_met(count, now, slopes)
        choices = [goal.targets(float(y), each) for goal, y in zip(self.goals[:count], around, strict=True)]
        found = []
        for targets in product(*choices):
            need = np.array(targets) - now
            move = self._least(slopes[:count], need, np.full(count, FIRM))
            miss = float(np.abs(slopes[:count] @ move - need).max())
            found.append(_Combination(targets, float(move @ move), miss))
        return sorted(found, key=lambda one: (one.miss > MET, one.miss if one.miss > MET else 0.0, one.promise))

    def _with_the_exact_met(self, count: int, now: Vector, slopes: Vector) -> Vector:
        """The figures about where those that shall have one value have it: the multiples to look at lie around there."""
        exact = [k for k, goal in enumerate(self.goals[:count]) if goal.step is None]
        if not exact or len(exact) == count:
            return now
        need = np.array([self.goals[k].wanted or 0.0 for k in exact]) - now[exact]
        try:
            return self._at(self._least(slopes[exact], need, np.full(len(exact), FIRM)))[:count]
        except Untried:
            return now

    def _from_elsewhere(self, combinations: Sequence[tuple[float, ...]]) -> Moved | None:
        """The same from other sizes than the present ones: where a figure turns, that may find what near-by does not."""
        best: Moved | None = None
        for targets in combinations:
            for place in self._other_places():
                try:
                    moved = self._towards(targets, place, self._slopes(place))
                except Untried:
                    continue
                if moved is not None and not self._objection(moved) and (best is None or moved.cost < best.cost):
                    best = moved
        return best

    def _other_places(self) -> Iterator[Vector]:
        low, high = self.bounds
        yield (low + high) / 2
        for k in range(len(low)):
            for end in (low[k], high[k]):
                place = np.zeros(len(low))
                place[k] = end * 0.9
                yield place

    def _objection(self, moved: Moved) -> str:
        """Why the whole piece can't be made so, if it can't."""
        try:
            self.trials.proved(*moved.values)
        except Untried as error:
            return error.why
        return ""

    def _nearest_to(self, met: int) -> tuple[Moved | None, int]:
        """The goals before ``met`` held, and that one as near as it comes."""
        here = np.zeros(len(self.start))
        slopes = self._slopes(here)
        now = self._at(here)[: met + 1]
        order = self._in_order(met + 1, now, slopes)[:MOST_UNLIKELY]
        weights = np.array([FIRM] * met + [SOFT])
        best: Moved | None = None
        for one in order:
            moved = self._towards(one.targets, here, slopes, weights)
            if moved is not None and not self._objection(moved):
                best = moved if best is None or abs(moved.misses[-1]) < abs(best.misses[-1]) else best
        return best, len(order)

    # ------------------------------------------------------------------------------------- one combination

    def _towards(
        self, targets: Sequence[float], place: Vector, slopes: Vector, weights: Vector | None = None
    ) -> Moved | None:
        """The least moves to these targets from a place; None where they don't bring the (firm) figures there."""
        count = len(targets)
        weights = np.full(count, FIRM) if weights is None else weights
        aim = np.array(targets)
        slopes = slopes[:count]
        try:
            figures = self._at(place)[:count]
            fresh = False
            goal, patience = float(np.abs(aim - figures).max()) / 2.0, PATIENCE
            for _ in range(STEPS):
                need = aim - figures + slopes @ place
                step = self._least(slopes, need, weights) - place
                if float(np.abs(step).max(initial=0.0)) <= STILL:
                    if fresh:
                        break
                    slopes, fresh = self._slopes(place)[:count], True
                    continue
                place, figures, corrected = self._stepped(place, step, figures, slopes, aim)
                fresh = fresh and float(np.abs(step).max()) <= SHORT
                slopes = slopes if fresh else corrected
                off = float(np.abs(aim - figures).max())
                goal, patience = (off / 2.0, PATIENCE) if off <= max(goal, MET) else (goal, patience - 1)
                if patience == 0:
                    break
            firm = weights >= FIRM
            if float(np.abs(aim - figures)[firm].max(initial=0.0)) > MET:
                return None
            return self._moved(place, targets)
        except Untried:
            return None

    def _stepped(
        self, place: Vector, step: Vector, figures: Vector, slopes: Vector, aim: Vector
    ) -> tuple[Vector, Vector, Vector]:
        """A step on, shorter where the piece can't be made or the figures run away; slopes corrected by what was seen
        (C. G. Broyden, A class of methods for solving nonlinear simultaneous equations, 1965)."""
        count = len(aim)
        off = float(np.abs(aim - figures).max())
        share = 1.0
        for _ in range(HALVINGS):
            try:
                there = self._at(place + share * step)[:count]
                if float(np.abs(aim - there).max()) <= 2.0 * off + 0.01 * float(np.abs(slopes @ step).max()) + MET:
                    break
            except Untried:
                pass
            share /= 2.0
        else:
            raise Untried("no step leads on")
        move = share * step
        slopes = slopes + np.outer(there - figures - slopes @ move, move) / float(move @ move)
        return place + move, there, slopes

    def _least(self, slopes: Vector, need: Vector, weights: Vector) -> Vector:
        """The least move (a part of each range, within bounds) for which straight figures change by ``need``."""
        from scipy.optimize import lsq_linear  # late: only where sizes are nudged

        norms = np.maximum(np.linalg.norm(slopes, axis=1), 1e-12) if len(slopes) else np.ones(0)
        heavy = (weights / norms)[:, None]
        matrix = np.vstack([heavy * slopes, np.eye(len(self.start))])
        right = np.concatenate([heavy[:, 0] * need, np.zeros(len(self.start))])
        low, high = self.bounds
        least: Vector = lsq_linear(matrix, right, (low - 1e-15, high + 1e-15), method="bvls").x
        return np.clip(least, low, high)

    # ------------------------------------------------------------------------------------- figures

    def _values(self, place: Vector) -> tuple[float, ...]:
        exact = self.start + place * self.spans
        return tuple(float(v) for v in np.clip(exact, self.lows, self.highs))

    def _at(self, place: Vector) -> Vector:
        return np.array(self.trials.at(*self._values(place)), dtype=np.float64)

    def _slopes(self, place: Vector) -> Vector:
        """How much each figure changes with each size, per its whole range: shape (figures, sizes)."""
        columns = []
        for k in range(len(place)):
            ends = []
            for side in (-DIFFERENCE, DIFFERENCE):
                beside = place.copy()
                beside[k] = min(max(place[k] + side, self.bounds[0][k]), self.bounds[1][k])
                try:
                    ends.append((beside[k], self._at(beside)))
                except Untried:
                    ends.append((place[k], self._at(place)))
            (left, low), (right, high) = ends
            if right == left:
                raise Untried(f"how the figures change with {self.trials.sizes[k].name} can't be told")
            columns.append((high - low) / (right - left))
        return np.stack(columns, axis=1)

    def _moved(self, place: Vector, targets: Sequence[float]) -> Moved:
        values = self._values(place)
        figures = tuple(float(v) for v in self._at(place)[: len(targets)])
        return Moved(values, figures, tuple(float(t) for t in targets), float(place @ place))


def _depend(slopes: Vector) -> bool:
    """Whether figures depend on one another, so that no sizes set each of them by itself."""
    norms = np.linalg.norm(slopes, axis=1)
    if len(slopes) > slopes.shape[1] or float(norms.min()) == 0.0:
        return True
    return bool(np.linalg.svd(slopes / norms[:, None], compute_uv=False)[-1] < DEPENDENT)
