"""Mistakes collected while a file is read, so that the maker hears of all of them in one go."""

from __future__ import annotations

import re
from collections.abc import Iterator

from patterns.errors import Problem

MOST_TOLD = 200
"""Nobody mends more in one go; of the rest only the number is told."""

_STEP = re.compile(r", |\.")


class Mistakes:
    """Problems in the order found. What follows from a mistake already told is not told again.

    ``marks`` grows with every mistake, told or not: whoever compares it before and after knows whether what was
    read in between can be used.
    """

    def __init__(self) -> None:
        self._problems: list[Problem] = []
        self._broken: set[str] = set()
        self._touched: set[str] = set()
        self.marks = 0

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What there is to tell."""
        rest = len(self._problems) - MOST_TOLD
        told = self._problems[:MOST_TOLD]
        return (*told, Problem("", f"and {rest} more mistakes")) if rest > 0 else tuple(told)

    def add(self, place: str, what: str) -> None:
        """A mistake at a place, unless that place lies in something already told as broken."""
        if self._broken.isdisjoint(_outward(place)):
            self._problems.append(Problem(place, what))
        self.follows(place)

    def broke(self, place: str, what: str) -> None:
        """A mistake that leaves nothing to read at the place: further ones there or inside are not told."""
        self.add(place, what)
        self._broken.add(place)

    def answered(self, place: str) -> None:
        """What is missing at the place stands elsewhere under a wrong name, which is told: its absence is not told too."""
        self._broken.add(place)

    def follows(self, place: str) -> None:
        """What is at the place could not be read because of a mistake told elsewhere."""
        self.marks += 1
        self._touched.update(_outward(place))

    def touch(self, place: str) -> bool:
        """Whether there is a mistake at the place or inside it, told or not."""
        return place in self._touched


def _outward(place: str) -> Iterator[str]:
    """The place, and every place that it lies in."""
    yield place
    for step in _STEP.finditer(place):
        yield place[: step.start()]
