"""Two versions of a piece beside each other: what differs in angles, sizes, parts, figures, sheets and warnings."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cli import reportchanges, request
from cli.figures import BETWEEN
from cli.reportchanges import Change
from cli.request import Job
from cli.sheetchanges import SheetChanges, sheet_changes
from patterns.compared import Compared, compare, shape_of
from patterns.errors import PatternError, Problem
from patterns.piece import Size
from patterns.wording import quoted, rather
from tiling.order import Progress, no_progress

SIZES = "sizes"
"""What stands before the name of a size in its address."""


class Sides(Struct, frozen=True):
    """The two jobs, with the parts asked for. ``old_name`` and ``new_name`` tell them apart in words.

    ``whole_old`` and ``whole_new`` have every part that both could have: their sheets depend on all of them.
    """

    old: Job
    new: Job
    whole_old: Job
    whole_new: Job
    old_name: str
    new_name: str
    one_file: bool = False
    """Whether both are the same file."""


class SizeChange(Struct, frozen=True):
    """A size whose value or limits differ, or that one version alone has."""

    name: str
    old: Size | None
    new: Size | None

    @property
    def is_moved(self) -> bool:
        """Whether both have it, with different values."""
        return self.old is not None and self.new is not None and not _is_same_value(self.old, self.new)

    @property
    def as_angle(self) -> Change | None:
        """The change as that of a figure in degrees, if it is an angle that has moved."""
        if self.old is None or self.new is None or not self.is_moved or {self.old.kind, self.new.kind} != {"angle"}:
            return None
        old, new = math.degrees(self.old.value), math.degrees(self.new.value)
        return Change("sizes", f"{SIZES}{BETWEEN}{self.name}", "", "deg", old, new)


class Comparison(Struct, frozen=True):
    """All that differs. ``parts`` are those that both versions have, then their boards, whether they differ or not."""

    sides: Sides
    figures: tuple[Change, ...]
    sizes: tuple[SizeChange, ...]
    parts: tuple[Compared, ...]
    added: tuple[str, ...]
    removed: tuple[str, ...]
    renamed: tuple[tuple[str, str], ...]
    """(old name, new name) of parts whose cut line is the same."""
    sheets: SheetChanges
    warnings_new: tuple[Problem, ...]
    warnings_gone: tuple[Problem, ...]

    @property
    def is_same_piece(self) -> bool:
        """Whether both have one title."""
        return self.sides.old.piece.title == self.sides.new.piece.title

    @property
    def angles(self) -> tuple[Change, ...]:
        """The angles that differ (degrees), sizes among them; these are told with the sizes as well."""
        sizes = [change.as_angle for change in self.sizes]
        return (*(one for one in sizes if one is not None), *(one for one in self.figures if one.is_angle))

    @property
    def is_same(self) -> bool:
        """Whether nothing differs at all."""
        differing = (
            self.figures,
            self.sizes,
            self.added,
            self.removed,
            self.renamed,
            self.warnings_new,
            self.warnings_gone,
            self.sheets.differing,
        )
        return self.is_same_piece and not any(differing) and all(one.is_same for one in self.parts)


def compared(sides: Sides, progress: Progress = no_progress) -> Comparison:
    """Compares the two."""
    old, new = sides.old, sides.new
    parts, added, removed, renamed = _parts(old, new)
    said, before = dict.fromkeys(new.warnings), dict.fromkeys(old.warnings)
    return Comparison(
        sides,
        reportchanges.changes(old, new),
        _sizes(old.piece.sizes, new.piece.sizes),
        parts,
        added,
        removed,
        renamed,
        sheet_changes(sides.whole_old, sides.whole_new, _names(old) | _names(new), progress),
        tuple(problem for problem in said if problem not in before),
        tuple(problem for problem in before if problem not in said),
    )


# ---------------------------------------------------------------- reading


def read(old: Path, new: Path, given: Mapping[str, str], shop: Path | None, asked: Sequence[str]) -> Sides:
    """Reads both files. ``given`` are sizes of the new one; ``asked`` the parts to compare, all if empty.

    Raises PatternError with the mistakes of both, and for a part that neither has.
    """
    one_file = _is_one_file(old, new)
    full = old.name == new.name and not one_file
    old_name, new_name = (str(old), str(new)) if full else (old.name, new.name)
    problems: list[Problem] = []
    first = _attempted(lambda: request.read(old, {}, shop), old.name, old_name, problems)
    second = _attempted(lambda: request.read(new, given, shop), new.name, new_name, problems)
    if first is None or second is None:
        raise PatternError(dict.fromkeys(problems))
    return sides_of(first, second, old_name, new_name, asked, one_file)


def sides_of(
    first: Job, second: Job, old_name: str, new_name: str, asked: Sequence[str] = (), one_file: bool = False
) -> Sides:
    """The two sides of jobs that were read. Raises PatternError for a part asked for that neither has.

    A job that was printed in some parts only is compared in these.
    """
    printed = [name for job in (first, second) for name in job.only]
    whole_old, whole_new = (_with(job, printed) if printed else job for job in (first, second))
    _check(asked, (whole_old, whole_new))
    few_old, few_new = (_with(job, asked) if asked else job for job in (whole_old, whole_new))
    return Sides(few_old, few_new, whole_old, whole_new, old_name, new_name, one_file)


def _attempted(work: Callable[[], Job], source: str, name: str, problems: list[Problem]) -> Job | None:
    """What ``work`` returns, or None with its mistakes, told of ``name``, added to the list."""
    try:
        return work()
    except PatternError as error:
        lead = name if error.source == source else error.source
        for one in error.problems:
            problems.append(Problem(": ".join(filter(None, (lead, one.place))), one.what))
        return None


def _with(job: Job, names: Sequence[str]) -> Job:
    """The job with those of its file's parts that are named."""
    own = [spec.name for spec in job.piece.parts if spec.name in names]
    if own == [part.name for part in job.parts]:
        return job
    if not own:
        return replace(job, parts=(), warnings=())
    return replace(request.make(job.source, job.given, job.shop, own), carried=job.carried)


def _check(asked: Sequence[str], jobs: Sequence[Job]) -> None:
    names = list(dict.fromkeys(part.name for job in jobs for part in job.parts))
    unknown = [name for name in asked if name not in names]
    if unknown:
        what = "neither of the two has a part"
        raise PatternError([Problem("--part", f"{what} {quoted(name)}; {rather(name, names)}") for name in unknown])


def _is_one_file(old: Path, new: Path) -> bool:
    try:
        return old.samefile(new)
    except OSError:
        return False


# ---------------------------------------------------------------- sizes and parts


def _names(job: Job) -> frozenset[str]:
    return frozenset(part.name for part in job.parts)


def _is_same_value(old: Size, new: Size) -> bool:
    return old.kind == new.kind and abs(old.value - new.value) <= reportchanges.NOISE * max(1.0, abs(old.value))


def _sizes(old: Sequence[Size], new: Sequence[Size]) -> tuple[SizeChange, ...]:
    before, after = {size.name: size for size in old}, {size.name: size for size in new}
    found = []
    for name in dict.fromkeys([*after, *before]):
        first, second = before.get(name), after.get(name)
        limits = [(size.least, size.most) for size in (first, second) if size is not None]
        if first is None or second is None or not _is_same_value(first, second) or limits[0] != limits[1]:
            found.append(SizeChange(name, first, second))
    return tuple(found)


def _parts(
    old: Job, new: Job
) -> tuple[tuple[Compared, ...], tuple[str, ...], tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Parts of one name with their boards, parts added, removed and renamed."""
    before, after = ({part.name: part for part in job.parts} for job in (old, new))
    found: list[Compared] = []
    for name, part in after.items():
        if name in before:
            found.append(compare(shape_of(before[name]), shape_of(part)))
            boards = before[name].boards, part.boards
            if len(boards[0]) == len(boards[1]):
                found += [
                    compare(shape_of(before[name], one), shape_of(part, other))
                    for one, other in zip(*boards, strict=True)
                ]
    added = [name for name in after if name not in before]
    removed = [name for name in before if name not in after]
    renamed: list[tuple[str, str]] = []
    for name in list(removed):
        twin = next((one for one in added if compare(shape_of(before[name]), shape_of(after[one])).is_same), None)
        if twin is not None:
            renamed.append((name, twin))
            added.remove(twin)
            removed.remove(name)
    return tuple(found), tuple(added), tuple(removed), tuple(renamed)
