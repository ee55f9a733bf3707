"""What each command leaves behind for a person and for a program."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from patterns.filetext import NamedText, parse

Command = Callable[..., Any]
IN = 25.4

CREST = """\
curvewright = 1
title = "Crest rail"
units = "in"
[[part]]
name = "rail"
blank = { length = "16", width = "4" }
edges.top = { measured = [
    ["0", "1 3/4"], ["2", "1 1/8"], ["4", "11/16"], ["6", "3/8"], ["8", "1/4"], ["10", "9/16"], ["12", "11/16"],
    ["14", "1 1/8"], ["16", "1 3/4"],
], within = "1/32", leave_out = [["1", "3"]] }
"""


@pytest.fixture
def crest(tmp_path: Path) -> Path:
    path = tmp_path / "crest.toml"
    path.write_text(CREST, encoding="utf-8")
    return path


# ---------------------------------------------------------------- check


def test_check_tells_a_person_the_sizes_parts_and_radii(curvewright: Command, stool: Path) -> None:
    result = curvewright("check", stool)
    assert (result.status, result.err) == (0, "")
    assert re.search(r"^rise +1 1/2 in +1/2 in +3 in +rise of the apron's arch$", result.out, re.M)
    assert "apron (make 2): ash, 3/4 in thick" in result.out
    assert "overall 14 in by 4 in" in result.out
    # R = c²/8h + h/2: 100/12 + 3/4 = 9 1/12 in (geometry of the circle)
    assert re.search(r"edges\.bottom: radius ~?9 3/32 in", result.out)
    assert max(map(len, result.out.splitlines())) <= 90


def test_check_in_json_is_in_millimetres_and_unrounded(curvewright: Command, stool: Path) -> None:
    found = curvewright("check", stool, "--size", "rise=2", "--json").json
    size = found["sizes"][0]
    assert (size["value_mm"], size["given_on_command_line"]) == (2 * IN, True)
    apron, tread = found["parts"]
    assert apron["overall_mm"] == pytest.approx([14 * IN, 4 * IN], abs=1e-9)
    curve = apron["curves"][0]
    radius = (100 / 16 + 1) * IN
    assert curve["arch"]["kind"] == "segmental"
    assert list(curve["arch"]["radii_mm"].values()) == pytest.approx([radius], rel=1e-12)
    assert curve["least_radius"]["radius_mm"] == pytest.approx(radius, rel=1e-4)
    assert curve["least_radius"]["turning"] == "hollow"
    assert curve["length_mm"] == pytest.approx(2 * radius * math.asin(5 * IN / radius), rel=1e-7)
    # a rectangle less what two rounded corners take away, (1 - π/4) r² each
    assert tread["area_mm2"] == pytest.approx((16 * 9 - 2 * (1 - math.pi / 4)) * IN**2, rel=1e-7)
    assert [c["least_radius"]["turning"] for c in tread["curves"]] == ["round", "round"]


def test_check_of_measurements_names_the_misread_one(curvewright: Command, crest: Path) -> None:
    text = curvewright("check", crest).out
    assert "left out at 2 in: reading 1 1/8 in" in text
    assert "9/16 at 10 looks misread" in text
    assert "the usual arches it comes nearest to" in text
    measured = curvewright("check", crest, "--json").json["parts"][0]["curves"][0]["measured"]
    assert measured["largest_deviation_mm"] <= measured["within_mm"]
    assert [r["station_mm"] for r in measured["readings"] if r["left_out"]] == [2 * IN]
    assert [s["station_mm"] for s in measured["looks_misread"]] == [10 * IN]
    assert len(measured["nearest_arches"]) == 6


def test_check_echoes_what_leaves_something_to_read(curvewright: Command, stool: Path) -> None:
    text = stool.read_text(encoding="utf-8").replace('length = "14"', 'length = "13-7/8"')
    stool.write_text(text.replace('to = "12"', 'to = "10 + rise"'), encoding="utf-8")
    out = curvewright("check", stool).out
    assert 'part "apron", blank, length: 13-7/8 is 13 7/8 in = 352.4' in out
    assert 'part "apron", edges.bottom, to: 10 + rise is 11 1/2 in' in out
    assert "edges.bottom, rise: rise is" not in out


# ---------------------------------------------------------------- patterns


def test_patterns_are_one_svg_a_part_in_millimetres(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("patterns", stool, "-o", tmp_path / "out", "--png")
    assert result.status == 0
    written = sorted((tmp_path / "out").iterdir())
    assert [path.name for path in written] == ["apron.png", "apron.svg", "tread.png", "tread.svg"]
    assert all(str(path) in result.out for path in written)
    again = curvewright("patterns", stool, "-o", tmp_path / "out", "--png", "--json").json["patterns"]
    assert sorted(path for one in again for path in (one["file"], one["png"])) == [str(path) for path in written]
    root = ElementTree.parse(tmp_path / "out" / "tread.svg").getroot()
    _, _, width, height = map(float, root.attrib["viewBox"].replace(",", " ").split())
    assert (root.attrib["width"], root.attrib["height"]) == (f"{width:g}mm", f"{height:g}mm")
    assert root.find(".//{http://www.w3.org/2000/svg}path[@id='cut-tread']") is not None
    assert (tmp_path / "out" / "apron.png").read_bytes().startswith(b"\x89PNG")


def test_patterns_for_machines_stand_beside_the_drawing(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("patterns", stool, "-o", tmp_path / "out", "--dxf", "--laser", "--part", "tread")
    assert result.status == 0
    names = ["tread.dxf", "tread.laser.svg", "tread.svg"]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == names
    assert all(name in result.out for name in names)
    again = curvewright("patterns", stool, "-o", tmp_path / "out", "--dxf", "--laser", "--part", "tread", "--json")
    (told,) = again.json["patterns"]
    assert {Path(told[kind]).name for kind in ("file", "dxf", "laser")} == set(names)


@pytest.mark.parametrize("name", ["tread.dxf", "tread.laser.svg"])
def test_a_strangers_file_for_a_machine_stays(curvewright: Command, stool: Path, tmp_path: Path, name: str) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / name).write_text("mine", encoding="utf-8")
    result = curvewright("patterns", stool, "-o", folder, "--dxf", "--laser")
    assert result.status == 1 and name in result.err
    assert [path.name for path in folder.iterdir()] == [name]


def test_patterns_of_one_part_in_json(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("patterns", stool, "-o", tmp_path / "out", "--part", "tread", "--json")
    assert [one["part"] for one in result.json["patterns"]] == ["tread"]
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["tread.svg"]


# ---------------------------------------------------------------- sheets and reprint


def test_sheets_in_json_keep_their_contract(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", stool, "-o", tmp_path / "a.pdf", "--json", "--paper", "A4")
    told = result.json
    assert (told["paper"], result.status) == ("A4", 0)
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")
    assert [s["page"] for s in told["sheets"]] == list(
        range(told["pages"] - len(told["sheets"]) + 1, told["pages"] + 1)
    )
    for sheet in told["sheets"]:
        assert re.fullmatch(r"[0-9a-f]{16}", sheet["digest"])
        part = sheet["parts"][0]
        a, b, c, d, _, _ = part["to_part"]
        assert math.sqrt(abs(a * d - b * c)) == pytest.approx(IN / 72, rel=1e-9)
        x0, y0, x1, y1 = part["window_mm"]
        assert 0 < min(x1 - x0, y1 - y0) < 210
        assert 0 < max(x1 - x0, y1 - y0) < 297


def test_sheets_tell_a_person_how_many_and_what_to_do(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", stool, "-o", tmp_path / "a.pdf")
    assert re.search(r"a\.pdf: \d+ sheets of letter paper and (the cover|\d+ pages of cover)", result.out)
    assert re.search(r"^apron +\d$", result.out, re.M)
    assert "at actual size" in result.out


def test_the_pdf_stands_for_the_pattern_file(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    first, second = tmp_path / "first.pdf", tmp_path / "second.pdf"
    curvewright("sheets", stool, "-o", first, "--paper", "legal", "--size", "rise=2", "--part", "apron")
    assert curvewright("sheets", first, "-o", second).status == 0
    assert second.read_bytes() == first.read_bytes()
    found = curvewright("check", first, "--json").json
    assert found["sizes"][0]["value_mm"] == 2 * IN
    assert [part["part"] for part in found["parts"]] == ["apron"]
    assert curvewright("check", first, "--size", "rise=1", "--json").json["sizes"][0]["value_mm"] == IN


def test_a_dry_run_tells_the_same_and_writes_nothing(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old.pdf", tmp_path / "new.pdf"
    assert curvewright("sheets", stool, "-o", old).status == 0
    words = ("reprint", old, stool, "--size", "rise=2")
    tried = [curvewright(*words, "--dry-run", *more) for more in ((), ("-o", new), ("-o", tmp_path / "no" / "new.pdf"))]
    listed = sorted(tmp_path.iterdir())
    assert not new.exists()
    wet = curvewright(*words, "-o", new)
    assert new.exists() and sorted({*listed, new}) == sorted(tmp_path.iterdir())
    for dry in tried:
        assert dry.status == 0
        assert dry.out == wet.out.replace(str(new), "dry run, nothing written")
    assert curvewright(*words, "--dry-run", "--json").json == curvewright(*words, "-o", new, "--json").json
    assert curvewright(*words).status == 2


def test_a_reprint_says_what_a_fresh_printing_would_take(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.pdf"
    assert curvewright("sheets", stool, "-o", old).status == 0
    words = ("reprint", old, stool, "--size", "rise=2", "--dry-run")
    fresh = len(curvewright("sheets", stool, "--size", "rise=2", "-o", tmp_path / "new.pdf", "--json").json["sheets"])
    assert curvewright(*words, "--json").json["fresh_sheet_count"] == fresh
    assert f"Laid out afresh, all of it would take {fresh} sheet" in curvewright(*words).out


def test_a_reprint_prints_what_differs_and_lists_the_rest(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old, new = tmp_path / "old.pdf", tmp_path / "new.pdf"
    count = len(curvewright("sheets", stool, "-o", old, "--json").json["sheets"])
    told = curvewright("reprint", old, stool, "-o", new, "--size", "rise=2", "--json").json
    fates = [fate["fate"] for fate in told["fates"]]
    assert fates.count("print") == len(told["sheets"])
    assert fates.count("keep") + fates.count("throw away") == count
    assert {fate["fate"] for fate in told["fates"] if fate["pattern"] == "tread"} == {"keep"}
    assert "throw away" in {fate["fate"] for fate in told["fates"] if fate["pattern"] == "apron"}
    text = curvewright("reprint", old, stool, "-o", new, "--size", "rise=2").out
    assert re.search(r"\d sheets? to print.*; \d+ sheets? stays? as (it is|they are)", text)
    assert re.search(r"^pattern +print +keep +throw away$", text, re.M)


def test_a_reprint_of_nothing_new_keeps_every_sheet(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.pdf"
    curvewright("sheets", stool, "-o", old, "--size", "rise=2")
    result = curvewright("reprint", old, old, "-o", tmp_path / "new.pdf")
    assert "nothing differs" in result.out
    result = curvewright("reprint", old, stool, "-o", tmp_path / "new.pdf")
    assert "--size 'rise=2'" in result.err


def test_a_reprint_never_writes_over_the_old_sheets(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.pdf"
    curvewright("sheets", stool, "-o", old)
    before = old.read_bytes()
    result = curvewright("reprint", old, stool, "-o", old)
    assert (result.status, old.read_bytes()) == (1, before)


def test_like_takes_the_old_layout_and_refuses_another_paper(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.pdf"
    first = curvewright("sheets", stool, "-o", old, "--paper", "A4", "--json").json
    again = curvewright("sheets", stool, "-o", tmp_path / "new.pdf", "--like", old, "--size", "rise=1", "--json").json
    assert again["paper"] == "A4"
    assert [s["parts"] for s in again["sheets"]] == [s["parts"] for s in first["sheets"]]
    result = curvewright("sheets", stool, "-o", tmp_path / "new.pdf", "--like", old, "--paper", "letter")
    assert result.status == 1
    assert "--paper" in result.err


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--paper", "foolscap", "A4"),
        ("--paper", "3 x 4", "100 mm"),
        ("--overlap", "1 mm", "5 mm"),
        ("--overlap", "wide", "wide"),
        ("--overlap", "10", '"10" is 10 in (254 mm); on letter paper'),
        ("--overlap", "3", '"3" is 3 in'),
        ("--overlap", "1/16", '--overlap "1/16"'),
        ("--margin", "-1", "margin"),
        ("--margin", "4 in", "--margin"),
    ],
)
def test_sheets_that_cannot_be(
    curvewright: Command, stool: Path, tmp_path: Path, option: str, value: str, said: str
) -> None:
    result = curvewright("sheets", stool, "-o", tmp_path / "a.pdf", f"{option}={value}")
    assert (result.status, result.out) == (1, "")
    assert option in result.err
    assert said in result.err
    assert not (tmp_path / "a.pdf").exists()


def test_more_than_two_thousand_sheets_are_refused_with_the_count(curvewright: Command, tmp_path: Path) -> None:
    big = tmp_path / "big.toml"
    blank = '[[part]]\nname = "{}"\nblank = {{ length = "11900", width = "11900" }}\n'
    big.write_text(
        'curvewright = 1\ntitle = "Barn"\nunits = "mm"\n' + "".join(blank.format(f"wall {k}") for k in range(12)),
        encoding="utf-8",
    )
    result = curvewright("sheets", big, "-o", tmp_path / "a.pdf")
    assert (result.status, result.out) == (1, "")
    assert re.search(r"\d,\d{3} sheets", result.err)
    assert "--many" in result.err


# ---------------------------------------------------------------- shop and schema


def test_shop_says_where_each_figure_came_from(curvewright: Command, tmp_path: Path) -> None:
    own = tmp_path / "bench.toml"
    own.write_text('units = "mm"\n[table_saw]\nkerf = "2.4"\n', encoding="utf-8")
    origin = {
        f["figure"]: (f["written"], f["from"]) for f in curvewright("shop", "--shop", own, "--json").json["figures"]
    }
    assert origin["table_saw.kerf"] == ("2.4", "bench.toml")
    assert origin["table_saw.tilts"][1] == "default shop"
    out = curvewright("shop", "--shop", own).out
    assert re.search(r"^table_saw\.kerf +bench\.toml +2\.4", out, re.M)


def test_the_shop_file_can_be_written_out_and_read_again(curvewright: Command, tmp_path: Path) -> None:
    own = tmp_path / "bench.toml"
    own.write_text(curvewright("shop", "--text").out, encoding="utf-8")
    assert {f["from"] for f in curvewright("shop", "--shop", own, "--json").json["figures"]} == {"bench.toml"}
    assert "The shop of bench.toml is in force" in curvewright("shop", "--shop", own).out


def test_the_schema_accepts_a_pattern_file_and_refuses_a_slip(curvewright: Command, stool: Path) -> None:
    schema = curvewright("schema").json
    document = parse(NamedText(stool.read_text(encoding="utf-8"), "stool.toml"), "")
    checker = jsonschema.Draft202012Validator(schema)
    checker.check_schema(schema)
    checker.validate(document)
    document["part"][0]["blnk"] = document["part"][0].pop("blank")
    assert not checker.is_valid(document)
