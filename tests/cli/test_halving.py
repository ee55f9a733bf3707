"""``--half``: which parts are printed as halves, what is said of those that can't be, and that a reprint does the same."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tiling import recipe

Command = Callable[..., Any]

LOPSIDED = """
[[part]]
name = "bracket"
blank = { length = "9", width = "4" }
corners.top_left = { chamfer = "1" }
"""


@pytest.fixture
def pair(stool: Path) -> Path:
    """The stool with a part that is not symmetrical."""
    stool.write_text(stool.read_text(encoding="utf-8") + LOPSIDED, encoding="utf-8")
    return stool


def test_every_part_that_is_printed(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    out = tmp_path / "halves.pdf"
    result = curvewright("sheets", stool, "--half", "-o", out, "--json")
    assert result.status == 0
    parts = [part["part"] for sheet in result.json["sheets"] for part in sheet["parts"]]
    assert set(parts) == {"apron, left half", "tread, left half"}
    text = "".join(page.extract_text() for page in pypdf.PdfReader(out).pages)
    assert "flip line: lay it on the centre line of the board" in text
    assert "both halves together 14 in (355.5 mm)" in text
    assert "Draw with a half pattern" in text
    assert set(recipe.read(out).halves) == {"apron", "tread"}


def test_one_part_of_several(curvewright: Command, pair: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", pair, "--half", "tread", "-o", tmp_path / "one.pdf")
    assert result.status == 0
    assert "tread, left half" in result.out and "apron, left half" not in result.out


def test_refused_with_every_reason_and_a_remedy(curvewright: Command, pair: Path, tmp_path: Path) -> None:
    more = 'name = "tread"\nedges.left = { fit = true }'
    pair.write_text(pair.read_text(encoding="utf-8").replace('name = "tread"', more), encoding="utf-8")
    out = tmp_path / "none.pdf"
    result = curvewright("sheets", pair, "--half", "-o", out)
    assert result.status == 1 and not out.exists()
    assert 'stool.toml: part "tread", edges.left: has "leave long, fit to the piece"' in result.err
    assert 'stool.toml: part "bracket", corners.top_left: has no twin' in result.err
    assert result.err.rstrip().endswith("--half apron; the others come out whole")


def test_alone_it_is_to_be_left_out(curvewright: Command, pair: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", pair, "--part", "bracket", "--half", "-o", tmp_path / "none.pdf")
    assert result.status == 1
    assert "--half: print whole patterns: leave it out" in result.err


def test_a_part_that_is_not_printed(curvewright: Command, pair: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", pair, "--part", "apron", "--half", "tread", "-o", tmp_path / "none.pdf")
    assert result.status == 1 and '--half: prints no part "tread"' in result.err


def test_a_file_taken_for_a_part(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", "--half", stool, "-o", tmp_path / "none.pdf")
    assert result.status == 2 and "is a file, not a part; give FILE first" in result.err


def test_reprint_prints_halves_on_the_same_strip(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old.pdf", tmp_path / "new.pdf"
    assert curvewright("sheets", stool, "--half", "apron", "-o", old).status == 0
    same = curvewright("reprint", old, stool, "-o", tmp_path / "same.pdf", "--json").json
    assert same["sheets"] == [] and {fate["fate"] for fate in same["fates"]} == {"keep"}
    changed = curvewright("reprint", old, stool, "--size", "rise=2", "-o", new, "--json").json
    assert {fate["pattern"] for fate in changed["fates"] if fate["fate"] == "print"} == {"apron, left half"}
    assert recipe.read(new).halves == recipe.read(old).halves


def test_a_pdf_stands_for_its_halves(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old, again = tmp_path / "old.pdf", tmp_path / "again.pdf"
    assert curvewright("sheets", stool, "--half", "apron", "-o", old).status == 0
    assert curvewright("sheets", old, "-o", again).status == 0
    assert again.read_bytes() == old.read_bytes()


def test_reprint_of_a_part_that_has_become_lopsided(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old, out = tmp_path / "old.pdf", tmp_path / "new.pdf"
    assert curvewright("sheets", stool, "--half", "-o", old).status == 0
    text = stool.read_text(encoding="utf-8").replace("corners.top_right = { round", "corners.top_right = { chamfer")
    stool.write_text(text, encoding="utf-8")
    result = curvewright("reprint", old, stool, "-o", out)
    assert result.status == 1 and not out.exists()
    assert "corners.top_left: is no mirror image of corners.top_right" in result.err
    assert "print the whole with 'curvewright sheets'" in result.err
    told = " ".join(curvewright("compare", old, stool).out.split())
    assert 'Sheets: part "tread", corners.top_left: is no mirror image' in told
    assert "the old sheets are those of a half pattern; print the whole" in told


def test_a_half_is_never_taken_for_the_whole(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    """Whole sheets laid out like those of halves are other sheets, with other words, whatever lies on them."""
    half, whole = tmp_path / "half.pdf", tmp_path / "whole.pdf"
    first = curvewright("sheets", stool, "--half", "-o", half, "--json").json
    second = curvewright("sheets", stool, "-o", whole, "--json").json
    assert not {sheet["digest"] for sheet in first["sheets"]} & {sheet["digest"] for sheet in second["sheets"]}
    slugs = {record.slug for record in recipe.read(half).patterns}
    assert not slugs & {record.slug for record in recipe.read(whole).patterns}


@pytest.mark.parametrize("width", [0, -1, 1e9, "wide", None])
def test_a_record_with_a_strip_that_is_none_is_damaged(
    curvewright: Command, stool: Path, tmp_path: Path, width: object
) -> None:
    out = tmp_path / "old.pdf"
    assert curvewright("sheets", stool, "--half", "apron", "-o", out).status == 0
    value = json.loads(recipe.read(out).to_bytes())
    value["halves"] = {"apron": width}
    with pytest.raises(Exception, match="makes no sense"):
        recipe.from_bytes(json.dumps(value).encode(), "old.pdf")


def test_drawings_of_halves(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("patterns", stool, "--half", "apron", "-o", tmp_path / "drawings", "--json")
    assert result.status == 0
    files = sorted(path.name for path in (tmp_path / "drawings").iterdir())
    assert files == ["apron--left-half.svg", "tread.svg"]
    assert 'id="cut-apron--left-half"' in (tmp_path / "drawings" / files[0]).read_text(encoding="utf-8")
