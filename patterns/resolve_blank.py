"""The blank of a part, worked out: its corners, the names of its edges and corners."""

from __future__ import annotations

from collections.abc import Sequence

from patterns import blank as blanks
from patterns.names import IDENTIFIER
from patterns.partmodel import BlankTable
from patterns.piece import BlankSpec, Given
from patterns.tables import given_keys
from patterns.values import Values
from patterns.wording import inside, listed, quoted

SIDES = ("bottom", "right", "top", "left")
CORNERS = ("bottom_left", "bottom_right", "top_right", "top_left")

FORMS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rectangle": (("length", "width"), ()),
    "trapezoid": (("bottom", "top", "height"), ("overhang_left",)),
    "polygon": (("vertices",), ("edge_names",)),
}
"""For each form of blank the keys that it needs and those that it may have."""

ALL_FORMS = "{ length, width }, { bottom, top, height } or { vertices }"


def resolve_blank(table: BlankTable, place: str, values: Values) -> BlankSpec | None:
    """The blank, or None where there is a mistake in it."""
    form = _form(table, place, values)
    before = values.mistakes.marks
    if form == "rectangle":
        spec = _rectangle(table, place, values)
    elif form == "trapezoid":
        spec = _trapezoid(table, place, values)
    elif form == "polygon":
        spec = _polygon(table, place, values)
    else:
        return None
    if spec is None or values.mistakes.marks != before:
        return None
    for problem in blanks.problems(spec):
        values.mistakes.broke(problem.place, problem.what)
    return spec if values.mistakes.marks == before else None


def names_of(table: BlankTable) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """The names of the edges and of the corners, as far as they can be told whatever else is wrong with the blank."""
    given = given_keys(table)
    if not given:
        return None
    if _likeliest_form(given) != "polygon":
        return SIDES, CORNERS
    if table.vertices is None:
        return None
    count = len(table.vertices)
    names = table.edge_names or [f"edge_{k + 1}" for k in range(count)]
    return tuple(names), tuple(f"corner_{k + 1}" for k in range(count))


def _likeliest_form(given: Sequence[str]) -> str:
    return max(FORMS, key=lambda name: sum(key in given for key in FORMS[name][0] + FORMS[name][1]))


def _form(table: BlankTable, place: str, values: Values) -> str | None:
    """Which form of blank the keys make; anything missing or too much is told."""
    given = given_keys(table)
    if not given:
        values.mistakes.broke(place, f"a blank is one of {ALL_FORMS}")
        return None
    form = _likeliest_form(given)
    needed, allowed = FORMS[form]
    strange = [key for key in given if key not in needed + allowed]
    missing = [key for key in needed if key not in given]
    for key in strange:
        values.mistakes.broke(inside(place, key), f"does not belong to a {form}; a blank is one of {ALL_FORMS}")
    for key in missing:
        also = listed((quoted(key) for key in given if key in needed + allowed), "and")
        values.mistakes.broke(inside(place, key), f"is missing beside {also}")
    return None if missing else form


def _rectangle(table: BlankTable, place: str, values: Values) -> BlankSpec | None:
    length = values.optional_length(table.length, inside(place, "length"), "positive")
    width = values.optional_length(table.width, inside(place, "width"), "positive")
    if length is None or width is None:
        return None
    x, y = length.value, width.value
    corners = ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))
    return BlankSpec("rectangle", corners, SIDES, CORNERS, (("length", length), ("width", width)), place)


def _trapezoid(table: BlankTable, place: str, values: Values) -> BlankSpec | None:
    bottom = values.optional_length(table.bottom, inside(place, "bottom"), "positive")
    top = values.optional_length(table.top, inside(place, "top"), "positive")
    height = values.optional_length(table.height, inside(place, "height"), "positive")
    overhang = values.optional_length(table.overhang_left, inside(place, "overhang_left"))
    if bottom is None or top is None or height is None:
        return None
    figures: list[tuple[str, Given]] = [("bottom", bottom), ("top", top), ("height", height)]
    left = (top.value - bottom.value) / 2.0
    if overhang is not None:
        figures.append(("overhang_left", overhang))
        left = overhang.value
    corners = ((0.0, 0.0), (bottom.value, 0.0), (top.value - left, height.value), (-left, height.value))
    return BlankSpec("trapezoid", corners, SIDES, CORNERS, tuple(figures), place)


def _polygon(table: BlankTable, place: str, values: Values) -> BlankSpec | None:
    written = table.vertices or []
    corners = values.pairs(written, inside(place, "vertices"), item="vertex")
    names = _edge_names(table.edge_names, len(written), inside(place, "edge_names"), values)
    if names is None or len(corners) != len(written):
        return None
    figures = tuple(
        (f"vertex {k + 1} {axis}", given)
        for k, corner in enumerate(corners)
        for axis, given in zip(("x", "y"), corner, strict=True)
    )
    corner_names = tuple(f"corner_{k + 1}" for k in range(len(corners)))
    vertices = tuple((x.value, y.value) for x, y in corners)
    return BlankSpec("polygon", vertices, names, corner_names, figures, place)


def _edge_names(names: list[str] | None, count: int, place: str, values: Values) -> tuple[str, ...] | None:
    """The names of a polygon's sides, or None where they can't be used."""
    if names is None:
        return tuple(f"edge_{k + 1}" for k in range(count))
    before = values.mistakes.marks
    if len(names) != count:
        values.mistakes.add(place, f"there are {len(names)} names for {count} sides; each side needs one")
    for k, name in enumerate(names):
        where = inside(place, f"name {k + 1}")
        if not IDENTIFIER.match(name):
            values.mistakes.add(where, f"{quoted(name)} must be letters, digits and _, and start with a letter")
        elif name in names[:k]:
            values.mistakes.add(where, f"{quoted(name)} is also name {names.index(name) + 1}; no two sides share one")
        elif name.startswith("corner_"):
            values.mistakes.add(where, f"{quoted(name)} is kept for the corners; choose another")
    return tuple(names) if values.mistakes.marks == before else None
