"""The grammar of a formula: sums of products of numerals, sizes, functions and brackets, worked out as they are read.

It can do arithmetic and nothing else. Its depth is bounded by the count of brackets in ``formula_words``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from fractions import Fraction

from patterns import dimension, formula_words
from patterns.dimension import ANGLE, BARE, LENGTH, Term
from patterns.formula_error import FormulaError
from patterns.formula_words import FUNCTIONS, RESERVED, Word
from patterns.measure import EXACT_MM_PER, Quantity, Units
from patterns.numeral import Numeral

MOST_LISTED = 6
"""How many sizes a message lists, where none has a name near to the one that is unknown."""

_OTHER_UNITS = {
    "in": ("inch", "inches", "ins"),
    "ft": ("foot", "feet"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "deg": ("degree", "degrees"),
}
_UNIT_FOR = {other: unit for unit, others in _OTHER_UNITS.items() for other in (*others, unit)}
_FEET = re.compile(r"ft|(?<!')'(?!')")
_SLOPE = re.compile(r":|(?<![A-Za-z0-9_])over(?![A-Za-z0-9_])")


def read(text: str, units: Units, names: Mapping[str, Quantity]) -> tuple[Term, bool]:
    """What ``text`` comes to, and whether it says so plainly: one numeral in the file's own unit, spelt as usual.

    Raises FormulaError.
    """
    plain = formula_words.plain(text)
    sides = _SLOPE.split(plain)
    if len(sides) > 1:
        return _slope(sides, text), False
    words = formula_words.split(plain)
    term = _Parser(text, words, units, names).whole()
    terms = [word for word in words[:-1] if word.kind != "sign" or word.text not in "+-"]
    return term, len(terms) == 1 and _is_plain(terms[0], units)


def _is_plain(word: Word, units: Units) -> bool:
    """Whether nobody would ask how it was read: no hyphen, no ½, no 9/4, no feet, no unit but that of the file."""
    numeral = word.numeral
    if numeral is None or numeral.hyphenated or numeral.improper or numeral.form == "vulgar":
        return False
    return numeral.unit in ("", "deg", units) and not _FEET.search(word.text)


def _slope(sides: list[str], text: str) -> Term:
    """A rise over a run, both numerals, as an angle."""
    numerals = [_slope_side(side, k == 0) for k, side in enumerate(sides)]
    if len(sides) != 2 or numerals[0] is None or numerals[1] is None:
        raise FormulaError("is no slope: write two numbers, as 1:8 or 7/8 over 10; for sizes write atan(rise / run)")
    rise, run = numerals[0], numerals[1]
    if "deg" in (rise.unit, run.unit):
        raise FormulaError("has degrees in a slope: write the angle alone, or a rise over a run such as 1:8")
    if run.value <= 0:
        raise FormulaError("has a run of 0: write a slope as rise over run, such as 1:8")
    per_rise, per_run = (EXACT_MM_PER[one.unit or other.unit or "mm"] for one, other in ((rise, run), (run, rise)))
    ratio = rise.value * per_rise / (run.value * per_run)
    sign = -1 if sides[0].lstrip().startswith("-") else 1
    return Term(Fraction(math.degrees(math.atan(sign * ratio))), ANGLE, text.strip())


def _slope_side(side: str, first: bool) -> Numeral | None:
    """The only numeral of one side of a slope; before the rise may stand a sign."""
    words = formula_words.split(side)[:-1] if side.strip() else []
    signed = len(words) == 2 and words[0].text in ("+", "-") and first
    return words[-1].numeral if len(words) == 1 or signed else None


class _Parser:
    """Reads words from left to right; each method leaves ``at`` after what it has read."""

    def __init__(self, text: str, words: list[Word], units: Units, names: Mapping[str, Quantity]) -> None:
        self.text = text
        self.words = words
        self.units = units
        self.names = names
        self.at = 0

    @property
    def word(self) -> Word:
        return self.words[self.at]

    def take(self) -> Word:
        word = self.word
        self.at += 1
        return word

    def since(self, first: int) -> str:
        """The text as written from word ``first`` to the last word taken."""
        return self.text[self.words[first].start : self.words[self.at - 1].end]

    def whole(self) -> Term:
        term = self.sum()
        if self.word.kind != "end":
            raise FormulaError(self.misplaced())
        return term

    def sum(self) -> Term:
        first = self.at
        total = self.product()
        while self.word.text in ("+", "-"):
            sign = 1 if self.take().text == "+" else -1
            term = self.product()
            total = dimension.added(total, term, sign, self.units, self.since(first))
        return total

    def product(self) -> Term:
        first = self.at
        total = self.signed()
        while self.word.text in ("*", "/"):
            over = self.take().text == "/"
            if over:
                self.refuse_fraction(first)
            term = self.signed()
            written = self.since(first)
            if over:
                total = dimension.divided(total, term, self.units, written)
            else:
                total = dimension.multiplied(total, term, written)
        return total

    def refuse_fraction(self, first: int) -> None:
        """After / a fraction needs brackets: x / 3/8 can be read two ways."""
        left = f"{self.since(first)[:-1].rstrip()} /"
        ahead = self.at
        while self.words[ahead].text in ("+", "-"):
            ahead += 1
        numeral = self.words[ahead].numeral
        if numeral is None or numeral.form not in ("fraction", "mixed"):
            return
        fraction = f"{'-' if self.words[ahead - 1].text == '-' else ''}{self.words[ahead].text}"
        other = "" if numeral.form == "mixed" else f", or {left} {fraction.replace('/', ' / ')}"
        raise FormulaError(f"divides by a fraction without brackets: write {left} ({fraction}){other}")

    def signed(self) -> Term:
        first, sign = self.at, 1
        while self.word.text in ("+", "-"):
            sign = -sign if self.take().text == "-" else sign
        term = self.single()
        return (
            term
            if self.words[first].text not in ("+", "-")
            else Term(sign * term.value, term.dimension, self.since(first))
        )

    def single(self) -> Term:
        """A numeral, a size, a function or a bracket."""
        word = self.word
        if word.numeral:
            return _of_numeral(self.take().numeral or word.numeral, word.text)
        if word.kind == "name":
            self.take()
            return self.function(word) if self.word.text == "(" else self.size(word)
        if word.text != "(":
            raise FormulaError(self.missing())
        first = self.at
        self.take()
        term = self.sum()
        self.close()
        return Term(term.value, term.dimension, self.since(first))

    def close(self) -> None:
        if self.word.kind == "end":
            raise FormulaError("has a bracket that is never closed: add )")
        if self.word.text != ")":
            raise FormulaError(self.misplaced())
        self.take()

    def function(self, word: Word) -> Term:
        first = self.at - 1
        if word.text not in FUNCTIONS:
            raise FormulaError(self.no_function(word.text))
        self.take()
        terms = [self.sum()] if self.word.text != ")" else []
        while self.word.text == ",":
            self.take()
            terms.append(self.sum())
        self.close()
        if not terms or (len(terms) > 1 and word.text not in ("min", "max")):
            better = ": write atan(rise / run)" if word.text == "atan" else ""
            count = "at least one value" if word.text in ("min", "max") else "one value"
            raise FormulaError(f"gives {word.text} {len(terms) or 'no'} values, and it takes {count}{better}")
        return dimension.called(word.text, terms, self.units, self.since(first))

    def size(self, word: Word) -> Term:
        quantity = self.names.get(word.text)
        if quantity is None:
            if f"{word.text}_{self.word.text}" in self.names:
                raise FormulaError(self.misplaced())
            raise FormulaError(self.unknown(word.text))
        return dimension.of_quantity(quantity, word.text)

    # ------------------------------------------------------------------------------------- what is wrong

    def missing(self) -> str:
        """A sign where a value should stand."""
        before = self.words[self.at - 1].text if self.at else ""
        if self.word.kind == "end":
            return f"ends after {before}: a number or a size is missing"
        if before:
            return f"has {self.word.text} after {before}: a number or a size is missing between them"
        return f"begins with {self.word.text}: a number or a size is missing before it"

    def misplaced(self) -> str:
        """A word that can't follow a finished value."""
        left, right = self.words[self.at - 1], self.word
        if right.text == ")":
            return "has a ) too many, or a ( too few"
        if right.text == ",":
            return "has a comma outside min( ) and max( ): the decimal sign is a point"
        if left.numeral and right.numeral:
            return _two_numbers(left, right, self.words[self.at + 1 : self.at + 3])
        if right.kind == "name" and left.numeral:
            return self.after_number(left, right)
        if right.kind == "name" and right.text in _UNIT_FOR:
            return f"has {right.text} after {left.text}: a unit follows a number only, and a size has its own"
        joined = f"{left.text}_{right.text}"
        if joined in self.names:
            return f"has {left.text} {right.text}: write {joined}"
        return f"has nothing between {left.text} and {right.text}: write + - * or / there"

    def after_number(self, left: Word, right: Word) -> str:
        unit = _UNIT_FOR.get(right.text.lower())
        if unit and left.numeral and not left.numeral.unit:
            return f"has the unit {right.text}: write {left.text} {unit}"
        if unit:
            return f"has two units, in {left.text} {right.text}: write one"
        if right.text in self.names or right.text in RESERVED:
            return f"has nothing between {left.text} and {right.text}: write {left.text} * {right.text} to multiply"
        return f"has {right.text} after {left.text}, which is no unit: units are in, ft, mm, cm and deg"

    def no_function(self, name: str) -> str:
        if name in self.names:
            return f"has nothing between {name} and the bracket: write {name} * ( to multiply"
        import difflib  # late: only a mistake needs it

        near = difflib.get_close_matches(name.lower(), FUNCTIONS, 1)
        return (
            f"has {name}( ): did you mean {near[0]}?"
            if near
            else f"has {name}( ): functions are {', '.join(FUNCTIONS)}"
        )

    def unknown(self, name: str) -> str:
        if name in RESERVED:
            return f"has {name} with no {'brackets after it' if name in FUNCTIONS else 'number before it'}"
        return f"uses {name}, and {_nearest(name, self.names)}"


def _of_numeral(numeral: Numeral, written: str) -> Term:
    if numeral.unit == "deg":
        return Term(numeral.value, ANGLE, written)
    if numeral.unit:
        return Term(numeral.mm, LENGTH, written)
    return Term(numeral.value, BARE, written)


def _two_numbers(left: Word, right: Word, after: list[Word]) -> str:
    """Two numbers side by side, with what was most likely meant."""
    one, other = left.numeral, right.numeral
    if one and other and other.form == "fraction":
        if one.form == "decimal" and "." in left.text:
            return f"mixes a decimal with a fraction: write one or the other for {left.text} {right.text}"
        if one.form == "fraction" and not one.unit:
            over, under = left.text.split("/")
            return f"has two fractions side by side: write {over} / ({under} {right.text}), or a sign between them"
    elif right.text.isdigit() and len(after) == 2 and after[0].text == "/" and after[1].text.isdigit():
        return f"has spaces in a fraction: write {left.text} {right.text}/{after[1].text}"
    elif left.text.isdigit() and re.fullmatch("[0-9]{3}", right.text):
        return f"has a gap between digits: write {left.text}{right.text}"
    return f"has two numbers side by side, {left.text} and {right.text}: write + - * or / between them"


def _nearest(name: str, names: Collection[str]) -> str:
    """Says that no size is called ``name``, and which may have been meant."""
    by_lower = {known.lower(): known for known in names}
    import difflib  # late: only a mistake needs it

    near = difflib.get_close_matches(name.lower(), by_lower, 1)
    if near:
        return f"no size has that name: did you mean {by_lower[near[0]]}?"
    if not names:
        return "no sizes are named here: write a number"
    listed = ", ".join(sorted(names)[:MOST_LISTED])
    more = ", ..." if len(names) > MOST_LISTED else ""
    return f"no size has that name: the sizes are {listed}{more}"
