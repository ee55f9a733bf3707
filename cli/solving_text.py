"""The answer for one size, as a person reads it and as a program does."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from typing import Any

from cli import quantities, report
from cli.figures import Figure, Unit
from cli.quantities import UNIT_OF
from cli.ranges import GapFound, Point
from cli.solving import Answer, Choice, Range, Solution
from patterns.display import Display
from patterns.errors import Problem
from patterns.piece import Size

Json = dict[str, Any]

MOST_TOLD = 6
"""So many solutions are told in full; nobody saws them all."""


WHOLE = {"length": "on the rule", "angle": "a tenth of a degree", "number": "rounded"}
"""What a value is that is a whole number of divisions."""


class Words:
    """The size and the figure of an answer, worded."""

    def __init__(self, answer: Answer, display: Display) -> None:
        self.answer = answer
        self.display = display
        self.size_unit: Unit = UNIT_OF[answer.size.kind]
        self.unit = answer.figure.unit
        self.whole = WHOLE[answer.size.kind]

    def size(self, value: float) -> str:
        """A value of the size, finer than a rule."""
        return quantities.finely(value, self.size_unit, self.display)

    def figure(self, value: float) -> str:
        """A value of the figure, finer than a rule."""
        return quantities.finely(value, self.unit, self.display)

    def off(self, value: float) -> str:
        """How far a figure is from what is wanted."""
        return quantities.difference(value - self.answer.wanted, self.unit, self.display)

    def range(self) -> str:
        """From where to where the size went."""
        reach = self.answer.range
        return f"from {self.size(reach.low)} to {self.size(reach.high)}"

    def at(self, point: Point) -> str:
        """A place: the figure and the size there."""
        return f"{self.figure(point.y)} (at {self.answer.size.name} = {self.size(point.x)})"


# -------------------------------------------------------------------- for a person


def lines(answer: Answer, display: Display) -> Iterator[str]:
    """The answer where there is one; see ``problems`` where there is none."""
    words = Words(answer, display)
    name, figure = answer.size.name, answer.figure.address
    now = answer.now.figure
    is_now = "there is none at present" if now is None else f"now {words.figure(now)}"
    yield from report.paragraph(f"{figure} = {words.figure(answer.wanted)}, wanted ({is_now})")
    first = answer.solutions[0]
    if answer.now.figure is not None and abs(first.exact.value - answer.now.value) < 1e-9:
        yield from report.paragraph(f"{name} = {words.size(answer.now.value)} gives it already.")
    else:
        chosen = [one for one in first.on_the_rule if first.reach is not None and one.figure is not None] or [
            first.exact
        ]
        yield from report.paragraph(f"{name} = {words.size(chosen[0].value)} gives it.")
    yield ""
    for solution in answer.solutions[:MOST_TOLD]:
        yield from _table(solution, words)
        yield ""
    if len(answer.solutions) > MOST_TOLD:
        yield from report.paragraph(
            f"And {len(answer.solutions) - MOST_TOLD} more values give it; --json has them all."
        )
    yield from _to_type(answer, display)
    yield ""
    yield from _remarks(words)


def _table(solution: Solution, words: Words) -> list[str]:
    """The exact value and those of the rule beside it, with what the figure comes to."""
    head = (words.answer.size.name, "moved by", "comes to", "off by", "")
    if solution.reach is not None:
        chosen = solution.on_the_rule or (solution.exact,)
        rows = [_row(one, words, "" if solution.on_the_rule else f"not {words.whole}") for one in chosen]
        low, high = words.size(solution.reach.low), words.size(solution.reach.high)
        span = f"The count holds from {low} to {high}, to within an eighth of the rule's division."
        return [*report.table(head, rows, right="rrrrl"), *report.paragraph(span)]
    is_on_rule = any(abs(one.value - solution.exact.value) < 1e-9 for one in solution.on_the_rule)
    rows = [_row(solution.exact, words, "exact")]
    if not is_on_rule:
        rows += [_row(one, words, words.whole) for one in solution.on_the_rule]
    return report.table(head, rows, right="rrrrl")


def _row(choice: Choice, words: Words, note: str) -> tuple[str, ...]:
    moved = quantities.difference(choice.value - words.answer.now.value, words.size_unit, words.display)
    if choice.figure is None:
        return words.size(choice.value), moved, "none", "", choice.why
    return words.size(choice.value), moved, words.figure(choice.figure), words.off(choice.figure), note


def _to_type(answer: Answer, display: Display) -> Iterator[str]:
    first = answer.solutions[0]
    sound = [one for one in first.on_the_rule if one.figure is not None]
    if first.reach is not None:
        yield f"To use it:  {option(answer.size, (sound or [first.exact])[0].value, display)}"
        return
    yield f"To use it exactly:  {option(answer.size, first.exact.value, display)}"
    nearest = min(sound, key=lambda one: abs((one.figure or 0.0) - answer.wanted), default=None)
    if nearest is not None and abs(nearest.value - first.exact.value) > 1e-9:
        yield f"to come nearest:    {option(answer.size, nearest.value, display)}"


def option(size: Size, value: float, display: Display) -> str:
    """What to type to use a value (mm, degrees or a number)."""
    return f"--size {shlex.quote(f'{size.name}={quantities.typed(value, size, display)}')}"


def _remarks(words: Words) -> Iterator[str]:
    """Where it was looked, what was not looked at, and what else the maker should know."""
    answer = words.answer
    yield from report.paragraph(f"Looked {words.range()}: {limits_told(answer.size, answer.range)}.")
    for gap in answer.gaps:
        yield from report.paragraph(_gap(gap, words))
    for choice in answer.spoilt:
        yield from report.paragraph(
            f"{answer.size.name} = {words.size(choice.value)} would give it, but with that {choice.why}"
        )
    yield from report.paragraph(own_formula(answer.size))


def limits_told(size: Size, reach: Range) -> str:
    """Whether those are the file's limits."""
    if not reach.is_supposed:
        return "the file's limits"
    missing = "least and no most" if reach.low_is_supposed and reach.high_is_supposed else "least"
    if not reach.low_is_supposed:
        missing = "most"
    how = "15° to either side of it" if size.kind == "angle" else "half and twice its value"
    if size.kind != "angle" and size.value == 0.0:
        how = "a range round 0"
    return f"the file gives {size.name} no {missing}, so {how} {'were' if size.kind == 'length' else 'was'} taken"


def own_formula(size: Size) -> str:
    """Said of a size that the file works out from others: with a value of its own it no longer follows them."""
    from patterns.formula import names_in

    others = sorted(names_in(size.written) - {size.name})
    if not others:
        return ""
    them = "it" if len(others) == 1 else "them"
    return (
        f'Note: the file works {size.name} out from {", ".join(others)} ("{size.written}"); '
        f"with a value of its own it no longer follows {them}."
    )


def _gap(gap: GapFound, words: Words) -> str:
    name, reach = words.answer.size.name, words.answer.range
    low, high = words.size(gap.low), words.size(gap.high)
    span = f"between {low} and {high}"
    if gap.low == reach.low:
        span = f"below {high}"
    elif gap.high == reach.high:
        span = f"above {low}"
    return f"With {name} {span}, {gap.why}"


# -------------------------------------------------------------------- where there is none


def problems(answer: Answer, display: Display, others: list[str]) -> list[Problem]:
    """Why no value gives what is wanted, and how near it gets. ``others`` are sizes that do change the figure."""
    words = Words(answer, display)
    name, figure = answer.size.name, answer.figure.address
    place = f"--vary {name}"
    if answer.never_changes and not answer.spoilt:
        hint = f"; it changes with {', '.join(others)}" if others else ""
        what = f"{figure} does not depend on {name}: it is {words.figure(answer.least.y)} {words.range()}{hint}"
        return [Problem(place, what)]
    found = [
        Problem(place, f"no value {words.range()} ({limits_told(answer.size, answer.range)}) makes {_wish(words)}")
    ]
    reach = f"{figure} goes from {words.at(answer.least)} to {words.at(answer.most)}"
    exactly = quantities.typed(answer.nearest.x, answer.size, display)
    reach += f"; the nearest is {words.figure(answer.nearest.y)}, with --size {shlex.quote(f'{name}={exactly}')}"
    found.append(Problem(place, reach))
    found += [
        Problem(place, f"at {words.size(jump.x)} it jumps past that, by {words.figure(abs(jump.after - jump.before))}")
        for jump in answer.jumps
    ]
    found += [Problem(place, _gap(gap, words)) for gap in answer.gaps]
    found += [
        Problem(place, f"{words.size(choice.value)} would give it, but with that {choice.why}")
        for choice in answer.spoilt
    ]
    return found


def _wish(words: Words) -> str:
    return f"{words.answer.figure.address} = {words.figure(words.answer.wanted)}"


# -------------------------------------------------------------------- for a program


def to_json(answer: Answer, display: Display) -> Json:
    """The same, unrounded: millimetres, degrees and numbers."""
    size_key, figure_key = _key("size", UNIT_OF[answer.size.kind]), _key("figure", answer.figure.unit)

    def choice(one: Choice) -> Json:
        return {
            size_key: one.value,
            figure_key: one.figure,
            "size_option": f"{answer.size.name}={quantities.typed(one.value, answer.size, display)}",
            "why_not": one.why or None,
        }

    def solution(one: Solution) -> Json:
        reach = None if one.reach is None else {"least": one.reach.low, "most": one.reach.high}
        return choice(one.exact) | {"holds": reach, "on_the_rule": [choice(near) for near in one.on_the_rule]}

    def point(one: Point) -> Json:
        return {size_key: one.x, figure_key: one.y}

    return {
        "figure": answer.figure.address,
        "wanted": {_key("value", answer.figure.unit): answer.wanted},
        "size": answer.size.name,
        "now": choice(answer.now),
        "looked": {
            "least": answer.range.low,
            "most": answer.range.high,
            "least_is_supposed": answer.range.low_is_supposed,
            "most_is_supposed": answer.range.high_is_supposed,
        },
        "solutions": [solution(one) for one in answer.solutions],
        "spoilt": [choice(one) for one in answer.spoilt],
        "figure_least": point(answer.least),
        "figure_most": point(answer.most),
        "figure_nearest": point(answer.nearest),
        "jumps": [{size_key: one.x} for one in answer.jumps],
        "gaps": [{"least": one.low, "most": one.high, "why": one.why} for one in answer.gaps],
        "trials": answer.trials,
    }


def figures_json(figures: list[Figure]) -> Json:
    """A list of figures."""
    return {"figures": [{"figure": one.address, "value": one.value, "unit": one.unit or None} for one in figures]}


def _key(word: str, unit: Unit) -> str:
    return f"{word}_{unit}" if unit else word
