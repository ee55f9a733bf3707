"""What can be measured on a box, by name, and how each figure follows from its shape."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from patterns.carcass.box import ENDS, SIDES, WALLS, WallName
from patterns.carcass.figures import in_words

_WALL_WORDS = {
    "side": SIDES,
    "sides": SIDES,
    "end": ENDS,
    "ends": ENDS,
    **{in_words(name): (name,) for name in WALLS},
}


class Shape(Struct, frozen=True):
    """The unknowns: plan at the bottom (outside) and height in mm, splays in radians by wall."""

    length: float
    width: float
    height: float
    splays: Mapping[WallName, float]


Figure = Callable[[Shape], float]
"""A measure of a shape: mm; of a slope the offset over the whole height."""


def figures(thicknesses: Mapping[WallName, float], at: str) -> dict[str, Figure]:
    """Everything that can be measured, by name, of the outside or of the inside faces."""

    def reach(shape: Shape, name: WallName, z: float) -> float:
        """From the middle of the plan to a wall's face at a height."""
        half = (shape.width if name in SIDES else shape.length) / 2
        lean = shape.splays[name]
        return half + z * math.tan(lean) - (thicknesses[name] / math.cos(lean) if at == "inside" else 0.0)

    def across(names: Sequence[WallName], top: bool) -> Figure:
        return lambda shape: sum(reach(shape, name, shape.height if top else 0.0) for name in names)

    def level_diagonal(top: bool) -> Figure:
        return lambda shape: math.hypot(across(SIDES, top)(shape), across(ENDS, top)(shape))

    def corner(one: WallName, other: WallName) -> Figure:
        return lambda shape: (
            shape.height * math.sqrt(1.0 + math.tan(shape.splays[one]) ** 2 + math.tan(shape.splays[other]) ** 2)
        )

    def face_diagonal(name: WallName) -> Figure:
        beside = ENDS if name in SIDES else SIDES

        def found(shape: Shape) -> float:
            low, high = reach(shape, beside[0], 0.0), reach(shape, beside[1], shape.height)
            slant = shape.height / math.cos(shape.splays[name])
            return math.hypot(low + high, slant)

        return found

    found: dict[str, Figure] = {
        "bottom length": across(ENDS, False),
        "bottom width": across(SIDES, False),
        "top length": across(ENDS, True),
        "top width": across(SIDES, True),
        "height": lambda shape: shape.height,
        "bottom diagonal": level_diagonal(False),
        "top diagonal": level_diagonal(True),
        "corner": corner("right_side", "foot_board"),
    }
    for end in ENDS:
        for side in SIDES:
            found[f"corner of {in_words(end)} and {in_words(side)}"] = corner(side, end)
    for words, names in _WALL_WORDS.items():
        name = names[0]
        found[f"slant of {words}"] = lambda shape, name=name: shape.height / math.cos(shape.splays[name])  # type: ignore[misc]
        found[f"slope of {words}"] = lambda shape, name=name: math.tan(shape.splays[name]) * shape.height  # type: ignore[misc]
        found[f"diagonal of {words}"] = face_diagonal(name)
    return found


def names_alike(readings: Sequence[str]) -> tuple[tuple[WallName, ...], ...]:
    """The walls that lean alike: both of a pair, unless one of them is measured by itself."""
    groups: list[tuple[WallName, ...]] = []
    for pair in (SIDES, ENDS):
        single = any(in_words(name) in of for name in pair for of in readings)
        groups += [(name,) for name in pair] if single else [pair]
    return tuple(groups)
