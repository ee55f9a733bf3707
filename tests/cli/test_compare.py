"""compare: what a maker is told of two versions of a piece, and that OLD and NEW may be anything or nothing."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cairosvg
import pypdf
import pytest

Command = Callable[..., Any]

DEMO = Path(__file__).resolve().parents[2] / "demo"
QUARTER_INCH = 6.35


@pytest.fixture
def other(stool: Path, tmp_path: Path) -> Callable[..., Path]:
    """The stool's file with words replaced by others, beside the first."""

    def made(*pairs: tuple[str, str], name: str = "new.toml") -> Path:
        text = stool.read_text(encoding="utf-8")
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new)
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return made


def of(found: Any, pattern: str) -> Any:
    return next(one for one in found["parts"] if one["pattern"] == pattern)


# -------------------------------------------------------------------- what differs


def test_an_arch_raised_by_a_quarter_inch_is_a_quarter_inch_off_at_its_middle(
    curvewright: Command, stool: Path
) -> None:
    found = curvewright("compare", stool, stool, "--size", "rise=1 3/4", "--json").json
    apron = of(found, "apron")
    (line,) = apron["lines"]
    assert apron["largest_distance_mm"] == line["distance_mm"] == pytest.approx(QUARTER_INCH, abs=1e-4)
    assert (line["key"], line["edge"], line["wood"]) == ("edges.bottom", "bottom", "less")
    assert line["station_mm"] == pytest.approx(7 * 25.4, abs=0.5)
    assert of(found, "tread")["same"] and not found["same"]
    (size,) = found["sizes"]
    assert (size["name"], size["kind"], size["state"]) == ("rise", "length", "changed")
    assert [size[key] for key in ("old_mm", "new_mm", "change_mm")] == pytest.approx([38.1, 44.45, 6.35])


@pytest.mark.parametrize(
    ("file", "sizes", "pattern", "key", "most"),
    [
        ("dolls-cradle.toml", ["rocker_rise=1 1/2"], "rocker", "edges.bottom", QUARTER_INCH),
        ("dolls-cradle.toml", ["arch_rise=1 7/8"], "side", "edges.top", 6.4),
        ("bench-back.toml", ["bench=1010"], "seat rail", "edges.right", 10.0),
        ("hall-rack.toml", ["rail=900"], "peg rail", "edges.right", 20.0),
    ],
)
def test_demo_pieces_with_a_size_changed(
    curvewright: Command, file: str, sizes: list[str], pattern: str, key: str, most: float
) -> None:
    given = [word for size in sizes for word in ("--size", size)]
    found = curvewright("compare", DEMO / file, DEMO / file, *given, "--json").json
    one = of(found, pattern)
    assert key in [line["key"] for line in one["lines"]]
    assert 0.5 * most < one["largest_distance_mm"] <= most + 0.01


def test_the_json_says_all_of_it(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    found = curvewright("compare", stool, stool, "--size", "rise=2", "-o", tmp_path / "d", "--json").json
    assert set(found) == {
        "old", "new", "same", "same_piece", "angles", "sizes", "added", "removed", "renamed", "parts", "figures", "sheets",
        "warnings", "pictures",
    }  # fmt: skip
    assert found["new"]["sizes_given"] == {"rise": "2"} and found["old"]["sizes_given"] == {}
    (length,) = (one for one in found["figures"] if one["figure"] == "apron / edges.bottom / length")
    assert (length["report"], length["part"], length["unit"]) == ("check", "apron", "mm")
    assert length["new"] - length["old"] == pytest.approx(length["change"]) and length["change"] > 0
    assert found["sheets"]["layout"] == "first printing of the old" and found["sheets"]["paper"] == "letter"
    assert found["pictures"] == [{"pattern": "apron", "file": str(tmp_path / "d" / "apron-compared.svg")}]


def test_it_is_told_in_the_order_in_which_it_matters(curvewright: Command, tmp_path: Path) -> None:
    cradle = DEMO / "dolls-cradle.toml"
    words = ["--size", "splay=1:8", "--size", "arch_rise=1 3/4", "-o", tmp_path / "changes"]
    told = curvewright("compare", cradle, cradle, *words).out
    order = ["Changed angles", "Changed sizes:", "Cut lines", "Figures of", "Sheets,", "Pictures:"]
    places = [told.index(word) for word in order]
    assert places == sorted(places)
    assert "set anew" in told and re.search(r"splay +~6\.8° +~7\.1° +\+0\.282°", told)


def test_an_angle_of_a_hole_or_the_grain_stands_first_too(curvewright: Command, stool: Path, other: Any) -> None:
    turned = other(('name = "tread"', 'name = "tread"\ngrain = "across"'))
    found = curvewright("compare", stool, turned, "--json").json
    assert [(one["figure"], one["change"]) for one in found["angles"]] == [("tread / grain", pytest.approx(90.0))]
    assert curvewright("compare", stool, turned).out.index("Changed angles") > 0


def test_limits_and_sizes_that_came_or_went(curvewright: Command, stool: Path, other: Any) -> None:
    pairs = ('most = "3"', 'most = "2 1/2"'), ('[[part]]\nname = "tread"', '[[part]]\nname = "tread"')
    new = other(*pairs, ("[sizes]\n", '[sizes]\nturns = { value = "3", kind = "number" }\n'))
    states = {one["name"]: one["state"] for one in curvewright("compare", stool, new, "--json").json["sizes"]}
    assert states == {"rise": "limits", "turns": "added"}
    back = {one["name"]: one["state"] for one in curvewright("compare", new, stool, "--json").json["sizes"]}
    assert back == {"rise": "limits", "turns": "removed"}
    assert re.search(
        r"rise +from 1/2 in to 3 in +from 1/2 in to 2 1/2 in +limits", curvewright("compare", stool, new).out
    )


def test_parts_added_removed_and_renamed(curvewright: Command, stool: Path, other: Any) -> None:
    renamed = curvewright("compare", stool, other(('"tread"', '"step"')), "--json").json
    assert renamed["renamed"] == [{"old": "tread", "new": "step"}] and not renamed["added"] + renamed["removed"]
    replaced = other(('"tread"', '"foot"'), ('"16"', '"15"'))
    found = curvewright("compare", stool, replaced, "--json").json
    assert (found["added"], found["removed"], found["renamed"]) == (["foot"], ["tread"], [])
    told = curvewright("compare", stool, replaced).out
    assert "Added: foot" in told and "Removed: tread" in told


def test_words_that_changed_are_told_too(curvewright: Command, stool: Path, other: Any) -> None:
    told = curvewright("compare", stool, other(("quantity = 2", "quantity = 3"), ('wood = "ash"', 'wood = "oak"'))).out
    assert re.search(r"quantity +2 +3 +\+1", told) and re.search(r"wood +ash +oak", told)


def test_a_hole_that_moved_is_told_by_its_centres(curvewright: Command, stool: Path, other: Any) -> None:
    hole = '[[part.hole]]\nname = "peg"\ncircle = "1"\nat = ["{}", "5"]\n'
    whole = stool.read_text(encoding="utf-8")
    old, new = (other((whole, f"{whole}\n{hole.format(x)}"), name=f"at-{x}.toml") for x in (4, 5))
    told = " ".join(curvewright("compare", old, new).out.split())
    assert "tread 1 in hole 1 (peg): its centre from (4 in, 5 in) to (5 in, 5 in)" in told
    assert "hole 1 (peg): gone" in curvewright("compare", new, stool).out


def test_new_warnings_and_those_that_are_gone(curvewright: Command, stool: Path, other: Any) -> None:
    tight = other(("corners.top_left = { round = \"1\" }", "corners.top_left = { notch = [\"1/2\", \"1/2\"] }"),
                  ("corners.top_right = { round = \"1\" }", "corners.top_right = { round = \"1/32\" }"))  # fmt: skip
    found = curvewright("compare", stool, tight, "--json").json
    back = curvewright("compare", tight, stool, "--json").json
    assert found["warnings"]["new"] == back["warnings"]["gone"] != []
    assert "New warnings:" in curvewright("compare", stool, tight).out


def test_two_pieces_are_compared_part_by_part_and_it_is_said_that_they_are_two(
    curvewright: Command, stool: Path, other: Any
) -> None:
    new = other(("Step stool", "Garden bench"), ('"14"', '"15"'))
    told = curvewright("compare", stool, new).out
    assert 'These are two pieces: the old one is "Step stool"' in told
    assert "Sheets: every sheet carries the title" in told
    assert of(curvewright("compare", stool, new, "--json").json, "apron")["largest_distance_mm"] == pytest.approx(25.4)


def test_figures_are_shown_in_the_new_files_unit(curvewright: Command, stool: Path, other: Any) -> None:
    inches = {"1 1/2": 40, "1/2": 10, "3": 80, "3/4": 19, "14": 355, "4": 100, "2": 50, "12": 305, "16": 406, "9": 228}
    metric = other(('units = "in"', 'units = "mm"'), *((f'"{old}"', f'"{new}"') for old, new in inches.items()))
    told = curvewright("compare", stool, metric).out
    assert "The old file is in inches; all figures here are in millimetres." in told
    assert re.search(r"rise +38 mm +40 mm +\+2 mm", told)


@pytest.mark.parametrize("as_pdf", [False, True])
def test_nothing_differs(curvewright: Command, stool: Path, other: Any, tmp_path: Path, as_pdf: bool) -> None:
    old = other(name="old.toml")
    if as_pdf:
        assert curvewright("sheets", old, "-o", tmp_path / "old.pdf").status == 0
        old = tmp_path / "old.pdf"
    result = curvewright("compare", old, stool, "-o", tmp_path / "none")
    assert result.status == 0 and "Nothing differs." in result.out
    assert not (tmp_path / "none").exists()
    assert curvewright("compare", old, stool, "--json").json["same"]


def test_one_file_with_itself(curvewright: Command, stool: Path) -> None:
    result = curvewright("compare", stool, stool)
    assert result.status == 0 and "Nothing differs: both are one file." in result.out


# -------------------------------------------------------------------- sheets


def test_sheets_of_an_old_pdf_have_the_fates_that_a_reprint_gives_them(
    curvewright: Command, stool: Path, tmp_path: Path
) -> None:
    pdf = tmp_path / "old.pdf"
    assert curvewright("sheets", stool, "-o", pdf, "--paper", "A5").status == 0
    change = ["--size", "rise=1 5/8"]
    told = curvewright("compare", pdf, stool, *change, "--json").json["sheets"]
    printed = curvewright("reprint", pdf, stool, *change, "-o", tmp_path / "new.pdf", "--json").json
    assert told["fates"] == printed["fates"] and (told["layout"], told["paper"]) == ("old PDF", "A5")
    assert {fate["fate"] for fate in told["fates"]} >= {"print", "keep", "throw away"}
    assert not told["reason"]


def test_sheets_of_one_part_are_those_that_it_has_among_all(curvewright: Command, tmp_path: Path) -> None:
    """Small parts share a sheet: leaving the others out must not make it look changed."""
    rack, pdf = DEMO / "hall-rack.toml", tmp_path / "rack.pdf"
    assert curvewright("sheets", rack, "-o", pdf).status == 0
    found = curvewright("compare", pdf, rack, "--size", "depth=200", "--part", "peg", "--json").json
    assert {fate["pattern"] for fate in found["sheets"]["fates"]} == {"peg"}
    assert {fate["fate"] for fate in found["sheets"]["fates"]} == {"keep"}
    assert [one["pattern"] for one in found["parts"]] == ["peg"]


def test_a_pdf_that_holds_some_parts_is_compared_in_these(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    pdf = tmp_path / "tread.pdf"
    assert curvewright("sheets", stool, "-o", pdf, "--part", "tread").status == 0
    found = curvewright("compare", pdf, stool, "--size", "rise=2", "--json").json
    assert [one["pattern"] for one in found["parts"]] == ["tread"]
    assert not found["removed"] + found["added"] and {fate["fate"] for fate in found["sheets"]["fates"]} == {"keep"}
    assert "Compared: tread only." in curvewright("compare", pdf, stool).out


# -------------------------------------------------------------------- pictures


def test_a_picture_for_each_part_that_differs(curvewright: Command, stool: Path, other: Any, tmp_path: Path) -> None:
    folder = tmp_path / "changes"
    new = other(('round = "1"', 'round = "1 1/4"'))
    result = curvewright("compare", stool, new, "-o", folder, "--png")
    assert sorted(path.name for path in folder.iterdir()) == ["tread-compared.png", "tread-compared.svg"]
    assert (folder / "tread-compared.png").read_bytes().startswith(b"\x89PNG")
    assert all(str(path) in result.out for path in folder.iterdir())
    again = curvewright("compare", stool, new, "-o", folder, "--png", "--json").json["pictures"]
    assert [(one["file"], one["png"]) for one in again] == [
        (str(folder / "tread-compared.svg"), str(folder / "tread-compared.png"))
    ]
    assert cairosvg.svg2png(url=str(folder / "tread-compared.svg"), dpi=30)


def test_pictures_replace_pictures_and_nothing_else(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    folder = tmp_path / "changes"
    words = ["compare", stool, stool, "--size", "rise=2", "-o", folder]
    assert curvewright(*words).status == curvewright(*words).status == 0
    (folder / "apron-compared.svg").write_text("<svg>my own</svg>", encoding="utf-8")
    result = curvewright(*words)
    assert result.status == 1 and "was not made by 'curvewright compare'" in result.err and result.out == ""
    assert (folder / "apron-compared.svg").read_text(encoding="utf-8") == "<svg>my own</svg>"
    assert curvewright(*words, "--replace").status == 0
    assert "my own" not in (folder / "apron-compared.svg").read_text(encoding="utf-8")


def test_a_pattern_is_no_picture_to_be_replaced(curvewright: Command, stool: Path, other: Any, tmp_path: Path) -> None:
    """A part may be called so that its pattern has a picture's name."""
    folder = tmp_path / "changes"
    named = other(('"tread"', '"apron compared"'), name="odd.toml")
    assert curvewright("patterns", named, "-o", folder).status == 0
    before = (folder / "apron-compared.svg").read_bytes()
    assert curvewright("compare", stool, stool, "--size", "rise=2", "-o", folder).status == 1
    assert (folder / "apron-compared.svg").read_bytes() == before


def test_png_needs_a_folder(curvewright: Command, stool: Path) -> None:
    result = curvewright("compare", stool, stool, "--png")
    assert result.status == 1 and "--png: says how pictures are written; name the folder" in result.err


# -------------------------------------------------------------------- bad input


def test_what_is_no_old_is_said_in_words(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    strange = tmp_path / "letter.pdf"
    writer = pypdf.PdfWriter()
    writer.add_blank_page(612, 792)
    writer.write(strange)
    pdf = tmp_path / "stool.pdf"
    assert curvewright("sheets", stool, "-o", pdf).status == 0
    torn = tmp_path / "torn.pdf"
    torn.write_bytes(pdf.read_bytes()[:4000])
    said = {
        tmp_path / "none.toml": "there is no",
        tmp_path: "folder",
        strange: "carries no pattern file",
        torn: "torn.pdf: ",
    }
    for path, words in said.items():
        for pair in ((path, stool), (stool, path)):
            result = curvewright("compare", *pair)
            assert (result.status, result.out) == (1, "") and words in result.err, result.err
            assert "Traceback" not in result.err


def test_the_mistakes_of_both_are_told_each_with_its_file(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    text = stool.read_text(encoding="utf-8")
    places = []
    for folder, wrong in (("old", 'length = "fourteen"'), ("new", 'length = "-14"')):
        (tmp_path / folder).mkdir()
        places.append(tmp_path / folder / "stool.toml")
        places[-1].write_text(text.replace('length = "14"', wrong), encoding="utf-8")
    result = curvewright("compare", *places)
    assert result.status == 1
    assert f"{places[0]}: part" in result.err and f"{places[1]}: part" in result.err


def test_a_part_that_neither_has_is_refused_and_one_that_one_has_is_not(
    curvewright: Command, stool: Path, other: Any
) -> None:
    result = curvewright("compare", stool, stool, "--part", "apro")
    assert result.status == 1 and 'neither of the two has a part "apro"; the nearest is "apron"' in result.err
    step = other(('"tread"', '"step"'), ('"16"', '"15"'))
    found = curvewright("compare", stool, step, "--part", "tread", "--json").json
    assert (found["removed"], found["added"], found["parts"]) == (["tread"], [], [])


def test_sizes_are_those_of_the_new_file(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("compare", stool, stool, "--size", "height=2")
    assert result.status == 1 and "height" in result.err
    pdf = tmp_path / "old.pdf"
    assert curvewright("sheets", stool, "-o", pdf, "--size", "rise=2").status == 0
    found = curvewright("compare", pdf, stool, "--json").json
    assert found["old"]["sizes_given"] == {"rise": "2"}
    assert found["sizes"][0]["old_mm"] == pytest.approx(50.8) and found["sizes"][0]["new_mm"] == pytest.approx(38.1)
