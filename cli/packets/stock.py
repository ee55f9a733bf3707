"""The blanks that a piece is cut from, by wood and thickness: what to buy, or to look for in the rack."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from patterns.display import Display
from patterns.part import Part

UNSAID = "not said"


class BlankToCut(Struct, frozen=True):
    """So many straight-sided blanks of a size (mm) for one part; ``thickness_mm`` is None where the file does not say it."""

    part: str
    quantity: int
    length_mm: float
    width_mm: float
    thickness_mm: float | None
    wood: str

    def to_json(self) -> dict[str, object]:
        """For a program."""
        return {
            "part": self.part,
            "quantity": self.quantity,
            "length_mm": self.length_mm,
            "width_mm": self.width_mm,
            "thickness_mm": self.thickness_mm,
            "wood": self.wood,
        }

    def row(self, display: Display) -> tuple[str, str, str, str, str]:
        """Part, how many, size, thickness, wood, in words."""
        size = f"{display.both(self.length_mm)} by {display.both(self.width_mm)}"
        thickness = display.both(self.thickness_mm) if self.thickness_mm is not None else UNSAID
        return (self.part, str(self.quantity), size, thickness, self.wood or UNSAID)


HEAD = ("part", "blanks", "length by width", "thickness", "wood")


def blanks_of(parts: Sequence[Part]) -> tuple[BlankToCut, ...]:
    """The blanks, those of one wood and one thickness together, the largest first.

    Sizes are those of the finished part's own blank: nothing is added for planing, saw kerfs or defects. A part that is
    glued up is one blank, as wide as all its boards together.
    """
    found = []
    for part in parts:
        x0, y0, x1, y1 = part.blank.bounds
        thickness = part.spec.thickness.value if part.spec.thickness is not None else None
        found.append(BlankToCut(part.name, part.spec.quantity, x1 - x0, y1 - y0, thickness, part.spec.wood))
    order = {key: k for k, key in enumerate(dict.fromkeys((one.wood, one.thickness_mm) for one in found))}
    return tuple(sorted(found, key=lambda one: (order[one.wood, one.thickness_mm], -one.length_mm * one.width_mm)))
