"""Figures and sizes of any unit: read as a maker writes them, shown as a rule shows them, and exactly."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from cli.figures import Unit
from patterns import formula
from patterns.display import ANGLE_STEP_DEG, Display
from patterns.errors import PatternError
from patterns.measure import EXACT_MM_PER
from patterns.numeral import spelt

if TYPE_CHECKING:
    from patterns.piece import Size

UNIT_OF: dict[str, Unit] = {"length": "mm", "angle": "deg", "number": ""}
"""The unit in which a size of each kind is tried."""

_WANTED: dict[Unit, Literal["length", "angle", "number"]] = {"mm": "length", "deg": "angle"}
_AREA = re.compile(r"(.*\S)\s*(?:sq|square)\s*(in|ft|mm|cm)\.?\Z", re.IGNORECASE)
_FINEST = Fraction(1, 64)
_DECIMALS: dict[str, int] = {"in": 4, "mm": 3, "cm": 4}
_EXACT_DECIMALS: dict[str, int] = {"in": 11, "mm": 10, "cm": 11}


def read(text: str, unit: Unit, display: Display, place: str) -> float:
    """A value as written for a figure in ``unit``; a bare number of a length is in the file's own unit.

    Raises PatternError with ``place`` where it is no such value.
    """
    try:
        if unit == "mm2":
            return _area(text)
        plain = text.removesuffix(unit).rstrip() if unit in ("kg", "s") else text
        value = formula.evaluate(plain, wanted=_WANTED.get(unit, "number"), units=display.units, names={}).value
    except formula.FormulaError as error:
        raise PatternError.of(place, str(error)) from error
    return math.degrees(value) if unit == "deg" else value


def _area(text: str) -> float:
    match = _AREA.match(text)
    if match is None:
        raise formula.FormulaError("is no area: write it as 80 sq in, 500 sq cm or 50000 sq mm", text)
    number = formula.evaluate(match[1], wanted="number", units="mm", names={}).value
    return number * float(EXACT_MM_PER[match[2].lower()]) ** 2


# -------------------------------------------------------------------- showing


def shown(value: float, unit: Unit, display: Display) -> str:
    """A figure as it is worked to: to the division of a rule, marked where that rounds it, or to a tenth of a degree."""
    if unit == "mm":
        return display.length(value)
    if unit == "mm2":
        return display.area(value)
    return display.angle(math.radians(value)) if unit == "deg" else f"{value:.6g}{_unit(unit)}"


def finely(value: float, unit: Unit, display: Display) -> str:
    """A figure finer than any rule: a fraction where it is one, else decimals; angles to a thousandth of a degree."""
    if unit == "mm":
        units = display.units
        amount = value / float(EXACT_MM_PER[units])
        near = Fraction(round(amount / _FINEST) * _FINEST)
        if units == "in" and abs(amount - near) < 1e-7:
            return f"{spelt(near)} in"
        return f"{_plain(amount, _DECIMALS[units])} {units}"
    if unit == "mm2":
        return _area_of(value, display)
    return f"{_plain(value, 3)}°" if unit == "deg" else f"{value:.8g}{_unit(unit)}"


def difference(value: float, unit: Unit, display: Display) -> str:
    """A difference with its sign, finer than any rule: +0.013 in; an empty text for none to speak of."""
    if unit in ("mm", "deg"):
        own, name = (display.units, f" {display.units}") if unit == "mm" else ("", "°")
        amount = value / float(EXACT_MM_PER[own]) if own else value
        decimals = {"in": 3, "mm": 2, "cm": 3}.get(own, 2)
        text = f"{amount:+.{decimals}f}"
        if float(text) != 0.0:
            return f"{text}{name}"
        return "none" if abs(value) < 1e-6 else f"{amount:+.1g}{name}".replace("e-0", "e-")
    if unit == "mm2":
        return "none" if abs(value) < 1e-6 else f"{'+' if value > 0 else ''}{_area_of(value, display)}"
    return "none" if abs(value) < 1e-9 else f"{value:+.4g}{_unit(unit)}"


def _area_of(mm2: float, display: Display) -> str:
    return f"{_plain(mm2 / 25.4**2, 3)} sq in" if display.units == "in" else f"{_plain(mm2 / 100.0, 2)} sq cm"


def typed(value: float, size: Size, display: Display) -> str:
    """A size's value (mm, degrees or a number) to type: a fraction of an inch where it is one, else all its decimals."""
    if size.kind == "length":
        units = display.units
        amount = value / float(EXACT_MM_PER[units])
        near = Fraction(round(amount * 64), 64)
        if units == "in" and abs(amount - near) < 1e-11 * max(1.0, abs(amount)):
            return spelt(near)
        return f"{_plain(amount, _EXACT_DECIMALS[units])} {units}"
    return f"{_plain(value, 12)} deg" if size.kind == "angle" else _plain(value, 12)


def _plain(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _unit(unit: Unit) -> str:
    return f" {unit}" if unit else ""


# -------------------------------------------------------------------- divisions


def division(size: Size, display: Display, span: float) -> float:
    """What a size is set to in the shop: the division of the rule (mm), a tenth of a degree; for a number a hundredth,
    or less where its range (``span``) is small."""
    if size.kind == "angle":
        return ANGLE_STEP_DEG
    if size.kind == "length":
        return 25.4 / display.inch_fraction if display.units == "in" else display.metric_step_mm
    return min(0.01, 10.0 ** (math.floor(math.log10(span)) - 2)) if span > 0.0 else 0.01


def beside(value: float, step: float) -> tuple[float, ...]:
    """The whole multiples of ``step`` below and above a value; the one that it is, if it is one."""
    count = value / step
    nearest = round(count)
    if abs(count - nearest) < 1e-7:
        return (nearest * step,)
    return math.floor(count) * step, math.ceil(count) * step
