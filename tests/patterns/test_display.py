"""Figures as shown: what a rule can show, marked where the rounding would matter, and readable back."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns import formula
from patterns.display import ROUNDED, Display
from patterns.measure import Units

QUICK = settings(max_examples=100, deadline=None)
INCHES, METRIC, CENTIMETRES = Display("in"), Display("mm"), Display("cm")
IN = 25.4


@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        (579.4375, "22 13/16 in"),
        (0.0, "0 in"),
        (-0.0, "0 in"),
        (IN, "1 in"),
        (IN * 3 / 8, "3/8 in"),
        (IN * 31 / 32, "31/32 in"),
        (IN * 14, "14 in"),
        (IN * -1.5, "-1 1/2 in"),
        (IN * 63.999, "64 in"),
        (IN * 120, "120 in"),
        (IN * (2 + 1 / 128), "2 in"),  # off by a quarter of 1/32, not by more
        (IN * (2 + 1.05 / 128), "~2 in"),
        (IN * (2 + 1 / 64), "~2 1/32 in"),  # halves go up
        (580.0, "~22 27/32 in"),
        (0.3, "~0 in"),
        (-0.3, "~0 in"),
    ],
)
def test_inches(mm: float, shown: str) -> None:
    assert INCHES.length(mm) == shown


@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        (580.0, "580 mm"), (579.5, "579.5 mm"), (579.4375, "579.5 mm"), (579.3, "~579.5 mm"), (579.7, "~579.5 mm"),
        (579.75, "~580 mm"), (579.625, "579.5 mm"), (0.1, "0 mm"), (-0.1, "0 mm"), (-2.5, "-2.5 mm"),
        (1000.0, "1000 mm"),
    ],
)  # fmt: skip
def test_millimetres(mm: float, shown: str) -> None:
    assert METRIC.length(mm) == shown


@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        (579.5, "57.95 cm"),
        (580.0, "58 cm"),
        (579.4375, "57.95 cm"),
        (579.7, "~57.95 cm"),
        (5.0, "0.5 cm"),
        (-5.0, "-0.5 cm"),
    ],
)
def test_centimetres(mm: float, shown: str) -> None:
    assert CENTIMETRES.length(mm) == shown


def test_own_unit_first_and_the_other_in_brackets() -> None:
    assert INCHES.both(579.4375) == "22 13/16 in (579.5 mm)"
    assert INCHES.both(IN * 4.625) == "4 5/8 in (117.5 mm)"
    assert METRIC.both(580.0) == "580 mm (~22 27/32 in)"
    assert METRIC.both(100.0) == "100 mm (3 15/16 in)"
    assert METRIC.both(3.0) == "3 mm (1/8 in)"
    assert CENTIMETRES.both(95.0) == "9.5 cm (~3 3/4 in)"
    assert INCHES.both(IN / 32) == "1/32 in (~1 mm)"


def test_other_divisions() -> None:
    assert Display("in", inch_fraction=16).length(IN * 3 / 32) == "~1/8 in"
    assert Display("in", inch_fraction=64).length(IN * 3 / 64) == "3/64 in"
    assert Display("in", inch_fraction=1).length(IN * 2.2) == "2 in"
    assert Display("mm", metric_step_mm=1).length(3.5) == "~4 mm"
    assert Display("mm", metric_step_mm=0.1).length(3.14) == "~3.1 mm"
    assert Display("mm", metric_step_mm=0.1).length(0.3) == "0.3 mm"
    assert Display("mm", metric_step_mm=10).length(3000) == "3000 mm"


@pytest.mark.parametrize("fraction", [0, -2, 3, 10, 48])
def test_a_rule_halves_its_inches(fraction: int) -> None:
    with pytest.raises(ValueError, match="8, 16, 32"):
        Display("in", inch_fraction=fraction)


@pytest.mark.parametrize("step", [0.0, -1.0, math.nan, math.inf])
def test_a_metric_step_is_more_than_nothing(step: float) -> None:
    with pytest.raises(ValueError, match="steps"):
        Display("mm", metric_step_mm=step)


def test_angles_and_areas() -> None:
    assert INCHES.angle(math.radians(7.5)) == "7.5°"
    assert INCHES.angle(math.radians(5)) == "5°"
    assert INCHES.angle(math.atan(1 / 8)) == "~7.1°"
    assert INCHES.angle(math.radians(-0.01)) == "0°"
    assert INCHES.area(IN * IN * 12.5) == "12.5 sq in"
    assert METRIC.area(1250.0) == "12.5 sq cm"


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_not_finite_is_not_shown(value: float) -> None:
    for show in (INCHES.length, METRIC.length, INCHES.angle, INCHES.area, CENTIMETRES.both):
        with pytest.raises(ValueError, match="finite"):
            show(value)


def read(text: str, units: Units) -> float:
    return formula.evaluate(text, wanted="length", units=units, names={}).value


@QUICK
@given(st.integers(-64 * 200, 64 * 200))
def test_any_64th_of_an_inch_reads_back_to_the_same_length(count: int) -> None:
    mm = count * IN / 64
    shown = Display("in", inch_fraction=64).length(mm)
    assert not shown.startswith(ROUNDED)
    assert read(shown, "in") == pytest.approx(mm, rel=1e-15)
    assert read(shown.removesuffix(" in"), "in") == pytest.approx(mm, rel=1e-15)


@QUICK
@given(st.integers(-8000, 8000), st.sampled_from(["mm", "cm"]))
def test_any_half_millimetre_reads_back_to_the_same_length(halves: int, units: Units) -> None:
    shown = Display(units).length(halves / 2)
    assert not shown.startswith(ROUNDED)
    assert read(shown, units) == halves / 2


DISPLAYS = st.builds(
    Display,
    st.sampled_from(["in", "mm", "cm"]),
    st.sampled_from([8, 16, 32, 64]),
    st.sampled_from([0.1, 0.25, 0.5, 1.0]),
)


def division(display: Display) -> float:
    return IN / display.inch_fraction if display.units == "in" else display.metric_step_mm


@QUICK
@given(DISPLAYS, st.floats(-5000, 5000))
def test_a_figure_without_the_mark_is_within_a_quarter_of_a_division(display: Display, mm: float) -> None:
    shown = display.length(mm)
    off = abs(read(shown.removeprefix(ROUNDED), display.units) - mm) / division(display)
    assert off <= 0.5 + 1e-6
    assert shown.startswith(ROUNDED) == (off > 0.25 + 1e-7) or abs(off - 0.25) < 1e-6
    assert not shown.removeprefix(ROUNDED).startswith("-0 ")


@QUICK
@given(DISPLAYS, st.integers(-3000, 3000), st.floats(-1e-12, 1e-12))
def test_float_noise_changes_no_figure(display: Display, eighths: int, noise: float) -> None:
    mm = eighths * division(display) / 8
    assert display.both(mm) == display.both(mm * (1 + noise))


@QUICK
@given(DISPLAYS, st.integers(-3000, 3000), st.floats(-1e-12, 1e-12))
def test_a_limit_on_a_division_is_shown_as_it_is(display: Display, count: int, noise: float) -> None:
    mm = count * division(display)
    assert display.at_most(mm * (1 + noise)) == display.at_least(mm * (1 + noise)) == display.length(mm)


@QUICK
@given(DISPLAYS, st.floats(-5000, 5000))
def test_a_limit_as_shown_keeps_the_limit(display: Display, mm: float) -> None:
    most, least = display.at_most(mm), display.at_least(mm)
    assert not most.startswith(ROUNDED)
    assert not least.startswith(ROUNDED)
    room = 1e-6 * division(display)
    assert mm - division(display) - room <= read(most, display.units) <= mm + room
    assert mm - room <= read(least, display.units) <= mm + division(display) + room


def test_the_lettering_can_print_every_figure() -> None:
    """The font of all lettering has each character that a figure may hold."""
    files = pytest.importorskip("fontTools.ttLib")
    import fontpkg_noto_sans

    font = next(p for p in Path(fontpkg_noto_sans.__file__).parent.rglob("NotoSans*.ttf") if "Italic" not in p.name)
    with files.TTFont(font) as opened:
        characters = opened.getBestCmap()
    figures = [INCHES.both(577.0), METRIC.both(-579.3), CENTIMETRES.both(5.3), INCHES.angle(0.11), INCHES.area(7.0)]
    assert not {c for c in "".join(figures) if ord(c) not in characters}


@pytest.mark.parametrize(
    ("display", "mm", "text"),
    [
        (Display("in"), 25.4 / 32, "1/32 in"),
        (Display("in"), 0.2, "less than 1/32 in (0.2 mm)"),
        (Display("mm"), 0.0123, "less than 0.5 mm (0.01 mm)"),
        (Display("cm"), 0.3, "less than 0.05 cm (0.3 mm)"),
        (Display("mm"), 0.0004, "less than 0.5 mm (under 0.001 mm)"),
        (Display("mm"), 12.5, "12.5 mm"),
    ],
)
def test_a_small_amount_is_never_shown_as_nothing(display: Display, mm: float, text: str) -> None:
    assert display.amount(mm) == text
