"""Numbers as the shop writes them: 22 13/16, 3/8, ½, 22½, 580 mm, 1' 10 13/16", 7.5 deg.

Read exactly, as fractions; nothing is rounded here. A numeral binds tighter than any arithmetic around it.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from patterns.formula_error import FormulaError
from patterns.measure import EXACT_MM_PER, INCHES_PER_FOOT

VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒"
UNITS = ("in", "ft", "mm", "cm", "deg")

Form = Literal["decimal", "fraction", "mixed", "vulgar"]

# The look-ahead leaves 3/8.5 to arithmetic, and the alternatives are tried from the longest spelling to the shortest.
_SLASHED = r"(?P<over>[0-9]+)/(?P<under>[0-9]+)(?![0-9.])"
_VULGAR = rf"(?P<vulgar>[{VULGAR}])"
_WHOLE = r"(?P<whole>[0-9]+)"
_SPACED = [re.compile(p) for p in (f"{_WHOLE} +{_SLASHED}", f"{_WHOLE} *{_VULGAR}", _SLASHED, _VULGAR)]
_HYPHENED = [re.compile(p) for p in (f"{_WHOLE}-{_SLASHED}", f"{_WHOLE}-{_VULGAR}")]
_DECIMAL = re.compile(r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+")
_UNIT = re.compile(
    r" *(?:(?P<word>ft(?![A-Za-z_])|(?:in|mm|cm|deg)(?![A-Za-z0-9_]))|(?P<deg>°)|(?P<inch>\"|'')|(?P<foot>'))"
)


class Numeral(Struct, frozen=True):
    """A number read from a text: ``value`` in ``unit`` ("" where none is written), and how it was spelt.

    Feet with inches come as inches. ``feet_alone``: a number of feet written with a prime, and no inches after it.
    """

    value: Fraction
    unit: str
    end: int
    form: Form
    hyphenated: bool = False
    improper: bool = False
    feet_alone: bool = False

    @property
    def mm(self) -> Fraction:
        """The length in millimetres, for a numeral with a unit of length."""
        return self.value * EXACT_MM_PER[self.unit]


def read(text: str, start: int, hyphens: bool = False) -> Numeral | None:
    """The numeral at ``start`` of ``text``, or None. With ``hyphens`` 22-13/16 and 1'-10" are single numerals.

    Raises FormulaError for a numeral that can't be meant: 3/0, feet with millimetres after them.
    """
    amount = _amount(text, start, hyphens)
    if amount is None:
        return None
    unit = _UNIT.match(text, amount.end)
    if unit is None:
        return amount
    marked = replace(amount, unit=_unit_name(unit), end=unit.end())
    if marked.unit != "ft":
        return marked
    after = marked.end
    while text[after : after + 1] == " ":
        after += 1
    if hyphens and text[after : after + 1] == "-" and after == marked.end:
        after += 1
    inches = _amount(text, after, hyphens)
    if inches is None:
        return replace(marked, feet_alone=bool(unit["foot"]))
    return _feet_and_inches(text, start, marked, inches)


def spelt(value: Fraction) -> str:
    """A number as a mixed fraction: 22 13/16, 3/8, 4, -1 1/2."""
    sign, (whole, part) = ("-" if value < 0 else ""), divmod(abs(value), 1)
    if part == 0:
        return f"{sign}{whole}"
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


def _unit_name(unit: re.Match[str]) -> str:
    return unit["word"] or ("deg" if unit["deg"] else "in" if unit["inch"] else "ft")


def _feet_and_inches(text: str, start: int, feet: Numeral, inches: Numeral) -> Numeral:
    """Feet with inches after them: after feet a bare number is inches."""
    unit = _UNIT.match(text, inches.end)
    end = unit.end() if unit else inches.end
    written = text[start:end]
    if unit and _unit_name(unit) != "in":
        raise FormulaError(f"has {written}: after feet come inches, so write one unit or join the two with +")
    if feet.value.denominator != 1:
        raise FormulaError(f"has {written}: write whole feet before inches, or inches alone")
    total = feet.value * INCHES_PER_FOOT + inches.value
    if inches.value >= INCHES_PER_FOOT:
        carried = f"{total // INCHES_PER_FOOT}' {spelt(total % INCHES_PER_FOOT)}\""
        raise FormulaError(
            f"has {written}, a foot or more of inches after the feet: write {carried} or {spelt(total)} in"
        )
    return replace(
        inches,
        value=total,
        unit="in",
        end=end,
        hyphenated="-" in written,
        improper=feet.improper or inches.improper,
    )


def _amount(text: str, start: int, hyphens: bool) -> Numeral | None:
    """The number at ``start``, without its unit."""
    for pattern in _HYPHENED + _SPACED if hyphens else _SPACED:
        match = pattern.match(text, start)
        if match:
            return _with_fraction(match)
    match = _DECIMAL.match(text, start)
    if match is None:
        return None
    return Numeral(Fraction(match[0].rstrip(".")), "", match.end(), "decimal")


def _with_fraction(match: re.Match[str]) -> Numeral:
    parts = match.groupdict()
    whole = parts.get("whole")
    if parts.get("vulgar"):
        part = Fraction(unicodedata.numeric(parts["vulgar"])).limit_denominator(10)
        form: Form = "vulgar"
    else:
        if int(parts["under"]) == 0:
            raise FormulaError(f"divides by 0, in {parts['over']}/{parts['under']}: there is no such number")
        part = Fraction(int(parts["over"]), int(parts["under"]))
        form = "mixed" if whole else "fraction"
    return Numeral(int(whole or 0) + part, "", match.end(), form, hyphenated="-" in match[0], improper=part >= 1)
