"""What pure functions gave, by what they were given: for a run that follows another in the same process.

Nothing that is drawn depends on it; a run with a memory gives the same bytes as one without. It is a value that is
handed down, so that nobody has one who did not ask for it.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

T = TypeVar("T")


class Memory:
    """Results by key. A key holds all that its result follows from: by value, or, of what has no equality, the object
    itself, which the key then keeps from being taken for another.

    Only what was asked for since ``forget`` was last called, or in the round before, is kept.
    """

    def __init__(self) -> None:
        self._fresh: dict[Hashable, Any] = {}
        self._older: dict[Hashable, Any] = {}

    def kept(self, key: Hashable, make: Callable[[], T]) -> T:
        """What is remembered under the key, or else what ``make`` makes, which is then remembered.

        What ``make`` raises is passed on, and nothing is remembered of it.
        """
        if key in self._fresh:
            found: T = self._fresh[key]
            return found
        value: T = self._older[key] if key in self._older else make()
        self._fresh[key] = value
        return value

    def last(self, key: Hashable) -> Any:
        """What was put under the key before; None where nothing was."""
        return self._fresh.get(key, self._older.get(key))

    def put(self, key: Hashable, value: object) -> None:
        """Remembers a value that is found again by ``last``."""
        self._fresh[key] = value

    def forget(self) -> None:
        """Ends a round: what was not asked for in it is forgotten."""
        self._older, self._fresh = self._fresh, {}


class Forgetful(Memory):
    """A memory that remembers nothing: for a command that runs once."""

    def kept(self, key: Hashable, make: Callable[[], T]) -> T:
        """What ``make`` makes."""
        return make()

    def put(self, key: Hashable, value: object) -> None:
        """Remembers nothing."""


FORGETFUL = Forgetful()
