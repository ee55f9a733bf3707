"""Solving for one size, as a maker asks for it at the command line."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fromfile import DEMO, SHOP
from hypothesis import given, settings
from hypothesis import strategies as st

from cli import request, solving, trials
from patterns.filetext import NamedText

Command = Callable[..., Any]

ARCH = """\
curvewright = 1
title = "Arched rail"
units = "{units}"
[sizes]
span = {{ value = "{span}", least = "{span} / 2", most = "{span} * 2" }}
rise = {{ value = "{rise}", least = "{least}", most = "{most}" }}
count = {{ value = "2", kind = "number", least = "1", most = "4" }}
lean = {{ value = "5 deg", least = "0 deg", most = "20 deg" }}
[[part]]
name = "rail"
blank = {{ length = "span", width = "{most} + 40" }}
edges.top = {{ arch = "segmental", rise = "rise", arch_to = "edge" }}
[[part]]
name = "foot"
blank = {{ bottom = "span", top = "span + 2 * 100 mm * tan(lean)", height = "100 mm" }}
"""

RADIUS = "rail / edges.top / arch / radii / radius"
LENGTH = "rail / edges.top / length"


def rail(span: str = "600", rise: str = "60", least: str = "20", most: str = "300", units: str = "mm") -> request.Job:
    text = ARCH.format(span=span, rise=rise, least=least, most=most, units=units)
    return request.make(NamedText(text, "rail.toml"), {}, SHOP)


def solved(job: request.Job, size: str, figure: str, wanted: float) -> solving.Answer:
    sizes = [one for one in job.piece.sizes if one.name == size]
    return solving.solved(trials.Trials(job, sizes, [trials.find(job, figure, "--wanted")]), wanted, job.display)


def values(answer: solving.Answer) -> list[float]:
    return [one.exact.value for one in answer.solutions]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "rail.toml"
    path.write_text(ARCH.format(span="600", rise="60", least="20", most="300", units="mm"), encoding="utf-8")
    return path


# -------------------------------------------------------------------- against closed forms and published values


@pytest.mark.parametrize(
    ("chord", "rise", "figure", "wanted"),
    [
        # Machinery's Handbook, 31st ed. (2020), p. 79 example: c 16, h 6, printed R 8 1/3; its arc recomputed
        (16.0, 6.0, RADIUS, 25.0 / 3.0),
        (16.0, 6.0, LENGTH, 21.450037),
        # R = (c^2 + 4 h^2) / (8 h), Machinery's Handbook, 31st ed., pp. 50, 78-79, reckoned for 36 by 6
        (36.0, 6.0, RADIUS, 30.0),
    ],
)
def test_the_rise_that_gives_a_handbooks_radius_and_arc(chord: float, rise: float, figure: str, wanted: float) -> None:
    job = rail(span=f"{chord}", rise=f"{chord / 4 + 0.1}", least=f"{chord / 20}", most=f"{chord / 2}", units="in")
    near = 1e-6 if figure == RADIUS else 3e-5  # the arc is given to six decimals
    assert values(solved(job, "rise", figure, wanted * 25.4)) == pytest.approx([rise * 25.4], abs=near)


def test_a_rise_from_its_radius_is_the_closed_forms_to_a_millionth() -> None:
    for radius in (320.0, 1070.0):
        closed = radius - math.sqrt(radius**2 - 300.0**2)
        found = solved(rail(), "rise", RADIUS, radius)
        assert values(found) == pytest.approx([closed], abs=1e-9)
        assert found.solutions[0].exact.figure == pytest.approx(radius, abs=1e-9)


def test_the_length_of_a_semicircle_is_reached_at_the_limit_itself() -> None:
    found = values(solved(rail(), "rise", LENGTH, math.pi * 300.0))
    assert found == pytest.approx([300.0], abs=1e-3)  # an arc is drawn to within 0.001 mm of the circle


@given(st.floats(0.0, 1.0), st.sampled_from([RADIUS, LENGTH, "rail / area", "rail / overall length"]))
@settings(max_examples=4, deadline=None)
def test_what_a_size_gives_is_solved_back_to_it(share: float, figure: str) -> None:
    job = rail()
    size = "span" if figure.endswith("overall length") else "rise"
    low, high = (300.0, 1200.0) if size == "span" else (20.0, 290.0)
    value = low + (high - low) * share
    if size == "rise":
        value = min(value, 290.0)
    sizes = [one for one in job.piece.sizes if one.name == size]
    tried = trials.Trials(job, sizes, [trials.find(job, figure, "--wanted")])
    try:
        wanted = tried.at(value)[0]
    except trials.Untried:
        return
    answer = solving.solved(tried, wanted, job.display)
    assert min(abs(one - value) for one in values(answer)) < 1e-6
    assert all(abs((one.exact.figure or 0.0) - wanted) < 1e-6 for one in answer.solutions)
    assert all(answer.range.low <= one <= answer.range.high for one in values(answer))
    assert values(answer) == sorted(values(answer), key=lambda one: abs(one - answer.now.value))


def test_values_go_through_a_formula_without_losing_a_bit() -> None:
    job = rail()
    for value in (61.123456789012345, 20.000000000000004, 99.99999999999999):
        (size,) = [one for one in job.piece.sizes if one.name == "rise"]
        made = request.make(job.source, {"rise": trials.written(size, value)}, SHOP)
        assert next(one.value for one in made.piece.sizes if one.name == "rise") == value


def test_angles_and_numbers_are_solved_for_as_well() -> None:
    job = rail()
    found = solved(job, "lean", "foot / overall length", 630.0)
    assert values(found) == pytest.approx([math.degrees(math.atan(0.15))], abs=1e-9)
    assert [round(one.value, 9) for one in found.solutions[0].on_the_rule] == [8.5, 8.6]
    assert values(solved(job, "count", "sizes / count", 2.5)) == pytest.approx([2.5])


# -------------------------------------------------------------------- what the shop is told


def test_the_divisions_beside_the_exact_value_are_told_with_what_they_give(curvewright: Command, file: Path) -> None:
    result = curvewright("solve", file, "--vary", "rise", "--wanted", f"{RADIUS}=500", "--json")
    (only,) = result.json["solutions"]
    assert [near["size_mm"] for near in only["on_the_rule"]] == [100.0]
    assert only["on_the_rule"][0]["size_option"] == "rise=100 mm"
    result = curvewright("solve", file, "--vary", "rise", "--wanted", f"{RADIUS}=510")
    assert (result.status, result.err) == (0, "")
    assert "on the rule" in result.out
    typed = result.out.partition("exactly:  --size '")[2].partition("'")[0]
    checked = curvewright("check", file, "--size", typed, "--json").json
    told = checked["parts"][0]["curves"][0]["arch"]["radii_mm"]["radius"]
    assert told == pytest.approx(510.0, abs=1e-6)


def test_what_it_prints_to_type_may_be_an_inch_fraction(curvewright: Command) -> None:
    result = curvewright(
        "solve", DEMO / "dolls-cradle.toml", "--vary", "body_width", "--wanted", "rocker/overall length=15 3/4"
    )
    assert "--size 'body_width=9 3/4'" in result.out


def test_a_size_that_the_file_works_out_says_that_it_no_longer_follows(curvewright: Command) -> None:
    demo = DEMO / "dolls-cradle.toml"
    result = curvewright("solve", demo, "--vary", "foot_rail", "--wanted", "side / edges.top / length=16 1/2")
    assert result.status == 0
    assert "works foot_rail out from arch_rise, foot_height" in " ".join(result.out.split())
    assert "no least and no most" in " ".join(result.out.split())


def test_a_size_that_others_depend_on_takes_them_along() -> None:
    job = request.make(NamedText((DEMO / "dolls-cradle.toml").read_text(encoding="utf-8"), "a.toml"), {}, SHOP)
    found = solved(job, "foot_height", "sizes / foot_rail", 120.0)
    assert values(found) == pytest.approx([120.0 + 41.275], abs=1e-9)


# -------------------------------------------------------------------- where there is no answer, or several


def test_no_value_within_the_limits_says_how_far_the_figure_goes(curvewright: Command, file: Path) -> None:
    result = curvewright("solve", file, "--vary", "rise", "--wanted", f"{LENGTH}=2 m".replace(" m", "000"), "--json")
    assert result.status == 1
    assert result.json["solutions"] == []
    assert result.json["figure_most"]["figure_mm"] == pytest.approx(math.pi * 300.0, abs=1e-3)
    assert "--size rise=300 mm" in result.err.replace("'", "")


def test_a_figure_that_does_not_depend_on_the_size_says_so(curvewright: Command, file: Path) -> None:
    result = curvewright("solve", file, "--vary", "lean", "--wanted", f"{LENGTH}=700")
    assert (result.status, result.out) == (1, "")
    assert f"{LENGTH} does not depend on lean" in result.err
    assert "it changes with span, rise" in result.err


def test_all_values_are_told_the_nearest_first() -> None:
    # The area under the arch, span and rise both from one size: (s - x)(x + ...) has a hump, so two sizes give one area.
    text = """curvewright = 1
title = "Hump"
units = "mm"
[sizes]
x = { value = "120", least = "10", most = "290" }
[[part]]
name = "panel"
blank = { length = "x", width = "300 - x" }
"""
    job = request.make(NamedText(text, "hump.toml"), {}, SHOP)
    answer = solved(job, "x", "panel / area", 20000.0)
    assert values(answer) == pytest.approx([100.0, 200.0], abs=1e-9)
    touched = solved(job, "x", "panel / area", 22500.0)  # the most there is, where both roots fall together
    assert values(touched) == pytest.approx([150.0], abs=1e-3)
    beyond = solved(job, "x", "panel / area", 22501.0)
    assert beyond.solutions == ()
    assert (beyond.nearest.x, beyond.nearest.y) == pytest.approx((150.0, 22500.0), abs=1e-3)


def test_what_can_not_be_made_is_a_gap_and_told() -> None:
    text = ARCH.format(span="600", rise="60", least="20", most="500", units="mm")
    job = request.make(NamedText(text, "rail.toml"), {}, SHOP)
    answer = solved(job, "rise", LENGTH, 2000.0)
    assert answer.solutions == ()
    (gap,) = answer.gaps
    assert (gap.low, gap.high) == pytest.approx((300.0, 500.0), abs=1e-6)
    assert "half the span" in gap.why


def test_a_value_that_another_part_forbids_is_no_answer(curvewright: Command, tmp_path: Path) -> None:
    file = tmp_path / "pair.toml"
    text = ARCH.format(span="600", rise="60", least="20", most="300", units="mm")
    text += '[[part]]\nname = "low"\nblank = { length = "600", width = "80" }\n'
    text += 'edges.top = { arch = "segmental", rise = "rise", arch_to = "edge" }\n'
    file.write_text(text, encoding="utf-8")
    result = curvewright("solve", file, "--vary", "rise", "--wanted", f"{RADIUS}=500")
    assert (result.status, result.out) == (1, "")
    assert 'part "low"' in result.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--vary", "rize", "--wanted", f"{RADIUS}=500"], 'the nearest is "rise"'),
        (["--vary", "rise", "--wanted", "rail / edges.top / lenth=500"], "nearest are rail / edges.top / length"),
        (["--vary", "rise", "--wanted", f"{RADIUS}=5 deg"], "is an angle, where a length is wanted"),
        (["--vary", "rise", "--wanted", f"{RADIUS}=five"], "five"),
        (["--vary", "lean", "--wanted", "sizes / lean=5 mm"], "is a length, where an angle is wanted"),
        (["--vary", "rise", "--wanted", "rail / area=500"], "is no area"),
        (["--vary", "rise", "--wanted", "rail / edges.top / kind=500"], "is a text"),
        (["--vary", "rise", "--wanted", "rail / quantity=1/2"], "whole number"),
        (["--vary", "rise", "--vary", "rise", "--wanted", f"{RADIUS}=500"], "given twice"),
        (["--vary", "rise", "--size", "rise=50", "--wanted", f"{RADIUS}=500"], "--size rise=50; leave one of them out"),
        (["--vary", "rise"], "--wanted 'FIGURE=VALUE'"),
        (["--wanted", f"{RADIUS}=500"], "--vary SIZE"),
        ([], "--figures"),
        (["--figures", "zzz"], "no figure has these words"),
    ],
)
def test_a_request_that_can_not_be_answered(curvewright: Command, file: Path, words: list[str], said: str) -> None:
    result = curvewright("solve", file, *words)
    assert (result.status, result.out) == (1, "")
    assert said in result.err
    assert result.err.startswith("rail.toml: ")


def test_a_wanted_figure_without_a_value_is_a_wrong_command_line(curvewright: Command, file: Path) -> None:
    for wish in ("radius", "=5", "radius="):
        result = curvewright("solve", file, "--vary", "rise", "--wanted", wish)
        assert result.status == 2
        assert "FIGURE=VALUE" in result.err


def test_the_file_is_not_taken_for_words_to_look_for(curvewright: Command, file: Path) -> None:
    result = curvewright("solve", "--figures", file)
    assert result.status == 2
    assert "give FILE first" in result.err


def test_the_list_of_figures(curvewright: Command, file: Path) -> None:
    result = curvewright("solve", file, "--figures", "length edges.top", "--json")
    only, *of_settings = result.json["figures"]
    assert only["figure"] == LENGTH and all(one["figure"].startswith("settings / ") for one in of_settings)
    assert only["unit"] == "mm"
    assert "sheets / rail" in curvewright("solve", file, "--figures").out


# -------------------------------------------------------------------- sheet counts


def test_a_sheet_count_is_met_and_how_far_it_holds(curvewright: Command, file: Path) -> None:
    words = ("--vary", "span", "--wanted", "sheets / foot=3", "--paper", "A4", "--json")
    (only,) = curvewright("solve", file, *words).json["solutions"]
    holds = only["holds"]
    (whole,) = only["on_the_rule"]
    assert holds["least"] <= whole["size_mm"] <= holds["most"]
    for span, same in ((holds["least"], True), (holds["least"] - 0.1, False), (whole["size_mm"], True)):
        words = (
            "--size",
            f"span={span} mm",
            "-o",
            file.with_suffix(".pdf"),
            "--part",
            "foot",
            "--paper",
            "A4",
            "--json",
        )
        assert (curvewright("sheets", file, *words).json["sheet_count"] == 3) == same


def test_a_count_that_is_never_reached_names_the_nearest(curvewright: Command, file: Path) -> None:
    result = curvewright("solve", file, "--vary", "rise", "--wanted", "sheets / foot=40", "--paper", "A4")
    assert (result.status, result.out) == (1, "")
    assert "sheets / foot does not depend on rise: it is" in result.err
    result = curvewright("solve", file, "--vary", "rise", "--wanted", "sheets / foot=1 1/2")
    assert "takes a whole number" in result.err


def test_a_pdf_stands_for_its_pattern_file_its_sizes_and_its_paper(curvewright: Command, file: Path) -> None:
    pdf = file.with_suffix(".pdf")
    words = ("--size", "span=550", "--size", "lean=4 deg", "--part", "foot", "--paper", "A3", "-o", pdf, "--json")
    count = curvewright("sheets", file, *words).json["sheet_count"]
    told = {one["figure"]: one["value"] for one in curvewright("solve", pdf, "--figures", "--json").json["figures"]}
    assert (told["sizes / span"], told["sheets / foot"]) == (550.0, count)
    found = curvewright("solve", pdf, "--vary", "span", "--wanted", "foot / overall length=620", "--json").json
    lean = 2 * 100.0 * math.tan(math.radians(4.0))
    assert found["solutions"][0]["size_mm"] == pytest.approx(620.0 - lean, abs=1e-9)


def test_pages_are_those_that_are_printed(curvewright: Command, stool: Path) -> None:
    printed = curvewright("sheets", stool, "-o", stool.with_suffix(".pdf"), "--json").json["pages"]
    text = stool.read_text(encoding="utf-8").replace('least = "1/2", most = "3"', 'least = "1 1/2", most = "1 1/2"')
    stool.write_text(text, encoding="utf-8")
    words = ("--vary", "rise", "--wanted", f"sheets / pages={printed}", "--json")
    assert curvewright("solve", stool, *words).json["now"]["figure"] == printed
