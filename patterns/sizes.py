"""Sizes worked out in the order in which they need one another, their limits checked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter
from typing import Literal

from msgspec import Struct, field

from patterns import formula
from patterns.measure import Quantity
from patterns.names import fault_of_text
from patterns.partmodel import SizeTable, Value
from patterns.piece import Size
from patterns.values import Values, refuse_special, written
from patterns.wording import inside, named_place, printable, quoted, rather

ASKED = "size asked for"
"""Where the place of a value begins that was given beside the file."""

LIMIT_SLACK = 1e-9
"""A size on its limit is within it, whatever the last bits of its formula: in mm, radians or as a number."""

MOST_SIZES = 1000
"""More than a maker can oversee; a file that has more was not written by hand."""

SizeKind = Literal["length", "angle", "number"]


class _Entry(Struct):
    """A size still to be worked out. ``needs`` are the sizes that its formulas refer to."""

    name: str
    table: SizeTable
    place: str
    value_place: str
    overridden: bool = False
    former: Value | None = None
    """The file's own value, where another was asked for."""

    needs: frozenset[str] = field(default_factory=frozenset)


def resolve_sizes(
    sizes: Mapping[str, SizeTable | Value], overrides: Mapping[str, str], values: Values
) -> tuple[Size, ...]:
    """The sizes in the order of the file, ``overrides`` in place of their values.

    Afterwards ``values`` knows every size by name, and which of them are broken. Mistakes are told to its collector.
    """
    if len(sizes) > MOST_SIZES:
        values.mistakes.broke("sizes", f"there are {len(sizes)} sizes; {MOST_SIZES} is the most")
        sizes = {}
    entries = {name: _entry(name, table, overrides) for name, table in sizes.items()}
    _check_overrides(overrides, sizes, values)
    broken = {entry.name for entry in entries.values() if not _is_sound(entry, entries.keys(), values)}
    # Stand-ins, so that what is said of an unknown name knows of all sizes; none is ever reckoned with.
    known = {name: Quantity(0.0, "length") for name in entries}
    done: dict[str, Size] = {}
    values.names = known
    for name in _in_order(entries, broken, values):
        values.broken = frozenset(broken)
        size = _work_out(entries[name], values)
        if size is None:
            broken.add(name)
        else:
            done[name] = size
            known[name] = Quantity(size.value, size.kind)
    values.broken = frozenset(broken)
    return tuple(done[name] for name in sizes if name in done)


def _entry(name: str, table: SizeTable | Value, overrides: Mapping[str, str]) -> _Entry:
    place = named_place("sizes", name)
    full = table if isinstance(table, SizeTable) else SizeTable(table)
    if name in overrides:
        asked = SizeTable(overrides[name], full.least, full.most, full.note, full.kind)
        return _Entry(name, asked, place, f"{ASKED}, {name}", overridden=True, former=full.value)
    return _Entry(name, full, place, place if full is not table else inside(place, "value"))


def _check_overrides(overrides: Mapping[str, str], sizes: Mapping[str, object], values: Values) -> None:
    for name in overrides:
        if name not in sizes:
            hint = rather(name, sizes) if sizes else "the file has no sizes"
            values.mistakes.add(f"{ASKED}, {printable(name)}", f"there is no size {quoted(name)}; {hint}")


def _is_sound(entry: _Entry, names: Iterable[str], values: Values) -> bool:
    """Whether the size can be worked out at all: its name, its note, and the names in its formulas (which it notes)."""
    before = values.mistakes.marks
    if problem := formula.name_problem(entry.name):
        values.mistakes.broke(entry.place, problem)
    if fault := fault_of_text(entry.table.note):
        values.mistakes.add(inside(entry.place, "note"), fault)
    needs: set[str] = set()
    for value in (entry.table.value, entry.table.least, entry.table.most):
        if value is not None:
            needs |= formula.names_in(written(value))
    entry.needs = frozenset(needs & set(names))
    return values.mistakes.marks == before


def _in_order(entries: Mapping[str, _Entry], broken: set[str], values: Values) -> list[str]:
    """Names of the sizes that can be worked out, each after those that it needs. Circles are told and ``broken``."""
    needs = {name: sorted(entry.needs) for name, entry in entries.items()}
    while True:
        try:
            return [name for name in TopologicalSorter(needs).static_order() if name not in broken]
        except CycleError as error:
            circle = _from_first(error.args[1], entries)
            what = f"sizes refer to each other in a circle: {' -> '.join([*circle, circle[0]])}"
            values.mistakes.broke(entries[circle[0]].place, what)
            broken.update(circle)
            needs.update({name: [] for name in circle})


def _from_first(circle: list[str], entries: Mapping[str, _Entry]) -> list[str]:
    """The circle, each size before the one it refers to, from the one that is first in the file."""
    around = circle[:0:-1]
    first = min(range(len(around)), key=lambda k: list(entries).index(around[k]))
    return around[first:] + around[:first]


def _work_out(entry: _Entry, values: Values) -> Size | None:
    """The size with its value and limits, or None where there is a mistake in it."""
    table, kind = entry.table, entry.table.kind or _former_kind(entry, values)
    value = _quantity(table.value, entry.value_place, kind, values)
    if value is None:
        return None
    least = _limit(table.least, inside(entry.place, "least"), value, values)
    most = _limit(table.most, inside(entry.place, "most"), value, values)
    size = Size(entry.name, _kind(value), value.value, written(table.value), least, most, table.note, entry.overridden)
    return size if _within_limits(size, entry, values) else None


def _former_kind(entry: _Entry, values: Values) -> SizeKind | None:
    """What the file's own value measures, so that ``--size splay=5`` are degrees where the file says ``"1:8"``.

    None where there is none, or where it can't be told without other sizes (such as those in a circle that the value
    asked for breaks): then the kind is that of the value asked for.
    """
    if entry.former is None or formula.names_in(written(entry.former)):
        return None
    try:
        refuse_special(entry.former)
        return _kind(formula.evaluate_size(written(entry.former), units=values.units, names={}, kind=None)[0])
    except formula.FormulaError:
        return None


def _kind(quantity: Quantity) -> SizeKind:
    if quantity.kind == "area":
        raise formula.FormulaError("a size can't be an area")
    return quantity.kind


def _limit(value: Value | None, place: str, of: Quantity, values: Values) -> float | None:
    limit = None if value is None else _quantity(value, place, _kind(of), values)
    return None if limit is None else limit.value


def _quantity(value: Value, place: str, kind: SizeKind | None, values: Values) -> Quantity | None:
    text = written(value)
    if values.uses_broken(text):
        values.mistakes.follows(place)
        return None
    try:
        refuse_special(value)
        quantity, reading = formula.evaluate_size(text, units=values.units, names=values.names, kind=kind)
    except formula.FormulaError as error:
        values.mistakes.broke(place, error.what)
        return None
    values.note(place, reading)
    return quantity


def _within_limits(size: Size, entry: _Entry, values: Values) -> bool:
    least, most = entry.table.least, entry.table.most
    if size.least is not None and size.most is not None and size.least > size.most + LIMIT_SLACK:
        what = f"{_shown(least)} is more than most = {_shown(most)}"
        values.mistakes.broke(inside(entry.place, "least"), what)
        return False
    for limit, wrong, words, written_limit in (
        (size.least, size.least is not None and size.value < size.least - LIMIT_SLACK, "less than the least", least),
        (size.most, size.most is not None and size.value > size.most + LIMIT_SLACK, "more than the most", most),
    ):
        if limit is not None and wrong:
            what = f"{size.written} is {words} that {size.name} may be, {_shown(written_limit)}"
            values.mistakes.broke(entry.value_place, what)
            return False
    return True


def _shown(value: Value | None) -> str:
    return "" if value is None else written(value)
