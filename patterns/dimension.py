"""Arithmetic that keeps its units: a length times a length is an area, and an area is no length.

Inside a formula lengths are millimetres and angles degrees, as exact fractions where the arithmetic allows it. A bare
number has not settled its kind: it takes its neighbour's in a sum, and the file's unit where a length is wanted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from patterns.formula_error import FormulaError
from patterns.measure import EXACT_MM_PER, Kind, Quantity, Units

SAME_RATIO = 1e-12
"""A sine or cosine this far beyond 1 is 1 with float noise on it, and a cosine this small is 0."""


class Dimension(Struct, frozen=True):
    """How many lengths are multiplied together, or an angle, or a bare number that may yet be either."""

    lengths: int = 0
    angle: bool = False
    bare: bool = False

    def __str__(self) -> str:
        if self.angle:
            return "an angle"
        named = {0: "a number", 1: "a length", 2: "an area", 3: "a volume", -1: "a number over a length"}
        return named.get(self.lengths, f"a length to the power of {self.lengths}")


BARE = Dimension(bare=True)
NUMBER = Dimension()
LENGTH = Dimension(1)
AREA = Dimension(2)
ANGLE = Dimension(angle=True)
OF_KIND: dict[Kind, Dimension] = {"number": NUMBER, "length": LENGTH, "area": AREA, "angle": ANGLE}


class Term(Struct, frozen=True):
    """A value within a formula: mm to the power of its lengths, degrees, or a number; ``written`` is its text."""

    value: Fraction
    dimension: Dimension
    written: str

    def __str__(self) -> str:
        return f"{self.written} ({self.dimension})"


def of_quantity(quantity: Quantity, written: str) -> Term:
    """A named size as a term."""
    value = math.degrees(quantity.value) if quantity.kind == "angle" else quantity.value
    return Term(Fraction(value), OF_KIND[quantity.kind], written)


def settled(term: Term, dimension: Dimension, units: Units) -> Term:
    """A bare term as what its place makes of it; any other as it is."""
    if not term.dimension.bare or dimension.bare:
        return term
    return replace(term, value=term.value * EXACT_MM_PER[units] ** dimension.lengths, dimension=dimension)


def alike(terms: Sequence[Term], units: Units, verb: str) -> list[Term]:
    """Terms of one dimension; bare ones take it from the others. ``verb`` says what is done to them in the error."""
    firm = [term for term in terms if not term.dimension.bare]
    if not firm:
        return list(terms)
    other = next((term for term in firm if term.dimension != firm[0].dimension), None)
    if other:
        raise FormulaError(f"{verb} {firm[0]} and {other}: both must be of one kind")
    return [settled(term, firm[0].dimension, units) for term in terms]


def added(left: Term, right: Term, sign: int, units: Units, written: str) -> Term:
    """``left + sign * right``."""
    left, right = alike([left, right], units, "adds" if sign > 0 else "takes the difference of")
    return Term(left.value + sign * right.value, left.dimension, written)


def multiplied(left: Term, right: Term, written: str) -> Term:
    """``left * right``. A bare factor is a number beside a firm length, and leaves a number open."""
    return Term(left.value * right.value, _product(left, right, 1), written)


def divided(left: Term, right: Term, units: Units, written: str) -> Term:
    """``left / right``. A bare number over a length is a length over a length."""
    if right.value == 0:
        raise FormulaError(f"divides by 0, in {written}: there is no such number")
    left = settled(left, right.dimension, units) if right.dimension != NUMBER else left
    return Term(left.value / right.value, _product(left, right, -1), written)


def _product(left: Term, right: Term, power: int) -> Dimension:
    one, other = left.dimension, right.dimension
    if one.angle and other.angle and power < 0:
        return NUMBER
    if one.angle or other.angle:
        firm = other if one.angle else one
        if firm.angle or firm.lengths or (other.angle and power < 0):
            does = "multiplies" if power > 0 else "divides"
            raise FormulaError(f"{does} {left} {'and' if power > 0 else 'by'} {right}: an angle goes with numbers only")
        return ANGLE
    if one.bare and (other.bare or other == NUMBER):
        return BARE
    if other.bare and one == NUMBER and power > 0:
        return BARE
    return Dimension(one.lengths + power * other.lengths)


def called(name: str, terms: Sequence[Term], units: Units, written: str) -> Term:
    """A function of terms; the trigonometry of a bare number is in degrees."""
    if name in ("min", "max"):
        same = alike(terms, units, f"takes the {name} of")
        chosen = (min if name == "min" else max)(same, key=lambda term: term.value)
        return replace(chosen, written=written)
    (term,) = terms
    if name == "abs":
        return Term(abs(term.value), term.dimension, written)
    if name == "sqrt":
        return _root(term, written)
    if name in ("sin", "cos", "tan"):
        return Term(_ratio(name, term), NUMBER, written)
    return Term(_angle(name, term), ANGLE, written)


def _root(term: Term, written: str) -> Term:
    dimension = term.dimension
    if term.value < 0:
        raise FormulaError(f"has {written}, and {term.written} comes to less than 0: no number has that root")
    if dimension.angle or dimension.lengths % 2:
        raise FormulaError(f"has {written}, and {term.written} is {dimension}: sqrt takes a number or an area")
    value = Fraction(math.sqrt(term.value))
    return Term(value, BARE if dimension.bare else Dimension(dimension.lengths // 2), written)


def _ratio(name: str, term: Term) -> Fraction:
    """The sine, cosine or tangent of a term in degrees."""
    if term.dimension.lengths:
        raise FormulaError(f"has {term.written}, {term.dimension}, as the angle of {name}: it takes degrees")
    angle = math.radians(float(term.value % 360))
    if name == "tan" and abs(math.cos(angle)) < SAME_RATIO:
        raise FormulaError(f"has the tan of {term.written}, a right angle: it has none")
    functions: dict[str, Callable[[float], float]] = {"sin": math.sin, "cos": math.cos, "tan": math.tan}
    return Fraction(functions[name](angle))


def _angle(name: str, term: Term) -> Fraction:
    """The angle in degrees whose sine, cosine or tangent a term is."""
    if term.dimension.lengths or term.dimension.angle:
        raise FormulaError(f"has {term.written}, {term.dimension}, in {name}: it takes a number such as rise / run")
    value = float(term.value)
    if name == "atan":
        return Fraction(math.degrees(math.atan(value)))
    if abs(value) > 1 + SAME_RATIO:
        raise FormulaError(f"has {name}({term.written}), which comes to {value:.4g}: {name} takes -1 to 1")
    inverse = math.asin if name == "asin" else math.acos
    return Fraction(math.degrees(inverse(max(-1.0, min(1.0, value)))))
