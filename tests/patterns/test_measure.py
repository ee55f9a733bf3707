"""Numbers as the shop writes them: every accepted spelling, and those refused because a shop could misread them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns import formula
from patterns.formula import FormulaError
from patterns.measure import Quantity, Units

QUICK = settings(max_examples=100, deadline=None)
ONE_IN_EIGHT = math.degrees(math.atan(0.125))
TARGET = float(Fraction(365, 16) * Fraction(254, 10))  # 22 13/16 in, in mm


def mm(text: str, units: Units = "in") -> float:
    return formula.evaluate(text, wanted="length", units=units, names={}).value


def degrees(text: str) -> float:
    return math.degrees(formula.evaluate(text, wanted="angle", units="in", names={}).value)


def refusal(text: str) -> str:
    with pytest.raises(FormulaError) as caught:
        mm(text)
    return caught.value.what


@pytest.mark.parametrize(
    "text",
    [
        "22 13/16", "  22   13/16  ", "22 13/16 in", '22 13/16"', "22 13/16″", "22 13/16”", "22 13/16''",
        "22.8125", "22.8125in", "365/16", "22 13⁄16", "22\u00a013/16", "22-13/16", "22–13/16", "22-13/16 in",
        '22-13/16"', "22 13/16 ''",
        "21 29/16", "1' 10 13/16\"", "1'10 13/16\"", "1' 10 13/16", "1'-10 13/16\"", "1'-10-13/16\"", "1′ 10 13/16″",
        "1′-10 13⁄16″", "1’ 10 13/16”", "1 ft 10 13/16 in", "1ft10.8125in", "1 ft 10 13/16", "1' 10.8125",
        "1'-10 13/16 in",
        "579.4375 mm", "579.4375mm", "57.94375 cm", "(22 13/16)", "+22 13/16", "22 + 13/16", "22 13/16\t",
    ],
)  # fmt: skip
def test_one_length_in_every_spelling(text: str) -> None:
    assert mm(text) == TARGET


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("3/8", 0.375), ("½", 0.5), ("22½", 22.5), ("22 ½", 22.5), ("22-½", 22.5), ("1¾", 1.75), ("¼ in", 0.25),
        ("2⅛", 2.125), ("⅜", 0.375), ("⅝", 0.625), ("⅞", 0.875), (".5", 0.5), ("0", 0.0), ("5'", 60), ("5 1/2 ft", 66),
        ("5½'", 66), ("2.5'", 30), ("1' 0 1/2\"", 12.5), ("1' 1/2\"", 12.5), ("1' ½", 12.5), ("0' 3\"", 3),
        ("-1' 3\"", -15),
        ("-22-13/16", -22.8125), ("-22 13/16", -22.8125), ("- 3", -3), ("007", 7),
    ],
)  # fmt: skip
def test_literals(text: str, inches: float) -> None:
    assert mm(text) == pytest.approx(inches * 25.4, rel=1e-15)


def test_every_vulgar_fraction_character_is_its_fraction() -> None:
    pairs = (
        "½ 1/2 ⅓ 1/3 ⅔ 2/3 ¼ 1/4 ¾ 3/4 ⅕ 1/5 ⅖ 2/5 ⅗ 3/5 ⅘ 4/5 ⅙ 1/6 ⅚ 5/6 ⅐ 1/7 ⅛ 1/8 ⅜ 3/8 ⅝ 5/8 ⅞ 7/8 ⅑ 1/9 ⅒ 1/10"
    )
    words = pairs.split()
    for character, fraction in zip(words[::2], words[1::2], strict=True):
        assert mm(character) == mm(fraction)
        assert mm(f"4{character}") == mm(f"4 {fraction}")


@pytest.mark.parametrize(("units", "bare_mm"), [("in", 25.4), ("mm", 1.0), ("cm", 10.0)])
def test_a_bare_number_is_in_the_files_unit_and_a_unit_overrides_it(units: Units, bare_mm: float) -> None:
    assert mm("12", units) == pytest.approx(12 * bare_mm, rel=1e-15)
    assert mm("12 in", units) == 304.8
    assert mm("1' 2", units) == 355.6  # after feet a bare number is inches, in a metric file too
    assert mm("12 mm", units) == 12.0


@QUICK
@given(st.integers(0, 30), st.integers(0, 11), st.integers(0, 63))
def test_feet_and_inches_agree_however_they_are_spelt(feet: int, inches: int, sixty_fourths: int) -> None:
    part = f" {sixty_fourths}/64" if sixty_fourths else ""
    hyphen_part = part.replace(" ", "-")
    expected = float((feet * 12 + inches + Fraction(sixty_fourths, 64)) * Fraction(127, 5))
    spellings = [
        f"{feet}' {inches}{part}\"",
        f"{feet}'{inches}{part}\"",
        f"{feet}'-{inches}{part}\"",
        f"{feet}'-{inches}{hyphen_part}\"",
        f"{feet}′ {inches}{part}″",
        f"{feet} ft {inches}{part} in",
        f"{feet}ft-{inches}{hyphen_part}in",
        f"{feet}' {inches}{part}",
        f"{feet * 12 + inches}{part}",
        f"{feet * 12 + inches}{hyphen_part} in",
        f"({feet}' {inches}{part}\") * 1",
        f"{feet} ft + {inches} in + {sixty_fourths}/64 in",
    ]
    assert {mm(spelling) for spelling in spellings} == {expected}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("7.5", 7.5), ("7.5 deg", 7.5), ("7.5°", 7.5), ("7 1/2 deg", 7.5), ("45 °", 45), ("-5", -5), ("360", 360),
        ("1:8", ONE_IN_EIGHT), ("1 : 8", ONE_IN_EIGHT), ("1/2:4", ONE_IN_EIGHT), ("-1:8", -ONE_IN_EIGHT),
        ("7/8 over 10", math.degrees(math.atan(0.0875))), ("1 1/2 over 12", ONE_IN_EIGHT), ('1" over 8"', ONE_IN_EIGHT),
        ("1 over 8 mm", ONE_IN_EIGHT), ("1' over 8'", ONE_IN_EIGHT), ("1 in over 203.2 mm", ONE_IN_EIGHT),
        ("1:1", 45), ("0:1", 0), ("1-1/2 over 12", ONE_IN_EIGHT),
    ],
)  # fmt: skip
def test_angles_and_slopes(text: str, expected: float) -> None:
    assert degrees(text) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    ("text", "spellings"),
    [
        ("22 -13/16", ["22 13/16 ", "22 - 13/16"]),
        ("22- 13/16", ["22 13/16 ", "22 - 13/16"]),
        ("22 –13/16", ["22 13/16 ", "22 - 13/16"]),
        ("22 -½", ["22 ½ ", "22 - ½"]),
        ("22-13/16 + 1", ["22 13/16 ", "22 - 13/16"]),
        ("40 - 22-13/16", ["22 13/16 ", "22 - 13/16"]),
        ("(22-13/16)", ["22 13/16 ", "22 - 13/16"]),
        ("1'-10\" + 3", ["1' 10\" ", "(1') - 10\""]),
        ("1' - 10\"", ["1' 10\" ", "(1') - 10\""]),
        ("1' -10\"", ["1' 10\" ", "(1') - 10\""]),
        ("3 + 1ft-10in", ["1ft 10in ", "1ft - 10in"]),
        ("22-13", ["22 - 13"]),
        ("3/4-1/8", ["3/4 - 1/8"]),
        ("3 in-1 in", ["3 in - 1 in"]),
        ("40 / 3/8", ["40 / (3/8)", "40 / 3 / 8"]),
        ("40 / -3/8", ["40 / (-3/8)", "40 / -3 / 8"]),
        ("40/1 1/2", ["40 / (1 1/2)"]),
        ("40 / 1 1/2", ["40 / (1 1/2)"]),
        ("1' 12\"", ["2' 0\"", "24 in"]),
        ("6/3/8", ["(6/3) / 8", "6 / (3/8)"]),
        ("22 6/3/8", ["(22 6/3) / 8"]),
        ("1e3", ["1000"]),
        ("2.5E-2 in", ["0.025"]),
        ("1,200", ["1200", "1.200"]),
        ("1,200,000", ["1200000"]),
        ("1_200", ["1200"]),
        ("1 200", ["1200"]),
        ("22,5", ["22.5"]),
        ("max(22,5, 3)", ["22, 5", "22.5"]),
        ("1.2.3", ["one decimal point"]),
        ("22.5 3/8", ["mixes a decimal with a fraction"]),
        ("22 13 / 16", ["22 13/16"]),
        ("3 / 4 in", ["3/4 in"]),
        ("1' 14\"", ["2' 2\"", "26 in"]),
        ("1.5' 3\"", ["whole feet"]),
        ("1' 5 mm", ["after feet come inches"]),
        ("1' 10'", ["after feet come inches"]),
        ("22 inches", ["22 in"]),
        ("22 IN", ["22 in"]),
        ("5 feet", ["5 ft"]),
        ("5 m", ["in, ft, mm, cm and deg"]),
        ("3 in mm", ["two units"]),
        ("3/0", ["0"]),
        ("2 3/0", ["0"]),
        ("1' 3/0\"", ["0"]),
        ("1:8", ["angle"]),
        ("2²", ["x * x"]),
        ("22\u200b", ["U+200B"]),
        ("\x00", ["U+0000"]),
        ('"', ["inch mark"]),
    ],
)
def test_what_a_shop_could_misread_is_refused_with_the_right_spelling(text: str, spellings: list[str]) -> None:
    what = refusal(text)
    for spelling in spellings:
        assert spelling in what
    if text.isprintable() and not text.isspace():
        assert text in what, "the value as written"


@pytest.mark.parametrize(
    "text", ["1:0", "1:-8", "1:2:3", "1:", ":8", "over 10", "rise over run", "5 deg:3", "7 / 8 over 10", "2 + 1:8"]
)
def test_a_slope_is_a_rise_over_a_run(text: str) -> None:
    with pytest.raises(FormulaError, match="slope"):
        degrees(text)


@QUICK
@given(st.integers(1, 40), st.integers(1, 63))
def test_a_hyphen_never_changes_a_length_in_silence(whole: int, part: int) -> None:
    """A hyphenated spelling is the mixed number or an error; only with a space on each side is it a difference."""
    mixed = mm(f"{whole} {part}/64")
    assert mm(f"{whole}-{part}/64") == mixed
    assert mm(f"{whole} - {part}/64") == pytest.approx(2 * mm(str(whole)) - mixed, abs=1e-9)
    for spelling in (f"{whole} -{part}/64", f"{whole}- {part}/64", f"0 + {whole}-{part}/64", f"{whole}-{part}/64 + 0"):
        with pytest.raises(FormulaError):
            mm(spelling)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_quantity_is_finite(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        Quantity(value, "length")
