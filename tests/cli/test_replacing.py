"""What is there already: whose PDF may be written over, and that a reprint is of the piece on the bench."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest

Command = Callable[..., Any]


@pytest.fixture
def sheets(curvewright: Command, stool: Path, tmp_path: Path) -> Path:
    """The stool's sheets."""
    path = tmp_path / "stool.pdf"
    assert curvewright("sheets", stool, "-o", path).status == 0
    return path


@pytest.fixture
def bench(stool: Path, tmp_path: Path) -> Path:
    """The pattern file of another piece, with the same parts."""
    path = tmp_path / "bench.toml"
    path.write_text(stool.read_text(encoding="utf-8").replace("Step stool", "Garden bench"), encoding="utf-8")
    return path


@pytest.fixture
def letter(tmp_path: Path) -> Path:
    """A PDF that is none of ours."""
    path = tmp_path / "letter.pdf"
    writer = pypdf.PdfWriter()
    writer.add_blank_page(612, 792)
    writer.write(path)
    return path


def test_a_strangers_pdf_stays_as_it_is(curvewright: Command, stool: Path, letter: Path) -> None:
    before = letter.read_bytes()
    result = curvewright("sheets", stool, "-o", letter)
    assert (result.status, result.out, letter.read_bytes()) == (1, "", before)
    assert "letter.pdf is there already and carries no pattern file" in result.err
    assert "--replace" in result.err
    assert curvewright("sheets", stool, "-o", letter, "--replace").status == 0
    assert letter.read_bytes() != before


def test_the_sheets_of_another_piece_stay_as_they_are(curvewright: Command, sheets: Path, bench: Path) -> None:
    before = sheets.read_bytes()
    result = curvewright("sheets", bench, "-o", sheets)
    assert (result.status, result.out, sheets.read_bytes()) == (1, "", before)
    assert 'holds sheets of "Step stool", not of "Garden bench"' in result.err
    assert curvewright("sheets", bench, "-o", sheets, "--replace").status == 0


def test_replacing_a_file_of_another_kind_needs_another_name(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("12 rockers to cut", encoding="utf-8")
    assert curvewright("sheets", stool, "-o", notes, "--replace").status == 1
    assert notes.read_text(encoding="utf-8") == "12 rockers to cut"


def test_the_same_sheets_are_replaced_without_a_word(curvewright: Command, stool: Path, sheets: Path) -> None:
    before = sheets.read_bytes()
    result = curvewright("sheets", stool, "-o", sheets)
    assert (result.status, result.err, sheets.read_bytes()) == (0, "", before)


def test_other_sheets_of_the_same_piece_are_replaced_with_a_note(
    curvewright: Command, stool: Path, sheets: Path
) -> None:
    count = len(curvewright("sheets", stool, "-o", sheets, "--json").json["sheets"])
    result = curvewright("sheets", stool, "-o", sheets, "--size", "rise=2")
    assert result.status == 0
    assert f"of its {count} sheets differ" in result.err
    assert "keep the older PDF and use 'curvewright reprint'" in result.err


def test_a_reprint_replaces_no_strangers_pdf_either(
    curvewright: Command, stool: Path, sheets: Path, letter: Path
) -> None:
    before = letter.read_bytes()
    result = curvewright("reprint", sheets, stool, "--size", "rise=2", "-o", letter)
    assert (result.status, letter.read_bytes()) == (1, before)
    assert curvewright("reprint", sheets, stool, "--size", "rise=2", "-o", letter, "--replace").status == 0


def test_a_reprint_of_another_piece_names_both(curvewright: Command, sheets: Path, bench: Path, tmp_path: Path) -> None:
    result = curvewright("reprint", sheets, bench, "-o", tmp_path / "new.pdf")
    assert (result.status, result.out) == (1, "")
    assert 'stool.pdf holds sheets of "Step stool", and bench.toml is "Garden bench"' in result.err
    assert not (tmp_path / "new.pdf").exists()


def test_old_pdf_and_file_the_wrong_way_round(curvewright: Command, stool: Path, sheets: Path, tmp_path: Path) -> None:
    result = curvewright("reprint", stool, sheets, "-o", tmp_path / "new.pdf")
    assert result.status == 1
    assert f"curvewright reprint {sheets} {stool} -o" in result.err


def test_drawings_of_ours_are_replaced_and_a_strangers_are_not(
    curvewright: Command, stool: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "drawings"
    assert curvewright("patterns", stool, "-o", folder, "--png").status == 0
    assert curvewright("patterns", stool, "-o", folder, "--png", "--size", "rise=2").status == 0
    (folder / "tread.svg").write_text("<svg><path d='M0,0'/></svg>", encoding="utf-8")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    result = curvewright("patterns", stool, "-o", folder)
    assert (result.status, result.out) == (1, "")
    assert "tread.svg is there already and was not made by" in result.err
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert curvewright("patterns", stool, "-o", folder, "--replace").status == 0


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".laser.svg", ".png"])
def test_what_was_worked_on_since_or_is_another_program_s_is_not_lost(
    curvewright: Command, stool: Path, tmp_path: Path, ending: str
) -> None:
    """Beside drawings of ours that may be written over, too: each file answers for itself."""
    every = ("patterns", stool, "-o", tmp_path, "--png", "--dxf", "--laser")
    assert curvewright(*every).status == 0
    assert curvewright(*every, "--size", "rise=2").status == 0, "as we drew them they are ours to write over"
    drawing = tmp_path / f"tread{ending}"
    ours = drawing.read_bytes()
    for other, why in ((ours + b" ", "was changed since"), (b"someone else's", "was not made by")):
        drawing.write_bytes(other)
        result = curvewright(*every)
        assert result.status == 1 and f"tread{ending} is there already and {why}" in result.err
        assert drawing.read_bytes() == other
    assert curvewright(*every, "--replace").status == 0


def test_a_strangers_picture_is_not_replaced(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    photo = tmp_path / "apron.png"
    photo.write_bytes(b"\x89PNG a photograph of grandmother's apron")
    assert curvewright("patterns", stool, "-o", tmp_path, "--png").status == 1
    assert not (tmp_path / "apron.svg").exists()
    assert curvewright("patterns", stool, "-o", tmp_path).status == 0
    assert photo.read_bytes().endswith(b"apron")


def test_the_sheets_of_another_piece_are_no_layout_to_follow(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    text = 'curvewright = 1\ntitle = "Crest"\nunits = "mm"\n[[part]]\nname = "crest"\n'
    other.write_text(text + 'blank = { length = "500", width = "90" }\n', encoding="utf-8")
    assert curvewright("sheets", other, "-o", tmp_path / "other.pdf").status == 0
    result = curvewright("sheets", stool, "--like", tmp_path / "other.pdf", "-o", tmp_path / "new.pdf")
    assert result.status == 1 and "none of the parts" in result.err and not (tmp_path / "new.pdf").exists()
