"""What the teacher is told of a class: who has which sizes, how much paper and wood, and who needs a set-up of their own.

It is put in words once, as sections; the text, the page for a browser and the data all say the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from cli import report
from cli.packets.contents import STOCK
from cli.packets.members import Made
from cli.packets.setups import SetUp
from cli.packets.stock import UNSAID
from patterns.display import Display
from patterns.errors import Problem

if TYPE_CHECKING:
    from jinja2 import Template

    from cli.request import Job

WIDTH = 80
Blanks = tuple[str, float | None, float, float]
"""Wood, thickness, length, width (mm)."""

OWN, AS_ALL = "one of its own", "as for all"
WORDS = "A packet's word is what 'curvewright verify' says of it when it is whole: have members read it out."
SET_UPS = (
    "Angles to set a machine to, in degrees, by the part and the line: the file's own, and the member's. Sizes that alter "
    "none of them are cut with the machines as they stand."
)
COVERS = "Each printing has its cover beside these. Whoever has several papers prints on one of them."


class Section(Struct, frozen=True):
    """A heading, a table under it (``right``: columns set to the right), and what is said below."""

    title: str
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    right: str = ""
    said: tuple[str, ...] = ()


class Summary(Struct, frozen=True):
    """All of it in words, for a class of ``count``."""

    title: str
    count: int
    sections: tuple[Section, ...]

    @property
    def lead(self) -> str:
        """Its first line."""
        return f"{self.title}: a class of {self.count}"


def of_class(job: Job, made: Sequence[Made], left_out: Sequence[Problem]) -> Summary:
    """The summary of a class whose members were handed ``made``."""
    sections = (
        _members(made),
        _sizes(job, made),
        _set_ups(made),
        _paper(made),
        _blanks(made, job.display),
        _wood(made, job.display),
        _warnings(job, made),
        Section("Left out, since something is wrong with their lines", said=tuple(map(str, left_out))),
    )
    return Summary(job.piece.title, len(made), tuple(one for one in sections if one.rows or one.said))


def text(summary: Summary) -> str:
    """As plain text."""
    with report.at_width(WIDTH):
        return "\n".join(_lines(summary)) + "\n"


def html(summary: Summary) -> bytes:
    """As a page for a browser, with nothing in it from elsewhere. Whatever a roster says is shown as text."""
    return (_template().render(summary=summary) + "\n").encode("utf-8")


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined  # late: only a class needs it

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(Path(__file__).with_name("summary.html.jinja").read_text(encoding="utf-8"))


def _lines(summary: Summary) -> Iterator[str]:
    yield summary.lead
    for section in summary.sections:
        yield from report.heading(section.title)
        yield from report.table(section.head, section.rows, right=section.right)
        for said in section.said:
            yield from report.fold(said, WIDTH)


# ---------------------------------------------------------------- the sections


def _members(made: Sequence[Made]) -> Section:
    rows = tuple((one.row.name, one.file, one.word, _choice(one), "yes" if one.row.mirrored else "no") for one in made)
    return Section("Members", ("name", "packet", "word", "sheets", "mirrored"), rows, said=(WORDS,))


def _choice(one: Made) -> str:
    return " or ".join(f"{count} {paper}" for paper, count in one.sheet_counts.items())


def _sizes(job: Job, made: Sequence[Made]) -> Section:
    usual = {size.name: size.written for size in job.piece.sizes}
    rows = tuple(
        (one.row.name, size, value, usual[size], OWN if size in one.altering else AS_ALL)
        for one in made
        for size, value in one.row.sizes.items()
    )
    head = ("name", "size", "value", "the file's own", "machine set-up")
    return Section("Sizes of their own", head, rows, said=() if rows else ("None: all have the file's own.",))


def _set_ups(made: Sequence[Made]) -> Section:
    title = "Machine set-ups of their own"
    rows = []
    for shared, names in by_set_up(made):
        for k, one in enumerate(shared):
            address = f"{one.part}, {one.address}" if one.part else one.address
            rows.append((", ".join(names) if k == 0 else "", f"{one.usual:.4g}", f"{one.own:.4g}", address))
    if not rows:
        return Section(title, said=("None: no size of a member alters an angle, and one set-up serves all.",))
    return Section(title, ("who", "usual", "own", "angle"), tuple(rows), right="lrrl", said=(SET_UPS,))


def by_set_up(made: Sequence[Made]) -> list[tuple[tuple[SetUp, ...], list[str]]]:
    """Members who need the same set-up, together."""
    groups: dict[tuple[tuple[str, str, float], ...], tuple[tuple[SetUp, ...], list[str]]] = {}
    for one in made:
        if one.set_ups:
            key = tuple((each.part, each.address, round(each.own, 6)) for each in one.set_ups)
            groups.setdefault(key, (one.set_ups, []))[1].append(one.row.name)
    return list(groups.values())


def _paper(made: Sequence[Made]) -> Section:
    rows = [(paper, str(count), "") for paper, count in sheets_of_one_paper(made)]
    rows += [("as they choose", _choice(one), one.row.name) for one in made if len(one.sheet_counts) > 1]
    return Section("Paper", ("paper", "sheets", "who"), tuple(rows), said=(COVERS,))


def sheets_of_one_paper(made: Sequence[Made]) -> list[tuple[str, int]]:
    """Sheets by paper, over the members who were given one."""
    found: Counter[str] = Counter()
    for one in made:
        found.update(one.sheet_counts if len(one.sheet_counts) == 1 else {})
    return sorted(found.items())


def _blanks(made: Sequence[Made], display: Display) -> Section:
    rows = tuple(
        (str(count), f"{display.both(length)} by {display.both(width)}", _thickness(thick, display), wood or UNSAID)
        for (wood, thick, length, width), count in blanks_in_all(made)
    )
    head = ("blanks", "length by width", "thickness", "wood")
    return Section("Blanks for the whole class", head, rows, right="rlll")


def _wood(made: Sequence[Made], display: Display) -> Section:
    """What the blanks of one wood and thickness come to."""
    found: dict[tuple[str, float | None], tuple[int, float]] = {}
    for (wood, thick, length, width), count in blanks_in_all(made):
        blanks, area = found.get((wood, thick), (0, 0.0))
        found[wood, thick] = blanks + count, area + count * length * width
    rows = tuple(
        (str(blanks), display.area(area), _thickness(thick, display), wood or UNSAID)
        for (wood, thick), (blanks, area) in found.items()
    )
    head = ("blanks", "area", "thickness", "wood")
    return Section("Wood for the whole class", head, rows, right="rrll", said=(STOCK,))


def _thickness(mm: float | None, display: Display) -> str:
    return display.both(mm) if mm is not None else UNSAID


def blanks_in_all(made: Sequence[Made]) -> list[tuple[Blanks, int]]:
    """Blanks of one wood and size, counted over the class."""
    found: Counter[Blanks] = Counter()
    for one in made:
        for blank in one.stock:
            length, width = round(blank.length_mm, 6), round(blank.width_mm, 6)
            found[(blank.wood, blank.thickness_mm, length, width)] += blank.quantity
    return sorted(found.items(), key=lambda item: (item[0][0], item[0][1] or 0.0, -item[0][2], -item[0][3]))


def _warnings(job: Job, made: Sequence[Made]) -> Section:
    usual = {str(problem) for problem in job.warnings}
    rows = tuple((one.row.name, warning) for one in made for warning in one.warnings if warning not in usual)
    return Section("Warnings that come of sizes of their own", ("name", "warning"), rows)


# ---------------------------------------------------------------- for a program


def as_json(title: str, made: Sequence[Made], left_out: Sequence[Problem]) -> dict[str, object]:
    """The same for a program, in millimetres and degrees. ``sheet_counts`` are of members with one paper; whoever has
    several prints on one of them, and is not in it."""
    return {
        "title": title,
        "members": [_member(one) for one in made],
        "left_out": [{"place": problem.place, "what": problem.what} for problem in left_out],
        "sheet_counts": dict(sheets_of_one_paper(made)),
        "stock": [
            {"length_mm": length, "width_mm": width, "thickness_mm": thick, "wood": wood, "quantity": count}
            for (wood, thick, length, width), count in blanks_in_all(made)
        ],
    }


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
