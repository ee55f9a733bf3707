"""What the teacher is told of a class: who has which sizes, how much paper and wood, and who needs a set-up of their own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from cli import report
from cli.packets.members import Made, SetUp
from cli.packets.stock import UNSAID
from patterns.display import Display
from patterns.errors import Problem

WIDTH = 80


def text(title: str, made: Sequence[Made], left_out: Sequence[Problem], display: Display) -> str:
    """The summary as plain text."""
    with report.at_width(WIDTH):
        return "\n".join(_lines(title, made, left_out, display)) + "\n"


def as_json(title: str, made: Sequence[Made], left_out: Sequence[Problem]) -> dict[str, object]:
    """The same for a program, in millimetres and degrees."""
    return {
        "title": title,
        "members": [_member(one) for one in made],
        "left_out": [{"place": problem.place, "what": problem.what} for problem in left_out],
        "sheet_counts": dict(_sheets(made)),
        "stock": [
            {"length_mm": length, "width_mm": width, "thickness_mm": thick, "wood": wood, "quantity": count}
            for (wood, thick, length, width), count in _stock(made)
        ],
    }


def _lines(title: str, made: Sequence[Made], left_out: Sequence[Problem], display: Display) -> Iterator[str]:
    yield f"{title}: a class of {len(made)}"
    yield from report.heading("Members")
    rows = [(one.row.name, one.file, one.word, _papers(one), "yes" if one.row.mirrored else "") for one in made]
    yield from report.table(("name", "packet", "word", "sheets", "mirrored"), rows)
    yield from report.heading("Sizes of their own")
    own = [one for one in made if one.row.sizes]
    for one in own:
        for size, value in one.row.sizes.items():
            what = "needs a machine set-up of its own" if size in one.altering else "changes no machine setting"
            yield f"{one.row.name}: {size} = {value} ({what})"
    if not own:
        yield "none: all have the file's own"
    yield from report.heading("Machine set-ups of their own")
    groups = _by_set_up(made)
    for set_ups, names in groups:
        yield ", ".join(names)
        yield from (f"  {one.part + ', ' if one.part else ''}{one.address}: {_turn(one)}" for one in set_ups)
    if not groups:
        yield "none: one set-up serves all"
    yield from report.heading("Paper")
    yield from (f"{paper}: {count} sheets" for paper, count in _sheets(made))
    yield from report.heading("Blanks for the whole class")
    stock = [
        (
            str(count),
            f"{display.both(length)} by {display.both(width)}",
            display.both(thick) if thick is not None else UNSAID,
            wood or UNSAID,
        )
        for (wood, thick, length, width), count in _stock(made)
    ]
    yield from report.table(("blanks", "length by width", "thickness", "wood"), stock, right="rlll")
    if left_out:
        yield from report.heading("Left out, since something is wrong with their lines")
        yield from (str(problem) for problem in left_out)


def _papers(one: Made) -> str:
    return ", ".join(f"{count} {paper}" for paper, count in one.sheet_counts.items())


def _turn(one: SetUp) -> str:
    return f"{one.usual:.4g} deg is {one.own:.4g} deg"


def _by_set_up(made: Sequence[Made]) -> list[tuple[tuple[SetUp, ...], list[str]]]:
    """Members who need the same set-up, together."""
    groups: dict[tuple[SetUp, ...], list[str]] = {}
    for one in made:
        if one.set_ups:
            groups.setdefault(one.set_ups, []).append(one.row.name)
    return list(groups.items())


def _sheets(made: Sequence[Made]) -> list[tuple[str, int]]:
    """Sheets by paper. A member who gets two papers prints on one of them; both are counted."""
    found: Counter[str] = Counter()
    for one in made:
        found.update(one.sheet_counts)
    return sorted(found.items())


def _stock(made: Sequence[Made]) -> list[tuple[tuple[str, float | None, float, float], int]]:
    """Blanks of one wood and size, counted over the class."""
    found: Counter[tuple[str, float | None, float, float]] = Counter()
    for one in made:
        for blank in one.stock:
            length, width = round(blank.length_mm, 6), round(blank.width_mm, 6)
            found[(blank.wood, blank.thickness_mm, length, width)] += blank.quantity
    return sorted(found.items(), key=lambda item: (item[0][0], item[0][1] or 0.0, -item[0][2], -item[0][3]))


def _member(one: Made) -> dict[str, object]:
    return {
        "name": one.row.name,
        "packet": one.file,
        "word": one.word,
        "sheets": dict(one.sheet_counts),
        "mirrored": one.row.mirrored,
        "sizes": dict(one.row.sizes),
        "sizes_that_change_no_setting": list(one.plain_sizes),
        "sizes_that_need_a_set_up": list(one.altering),
        "set_ups": [
            {"address": each.address, "part": each.part, "usual_deg": each.usual, "own_deg": each.own}
            for each in one.set_ups
        ],
        "stock": [blank.to_json() for blank in one.stock],
        "warnings": list(one.warnings),
    }
