"""What moved and what came of it, as a person reads it and as a program does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cli import quantities, report
from cli.leastmoves import NEAREST, Moved
from cli.nudging import Nudged, Wish
from cli.quantities import UNIT_OF
from cli.solving_text import limits_told, option, own_formula
from patterns.display import Display
from patterns.errors import Problem

Json = dict[str, Any]

UNMOVED = 1e-9
"""A size that moves by no more than this (mm, degrees or a number) stays as it is."""


def lines(nudged: Nudged, moved: Moved, display: Display) -> Iterator[str]:
    """The answer where all wishes are met; see ``problems`` where one is not."""
    if moved.values == nudged.before:
        yield from report.paragraph("Nothing has to move: every figure is as it is wanted already.")
        yield ""
    else:
        yield from report.paragraph(
            "The least moves that give what is wanted (each counted as a part of its size's range from least to most, "
            "their squares added):"
        )
        yield ""
        yield from _sizes(nudged, moved, display)
        yield ""
    yield from _figures(nudged, moved, display)
    if moved.values == nudged.before:
        return
    yield ""
    yield "To use it:"
    for size, value, before in zip(nudged.sizes, moved.values, nudged.before, strict=True):
        if abs(value - before) > UNMOVED:
            yield f"  {option(size, value, display)}"
    yield ""
    yield from _remarks(nudged)


def _sizes(nudged: Nudged, moved: Moved, display: Display) -> list[str]:
    rows = []
    for k, size in enumerate(nudged.sizes):
        unit = UNIT_OF[size.kind]
        before, after = nudged.before[k], moved.values[k]
        cells = [quantities.finely(value, unit, display) for value in (before, after)]
        limits = [quantities.finely(value, unit, display) for value in (nudged.ranges[k].low, nudged.ranges[k].high)]
        rule = quantities.finely(nudged.rule[k], unit, display) if nudged.rule else ""
        rows.append(
            (size.name, *cells, quantities.difference(after - before, unit, display), rule, " to ".join(limits))
        )
    return report.table(("size", "now", "becomes", "moved by", "on the rule", "range"), rows, right="lrrrrl")


def _figures(nudged: Nudged, moved: Moved, display: Display) -> list[str]:
    rows = []
    for k, wish in enumerate(nudged.wishes):
        unit = wish.figure.unit
        cells = [quantities.finely(value, unit, display) for value in (nudged.figures_before[k], moved.figures[k])]
        rule = "" if nudged.on_the_rule is None else quantities.finely(nudged.on_the_rule[k], unit, display)
        rows.append((wish.figure.address, *cells, rule, wished(wish, display)))
    return report.table(("figure", "now", "becomes", "on the rule", "wanted"), rows, right="lrrrl")


def wished(wish: Wish, display: Display) -> str:
    """What is wanted of a figure, in words."""
    unit = wish.figure.unit
    if wish.goal.step is not None:
        return f"whole {quantities.finely(wish.goal.step, unit, display)}"
    return quantities.finely(wish.goal.wanted or 0.0, unit, display)


def _remarks(nudged: Nudged) -> Iterator[str]:
    if nudged.on_the_rule is not None:
        yield from report.paragraph(
            '"On the rule": every size on its nearest division, and what the figures come to then.'
        )
    if nudged.tried > 1:
        yield from report.paragraph(
            f"{nudged.tried} combinations of neighbouring divisions were worked out, the most promising of those of the "
            f"{NEAREST} nearest of each figure."
        )
    for size, reach in zip(nudged.sizes, nudged.ranges, strict=True):
        if reach.is_supposed:
            told = limits_told(size, reach)
            yield from report.paragraph(f"{told[0].upper()}{told[1:]}.")
        yield from report.paragraph(own_formula(size))


# -------------------------------------------------------------------- where a wish can't be met


def problems(nudged: Nudged, display: Display) -> list[Problem]:
    """Which wish can't be met with those before it, and how near it comes."""
    k = nudged.unmet or 0
    wish = nudged.wishes[k]
    names = ", ".join(size.name for size in nudged.sizes)
    place = f"--{'wanted' if wish.goal.step is None else 'whole'} {wish.figure.address}"
    others = "" if k == 0 else " while what is wanted before it holds"
    what = f"can't be {wished(wish, display)}{others}, with {names} in their ranges"
    if len(nudged.wishes) > len(nudged.sizes):
        wishes, sizes = len(nudged.wishes), len(nudged.sizes)
        what += f"; {wishes} figures are wanted of {sizes} size{'s' if sizes > 1 else ''}, and each needs one to itself"
    found = [Problem(place, what)]
    moved = nudged.moved
    if moved is not None:
        unit = wish.figure.unit
        figure = quantities.finely(moved.figures[k], unit, display)
        off = quantities.difference(moved.misses[k], unit, display)
        words = " ".join(option(size, value, display) for size, value in zip(nudged.sizes, moved.values, strict=True))
        found.append(Problem(place, f"the nearest that was found is {figure}, off by {off}, with {words}"))
    if nudged.spoilt:
        found.append(Problem(place, f"sizes that give it all were found, but with them {nudged.spoilt}"))
    return found


# -------------------------------------------------------------------- for a program


def to_json(nudged: Nudged) -> Json:
    """The same, unrounded: millimetres, degrees and numbers."""
    moved = nudged.moved
    return {
        "met": nudged.unmet is None and moved is not None,
        "unmet": None if nudged.unmet is None else nudged.wishes[nudged.unmet].figure.address,
        "combinations_tried": nudged.tried,
        "sum_of_squared_moves": None if moved is None else moved.cost,
        "sizes": [
            {
                "size": size.name,
                "unit": UNIT_OF[size.kind] or None,
                "now": nudged.before[k],
                "becomes": None if moved is None else moved.values[k],
                "on_the_rule": nudged.rule[k] if nudged.rule else None,
                "least": nudged.ranges[k].low,
                "most": nudged.ranges[k].high,
                "range_is_supposed": nudged.ranges[k].is_supposed,
            }
            for k, size in enumerate(nudged.sizes)
        ],
        "figures": [
            {
                "figure": wish.figure.address,
                "unit": wish.figure.unit or None,
                "wanted": wish.goal.wanted,
                "whole": wish.goal.step,
                "now": nudged.figures_before[k],
                "becomes": moved.figures[k] if moved is not None and k < len(moved.figures) else None,
                "on_the_rule": None if nudged.on_the_rule is None else nudged.on_the_rule[k],
            }
            for k, wish in enumerate(nudged.wishes)
        ],
    }
