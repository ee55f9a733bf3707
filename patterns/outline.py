"""A closed boundary with holes: exact area and centroid, and whether it is sound."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from patterns.curve import Curve


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed boundary, counter-clockwise, and the holes in it, clockwise. Both are turned round if they run otherwise."""

    boundary: Curve
    holes: tuple[Curve, ...] = ()
