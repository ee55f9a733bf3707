"""Reads a value of a pattern file: a number as the shop writes it, a slope, or arithmetic on named sizes.

Every value of a pattern file comes through here. What is wrong with one is a FormulaError, in a maker's words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from patterns import dimension, formula_parser
from patterns.dimension import ANGLE, AREA, LENGTH, NUMBER, Dimension, Term
from patterns.formula_error import FormulaError, visible
from patterns.formula_words import MOST_CHARACTERS, NAME, RESERVED
from patterns.measure import EXACT_MM_PER, Quantity, Units
from patterns.numeral import spelt

__all__ = ["FormulaError", "Reading", "evaluate", "evaluate_size", "name_problem", "names_in"]

Wanted = Literal["length", "angle", "number"]

LONGEST_MM = 1e6
"""A kilometre: a longer figure is a slip, and drawings lose their precision beyond it."""

EXACT_IN = Fraction(1, 10**9)
"""A length this near to a fraction of an inch is that fraction, with float noise on it."""

_FRACTION_APART = re.compile(r"([0-9 ]*[0-9]) */ *([0-9]+ *[a-z\"']+)")

_NAME_WITHIN = re.compile(rf"(?<![A-Za-z0-9_.]){NAME.pattern}")

MOST_KEPT = 4096
"""Readings that are kept, the latest: a piece is read again and again while one size of it is tried in several values."""

_Sizes = tuple[tuple[str, Quantity], ...]
"""Sizes by name, in the order of their names."""

_WANTED: dict[Wanted, Dimension] = {"length": LENGTH, "angle": ANGLE, "number": NUMBER}


class Reading(Struct, frozen=True):
    """A value as read: in mm, radians or a bare number; and as written, in a file of these units.

    ``worth_saying``: the spelling left something to read (a hyphen, an improper fraction, a slope, a formula).
    """

    value: float
    written: str
    exact: Fraction
    """The same in mm, degrees or a bare number."""
    wanted: Wanted
    units: Units
    worth_saying: bool

    @property
    def echo(self) -> str:
        """The value in plain words, to show how it was read: exact to 1/64 in or 0.01 mm, in the file's unit first."""
        return _echo(self.exact, self.wanted, self.units)


def evaluate(text: str, *, wanted: Wanted, units: Units, names: Mapping[str, Quantity]) -> Reading:
    """What ``text`` comes to where a length (mm), an angle (radians) or a number is wanted.

    ``units`` is what a bare number stands for where a length is wanted; ``names`` are the sizes it may use. Raises
    FormulaError, in words.
    """
    used = names_in(text)
    if used <= names.keys():
        return _evaluated(text, wanted, units, tuple((name, names[name]) for name in sorted(used)))
    return _worked_out(text, wanted, units, names)


def _worked_out(text: str, wanted: Wanted, units: Units, names: Mapping[str, Quantity]) -> Reading:
    with _in_words(text):
        term, plainly = formula_parser.read(text, units, names)
        return _reading(term, wanted, text, units, plainly)


@lru_cache(maxsize=MOST_KEPT)
def _evaluated(text: str, wanted: Wanted, units: Units, used: _Sizes) -> Reading:
    """The same, for a formula that knows all of its sizes: then it follows from these alone, whichever others there are."""
    return _worked_out(text, wanted, units, dict(used))


def evaluate_size(
    text: str, *, units: Units, names: Mapping[str, Quantity], kind: Wanted | None = None
) -> tuple[Quantity, Reading]:
    """A size's value and how it was read. With no ``kind`` it is an angle if it comes to one, else a length.

    Raises FormulaError, in words.
    """
    used = names_in(text)
    if used <= names.keys():
        return _evaluated_size(text, units, tuple((name, names[name]) for name in sorted(used)), kind)
    return _worked_out_size(text, units, names, kind)


@lru_cache(maxsize=MOST_KEPT)
def _evaluated_size(text: str, units: Units, used: _Sizes, kind: Wanted | None) -> tuple[Quantity, Reading]:
    return _worked_out_size(text, units, dict(used), kind)


def _worked_out_size(
    text: str, units: Units, names: Mapping[str, Quantity], kind: Wanted | None
) -> tuple[Quantity, Reading]:
    with _in_words(text):
        term, plainly = formula_parser.read(text, units, names)
        if kind is None and term.dimension == NUMBER:
            raise FormulaError('is a number, and a size is a length unless told: for a number add kind = "number"')
        chosen: Wanted = kind or ("angle" if term.dimension.angle else "length")
        reading = _reading(term, chosen, text, units, plainly)
        return Quantity(reading.value, chosen), reading


@lru_cache(maxsize=MOST_KEPT)
def names_in(text: str) -> frozenset[str]:
    """The names of sizes that ``text`` refers to; of a text that can't be read, those that can be made out."""
    if len(text) > MOST_CHARACTERS:
        return frozenset()
    return frozenset(_NAME_WITHIN.findall(text)) - RESERVED


def name_problem(name: str) -> str | None:
    """Why ``name`` can't be the name of a size, with what would be right; None if it can."""
    if name in RESERVED:
        return f"{name} is a word of formulas and can't name a size: write {name}_size or the like"
    if not NAME.fullmatch(name):
        return f'"{visible(name)}" can\'t name a size: a name is made of a to z, 0 to 9 and _, and starts with a letter'
    return None


@contextmanager
def _in_words(text: str) -> Iterator[None]:
    """Puts the text as written in front of whatever is wrong with it."""
    try:
        yield
    except FormulaError as error:
        raise error.about(text) from None
    except OverflowError:
        raise FormulaError("comes to more than can be reckoned with: look for a slip in its figures", text) from None


def _reading(term: Term, wanted: Wanted, text: str, units: Units, plainly: bool) -> Reading:
    """The term as the wanted kind, or what is wrong with it."""
    term = dimension.settled(term, _WANTED[wanted], units)
    if term.dimension != _WANTED[wanted]:
        raise FormulaError(f"is {term.dimension}, where {_WANTED[wanted]} is wanted: {_remedy(term, wanted)}")
    value = float(term.value)
    if wanted == "length" and abs(value) > LONGEST_MM:
        raise FormulaError("is longer than a kilometre: look for a slip in its figures or its unit")
    if wanted == "angle" and abs(value) > 360:
        raise FormulaError("is more than a full turn: an angle lies between -360 and 360 degrees")
    result = math.radians(value) if wanted == "angle" else value
    return Reading(result, text, Fraction(term.value), wanted, units, not plainly)


def _remedy(term: Term, wanted: Wanted) -> str:
    if wanted == "number":
        return "leave the unit off, or divide by one of the same kind"
    if wanted == "angle":
        if term.dimension == NUMBER:
            return "write atan( ) around a rise over a run, or * 1 deg after a number of degrees"
        return "write degrees as 7.5 or 7.5 deg, or a slope as 1:8"
    if term.dimension == NUMBER:
        apart = _FRACTION_APART.fullmatch(term.written)
        return f"a fraction has no spaces, as {apart[1]}/{apart[2]}" if apart else "multiply it by a length"
    if term.dimension == AREA:
        return "take its sqrt, or divide it by a length"
    return (
        "write a length such as 22 13/16 or 580 mm" if term.dimension.angle else "look for a length too many or too few"
    )


def _echo(value: Fraction, wanted: Wanted, units: Units) -> str:
    if wanted == "number":
        return _decimal(value, 6)
    if wanted == "angle":
        return f"{_decimal(value, 2)} deg"
    inches = value / EXACT_MM_PER["in"]
    near = Fraction(round(inches * 64), 64)
    in_inches = f"{spelt(near) if abs(inches - near) < EXACT_IN else _decimal(inches, 4)} in"
    if units == "in":
        return f"{in_inches} = {_decimal(value, 2)} mm"
    return f"{_decimal(value / EXACT_MM_PER[units], 2 if units == 'mm' else 3)} {units} = {in_inches}"


def _decimal(value: Fraction, places: int) -> str:
    """Decimals, halves away from zero, without trailing zeros, exponent or -0."""
    count = math.floor(abs(value) * 10**places + Fraction(1, 2))
    whole, rest = divmod(count, 10**places)
    text = f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".")
    return f"-{text}" if value < 0 and count else text
