"""Parts built from the text of a pattern file, for every test that measures one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from patterns import shopfile
from patterns.display import Display
from patterns.drawing import patterns_of
from patterns.part import Part, build
from patterns.pattern import Pattern
from patterns.patternfile import PatternSource, load
from patterns.piece import Piece


@dataclass(frozen=True)
class Bench:
    """A piece and its parts, in the order of the file."""

    piece: Piece
    parts: tuple[Part, ...]

    @property
    def part(self) -> Part:
        """The first part."""
        return self.parts[0]

    def patterns(self, number: int = 0) -> tuple[Pattern, ...]:
        """The drawings of a part."""
        shop = shopfile.default()
        return patterns_of(self.parts[number], self.piece, shop, Display(self.piece.units))


@pytest.fixture(scope="session")
def bench() -> Callable[..., Bench]:
    """Builds the parts that a text of [[part]] tables describes; bare numbers are millimetres unless ``units`` says."""

    def built(text: str, units: str = "mm") -> Bench:
        head = f'curvewright = 1\ntitle = "Trial piece"\nunits = "{units}"\n'
        piece = load(PatternSource(head + text, "trial.toml")).piece
        return Bench(piece, tuple(build(spec, Display(piece.units)) for spec in piece.parts))

    return built
