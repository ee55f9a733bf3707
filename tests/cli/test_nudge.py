"""Several sizes nudged as little as possible, so that figures land where they are wanted."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fromfile import DEMO, SHOP
from hypothesis import given, settings
from hypothesis import strategies as st

from cli import nudging, request, trials
from cli.leastmoves import Goal
from patterns.filetext import NamedText

Command = Callable[..., Any]

FRAME = """\
curvewright = 1
title = "Frame"
units = "mm"
[sizes]
a = { value = "203.3", least = "150", most = "250" }
b = { value = "61.7", least = "50", most = "70" }
c = { value = "33.1", least = "30", most = "40" }
[[part]]
name = "rail"
blank = { length = "2 * a + b - c", width = "b + c" }
[[part]]
name = "arch"
blank = { length = "a", width = "b + 40" }
edges.top = { arch = "segmental", rise = "b", arch_to = "edge" }
"""
START = np.array([203.3, 61.7, 33.1])
LOWS, HIGHS = np.array([150.0, 50.0, 30.0]), np.array([250.0, 70.0, 40.0])
SPANS = HIGHS - LOWS
LONG, WIDE = "rail / overall length", "rail / overall width"
SLOPES = {LONG: np.array([2.0, 1.0, -1.0]), WIDE: np.array([0.0, 1.0, 1.0])}
RADIUS = "arch / edges.top / arch / radii / radius"

JOB = request.make(NamedText(FRAME, "frame.toml"), {}, SHOP)


def nudged(goals: Mapping[str, Goal], vary: str = "abc", job: request.Job = JOB) -> nudging.Nudged:
    wishes = tuple(nudging.Wish(trials.find(job, words, "--wanted"), goal) for words, goal in goals.items())
    sizes = [size for size in job.piece.sizes if size.name in vary]
    return nudging.nudged(trials.Trials(job, sizes, [wish.figure for wish in wishes]), wishes, job.display)


def moved(goals: Mapping[str, Goal], vary: str = "abc") -> Any:
    found = nudged(goals, vary)
    assert found.unmet is None
    assert found.moved is not None
    return found.moved


def projected(slopes: Any, need: Any) -> Any:
    """The least moves by linear algebra alone: the least-norm solution where moves are parts of ranges."""
    return START + SPANS * np.linalg.lstsq(slopes * SPANS, need, rcond=None)[0]


# -------------------------------------------------------------------- against references


@given(st.floats(-6.0, 6.0), st.floats(-2.0, 2.0))
@settings(max_examples=5, deadline=None)
def test_for_straight_figures_the_least_moves_are_the_projection(longer: float, wider: float) -> None:
    now = {name: float(slopes @ START) for name, slopes in SLOPES.items()}
    found = moved({LONG: Goal(wanted=now[LONG] + longer), WIDE: Goal(wanted=now[WIDE] + wider)})
    reference = projected(np.array([SLOPES[LONG], SLOPES[WIDE]]), np.array([longer, wider]))
    assert np.all((reference >= LOWS) & (reference <= HIGHS))
    assert found.values == pytest.approx(reference, abs=1e-6)


@given(st.sampled_from([1.0, 2.5, 5.0]), st.sampled_from([0.5, 1.0, 4.0]))
@settings(max_examples=4, deadline=None)
def test_no_combination_of_multiples_needs_smaller_moves(step: float, other: float) -> None:
    found = moved({LONG: Goal(step=step), WIDE: Goal(step=other)})
    best = math.inf
    now = [float(SLOPES[name] @ START) for name in (LONG, WIDE)]
    for k in range(-4, 5):
        for j in range(-4, 5):
            need = [(round(now[0] / step) + k) * step - now[0], (round(now[1] / other) + j) * other - now[1]]
            values = projected(np.array([SLOPES[LONG], SLOPES[WIDE]]), np.array(need))
            if np.all((values >= LOWS) & (values <= HIGHS)):
                best = min(best, float((((values - START) / SPANS) ** 2).sum()))
    assert found.cost == pytest.approx(best, rel=1e-6)


@given(st.sampled_from([2.0, 5.0, 10.0]), st.sampled_from(["ab", "bc", "abc"]))
@settings(max_examples=4, deadline=None)
def test_figures_come_out_whole_and_no_size_leaves_its_limits(step: float, vary: str) -> None:
    found = nudged({RADIUS: Goal(step=step), WIDE: Goal(step=1.0)}, vary)
    assert found.unmet is None
    assert found.moved is not None
    sizes = dict(zip(sorted(vary), found.moved.values, strict=True))
    for name, low, high in zip("abc", LOWS, HIGHS, strict=True):
        assert low <= sizes.get(name, low) <= high
    job = request.make(JOB.source, {name: f"{value!r} mm" for name, value in sizes.items()}, SHOP)
    told = {one.address: one.value for one in trials.all_figures(job)}
    a, b = sizes.get("a", 203.3), sizes["b"]
    assert told[RADIUS] == pytest.approx((a**2 / 4 + b**2) / (2 * b), abs=1e-9)  # R = (c²/4 + h²) / 2h
    assert told[RADIUS] / step == pytest.approx(round(told[RADIUS] / step), abs=1e-6 / step)
    assert told[WIDE] == pytest.approx(round(told[WIDE]), abs=1e-6)


def test_a_curved_figure_is_met_with_the_least_moves_there_are() -> None:
    """Against a search along the curve of all sizes that give the radius."""
    found = moved({RADIUS: Goal(wanted=110.0)}, "ab")
    b = np.linspace(50.0, 70.0, 200001)
    a = 2.0 * np.sqrt(b * (2 * 110.0 - b))
    cost = ((a - START[0]) / SPANS[0]) ** 2 + ((b - START[1]) / SPANS[1]) ** 2
    assert found.cost == pytest.approx(float(cost[(a >= LOWS[0]) & (a <= HIGHS[0])].min()), rel=1e-6)


# -------------------------------------------------------------------- what is whole already, what can't be


def test_nothing_moves_where_all_is_whole_already() -> None:
    found = nudged({"sizes / a": Goal(step=0.1), WIDE: Goal(step=0.2)})
    assert found.moved is not None
    assert found.moved.values == found.before
    assert found.tried == 0


def test_sizes_are_figures_too() -> None:
    found = moved({"sizes / a": Goal(step=5.0), "sizes / b": Goal(step=5.0), "sizes / c": Goal(step=5.0)})
    assert found.values == pytest.approx((205.0, 60.0, 35.0), abs=1e-9)


def test_more_wishes_than_sizes_tell_which_one_is_too_many_and_how_near_it_comes() -> None:
    found = nudged({LONG: Goal(wanted=440.0), WIDE: Goal(wanted=95.0), "sizes / b": Goal(step=4.0)}, "bc")
    assert found.unmet == 2
    assert found.moved is not None
    b = (440.0 - 2 * 203.3 + 95.0) / 2  # what the first two leave
    assert found.moved.values[0] == pytest.approx(b, abs=1e-5)
    assert found.moved.misses[:2] == pytest.approx((0.0, 0.0), abs=1e-6)
    assert found.moved.misses[2] == pytest.approx(b - 64.0, abs=1e-5)


def test_a_wish_beyond_the_limits_says_how_near_it_gets(curvewright: Command, tmp_path: Path) -> None:
    file = tmp_path / "frame.toml"
    file.write_text(FRAME, encoding="utf-8")
    words = ("--vary", "b", "--vary", "c", "--wanted", f"{WIDE}=120")
    result = curvewright("solve", file, *words)
    assert (result.status, result.out) == (1, "")
    assert "the nearest that was found is 110 mm, off by -10.00 mm" in result.err
    result = curvewright("solve", file, *words, "--json")
    assert result.status == 1
    assert result.json["met"] is False
    assert result.json["unmet"] == WIDE


def test_a_size_whose_limits_leave_no_room(curvewright: Command, tmp_path: Path) -> None:
    file = tmp_path / "frame.toml"
    file.write_text(FRAME.replace('least = "50", most = "70"', 'least = "61.7", most = "61.7"'), encoding="utf-8")
    result = curvewright("solve", file, "--vary", "a", "--vary", "b", "--wanted", f"{WIDE}=100")
    assert result.status == 1
    assert "--vary b: its least and its most are the same" in result.err


# -------------------------------------------------------------------- as it is asked for and told


def test_the_demo_is_nudged_and_what_is_typed_gives_it(curvewright: Command) -> None:
    demo = DEMO / "dolls-cradle.toml"
    board = "foot board / overall length"
    words = (
        "--vary",
        "body_width",
        "--vary",
        "foot_height",
        "--whole",
        f"{board}=1/8",
        "--whole",
        "rocker/area=1 sq in",
    )
    told = curvewright("solve", demo, *words)
    assert (told.status, told.err) == (0, "")
    typed = [line.strip().removeprefix("--size '").rstrip("'") for line in told.out.splitlines() if "--size" in line]
    checked = curvewright("check", demo, *(word for one in typed for word in ("--size", one)), "--json").json
    parts = {part["part"]: part for part in checked["parts"]}
    eighths = parts["foot board"]["overall_mm"][0] / 25.4 * 8
    assert eighths == pytest.approx(round(eighths), abs=1e-6)
    area = parts["rocker"]["area_mm2"] / 25.4**2
    assert area == pytest.approx(round(area), abs=1e-6)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--whole", f"{WIDE}=0"], "more than 0"),
        (["--whole", f"{WIDE}=-1"], "more than 0"),
        (["--whole", f"{WIDE}=1 deg"], "is an angle, where a length is wanted"),
        (["--whole", f"{WIDE}=1", "--wanted", f"{WIDE}=100"], "wanted twice"),
        (["--whole", "rail / quantity=2"], "changes in steps"),
        (["--whole", "sheets / rail=2"], "changes in steps"),
        (["--whole", "rail / thickness=1"], "there is none at present"),
        (["--whole", "rail / widht=1", "--whole", "nonsense=1"], "nonsense"),
        ([word for k in range(11) for word in ("--whole", f"{WIDE}={k + 1}")], "10 is the most"),
    ],
)
def test_wishes_that_can_not_be(curvewright: Command, tmp_path: Path, words: list[str], said: str) -> None:
    file = tmp_path / "frame.toml"
    file.write_text(FRAME, encoding="utf-8")
    result = curvewright("solve", file, "--vary", "a", "--vary", "b", *words)
    assert (result.status, result.out) == (1, "")
    assert said in result.err


@pytest.mark.parametrize("span", [165.0, 190.0, 215.0, 240.0])
def test_multiples_are_looked_for_where_an_exact_wish_takes_the_figures(span: float) -> None:
    """An arch's length on whole 3 mm while its span becomes another: by the arc of chord c and rise h."""
    found = moved({"arch / blank length": Goal(wanted=span), "arch / edges.top / length": Goal(step=3.0)}, "ab")
    a, b = found.values
    radius = (a * a / 4 + b * b) / (2 * b)
    length = 2 * radius * math.asin(a / (2 * radius))
    assert a == pytest.approx(span, abs=1e-6)
    assert length == pytest.approx(3.0 * round(length / 3.0), abs=1e-3)  # the arc is drawn in cubics
