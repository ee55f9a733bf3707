"""``--template``: what is drawn, what is said of guides and parts that are not there, and that a PDF does the same again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest

from patterns.errors import PatternError
from tiling import recipe

Command = Callable[..., Any]
GUIDE = ("--guide", "5/8 bushing, 1/4 bit")


def names(result: Any) -> set[str]:
    return {part["part"] for sheet in result.json["sheets"] for part in sheet["parts"]}


def test_a_template_alone_with_its_words_on_paper(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    out = tmp_path / "template.pdf"
    result = curvewright("sheets", stool, "--template", "apron", *GUIDE, "-o", out, "--json")
    assert result.status == 0 and names(result) == {"apron, router template"}
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(out).pages).split())
    for words in (
        "5/8 in (16 mm) bushing, 1/4 in (~6.5 mm) bit",
        "3/16 in (~5 mm) inside the true line",
        "no climb cut",
    ):
        assert words in text
    assert "takes off" in result.err, "outer corners are warned of"
    (template,) = recipe.read(out).templates
    assert (template.part, template.guide.distance, template.around) == ("apron", pytest.approx(4.7625), False)


def test_beside_patterns_that_are_asked_for(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    asked = ("--template", "apron", "--part", "apron", "--part", "tread", "--guide", "flush, 1/2 bit")
    result = curvewright("sheets", stool, *asked, "-o", tmp_path / "both.pdf", "--json")
    assert names(result) == {"apron", "tread", "apron, router template"}
    result = curvewright(
        "sheets", stool, "--template", "apron", "--half", "apron", "-o", tmp_path / "half.pdf", "--json"
    )
    assert names(result) == {"apron, left half", "apron, router template"}


def test_a_reprint_and_the_pdf_do_it_again(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    out, again, changed = (tmp_path / name for name in ("old.pdf", "again.pdf", "changed.pdf"))
    asked = ("--template", "apron", "--around", "--guide", "3/8 bearing, 1/2 bit")
    assert curvewright("sheets", stool, *asked, "-o", out).status == 0
    assert curvewright("sheets", out, "-o", again).status == 0
    assert again.read_bytes() == out.read_bytes()
    result = curvewright("reprint", out, stool, "--size", "rise=2", "-o", changed, "--json")
    assert result.status == 0 and names(result) == {"apron, router window"}
    assert recipe.read(changed).templates == recipe.read(out).templates
    assert curvewright("unpack", out, "-o", tmp_path / "files", "--json").json["templates"] == [
        {"part": "apron", "guide": "3/8 in (9.5 mm) bearing, 1/2 in (~12.5 mm) bit", "around": True}
    ]


def test_drawings_have_a_name_of_their_own(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    out = tmp_path / "drawings"
    assert (
        curvewright("patterns", stool, "--template", "apron", "--part", "apron", *GUIDE, "--dxf", "-o", out).status == 0
    )
    assert {path.name for path in out.iterdir()} >= {
        "apron.svg",
        "apron--router-template.svg",
        "apron--router-template.dxf",
    }


def test_no_guide_is_said_with_what_the_shop_has(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    result = curvewright("patterns", stool, "--template", "tread", "-o", tmp_path / "drawings")
    assert result.status == 0
    assert "none is named, so it is the 7/16 in (11 mm) bushing" in result.err and '"straight 3/8"' in result.err


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--template", "aprun"), 'there is no part "aprun"; the nearest is "apron"'),
        (("--template", "apron", "--guide", "1/3 bushing"), "the shop has bushings 7/16 in (11 mm)"),
        (("--template", "apron", "--guide", "-1 bearing, 1/2 bit"), "is no diameter"),
        (GUIDE, "goes with --template PART"),
        (("--around",), "goes with --template PART"),
    ],
)
def test_mistakes_are_told_and_nothing_is_written(
    curvewright: Command, stool: Path, tmp_path: Path, asked: tuple[str, ...], words: str
) -> None:
    out = tmp_path / "none.pdf"
    result = curvewright("sheets", stool, *asked, "-o", out)
    assert result.status == 1 and words in result.err and not out.exists()


@pytest.mark.parametrize(
    "wrong", [("diameter", -3), ("diameter", "wide"), ("kind", "rope"), ("written", "a\u0007"), ("bit", 1e9)]
)
def test_a_record_with_a_guide_that_is_none(
    curvewright: Command, stool: Path, tmp_path: Path, wrong: tuple[str, object]
) -> None:
    import json

    out = tmp_path / "template.pdf"
    curvewright("sheets", stool, "--template", "apron", *GUIDE, "-o", out)
    value = json.loads(recipe.read(out).to_bytes())
    value["templates"][0][wrong[0]] = wrong[1]
    with pytest.raises(PatternError, match="damaged"):
        recipe.from_bytes(json.dumps(value).encode(), "template.pdf")
