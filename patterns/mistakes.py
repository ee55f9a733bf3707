"""Mistakes collected while a file is read, so that the maker hears of all of them in one go."""

from __future__ import annotations

from patterns.errors import Problem


class Mistakes:
    """Problems in the order found. What follows from a mistake already told is not told again.

    ``marks`` grows with every mistake, told or not: whoever compares it before and after knows whether what was
    read in between can be used.
    """

    def __init__(self) -> None:
        self._problems: list[Problem] = []
        self._broken: set[str] = set()
        self._untold: list[str] = []

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What there is to tell."""
        return tuple(self._problems)

    @property
    def marks(self) -> int:
        """How many mistakes there are, told or not."""
        return len(self._problems) + len(self._untold)

    def add(self, place: str, what: str) -> None:
        """A mistake at a place, unless that place lies in something already told as broken."""
        if any(_lies_in(place, broken) for broken in self._broken):
            self._untold.append(place)
        else:
            self._problems.append(Problem(place, what))

    def broke(self, place: str, what: str) -> None:
        """A mistake that leaves nothing to read at the place: further ones there or inside are not told."""
        self.add(place, what)
        self._broken.add(place)

    def follows(self, place: str) -> None:
        """What is at the place could not be read because of a mistake told elsewhere."""
        self._untold.append(place)

    def touch(self, place: str) -> bool:
        """Whether there is a mistake at the place or inside it, told or not."""
        places = [*(problem.place for problem in self._problems), *self._untold]
        return any(_lies_in(other, place) for other in places)


def _lies_in(place: str, outer: str) -> bool:
    return place == outer or place.startswith((f"{outer}, ", f"{outer}."))
