"""A reprint with a memory gives the bytes that a cold one gives, whatever was printed before it."""

from __future__ import annotations

import functools
import gc
import random
from functools import cache

import fromfile
import pytest
from pytest import MonkeyPatch

from cli import halving, printing, request
from patterns import answers, bernstein, part
from patterns.errors import PatternError
from patterns.filetext import NamedText
from patterns.memory import FORGETFUL, Memory
from tiling import deal, job
from tiling.job import Printed
from tiling.order import usual_form
from tiling.recipe import Recipe

RACK = """\
curvewright = 1
title = "Rack"
units = "mm"
about = "{about}"
[sizes]
rise = "{rise}"
length = "{length}"
peg = "{peg}"
[[part]]
name = "rail"
thickness = "18"
blank = {{ length = "length", width = "160" }}
edges.bottom = {{ arch = "segmental", rise = "rise", arch_to = "inside", from = "60", to = "length - 60" }}
notes = ["{note}"]
[[part]]
name = "end"
blank = {{ length = "240", width = "rise + 200" }}
corners.top_left = {{ round = "40" }}
[[part]]
name = "peg"
blank = {{ length = "peg", width = "22" }}
[[part]]
name = "cleat"
blank = {{ length = "90", width = "30" }}
{more}
"""
FIRST = {"about": "", "rise": "30", "length": "520", "peg": "70", "note": "Ash.", "more": ""}
VALUES = {
    "about": ["", "For the hall."],
    "rise": ["30", "34", "38.5", "60"],
    "length": ["520", "521", "640", "400"],
    "peg": ["70", "74", "130", "320"],
    "note": ["Ash.", "Oak."],
    "more": ["", '[[part]]\nname = "wedge"\nblank = { length = "60", width = "20" }\n'],
}


def printed(
    values: dict[str, str], old: Recipe | None, memory: Memory = FORGETFUL, half: tuple[str, ...] = ()
) -> Printed:
    """The rack with these values: all its sheets, or what differs from the old ones."""
    source = NamedText(RACK.format(**values), "rack.toml")
    made = halving.halved(request.make(source, {}, fromfile.SHOP, memory=memory), half, old)
    form = usual_form("mm")
    order = printing.order_of(made, old, many=True, form=form)
    return job.make_reprint(order, old, memory=memory) if old else job.make_sheets(order, form)


def forget_what_functions_keep() -> None:
    """Empties what functions keep of themselves, so that what is printed next is as cold as in a new process."""
    answers.forget()
    for kept in [one for one in gc.get_objects() if isinstance(one, functools._lru_cache_wrapper)]:
        if kept.__module__.partition(".")[0] in ("patterns", "tiling", "cli"):
            kept.cache_clear()


@cache
def bench(half: tuple[str, ...] = ()) -> Recipe:
    return printed(FIRST, None, half=half).recipe


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("half", [(), ("rail",)])
def test_after_any_edits_the_bytes_are_those_of_a_cold_run(seed: int, half: tuple[str, ...]) -> None:
    """Edits at random, some of them broken saves, some taken back; every round ends as a watch's does."""
    dice, memory, values = random.Random(seed), Memory(), dict(FIRST)
    for _ in range(6):
        key = dice.choice(list(VALUES))
        values[key] = dice.choice(VALUES[key])
        if dice.random() < 0.2:
            with pytest.raises(PatternError):
                printed(values | {"length": "70", "more": '[[part]]\nname = "rail"'}, bench(half), memory)
        warm = printed(values, bench(half), memory)
        old = bench(half)
        forget_what_functions_keep()
        assert warm.data == printed(values, old).data, (seed, values)
        memory.forget()


def test_what_a_save_leaves_alone_is_not_built_planned_drawn_or_sent_again(monkeypatch: MonkeyPatch) -> None:
    memory = Memory()
    printed(FIRST, bench(), memory)
    memory.forget()
    done: list[str] = []
    noted = (
        (part, "build", lambda spec, _: spec.name),
        (deal, "_planned", lambda pattern, *_: f"plan {pattern.name}"),
        (deal, "through_pdf", lambda segments: f"send {len(segments)} lines"),
    )
    for module, name, what in noted:
        plain = getattr(module, name)

        def told(*arguments, work=plain, what=what, **named):  # type: ignore[no-untyped-def]
            done.append(what(*arguments))
            return work(*arguments, **named)

        monkeypatch.setattr(module, name, told)
    printed(FIRST | {"about": "For the hall."}, bench(), memory)
    assert done == []
    memory.forget()
    printed(FIRST | {"peg": "74"}, bench(), memory)
    assert set(done) == {"peg", "plan peg"}
    printed(FIRST, bench())
    assert any(one.startswith("send ") for one in done), "a command that runs once sends all lines there and back"


def test_a_memory_forgets_what_was_not_asked_for_in_the_last_round() -> None:
    memory, made = Memory(), []

    def of(key: str) -> str:
        return memory.kept(key, lambda: made.append(key) or key.upper())  # type: ignore[func-returns-value]

    for keys in ("ab", "a", "ab", "b", "b", "a"):
        assert [of(key) for key in keys] == list(keys.upper())
        memory.forget()
    assert made == ["a", "b", "b", "a"]


def test_answers_that_are_kept_are_safe_from_those_who_get_them() -> None:
    import numpy as np

    asked = np.array([[-1.0, 0.5, 2.0]])
    rows, places = bernstein.roots(asked)
    with pytest.raises(ValueError, match="read-only"):
        places[0] = 0.0
    asked[0, 0] = -2.0
    assert bernstein.roots(asked)[1] != places
    assert bernstein.roots(np.array([[-1.0, 0.5, 2.0]]))[1] == places and rows == [0]
