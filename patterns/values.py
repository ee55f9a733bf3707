"""Values of a pattern file: each formula worked out in the place it stands in, with what that place allows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct, field

from patterns import formula
from patterns.measure import Quantity, Units
from patterns.mistakes import Mistakes
from patterns.partmodel import Pair, Value
from patterns.piece import Given
from patterns.tables import MOST_ROWS
from patterns.wording import Figure, bare, inside

Sign = Literal["any", "not negative", "positive"]


class PlacedReading(Struct, frozen=True):
    """How a value was read, and where it stands."""

    place: str
    reading: formula.Reading


class Values(Struct):
    """Works out the values of one file. What it can't work out is told to ``mistakes`` and comes back as None.

    ``broken`` are sizes with a mistake of their own: a formula that uses one has no value, and is not told again.
    """

    units: Units
    mistakes: Mistakes
    names: Mapping[str, Quantity] = field(default_factory=dict)
    broken: frozenset[str] = frozenset()
    readings: list[PlacedReading] = field(default_factory=list)

    def length(self, value: Value, place: str, sign: Sign = "any") -> Given | None:
        """A length in mm."""
        given = self._given(value, place, "length")
        return given if given is not None and self._sign_is_right(given, sign) else None

    def angle(self, value: Value, place: str) -> Given | None:
        """An angle in radians."""
        return self._given(value, place, "angle")

    def optional_length(self, value: Value | None, place: str, sign: Sign = "any") -> Given | None:
        """A length that may be left out."""
        return None if value is None else self.length(value, place, sign)

    def optional_angle(self, value: Value | None, place: str) -> Given | None:
        """An angle that may be left out."""
        return None if value is None else self.angle(value, place)

    def pair(
        self, pair: Pair, place: str, names: tuple[str, str] = ("x", "y"), sign: Sign = "any"
    ) -> tuple[Given, Given] | None:
        """Two lengths, such as [x, y]."""
        first, second = (self.length(v, inside(place, n), sign) for v, n in zip(pair, names, strict=True))
        return None if first is None or second is None else (first, second)

    def optional_pair(
        self, pair: Pair | None, place: str, names: tuple[str, str] = ("x", "y"), sign: Sign = "any"
    ) -> tuple[Given, Given] | None:
        """Two lengths that may be left out."""
        return None if pair is None else self.pair(pair, place, names, sign)

    def pairs(
        self, rows: Sequence[Pair], place: str, names: tuple[str, str] = ("x", "y"), item: str = "point"
    ) -> tuple[tuple[Given, Given], ...]:
        """A table of pairs of lengths; rows that can't be read are left out."""
        if len(rows) > MOST_ROWS:
            self.mistakes.broke(place, f"has {len(rows)} entries; {MOST_ROWS} is the most")
            return ()
        read = [self.pair(row, inside(place, f"{item} {k + 1}"), names) for k, row in enumerate(rows)]
        return tuple(pair for pair in read if pair is not None)

    def angles(self, pair: Pair, place: str) -> tuple[Given, Given] | None:
        """Two angles in radians: at the start and at the end."""
        first, second = (self.angle(v, inside(place, n)) for v, n in zip(pair, ("start", "end"), strict=True))
        return None if first is None or second is None else (first, second)

    def uses_broken(self, text: str) -> bool:
        """Whether a formula refers to a size that has a mistake of its own."""
        return bool(self.broken) and not self.broken.isdisjoint(formula.names_in(text))

    def note(self, place: str, reading: formula.Reading) -> None:
        """Keeps how a value was read, for whoever wants to see it."""
        self.readings.append(PlacedReading(place, reading))

    def _given(self, value: Value, place: str, wanted: Literal["length", "angle"]) -> Given | None:
        text = written(value)
        try:
            if self.uses_broken(text):
                self.mistakes.follows(place)
                return None
            refuse_special(value)
            reading = formula.evaluate(text, wanted=wanted, units=self.units, names=self.names)
        except formula.FormulaError as error:
            self.mistakes.broke(place, error.what)
            return None
        self.note(place, reading)
        return Given(reading.value, text, place)

    def _sign_is_right(self, given: Given, sign: Sign) -> bool:
        if sign == "any" or given.value > 0 or (sign == "not negative" and given.value == 0):
            return True
        plain = given.written.lstrip("+-").replace(".", "").isdigit()
        comes_to = "" if plain else f", which is {'0' if given.value == 0 else 'negative'}"
        wanted = "more than 0" if sign == "positive" else "0 or more"
        self.mistakes.broke(given.place, f"must be {wanted}, not {given.written}{comes_to}")
        return False


def written(value: Value) -> str:
    """The value as the maker wrote it."""
    return value if isinstance(value, str) else bare(value)


def refuse_special(figure: Value) -> None:
    """Raises FormulaError for TOML's own ``nan`` and ``inf``, in any spelling of their sign."""
    if isinstance(figure, Figure) and figure.lstrip("+-") in {"nan", "inf"}:
        raise formula.FormulaError("is no measure: write a figure or a formula", figure)
