"""OLD.pdf at the command line: what is not ours, damaged, cut short, newer, another piece, or on other paper."""

from __future__ import annotations

import io
import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest

Command = Callable[..., Any]

TRAY = """\
curvewright = 1
title = "Tea tray"
units = "in"
[sizes]
length = "7"
[[part]]
name = "end"
blank = { length = "length", width = "4" }
"""


@pytest.fixture
def tray(tmp_path: Path) -> Path:
    """A pattern file of one part that takes one sheet."""
    path = tmp_path / "tray.toml"
    path.write_text(TRAY, encoding="utf-8")
    return path


@pytest.fixture
def sheets(curvewright: Command, tray: Path, tmp_path: Path) -> Path:
    """The tray's sheets, on A5: not the paper that a file in inches would get."""
    path = tmp_path / "old.pdf"
    assert curvewright("sheets", tray, "--paper", "A5", "-o", path).status == 0
    return path


def test_the_old_paper_is_kept_and_named(curvewright: Command, tray: Path, sheets: Path, tmp_path: Path) -> None:
    result = curvewright("reprint", sheets, tray, "--size", "length=6", "-o", tmp_path / "new.pdf")
    assert result.status == 0
    assert "1 sheet to print on A5, as the old sheets" in result.out
    told = curvewright("reprint", sheets, tray, "--size", "length=6", "-o", tmp_path / "new.pdf", "--json").json
    assert told["paper"] == "A5"


@pytest.mark.parametrize("paper", [("--paper", "letter"), ("--margin", "5 mm"), ("--overlap", "12 mm")])
def test_other_paper_is_no_choice_for_a_reprint(
    curvewright: Command, tray: Path, sheets: Path, tmp_path: Path, paper: tuple[str, str]
) -> None:
    result = curvewright("reprint", sheets, tray, *paper, "-o", tmp_path / "new.pdf")
    assert result.status == 2
    assert f"there is no option '{paper[0]}'" in result.err
    result = curvewright("sheets", tray, "--like", sheets, *paper, "-o", tmp_path / "new.pdf")
    assert result.status == 1
    assert "--like keeps the paper, margin and overlap of old.pdf" in result.err
    assert not (tmp_path / "new.pdf").exists()


def test_any_bytes_changed_or_cut_off_are_told_or_do_no_harm(
    curvewright: Command, tray: Path, sheets: Path, tmp_path: Path
) -> None:
    """Eighty times at random: one line that names the file and nothing written, or the very same reprint."""
    whole, new, dice = sheets.read_bytes(), tmp_path / "new.pdf", random.Random(3)
    assert curvewright("reprint", sheets, tray, "-o", new).status == 0
    right = new.read_bytes()
    refused = 0
    for k in range(80):
        at = dice.randrange(len(whole))
        hurt = whole[:at] if k % 2 else whole[:at] + dice.randbytes(dice.randint(1, 9)) + whole[at + 5 :]
        sheets.write_bytes(hurt)
        new.unlink(missing_ok=True)
        result = curvewright("reprint", sheets, tray, "-o", new)
        if result.status:
            assert (result.status, result.out, new.exists()) == (1, "", False)
            assert result.err.startswith("old.pdf: ") and result.err.count("\n") == 1
            refused += 1
        else:
            assert new.read_bytes() == right
    assert refused > 20


def edited(path: Path, **changes: object) -> None:
    """Other values in the record of a PDF."""
    out = io.BytesIO()
    with pikepdf.open(path) as pdf:
        value = json.loads(pdf.attachments["sheets.json"].get_file().read_bytes())
        del pdf.attachments["sheets.json"]
        data = json.dumps(value | changes).encode()
        pdf.attachments["sheets.json"] = pikepdf.AttachedFileSpec(pdf, data, filename="sheets.json")
        pdf.save(out)
    path.write_bytes(out.getvalue())


def test_one_from_a_newer_format(curvewright: Command, tray: Path, sheets: Path, tmp_path: Path) -> None:
    edited(sheets, format=99)
    result = curvewright("reprint", sheets, tray, "-o", tmp_path / "new.pdf")
    assert (result.status, result.out) == (1, "")
    assert result.err.startswith("old.pdf: was made by a newer Curvewright")


def test_one_whose_marks_were_drawn_in_another_way(
    curvewright: Command, tray: Path, sheets: Path, tmp_path: Path
) -> None:
    edited(sheets, drawing=99)
    result = curvewright("reprint", sheets, tray, "-o", tmp_path / "new.pdf")
    assert (result.status, result.out) == (1, "")
    assert "print all sheets again" in result.err


def test_one_that_is_not_ours(curvewright: Command, tray: Path, tmp_path: Path) -> None:
    letter = tmp_path / "letter.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(letter)
    result = curvewright("reprint", letter, tray, "-o", tmp_path / "new.pdf")
    assert (result.status, result.out) == (1, "")
    assert result.err == "letter.pdf: carries no pattern file: it was not made by 'curvewright sheets'\n"


def test_one_that_asks_for_a_million_sheets(curvewright: Command, tray: Path, sheets: Path, tmp_path: Path) -> None:
    """A correction of the printer that blows the pattern up is none that a printer needs."""
    edited(sheets, correction=[5000, 0, 0, 5000, 0, 0])
    result = curvewright("reprint", sheets, tray, "-o", tmp_path / "new.pdf")
    assert (result.status, result.out) == (1, "")
    assert "is damaged" in result.err
