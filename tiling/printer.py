"""The printer's correction: the map that a job is drawn through so that it comes out of the printer true."""

from __future__ import annotations

from patterns.affine import Affine

NO_CORRECTION = Affine()
"""A printer that is taken at its word."""


def in_words(correction: Affine) -> str:
    """What a sheet says of its correction; nothing where there is none."""
    if correction == NO_CORRECTION:
        return ""
    across, down = (correction.a - 1) * 100, (correction.d - 1) * 100
    return f"; corrected {across:+.2f} % across, {down:+.2f} % down"
