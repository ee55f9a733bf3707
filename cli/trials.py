"""Trying sizes: the figures that a piece would have with other values of some of its sizes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from cli import request, sheetfigures
from cli.figures import BETWEEN, Figure, called, figures_of, near
from cli.reports import REPORTS, Report
from patterns.errors import PatternError
from patterns.wording import listed, quoted

if TYPE_CHECKING:
    from cli.request import Job
    from patterns.piece import Size
    from tiling.form import SheetForm

Values = tuple[float, ...]

MOST_SHOWN = 8
"""So many figures are listed where words could mean several."""

NOTHING = 1e-15
"""A value nearer to 0 than this is written as 0: no formula has an exponent."""

UNIT_OF_KIND = {"length": " mm", "angle": " deg", "number": ""}


class Untried(Exception):
    """There is no figure at these sizes: the piece can't be made with them, or has no such thing then. ``why``: in words."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


# -------------------------------------------------------------------- finding a figure


def all_figures(job: Job) -> tuple[Figure, ...]:
    """Every figure of every report but the sheet counts."""
    return tuple(figure for one in REPORTS for figure in figures_of(one.of(job), one.name, one.lead))


def find(job: Job, words: str, option: str) -> Figure:
    """The number that ``words`` mean. Raises PatternError, the option as its place, where they mean none or several."""
    known = sheetfigures.figures(job) if sheetfigures.are_meant(words) else all_figures(job)
    found = called(known, words)
    numbers = [figure for figure in found if figure.is_number]
    place = f"{option} {quoted(words)}"
    if len(numbers) == 1:
        return numbers[0]
    if numbers:
        names = [figure.address for figure in numbers]
        more = f", and {len(names) - MOST_SHOWN} more" if len(names) > MOST_SHOWN else ""
        raise PatternError.of(place, f"could be {'; '.join(names[:MOST_SHOWN])}{more}: write more of it")
    if found:
        raise PatternError.of(
            place, f"{found[0].address} is {_what_it_is(found[0].value)}; only a number can be wanted"
        )
    hints = near([one for one in (*all_figures(job), *sheetfigures.figures(job)) if one.is_number], words)
    nearest = f"the nearest are {'; '.join(hints)}" if len(hints) > 1 else f"the nearest is {hints[0]}" if hints else ""
    remedy = "'curvewright solve FILE --figures' lists them all"
    raise PatternError.of(place, f"is no figure of this piece; {f'{nearest}; ' if nearest else ''}{remedy}")


def _what_it_is(value: object) -> str:
    if isinstance(value, bool):
        return f"a yes or no ({'yes' if value else 'no'})"
    return f"a text ({quoted(str(value))})"


# -------------------------------------------------------------------- trying values


def own_unit(size: Size, value: float) -> float:
    """A value of a size (mm, radians or a number) in the unit it is tried in: mm, degrees or a number."""
    import math

    return math.degrees(value) if size.kind == "angle" else value


def written(size: Size, value: float) -> str:
    """A size's value (mm, degrees or a number) as a formula that comes to it to the last bit."""
    text = f"{Decimal(repr(float(value))):f}" if abs(value) >= NOTHING else "0"
    return text.removesuffix(".0") + UNIT_OF_KIND[size.kind]


class Trials:
    """The figures of a piece as a function of some of its sizes. Each set of values is worked out once."""

    def __init__(
        self,
        job: Job,
        sizes: Sequence[Size],
        figures: Sequence[Figure],
        form: SheetForm | None = None,
        told: Callable[[int], None] = lambda count: None,
    ) -> None:
        """``told`` is called with the number of trials made so far."""
        self.job = job
        self.sizes = tuple(sizes)
        self.figures = tuple(figures)
        self.form = form
        self._told = told
        self._known: dict[Values, tuple[float | int, ...] | str] = {}
        self._parts = _parts_needed(job, self.figures)
        self._reports = [
            (one, _maker(job, one, [figure.address for figure in self.figures if figure.report == one.name]))
            for one in REPORTS
            if any(figure.report == one.name for figure in self.figures)
        ]

    @property
    def count(self) -> int:
        """How many sets of values were tried."""
        return len(self._known)

    def at(self, *values: float) -> tuple[float | int, ...]:
        """The figures at these values (mm, degrees or a number), in their order. Raises Untried where there are none."""
        if values not in self._known:
            self._known[values] = self._tried(values, self._parts)
            self._told(len(self._known))
        found = self._known[values]
        if isinstance(found, str):
            raise Untried(found)
        return found

    def proved(self, *values: float) -> tuple[float | int, ...]:
        """The same with all parts of the piece built: what no part objects to. Raises Untried where one does."""
        found = self._tried(values, ())
        if isinstance(found, str):
            raise Untried(found)
        return found

    def given(self, values: Sequence[float]) -> dict[str, str]:
        """The sizes as they would be given on the command line, by name, to the last bit."""
        return {size.name: written(size, value) for size, value in zip(self.sizes, values, strict=True)}

    def _tried(self, values: Sequence[float], parts: Sequence[str]) -> tuple[float | int, ...] | str:
        job = self.job
        only = parts or job.only
        try:
            tried = request.make(job.source, {**job.given, **self.given(values)}, job.shop, only, judged=False)
            found = {figure.address: figure.value for figure in self._figures_of(tried)}
        except PatternError as error:
            return f"the piece can't be made: {error.problems[0]}"
        wanted = [found.get(figure.address) for figure in self.figures]
        missing = [figure.address for figure, value in zip(self.figures, wanted, strict=True) if value is None]
        if missing:
            return f"there is no {listed(missing, 'and')} then"
        return tuple(value for value in wanted if isinstance(value, (int, float)))

    def _figures_of(self, job: Job) -> list[Figure]:
        found = [figure for one, make in self._reports for figure in figures_of(make(job), one.name, one.lead)]
        counts = {figure.address for figure in self.figures if figure.report == sheetfigures.NAME}
        if counts and self.form is not None:
            found += sheetfigures.counted(job, self.form, counts)
        return found


def _maker(job: Job, one: Report, addresses: Sequence[str]) -> Callable[[Job], dict[str, Any]]:
    """What makes the report, quickly where the figures don't need the rest."""
    if one.quick is None:
        return one.of
    known = {figure.address for figure in figures_of(one.quick(job), one.name, one.lead)}
    return one.quick if known.issuperset(addresses) else one.of


def _parts_needed(job: Job, figures: Sequence[Figure]) -> tuple[str, ...]:
    """The parts that must be built for these figures; none named: all."""
    by_part = {one.name for one in REPORTS if one.by_part} | {sheetfigures.NAME}
    names: dict[str, None] = {}
    for figure in figures:
        if figure.part and figure.report in by_part:
            names[figure.part] = None
        elif not figure.address.startswith(f"sizes{BETWEEN}"):
            return ()
    return tuple(names) or (job.parts[0].name,)
