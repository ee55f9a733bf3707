"""The printer's correction: the map that a job is drawn through so that it comes out of the printer true.

A printer that stretches and skews its pages prints ``D`` times what is drawn; what is drawn through ``C = D^-1`` is
printed true.
"""

from __future__ import annotations

import math

from msgspec import Struct

from patterns.affine import Affine
from tiling.units import Json

NO_CORRECTION = Affine()
"""A printer that is taken at its word."""

READ_TO_MM = 0.25
"""A careful eye reads a steel rule to this (common practice, no source): it is off by half of it at most."""

MOST_OFF = 0.25
"""No number of a correction is further than this from what leaves a page alone: no printer is that far off."""

_QUARTER = Affine.rotation(math.pi / 2)


class Printer(Struct, frozen=True):
    """A printer by its name and the correction for it, in the frame of an upright page (x across its short side, y up).

    ``scale_error`` says how well it is known: one standard deviation of a corrected length, as a part of that length, in
    the direction in which it is known worst. It is 0 where nothing is known of it.
    """

    name: str = ""
    correction: Affine = NO_CORRECTION
    scale_error: float = 0.0

    @property
    def is_known(self) -> bool:
        """Whether sheets are drawn for a certain printer."""
        return self.name != "" or self.correction != NO_CORRECTION

    @property
    def lying_correction(self) -> Affine:
        """The correction in the frame of a page that lies on its side.

        Such a page is turned by R, a quarter turn, to be printed on upright paper: R^-1 C R. Which way it is turned does
        not matter: the other way R is -R, and (-R)^-1 C (-R) = R^-1 C R.
        """
        return _QUARTER.inverse() @ self.correction @ _QUARTER

    def to_json(self) -> Json:
        """For the record that a printed job carries."""
        named = {"printer": {"name": self.name, "scale_error": self.scale_error}} if self.name else {}
        return {"correction": list(self.correction.values()), **named}

    @classmethod
    def from_json(cls, value: Json) -> Printer:
        """What ``to_json`` wrote, among other keys. KeyError, TypeError or ValueError where no printer is like that."""
        a, b, c, d, e, f = (float(number) for number in value["correction"])
        off = (a - 1.0, b, c, d - 1.0)
        if not all(abs(number) <= MOST_OFF for number in off) or (e, f) != (0.0, 0.0):
            raise ValueError("a correction for no printer")
        named = value.get("printer", {"name": "", "scale_error": 0.0})
        error = float(named["scale_error"])
        if not 0.0 <= error <= MOST_OFF:
            raise ValueError("a printer that is known as none can be")
        return cls(str(named["name"]), Affine(a, b, c, d), error)


NO_PRINTER = Printer()
"""What sheets are drawn for where no printer is named."""


def skew_of(correction: Affine) -> float:
    """By how much (radians) a right angle that is drawn through the correction is opened or closed."""
    along = math.atan2(correction.b, correction.a)
    return math.atan2(correction.d, correction.c) - along - math.pi / 2


def in_words(printer: Printer) -> str:
    """What the correction does, in figures; nothing where there is none."""
    if printer.correction == NO_CORRECTION:
        return "nothing to correct" if printer.is_known else ""
    c = printer.correction
    across, down = (math.hypot(c.a, c.b) - 1) * 100, (math.hypot(c.c, c.d) - 1) * 100
    return f"{_signed(across)} % across, {_signed(down)} % down, skew {_signed(math.degrees(skew_of(c)))}°"


def _signed(value: float) -> str:
    """To two places, with its sign and never -0.00."""
    return f"{round(value, 2) + 0.0:+.2f}"


def corrected_for(printer: Printer) -> str:
    """The same with the printer's name; nothing where no printer is named."""
    if not printer.is_known:
        return ""
    return f'corrected for "{printer.name}": {in_words(printer)}' if printer.name else f"corrected {in_words(printer)}"


PRINTS_TRUE = "prints true, as far as a rule can show"


def made_for(printer: Printer) -> str:
    """What sheets are with regard to a printer, in a sentence: ``corrected for "study": ...``; nothing for none."""
    if printer.name and printer.correction == NO_CORRECTION:
        return f'for "{printer.name}", which {PRINTS_TRUE}: nothing is corrected'
    return corrected_for(printer)


SAME = 2e-9
"""Corrections that differ by less differ by float noise."""


def is_alike(one: Printer, other: Printer) -> bool:
    """Whether sheets for the two fit each other: their corrections are the same."""
    pairs = zip(one.correction.values(), other.correction.values(), strict=True)
    return all(abs(a - b) <= SAME for a, b in pairs)
