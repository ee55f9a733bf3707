"""What the figures of a report are called, and how an address finds them."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from fromfile import DEMO, SHOP

from cli import figures, findings, request, trials
from cli.figures import called, figures_of, near, normal
from patterns import patternfile
from patterns.errors import PatternError

PIECES = sorted(path.name for path in DEMO.glob("*.toml"))


@cache
def job_of(name: str) -> request.Job:
    return request.make(patternfile.read(DEMO / name), {}, SHOP)


def all_numbers(value: Any) -> int:
    if isinstance(value, dict):
        return sum(all_numbers(one) for one in value.values())
    if isinstance(value, list):
        return sum(all_numbers(one) for one in value)
    return int(isinstance(value, (int, float)) and not isinstance(value, bool))


@pytest.mark.parametrize("name", PIECES)
def test_every_number_of_a_report_has_an_address_of_its_own(name: str) -> None:
    told = findings.of_job(job_of(name), arches=False)
    known = figures_of(told, "check")
    boards = sum(len(part["boards"]) for part in told["parts"])  # a board's number is its name
    assert sum(one.is_number and one.value is not None for one in known) == all_numbers(told) - boards
    assert len({normal(one.address) for one in known}) == len(known)
    assert not any(set(one.address) & set("[]{}$*@?|:") for one in known)


@pytest.mark.parametrize("name", PIECES)
def test_every_figure_is_found_by_its_address(name: str) -> None:
    known = figures_of(findings.of_job(job_of(name), arches=False), "check")
    for one in known[:: len(known) // 20]:
        assert called(known, one.address) == [one]
        assert called(known, one.address.upper().replace(" / ", "/").replace("_", " ")) == [one]
        assert called(known, one.other) == [one]


def test_addresses_are_the_makers_own_names() -> None:
    found = {one.address: one for one in trials.all_figures(job_of("dolls-cradle.toml"))}
    assert found["sizes / arch_rise"].value == pytest.approx(1.625 * 25.4)
    assert found["head board / overall width"].value == pytest.approx(254.0)
    assert found["rocker / edges.bottom / arch / radii / radius"].unit == "mm"
    assert found["foot board / hand hole / length"].value == pytest.approx(3 * 25.4)
    assert found["foot board / hand hole / length"].other == "foot board / hole 1 / length"
    assert found["sizes / splay"].unit == "deg"
    assert found["side / area"].unit == "mm2"
    assert found["rocker / quantity"].is_count
    found = {one.address: one for one in trials.all_figures(job_of("bench-back.toml"))}
    assert found["back / board 2 / overall length"].part == "back"
    assert "back / edges.top, sweep 1 mirrored / length" in found


def test_a_later_reports_figures_have_addresses_as_well() -> None:
    told = {
        "settings": [{"part": "left side", "edge": "bottom", "blade_tilt_deg": 7.0, "cut": "flat"}],
        "mass_kg": 3.25,
        "parts": [{"part": "base", "finished_mm": [600.0, 300.0, 19.0]}],
    }
    found = {one.address: (one.value, one.unit) for one in figures_of(told, "settings", "settings")}
    assert found["settings / mass"] == (3.25, "kg")
    assert found["settings / base / finished thickness"] == (19.0, "mm")
    assert found["settings / left side / edges.bottom / blade tilt"] == (7.0, "deg")


def test_an_ending_is_enough_where_one_figure_ends_so() -> None:
    job = job_of("dolls-cradle.toml")
    assert trials.find(job, "Hand Hole/length", "--wanted").address == "foot board / hand hole / length"
    with pytest.raises(PatternError, match=r"could be rocker / edges.top / length; .*side / edges.top / length"):
        trials.find(job, "edges.top / length", "--wanted")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("foot bord / edges.top / lenth", "nearest are foot board / edges.top / length"),
        ("length hand", "foot board / hand hole / length"),
        ("rocker / wood", "is a text"),
        ("sizes / splay / given on command line", "is a yes or no"),
        ("sheets / rocket", "sheets / rocker"),
        ("", "--figures"),
        ("///", "--figures"),
        ("x" * 5000, "--figures"),
    ],
)
def test_what_is_no_figure_is_told_with_what_is_near(words: str, said: str) -> None:
    with pytest.raises(PatternError, match=r"^--wanted ") as caught:
        trials.find(job_of("dolls-cradle.toml"), words, "--wanted")
    assert said in str(caught.value)


def test_a_name_may_hold_a_slash() -> None:
    told = {"parts": [{"part": "panel 3/4", "overall_mm": [10.0, 20.0]}]}
    known = figures_of(told, "check")
    assert [one.value for one in called(known, "panel 3/4 / overall width")] == [20.0]
    assert near(known, "pannel 3/4 / overall width")[0] == "panel 3/4 / overall width"


def test_two_holes_of_one_name_are_told_apart_by_number() -> None:
    told = {
        "parts": [{"part": "rail", "holes": [{"name": "peg", "diameter_mm": 8.0}, {"name": "peg", "diameter_mm": 9.0}]}]
    }
    assert [one.address for one in figures_of(told, "check")] == [
        "rail / hole 1 / diameter",
        "rail / hole 2 / diameter",
    ]
    assert figures.normal("Hole_1 /DIAMETER") == "hole 1/diameter"
