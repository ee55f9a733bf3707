"""What ``compare`` finds, as a person reads it: what may mean new machine set-ups first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from cli import report, reprinting
from cli.comparing import SIZES, Comparison, SizeChange
from cli.figures import BETWEEN
from cli.reportchanges import Change, Value
from cli.request import Job
from patterns.apart import LEVEL_MM
from patterns.compared import Compared, LineChange
from patterns.display import ROUNDED, Display
from patterns.measure import MM_PER_INCH
from patterns.numbers import decimal
from patterns.piece import Size
from patterns.wording import MIRRORED, key_in_words, listed, quoted

UNITS_IN_WORDS = {"in": "inches", "mm": "millimetres", "cm": "centimetres"}

TIGHTEST = ("least radius / at x", "least radius / at y")
"""Figures that are told to a program only: where a curve is tightest wanders with everything."""


def lines(found: Comparison, written: Sequence[Path] = ()) -> list[str]:
    """The whole report; ``written`` are the files of pictures."""
    told = [*_heading(found), *_nothing(found)]
    for section in (_angles, _sizes, _parts, _figures, _sheets, _warnings):
        told += section(found)
    if written:
        told += ["", "Pictures:", *(f"  {path}" for path in written)]
    if any(ROUNDED in line for line in told):
        told += ["", f"{ROUNDED} stands before a figure that was rounded by more than a quarter of its last division."]
    return told


def side_in_words(job: Job, name: str) -> str:
    """What one version is: its file, revision and the sizes given to it."""
    revision = f", revision {job.piece.revision}" if job.piece.revision else ""
    given = ", ".join(f"{size} = {value}" for size, value in job.given.items())
    return f"{name}{revision}{f', with {given}' if given else ''}"


def _heading(found: Comparison) -> Iterator[str]:
    sides = found.sides
    yield f"{sides.new.piece.title}"
    yield from report.paragraph(f"old: {side_in_words(sides.old, sides.old_name)}", "  ")
    yield from report.paragraph(f"new: {side_in_words(sides.new, sides.new_name)}", "  ")
    if not found.is_same_piece:
        yield from report.paragraph(
            f"These are two pieces: the old one is {quoted(sides.old.piece.title)}. Parts of one name are compared."
        )
    if sides.old.piece.units != sides.new.piece.units:
        old, new = (UNITS_IN_WORDS[job.piece.units] for job in (sides.old, sides.new))
        yield f"The old file is in {old}; all figures here are in {new}."
    if sides.old.shop.where != sides.new.shop.where:
        yield from report.paragraph(f"The shop was {sides.old.shop.where}, and is {sides.new.shop.where}.")
    only = dict.fromkeys(name for job in (sides.old, sides.new) for name in job.only)
    if only:
        yield from report.paragraph(f"Compared: {listed(only, 'and')} only.")


def _nothing(found: Comparison) -> Iterator[str]:
    if found.is_same:
        yield ""
        yield "Nothing differs: both are one file." if found.sides.one_file else "Nothing differs."


# ---------------------------------------------------------------- figures


def _angles(found: Comparison) -> Iterator[str]:
    if found.angles:
        yield ""
        yield "Changed angles: saws and jigs that were set up for the old ones may have to be set anew."
        yield from _table([_row(change, found.sides.new.display, whole=True) for change in found.angles])


def _sizes(found: Comparison) -> Iterator[str]:
    if not found.sizes:
        return
    display = found.sides.new.display
    yield ""
    yield "Changed sizes:"
    head = ("size", "old", "new", "change", "what it is")
    yield from _indented(report.table(head, [_size_row(one, display) for one in found.sizes], "lrrrl", _width()))


def _size_row(change: SizeChange, display: Display) -> tuple[str, ...]:
    old, new = change.old, change.new
    one = new or old
    note = one.note if one is not None else ""
    if old is None or new is None:
        return change.name, _of_size(old, display) or "added", _of_size(new, display) or "removed", "", note
    if change.is_moved:
        unit = {"length": "mm", "angle": "deg", "number": ""}[new.kind] if old.kind == new.kind else ""
        if unit or old.kind == new.kind:
            return (change.name, *_shown(_plain(old), _plain(new), unit, display), note)
        return change.name, _of_size(old, display), _of_size(new, display), "", note
    return change.name, _limits(old, display), _limits(new, display), "limits", note


def _plain(size: Size) -> float:
    """A size's value as reports have it: millimetres, degrees or a number."""
    return math.degrees(size.value) if size.kind == "angle" else size.value


def _of_size(size: Size | None, display: Display) -> str:
    return (
        "" if size is None else _one(_plain(size), {"length": "mm", "angle": "deg", "number": ""}[size.kind], display)
    )


def _limits(size: Size, display: Display) -> str:
    unit = {"length": "mm", "angle": "deg", "number": ""}[size.kind]
    least, most = (
        None if limit is None else math.degrees(limit) if unit == "deg" else limit for limit in (size.least, size.most)
    )
    words = [f"from {_one(least, unit, display)}"] if least is not None else []
    words += [f"to {_one(most, unit, display)}"] if most is not None else []
    return " ".join(words) or "none"


def _figures(found: Comparison) -> Iterator[str]:
    display = found.sides.new.display
    changes = [change for change in found.figures if not change.is_angle and _is_worth_a_line(change, found.figures)]
    for part in dict.fromkeys(change.part for change in changes):
        yield ""
        yield f"Figures of the {part}:" if part else "Figures:"
        yield from _table([_row(change, display) for change in changes if change.part == part])


def _is_worth_a_line(change: Change, others: Sequence[Change]) -> bool:
    """Not where it is the reflection of another, nor the place where a curve is tightest."""
    if change.address.endswith(TIGHTEST):
        return False
    twin = change.address.replace(MIRRORED.replace("/", " ") + "ed", "")
    return twin == change.address or not any(other.address == twin for other in others)


def _row(change: Change, display: Display, whole: bool = False) -> tuple[str, ...]:
    """The figure's address, without its part unless it is wanted ``whole``; old, new and by how much."""
    lead = f"{SIZES}{BETWEEN}" if whole else f"{change.part}{BETWEEN}"
    words = change.address.removeprefix(lead).replace(BETWEEN, ", ")
    if change.is_whole:
        return words, "there" if change.old else "", "there" if change.new else "gone", ""
    return (words, *_shown(change.old, change.new, change.unit, display))


def _table(rows: Sequence[tuple[str, ...]]) -> list[str]:
    return _indented(report.table(("figure", "old", "new", "change"), rows, "lrrr", _width()))


def _indented(table: Sequence[str]) -> list[str]:
    return [f"  {line}" for line in table]


def _width() -> int:
    return report.page_width() - 2


def _shown(old: Value, new: Value, unit: str, display: Display) -> tuple[str, str, str]:
    """Old, new and by how much; with decimals where a rule would show no difference."""
    before, after = _one(old, unit, display), _one(new, unit, display)
    if (
        isinstance(old, bool)
        or isinstance(new, bool)
        or not isinstance(old, int | float)
        or not isinstance(new, int | float)
    ):
        return before, after, ""
    if before == after:
        before, after = _finer(old, unit, display), _finer(new, unit, display)
    change = new - old
    if unit == "mm":
        return before, after, _signed(change, distance(abs(change), display))
    return before, after, _signed(change, (_finer if unit == "deg" else _one)(abs(change), unit, display))


def _signed(change: float, words: str) -> str:
    """The words of an amount with its sign, after the mark of a rounded figure."""
    mark = ROUNDED if words.startswith(ROUNDED) else ""
    return f"{mark}{'+' if change > 0 else '-'}{words.removeprefix(mark)}"


def _one(value: Value, unit: str, display: Display) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value or "none"
    match unit:
        case "mm":
            return display.length(value)
        case "mm2":
            return display.area(value)
        case "deg":
            return display.angle(math.radians(value))
    return f"{value:g} {unit}".rstrip()


def _finer(value: float, unit: str, display: Display) -> str:
    """With more decimals than any rule shows."""
    inches = display.units == "in"
    match unit:
        case "mm":
            return f"{value / MM_PER_INCH:.4f} in" if inches else f"{value:.3f} mm"
        case "mm2":
            return f"{value / MM_PER_INCH**2:.4f} sq in" if inches else f"{value / 100:.3f} sq cm"
        case "deg":
            return f"{value:.3f}".rstrip("0").rstrip(".") + "°"
    return f"{value:.9g} {unit}".rstrip()


# ---------------------------------------------------------------- parts


def _parts(found: Comparison) -> Iterator[str]:
    if found.is_same:
        return
    yield ""
    for word, names in (("Added", found.added), ("Removed", found.removed)):
        if names:
            yield from report.paragraph(f"{word}: {listed(names, 'and')}")
    yield from (f"Renamed: {old} is {new} now; the cut line is the same" for old, new in found.renamed)
    if not found.parts:
        return
    yield "Cut lines, new against old:"
    same = [one.new.name for one in found.parts if one.is_same]
    rows = [row for one in found.parts if not one.is_same for row in _part_rows(one, found.sides.new.display)]
    head = ("pattern", "largest distance", "where")
    yield from _indented(report.table(head, rows, "lrl", _width()))
    if same:
        yield from report.paragraph(f"The same as before: {'; '.join(same)}.", "  ")
    moved = dict.fromkeys(one.new.part for one in found.parts if one.is_from_another_blank and not one.is_same)
    if moved:
        yield from report.paragraph(
            f"Of another blank than before: {listed(moved, 'and')}. Old and new are measured with the blanks' lower left "
            "corners on each other.",
            "  ",
        )


def _part_rows(one: Compared, display: Display) -> Iterator[tuple[str, ...]]:
    name = one.new.name
    for change in worth_telling(one):
        yield name, distance(change.distance, display), where(change, display)
        name = ""
    for words in holes(one):
        yield name, "", words
        name = ""


def holes(one: Compared) -> list[str]:
    """The holes that are new or gone."""
    rows = ((one.holes_added, "new"), (one.holes_gone, "gone"))
    return [f"{_hole(hole.key, hole.spec.name)}: {word}" for found, word in rows for hole in found]


def worth_telling(one: Compared) -> list[LineChange]:
    """The lines that have moved, but for reflections that have moved as what they reflect."""
    moved = {change.key: change.distance for change in one.changes}

    def is_told(change: LineChange) -> bool:
        twin = moved.get(change.key.removesuffix(MIRRORED)) if change.key.endswith(MIRRORED) else None
        return twin is None or abs(twin - change.distance) > LEVEL_MM

    return [change for change in one.changes if is_told(change)]


def distance(mm: float, display: Display) -> str:
    """A distance between two lines; in decimals where a rule is too coarse for it."""
    if not display.amount(mm).startswith("less"):
        return display.length(mm)
    small = f"{decimal(mm, 2 if mm >= 0.01 else 3)} mm"
    return f"{mm / MM_PER_INCH:.3f} in ({small})" if display.units == "in" and mm >= 0.01 else small


def where(change: LineChange, display: Display) -> str:
    """Which line has moved, where it is farthest off, and which way: ``edges.bottom at 21 in: less wood``."""
    x, y = (display.length(value) for value in change.at)
    line = _hole(change.key, change.name) if change.key.startswith("hole") else key_in_words(change.key)
    if change.centres is not None:
        old, new = (f"({display.length(x)}, {display.length(y)})" for x, y in change.centres)
        return f"{line}: its centre from {old} to {new}"
    if change.even:
        place = f"{line}, all along"
    elif change.station is not None:
        place = f"{line} at {display.length(change.station)} (x {x}, y {y})"
    else:
        place = f"{line} at x {x}, y {y}"
    return f"{place}: {'more wood' if change.more_wood else 'less wood'}"


def _hole(key: str, name: str) -> str:
    return f"{key_in_words(key)}{f' ({name})' if name else ''}"


# ---------------------------------------------------------------- sheets and warnings


def _sheets(found: Comparison) -> Iterator[str]:
    from tiling.fates import count  # late, with all that prints

    sheets = found.sheets
    if found.is_same:
        return
    yield ""
    if sheets.reason:
        yield from report.paragraph(f"Sheets: {sheets.reason}.")
        return
    layout = (
        f"as they lie in {found.sides.old_name}" if sheets.printed else "as a first printing of the old would lay them"
    )
    printed, kept, thrown = (count(sheets.fates, state) for state in reprinting.STATES)
    yield f"Sheets, {layout} on {sheets.paper} paper:"
    if not sheets.differing:
        yield f"  every one of the {kept} stays as it is" if kept > 1 else "  the one sheet stays as it is"
        return
    yield f"  {printed} to print, {kept} to keep, {thrown} to throw away"
    yield from _indented(reprinting.listed(sheets.fates))


def _warnings(found: Comparison) -> Iterator[str]:
    for word, problems in (("New warnings", found.warnings_new), ("Warnings that are gone", found.warnings_gone)):
        if problems:
            yield ""
            yield f"{word}:"
            for problem in problems:
                yield from report.paragraph(str(problem), "  ")
