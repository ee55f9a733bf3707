"""The whole piece as its mirror image: on sheets, on reprints, in packets, and in what is read back of them."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from tiling import recipe

Command = Callable[..., Any]

PIECE = """\
curvewright = 1
title = "Coat bracket"
units = "in"
[sizes]
drop = { value = "2", least = "1", most = "3" }
[[part]]
name = "bracket"
quantity = 2
opposite_hand = 1
blank = { length = "9", width = "6" }
edges.top = { points = [["0", "0"], ["2", "1/2"], ["5", "drop"], ["9", "drop"]] }
[[part]]
name = "shelf"
blank = { length = "12", width = "6" }
"""


@pytest.fixture
def bracket(tmp_path: Path) -> Path:
    path = tmp_path / "bracket.toml"
    path.write_text(PIECE, encoding="utf-8")
    return path


def words(path: Path) -> str:
    with pymupdf.open(path) as document:
        return " ".join(" ".join(page.get_text() for page in document).split())


def test_what_is_its_own_mirror_image_stays_and_the_rest_says_what_it_is(
    curvewright: Command, bracket: Path, tmp_path: Path
) -> None:
    plain, other = tmp_path / "plain.pdf", tmp_path / "mirrored.pdf"
    assert curvewright("sheets", bracket, "-o", plain).status == 0
    result = curvewright("sheets", bracket, "-o", other, "--mirrored")
    assert result.status == 0 and "bracket, mirrored" in result.out and "shelf, mirrored" not in result.out
    assert "The mirror image of the piece as drawn" in words(other)
    assert "mirror image" not in words(plain)
    one, two = recipe.read(plain), recipe.read(other)
    assert two.mirrored and not one.mirrored
    assert one.of("shelf") == two.of("shelf") and two.of("bracket") is None


def test_a_reprint_keeps_the_hand_that_was_printed(curvewright: Command, bracket: Path, tmp_path: Path) -> None:
    other, new = tmp_path / "mirrored.pdf", tmp_path / "new.pdf"
    curvewright("sheets", bracket, "-o", other, "--mirrored")
    again = curvewright("reprint", other, bracket, "-o", new, "--json")
    assert again.status == 0 and not again.json["sheets"], "nothing changed"
    moved = curvewright("reprint", other, bracket, "--size", "drop=2 1/2", "-o", new)
    assert moved.status == 0 and "bracket, mirrored" in moved.out
    assert curvewright("sheets", other, "-o", tmp_path / "same.pdf").status == 0
    assert (tmp_path / "same.pdf").read_bytes() == other.read_bytes(), "the PDF stands for the mirrored piece"


def test_a_mirrored_packet_says_so_and_is_whole(curvewright: Command, bracket: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.zip"
    assert curvewright("packet", bracket, "-o", out, "--mirrored").status == 0
    told = curvewright("verify", out, "--json").json
    assert told["whole"] and told["mirrored"]
    with zipfile.ZipFile(out) as packed:
        pages = [packed.read(name).decode() for name in packed.namelist() if "/start." in name]
    assert len(pages) == 2 and all("The mirror image of the piece as drawn" in page for page in pages)
    assert "mirror image" in curvewright("verify", out).out
    assert curvewright("verify", out, bracket).status == 0


def test_check_says_how_the_hands_are_made(curvewright: Command, bracket: Path) -> None:
    assert "turn over for the other side" in " ".join(curvewright("check", bracket).out.split())
    parts = {one["part"]: one["hands"] for one in curvewright("check", bracket, "--json").json["parts"]}
    assert parts["shelf"] is None
    assert parts["bracket"] == {"way": "turned over", "drawn": 1, "opposite": 1, "reasons": []}


def test_half_patterns_and_mirror_images_go_together(curvewright: Command, bracket: Path, tmp_path: Path) -> None:
    result = curvewright("sheets", bracket, "-o", tmp_path / "half.pdf", "--mirrored", "--half", "shelf")
    assert result.status == 0
    assert recipe.read(tmp_path / "half.pdf").halves.keys() == {"shelf"}
