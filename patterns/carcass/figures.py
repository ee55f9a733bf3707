"""The figures of a carcass's tables, worked out: a value for each wall, heights, bevels, fingers."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from patterns.carcass.box import SIDES, WALLS, WallName
from patterns.carcass.model import FingersTable, HeightTable, WallsTable
from patterns.carcass.ring import Bevel
from patterns.partmodel import Value
from patterns.piece import Given
from patterns.tables import given_keys
from patterns.values import Values
from patterns.wording import inside, named_place, quoted, rather

MOST_SPLAY = math.radians(75)
"""Past this a wall is a floor; no saw cuts its edges."""

MOST_BEVEL = math.radians(75)
_PAIRS: dict[str, tuple[WallName, ...]] = {"sides": SIDES, "ends": ("foot_board", "head_board")}

Read = Callable[[Value, str], Given | None]


def of_walls(table: Value | WallsTable | None, place: str, read: Read, values: Values) -> dict[WallName, Given] | None:
    """A value for each wall; None where one is missing or wrong, which is told."""
    if table is None:
        values.mistakes.broke(place, "is missing; it is one figure for all walls, or { sides, ends }")
        return None
    if not isinstance(table, WallsTable):
        given = read(table, place)
        return None if given is None else dict.fromkeys(WALLS, given)
    found: dict[WallName, Given] = {}
    said: dict[WallName, str] = {}
    is_right = True
    for key in given_keys(table):
        where = inside(place, key)
        given = read(getattr(table, key), where)
        for name in _PAIRS.get(key, (key,)):
            if name in said:
                values.mistakes.add(where, f"is said by {said[name]} already; say it once")
                is_right = False
            said[name] = key
            if given is None:
                is_right = False
            else:
                found[name] = given
    for name in WALLS:
        if name not in said:
            values.mistakes.add(place, f"says nothing of the {in_words(name)}; give {name}, or one figure for both")
            is_right = False
    return found if is_right and len(found) == 4 else None


def in_words(name: str) -> str:
    """A wall's name as one says it."""
    return name.replace("_", " ")


def splay_reader(values: Values) -> Read:
    """Reads a splay: an angle or a slope, of which a wall is left."""

    def read(value: Value, place: str) -> Given | None:
        given = values.angle(value, place)
        if given is not None and abs(given.value) > MOST_SPLAY:
            most = f"{math.degrees(MOST_SPLAY):g}"
            values.mistakes.broke(place, f"{given.written} is more than a wall can lean; {most} degrees is the most")
            return None
        return given

    return read


def length_reader(values: Values, positive: bool = True) -> Read:
    """Reads a length, more than 0 unless it may be 0."""
    return lambda value, place: values.length(value, place, "positive" if positive else "not negative")


class Heights(Struct, frozen=True):
    """Heights as given: of the sides at the head board and at the foot board, and of the end boards."""

    at_head: Given
    at_foot: Given
    head_board: Given
    foot_board: Given

    def by_wall(self, less: float) -> dict[WallName, tuple[float, float]]:
        """For each wall the height at its left and its right end, seen from outside, ``less`` mm taken off."""
        head, foot = self.head_board.value - less, self.foot_board.value - less
        at_head, at_foot = self.at_head.value - less, self.at_foot.value - less
        return {
            "foot_board": (foot, foot),
            "right_side": (at_foot, at_head),
            "head_board": (head, head),
            "left_side": (at_head, at_foot),
        }

    @property
    def least(self) -> Given:
        """The least of them."""
        return min((self.at_head, self.at_foot, self.head_board, self.foot_board), key=lambda given: given.value)


def heights_of(table: Value | HeightTable, place: str, values: Values) -> Heights | None:
    """The heights, None where one is wrong."""
    read = length_reader(values)
    if not isinstance(table, HeightTable):
        given = read(table, place)
        return None if given is None else Heights(given, given, given, given)
    sides = table.sides if isinstance(table.sides, tuple | list) else (table.sides, table.sides)
    names = ("at the head", "at the foot") if isinstance(table.sides, tuple | list) else ("", "")
    at = [
        read(value, inside(inside(place, "sides"), name) if name else inside(place, "sides"))
        for value, name in zip(sides, names, strict=True)
    ]
    ends = [
        read(value, inside(place, key)) if value is not None else beside
        for key, value, beside in (("head_board", table.head_board, at[0]), ("foot_board", table.foot_board, at[1]))
    ]
    if at[0] is None or at[1] is None or ends[0] is None or ends[1] is None:
        return None
    return Heights(at[0], at[1], ends[0], ends[1])


def bevels_of(
    said: Mapping[str, Value], walls: Sequence[str], place: str, values: Values
) -> dict[str, Bevel | float | str]:
    """How edges are cut across the thickness, by edge."""
    found: dict[str, Bevel | float | str] = {}
    for edge, value in said.items():
        where = named_place(inside(place, "bevels"), edge)
        if edge not in ("top", "bottom"):
            values.mistakes.broke(where, "a bevel is of the top or the bottom edge; the ends follow from the joints")
        elif edge == "bottom" and isinstance(value, str) and value in walls:
            values.mistakes.broke(
                where, "only a top edge is cut in the plane of another wall's; all bottoms stand level"
            )
        elif value in ("level", "square", "plumb") or (isinstance(value, str) and value in walls):
            found[edge] = value
        elif isinstance(value, str) and value.replace("_", "").isalpha() and value not in values.names:
            known = ["level", "square", "plumb", *walls]
            values.mistakes.broke(
                where, f"must be {', '.join(known)} or degrees, not {quoted(value)}; {rather(value, known)}"
            )
        else:
            given = values.angle(value, where)
            if given is not None and abs(given.value) > MOST_BEVEL:
                values.mistakes.broke(where, f"{given.written} runs almost along the face; 75 degrees is the most")
            elif given is not None:
                found[edge] = given.value
    return found


class FingerFigures(Struct, frozen=True):
    """Fingers as given; of ``spacing`` and ``count`` one is None."""

    spacing: Given | None
    count: int | None
    table: FingersTable
    proud: float
    play: float
    place: str


MOST_FINGERS = 400


def fingers_of(table: FingersTable, place: str, values: Values) -> FingerFigures | None:
    """The figures of finger joints; None where they are wrong."""
    spacing = values.optional_length(table.spacing, inside(place, "spacing"), "positive")
    proud = values.optional_length(table.proud, inside(place, "proud"), "not negative")
    play = values.optional_length(table.play, inside(place, "play"), "not negative")
    before = values.mistakes.marks
    if (table.spacing is None) == (table.count is None):
        values.mistakes.add(place, "needs either spacing (one finger and one gap) or count (fingers and gaps in all)")
    if table.count is not None and not 2 <= table.count <= MOST_FINGERS:
        values.mistakes.broke(inside(place, "count"), f"must be from 2 to {MOST_FINGERS}, not {table.count}")
    if values.mistakes.marks != before or (table.spacing is not None and spacing is None):
        return None
    return FingerFigures(spacing, table.count, table, proud.value if proud else 0.0, play.value if play else 0.0, place)
