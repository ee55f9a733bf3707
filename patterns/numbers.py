"""How a number is written into a drawing file."""

from __future__ import annotations

import math

DECIMALS = 5
"""Of a millimetre in a file: 0.00001 mm, far under the 0.005 mm that a printed line may stray."""


def decimal(value: float, places: int = DECIMALS) -> str:
    """``value`` with at most ``places`` decimals: no exponent, no trailing zeros, never -0.

    Raises ValueError for a value that is not finite.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} can't be written into a drawing")
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
