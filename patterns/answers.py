"""Answers about curves that are kept: the same curve is asked the same again and again.

While one size of a piece is tried in several values, most edges of a part stay as they are. Whatever is asked about
these alone is answered once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache, wraps
from typing import Any, ParamSpec, TypeVar

from patterns.beziers import LARGEST_KEPT
from patterns.curve import Curve

Given = ParamSpec("Given")
Answer = TypeVar("Answer")

MOST_KEPT = 512
"""Answers that are kept of each question, the latest."""


_FORGETTING: list[Callable[[], None]] = []


def forget() -> None:
    """Forgets all answers, as a new process has none."""
    for one in _FORGETTING:
        one()


class _Shape:
    """A curve as a key: the same as any other curve with the same control points."""

    __slots__ = ("curve", "data")

    def __init__(self, curve: Curve) -> None:
        self.curve = curve
        self.data = curve.beziers.tobytes()

    def __hash__(self) -> int:
        return hash(self.data)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Shape) and self.data == other.data


def kept(question: Callable[Given, Answer]) -> Callable[Given, Answer]:
    """A pure function of curves and of plain values that remembers its latest answers, which nobody may write to.

    Of very long curves nothing is remembered.
    """

    @lru_cache(maxsize=MOST_KEPT)
    def answer(*keys: Any) -> Answer:
        return question(*(key.curve if isinstance(key, _Shape) else key for key in keys))  # type: ignore[arg-type, call-arg]

    _FORGETTING.append(answer.cache_clear)

    @wraps(question)
    def asked(*given: Given.args, **_: Given.kwargs) -> Answer:
        if any(isinstance(one, Curve) and len(one) > LARGEST_KEPT for one in given):
            return question(*given, **_)
        return answer(*[_Shape(one) if isinstance(one, Curve) else one for one in given])

    return asked


def kept_of_each(question: Callable[[Sequence[Curve]], list[Answer]]) -> Callable[[Sequence[Curve]], list[Answer]]:
    """The same for what is asked about many curves in one go, and answered for each by itself: only new ones are asked."""
    known: dict[bytes, Answer] = {}
    _FORGETTING.append(known.clear)

    @wraps(question)
    def asked(curves: Sequence[Curve]) -> list[Answer]:
        keys = [curve.beziers.tobytes() for curve in curves]
        new = {key: curve for key, curve in zip(keys, curves, strict=True) if key not in known}
        if new:
            known.update(zip(new, question(list(new.values())), strict=True))
        answers = [known[key] for key in keys]
        for key in list(known)[: max(0, len(known) - MOST_KEPT)]:
            del known[key]
        return answers

    return asked
