"""Papers by name or by size."""

from __future__ import annotations

import re
from typing import Literal

from msgspec import Struct

from patterns import formula
from patterns.errors import PatternError

_INCH = 25.4

_NAMED = {
    # ISO 216:2007, A series, in mm
    "A5": (148.0, 210.0),
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    # ANSI/ASME Y14.1 A and B, and US office sizes
    "letter": (8.5 * _INCH, 11.0 * _INCH),
    "legal": (8.5 * _INCH, 14.0 * _INCH),
    "tabloid": (11.0 * _INCH, 17.0 * _INCH),
}

_OF_INCHES = ("letter", "legal", "tabloid")

LEAST_SIDE_MM = 100.0
MOST_SIDE_MM = 14400 / 72.0 * _INCH
"""14,400 units a side: the limit of common PDF viewers (ISO 32000-1, annex C), 5.08 m."""
WIDEST_ROLL_MM = 1700.0
"""No plotter takes wider paper (common practice, no source)."""


class Paper(Struct, frozen=True):
    """A sheet of paper, upright: ``width_mm`` is never more than ``height_mm``; or a length of paper off a roll.

    A roll's width is that of the roll; its height is how long a page may be, and then how long this page is.
    """

    name: str
    width_mm: float
    height_mm: float
    roll: bool = False

    def cut_to(self, height_mm: float) -> Paper:
        """A piece of this roll."""
        return Paper(self.name, self.width_mm, height_mm, roll=True)

    def to_json(self) -> list[str | float | bool]:
        """For the record that a printed job carries."""
        return [self.name, self.width_mm, self.height_mm, *([True] if self.roll else [])]


def paper_from_json(value: list[str | float | bool]) -> Paper:
    """What ``to_json`` wrote. Raises ValueError where no paper is like that."""
    name, across, up, *rest = value
    width, height, roll = float(across), float(up), bool(rest)
    least = 1.0 if roll else width
    if not (0.0 < width <= MOST_SIDE_MM and least <= height <= MOST_SIDE_MM):
        raise ValueError("there is no such paper")
    return Paper(str(name), width, height, roll)


def names() -> tuple[str, ...]:
    """The papers that have a name."""
    return tuple(_NAMED)


def units_of(paper: Paper) -> Literal["in", "mm"] | None:
    """The unit in which people measure who use this paper; None where its name does not tell."""
    if paper.name not in _NAMED:
        return None
    return "in" if paper.name in _OF_INCHES else "mm"


def paper(text: str, units: Literal["in", "mm", "cm"] = "mm") -> Paper:
    """The paper named ``text``, or of the size ``W x H`` (a bare number is in ``units``).

    Raises PatternError with the names to choose from.
    """
    for name, (width, height) in _NAMED.items():
        if name.lower() == text.strip().lower():
            return Paper(name, width, height)
    if text.strip().lower().startswith("roll"):
        return _roll(text, units)
    sides = re.split(r"\s*[x×]\s*", text.strip().lower())
    if len(sides) != 2:
        known = ", ".join(_NAMED)
        raise PatternError.of(
            "--paper",
            f'"{text}" is not a known paper: one of {known}, a size like "12 in x 18 in", or a roll like "roll 24 in"',
        )
    width, height = sorted(_side(side, sides, units) for side in sides)
    if width < LEAST_SIDE_MM or height > MOST_SIDE_MM:
        raise PatternError.of("--paper", f'"{text}": each side must be between 100 mm and 5.08 m')
    return Paper(f"{width:.4g} x {height:.4g} mm", width, height)


def _roll(text: str, units: Literal["in", "mm", "cm"]) -> Paper:
    """Paper off a roll: "roll 24 in" is as wide as it says, and as long as it needs to be."""
    written = text.strip()[4:].strip()
    if not written:
        raise PatternError.of("--paper", 'a roll needs its width, such as "roll 24 in" or "roll 610 mm"')
    width = _side(written, [written, written], units)
    if not LEAST_SIDE_MM <= width <= WIDEST_ROLL_MM:
        raise PatternError.of("--paper", f'"{text}": a roll must be between 100 mm and 1.7 m wide')
    unit = re.search(r"(mm|cm|in|\")\s*$", written)
    return Paper(f"roll {written}" + ("" if unit else f" {units}"), width, MOST_SIDE_MM, roll=True)


def _side(text: str, both: list[str], units: Literal["in", "mm", "cm"]) -> float:
    """One side in mm; a unit after the second alone holds for both, as people write it."""
    unit = re.search(r"(mm|cm|in|\")\s*$", both[1])
    if unit and not re.search(r"[a-z\"']", text):
        text += " " + unit.group(1)
    try:
        return formula.evaluate(text, wanted="length", units=units, names={}).value
    except formula.FormulaError as error:
        raise PatternError.of("--paper", str(error)) from error
