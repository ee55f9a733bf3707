"""What differs between the reports of two jobs: every figure and word, by the address that it has in the report."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from msgspec import Struct

from cli.figures import BETWEEN, Figure, figures_of
from cli.reports import REPORTS, Report

if TYPE_CHECKING:
    from cli.request import Job

NOISE = 1e-9
"""Figures that differ by no more than this part of themselves are the same, and so are two as small as this."""

NOT_COMPARED = ("file", "title", "units", "sizes", "readings", "warnings")
"""What a report says of its file, and what is compared by itself."""

Value = float | int | str | bool | None


class Change(Struct, frozen=True):
    """A figure or a word that differs.

    ``old`` and ``new`` are in ``unit``, None where there is none. ``address`` may be that of a whole hole, curve or
    board that came or went; then ``is_whole``, and the version that has it says True.
    """

    report: str
    address: str
    part: str
    unit: str
    old: Value
    new: Value
    is_whole: bool = False

    @property
    def is_angle(self) -> bool:
        """Whether it is an angle (in degrees)."""
        return self.unit == "deg"

    @property
    def difference(self) -> float | None:
        """New less old, for numbers."""
        if _is_number(self.old) and _is_number(self.new):
            return float(self.new) - float(self.old)  # type: ignore[arg-type]
        return None


def changes(old: Job, new: Job) -> tuple[Change, ...]:
    """What differs in all reports, in their order. Parts that one job alone has are left out."""
    shared = {part.name for part in old.parts} & {part.name for part in new.parts} | {""}
    found: list[Change] = []
    for report in REPORTS:
        before, after = (
            {one.address: one for one in _figures(report, job) if one.part in shared} for job in (old, new)
        )
        found += _differing(before, after)
    return tuple(found)


def _figures(report: Report, job: Job) -> tuple[Figure, ...]:
    told = {key: value for key, value in report.of(job).items() if key not in NOT_COMPARED}
    return figures_of(told, report.name, report.lead)


def _differing(old: Mapping[str, Figure], new: Mapping[str, Figure]) -> Iterator[Change]:
    of_old, of_new = _stems(old), _stems(new)
    told: set[str] = set()
    for address, one in {**new, **old}.items():
        before, after = (table[address].value if address in table else None for table in (old, new))
        if _is_same(before, after):
            continue
        stem = None
        if address not in old or address not in new:
            stem = _first_alone(address, of_old if address in new else of_new)
        if stem is None:
            yield Change(one.report, address, one.part, one.unit, before, after)
        elif stem not in told:
            told.add(stem)
            yield Change(one.report, stem, one.part, "", address in old, address in new, is_whole=True)


def _stems(figures: Mapping[str, Figure]) -> set[str]:
    """Every beginning of every address."""
    split = [address.split(BETWEEN) for address in figures]
    return {BETWEEN.join(steps[:k]) for steps in split for k in range(1, len(steps) + 1)}


def _first_alone(address: str, others: set[str]) -> str | None:
    """The shortest beginning of an address that the other report has nothing of, if that is no value itself."""
    steps = address.split(BETWEEN)
    for k in range(1, len(steps)):
        stem = BETWEEN.join(steps[:k])
        if stem not in others:
            return stem
    return None


def _is_number(value: Value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_same(old: Value, new: Value) -> bool:
    if _is_number(old) and _is_number(new):
        return math.isclose(old, new, rel_tol=NOISE, abs_tol=NOISE)  # type: ignore[arg-type]
    return old == new
