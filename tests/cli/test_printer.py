"""Printers at the command line: the test sheet, what is recorded, sheets through it, and everything that can go wrong."""

from __future__ import annotations

import json
import os
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from cli import printers
from patterns import shopfile
from tiling.distortion import SHEETS, Distances

Command = Callable[..., Any]

MEASURED = ["--across", "149.5", "--down", "199.75", "--rising", "249.5", "--falling", "249.75"]
STUDY = ["printer", "study", "--units", "mm", *MEASURED]


@pytest.fixture(autouse=True)
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the printers are kept during a test; nothing of whoever runs it is touched."""
    folder = tmp_path / "settings" / "curvewright"
    monkeypatch.setattr(shopfile, "usual_path", lambda: folder / "shop.toml")
    return folder / "printers.json"


def assert_refused(result: Any, *said: str, status: int = 1) -> None:
    assert (result.status, result.out) == (status, ""), result.err
    for words in said:
        assert words in result.err
    assert "Traceback" not in result.err


# -------------------------------------------------------------------- the test sheet and recording


@pytest.mark.parametrize(("units", "figures"), [("mm", "149.5 199.75 249.5 249.75"), ("in", "6.01 8 10.01 10")])
def test_the_line_on_the_test_sheet_records_what_is_written_into_it(
    curvewright: Command, tmp_path: Path, units: str, figures: str
) -> None:
    sheet = tmp_path / "test.pdf"
    assert curvewright("printer", "--test-sheet", sheet, "--units", units).status == 0
    with pymupdf.open(sheet) as document:
        words = document[0].get_text().split()
    begin = words.index("curvewright")
    line = words[begin + 1 : words.index("--falling") + 1]
    filled = iter(["study", *figures.split()])
    typed = []
    for word in line:
        typed.append(word)
        if word in ("printer", "--across", "--down", "--rising", "--falling"):
            typed.append(next(filled))
    assert list(filled) == []
    assert curvewright(*typed).status == 0
    shown = curvewright("printer", "--json").json["printers"][0]
    factor = 25.4 if units == "in" else 1.0
    assert list(shown["measured_mm"].values()) == pytest.approx([float(f) * factor for f in figures.split()])


def test_a_test_sheet_is_for_the_paper_asked_for(curvewright: Command, tmp_path: Path) -> None:
    made = curvewright("printer", "--test-sheet", tmp_path / "a.pdf", "--paper", "letter", "--json").json
    assert (made["units"], made["paper"]) == ("in", "letter")
    assert made["drawn_mm"]["rising"] == pytest.approx(254.0)
    assert_refused(curvewright("printer", "--test-sheet", tmp_path / "b.pdf", "--paper", "A5"), "A5 paper has no room")
    assert_refused(curvewright("printer", "--test-sheet", tmp_path / "b.pdf", "--paper", "quarto"), "not a known paper")
    assert not (tmp_path / "b.pdf").exists()


@pytest.mark.parametrize(
    ("words", "shop", "units", "said"),
    [
        ([], "", "in", "The default shop measures in inches; with --units mm"),
        ([], 'units = "mm"', "mm", "shop.toml measures in millimetres; with --units in"),
        ([], 'units = "cm"', "mm", "shop.toml measures in millimetres"),
        ([], "leave = { outside = 3 }", "", "shop.toml"),
        (["--units", "mm"], "leave = { outside = 3 }", "mm", ""),
        (["--paper", "A4"], "", "mm", "A4 paper goes with millimetres; with --units in"),
        (["--paper", "Tabloid"], 'units = "mm"', "in", "Tabloid paper goes with inches; with --units mm"),
        (["--paper", "A4", "--units", "in"], 'units = "mm"', "in", ""),
        (["--paper", "10 in x 12 in"], 'units = "mm"', "mm", "shop.toml measures in millimetres"),
        (["--paper", "roll 24 in"], "", "in", "for paper off a roll 24 in wide"),
    ],
)
def test_a_test_sheet_is_in_the_units_of_its_paper_or_of_the_shop(
    curvewright: Command, tmp_path: Path, settings: Path, words: list[str], shop: str, units: str, said: str
) -> None:
    """And says which, unless it was asked for. A shop file with a mistake decides nothing."""
    settings.parent.mkdir(parents=True)
    if shop:
        settings.with_name("shop.toml").write_text(shop)
    result = curvewright("printer", "--test-sheet", tmp_path / "a.pdf", *words)
    if not units:
        assert_refused(result, said)
        return
    assert said in " ".join(result.out.split())
    assert ("--units" in result.out) == ("--units" not in words)
    with pymupdf.open(tmp_path / "a.pdf") as document:
        assert f"--units {units}" in " ".join(document[0].get_text().split())


def test_a_test_sheet_takes_the_place_of_another_and_of_nothing_else(
    curvewright: Command, tmp_path: Path, stool: Path
) -> None:
    sheets, other = tmp_path / "stool.pdf", tmp_path / "notes.txt"
    assert curvewright("sheets", stool, "-o", sheets).status == 0
    other.write_text("not ours")
    before = sheets.read_bytes()
    assert_refused(curvewright("printer", "--test-sheet", sheets), "is there already")
    assert_refused(curvewright("printer", "--test-sheet", other, "--replace"), "another kind")
    assert_refused(curvewright("printer", "--test-sheet", tmp_path), "is a folder")
    assert sheets.read_bytes() == before
    assert curvewright("printer", "--test-sheet", sheets, "--replace").status == 0
    assert curvewright("printer", "--test-sheet", sheets, "--units", "in").status == 0
    assert curvewright("printer", "--test-sheet", sheets, "--paper", "roll 24 in").status == 0
    noted = tmp_path / "noted.pdf"
    with pymupdf.open(sheets) as document:
        document[0].add_text_annot((100, 100), "149.5 across")
        document.save(noted)
    assert_refused(curvewright("printer", "--test-sheet", noted), "no test sheet")
    filled = sheets.read_bytes() + b"trailer<<>>\nstartxref\n9\n%%EOF\n"  # a form that was filled in is saved so
    sheets.write_bytes(filled)
    assert_refused(curvewright("printer", "--test-sheet", sheets), "no test sheet")
    assert sheets.read_bytes() == filled
    named = tmp_path / "named.toml"
    named.write_text(stool.read_text().replace("Step stool", "Printer test sheet", 1))
    assert "Printer test sheet" in named.read_text()
    assert curvewright("sheets", named, "-o", tmp_path / "named.pdf").status == 0
    assert_refused(curvewright("printer", "--test-sheet", tmp_path / "named.pdf"), "no test sheet")


def test_what_is_recorded_is_shown_and_forgotten(curvewright: Command, settings: Path) -> None:
    empty = curvewright("printer")
    assert "No printer is recorded" in empty.out
    assert "--test-sheet" in empty.out
    assert curvewright("printer", "--json").json["printers"] == []
    assert not settings.exists()
    done = curvewright(*STUDY)
    assert "Correction of its sheets: +0.30 % across, +0.09 % down, skew -0.06°" in done.out
    assert "--printer study" in done.out
    true = ["--across", "6", "--down", "8", "--rising", "10", "--falling", "10"]
    assert curvewright("printer", "the hall", "--units", "in", *true).status == 0
    listed = curvewright("printer").out
    assert "the hall" in listed
    assert "249.75 mm" in listed
    assert "nothing to correct" in listed
    assert "the hall" not in curvewright("printer", "Study").out
    assert curvewright("printer", "study", "--forget").status == 0
    assert [one["name"] for one in curvewright("printer", "--json").json["printers"]] == ["the hall"]
    assert_refused(curvewright("printer", "study"), 'no printer "study" is recorded', 'recorded are "the hall"')


def test_measuring_again_says_what_that_means_for_older_sheets(curvewright: Command) -> None:
    curvewright(*STUDY)
    true = ["--across", "150", "--down", "200", "--rising", "250", "--falling", "250"]
    again = curvewright("printer", "STUDY", "--units", "mm", *true)
    assert "It prints true, as far as a rule can show: its sheets are drawn as they are." in again.out
    assert "Before: +0.30 %" in again.out
    assert [one["name"] for one in curvewright("printer", "--json").json["printers"]] == ["STUDY"]


def test_lengths_are_written_as_everywhere(curvewright: Command) -> None:
    inches = ["--across", "5 57/64 in", "--down", '7 7/8"', "--rising", "249.5 mm", "--falling", "24.975 cm"]
    shown = curvewright("printer", "study", "--units", "mm", *inches, "--sure", "--json").json["printers"][0]
    assert list(shown["measured_mm"].values()) == pytest.approx([149.621875, 200.025, 249.5, 249.75])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["study", "--across", "149.5"], "--down, --rising and --falling not given"),
        (["study", *MEASURED], "--units mm or --units in"),
        ([*MEASURED, "--units", "mm"], "name the printer"),
        (["study", "--units", "mm", *MEASURED[:-1], "wide"], "--falling"),
        (["study", "--units", "mm", *MEASURED[:-1], "0"], "more than nothing"),
        (["study", "--units", "mm", *MEASURED[:-1], "1e3"], "--falling"),
        (["study", "--units", "mm", *MEASURED[:-1], "90 deg"], "--falling"),
        (["study", "--units", "in", *MEASURED], "25.4 times"),
        (["--forget"], "name the printer to forget"),
        (["study", "--forget"], "no printer"),
        (["study", "--forget", *MEASURED], "leave --across"),
        (["--sure"], "by itself"),
        (["study", "--units", "mm"], "by itself"),
        (["study", "--units", "mm", *MEASURED, "--paper", "A4"], "is for a test sheet"),
    ],
)
def test_requests_that_make_no_sense(curvewright: Command, settings: Path, words: list[str], said: str) -> None:
    assert_refused(curvewright("printer", *words), said)
    assert not settings.exists()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("../study", "not a path"),
        ("/etc/study", "not a path"),
        ("a\\b", "not a path"),
        ("..", "not a path"),
        ("", "needs a name"),
        ("  ", "needs a name"),
        ("stu\ndy", "control characters"),
        ("stu\x1b[2Jdy", "control characters"),
        ("stu\u202edy", "control characters"),
        ("n" * 31, "at most 30"),
        ("None", "choose another name"),
        ("study \u2602", "lettering does not have it"),
    ],
)
def test_names_that_are_none(curvewright: Command, settings: Path, name: str, said: str) -> None:
    result = curvewright("printer", name, "--units", "mm", *MEASURED)
    assert_refused(result, said)
    assert "\x1b" not in result.err
    assert not settings.exists()


def test_what_looks_wrong_is_recorded_only_by_one_who_is_sure(curvewright: Command, settings: Path) -> None:
    shrunk = ["--across", "141.25", "--down", "188.25", "--rising", "235.25", "--falling", "235.25"]
    assert_refused(curvewright("printer", "study", "--units", "mm", *shrunk), "shrunk to fit the page", "--sure")
    assert not settings.exists()
    assert curvewright("printer", "study", "--units", "mm", *shrunk, "--sure").status == 0
    assert "was recorded although the page is" in curvewright("printer", "study").out
    swapped = ["--across", "200", "--down", "150", "--rising", "250", "--falling", "250"]
    assert_refused(curvewright("printer", "hall", "--units", "mm", *swapped, "--sure"), "changed places")


# -------------------------------------------------------------------- sheets


def test_sheets_for_a_printer_say_so_and_a_reprint_keeps_to_it(
    curvewright: Command, tmp_path: Path, stool: Path
) -> None:
    curvewright(*STUDY)
    sheets, change = tmp_path / "stool.pdf", tmp_path / "change.pdf"
    done = curvewright("sheets", stool, "-o", sheets, "--printer", "study", "--json").json
    assert done["printer"]["name"] == "study"
    assert done["correction"] == curvewright("printer", "study", "--json").json["printers"][0]["correction"]
    curvewright("printer", "study", "--forget")  # the PDF knows what it was made for
    changed = curvewright("reprint", sheets, stool, "--size", "rise=2", "-o", change)
    assert 'corrected for "study"' in " ".join(changed.out.split())
    again = curvewright("reprint", sheets, stool, "--size", "rise=2", "-o", change, "--json").json
    assert again["correction"] == done["correction"]
    same = curvewright("sheets", sheets, "-o", tmp_path / "same.pdf", "--json").json
    assert [one["digest"] for one in same["sheets"]] == [one["digest"] for one in done["sheets"]]
    plain = curvewright("sheets", sheets, "-o", tmp_path / "plain.pdf", "--printer", "none", "--json").json
    assert plain["correction"] == [1, 0, 0, 1, 0, 0]
    assert "printer" not in plain


def test_a_reprint_for_another_printer_is_refused_with_what_to_do(
    curvewright: Command, tmp_path: Path, stool: Path
) -> None:
    curvewright(*STUDY)
    plain, out, sheets = tmp_path / "plain.pdf", tmp_path / "out.pdf", tmp_path / "study.pdf"
    curvewright("sheets", stool, "-o", plain)
    curvewright("sheets", stool, "-o", sheets, "--printer", "study")
    refused = curvewright("reprint", plain, stool, "-o", out, "--printer", "study")
    assert_refused(refused, "not corrected for any printer", 'corrected for "study"', "would not fit")
    remedy = shlex.split(refused.err.partition("Print all of them: curvewright ")[2].strip())
    assert not out.exists()
    remedy[remedy.index("all.pdf")] = str(out)
    assert curvewright(*remedy).status == 0, "the remedy works as it is said"
    assert_refused(
        curvewright("reprint", sheets, stool, "-o", tmp_path / "x.pdf", "--printer", "none"), "would not fit"
    )
    assert curvewright("reprint", sheets, stool, "-o", tmp_path / "y.pdf", "--printer", "study").status == 0
    assert curvewright("reprint", plain, stool, "-o", tmp_path / "z.pdf", "--printer", "none").status == 0


def test_sheets_for_a_printer_that_is_not_recorded(curvewright: Command, tmp_path: Path, stool: Path) -> None:
    out = tmp_path / "stool.pdf"
    asked = ["sheets", stool, "-o", out, "--printer"]
    assert_refused(curvewright(*asked, "study"), "--printer", "nor any other", "--test-sheet")
    curvewright(*STUDY)
    assert_refused(curvewright(*asked, "stduy"), 'the nearest is "study"')
    assert not out.exists()


def test_without_a_printer_named_nothing_is_corrected(curvewright: Command, tmp_path: Path, stool: Path) -> None:
    """No printer is taken silently, be it the only one recorded."""
    before = curvewright("sheets", stool, "-o", tmp_path / "a.pdf", "--json").json
    curvewright(*STUDY)
    assert curvewright("sheets", stool, "-o", tmp_path / "b.pdf", "--json").json == before
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


# -------------------------------------------------------------------- the settings file

ONE = {"units": "mm", "across_mm": 149.5, "down_mm": 199.75, "rising_mm": 249.5, "falling_mm": 249.75}


def file_of(version: object = 1, **records: object) -> bytes:
    return json.dumps({"version": version, "printers": {"study": ONE, **records}}).encode()


DAMAGED = {
    "cut short": (file_of()[:-20], "cut short"),
    "empty": (b"", "cut short"),
    "not UTF-8": (file_of().replace(b"study", b"stud\xe9"), "not UTF-8"),
    "binary": (bytes(range(256)), "not UTF-8"),
    "a list": (b"[1, 2]", "damaged"),
    "no version": (b'{"printers": {}}', "damaged"),
    "version in words": (file_of("one"), "damaged"),
    "version none": (file_of(0), "version 0"),
    "newer": (file_of(2), "newer Curvewright (version 2; this one reads 1)"),
    "newer with more in it": (file_of(7, hall={"trays": 3}), "newer"),
    "distance in words": (file_of(hall=ONE | {"down_mm": "200"}), "damaged"),
    "distance yes": (file_of(hall=ONE | {"down_mm": True}), "damaged"),
    "distance nothing": (file_of(hall=ONE | {"down_mm": 0}), "more than nothing"),
    "distance absurd": (file_of(hall=ONE | {"down_mm": 4e9}), "hall"),
    "distance endless": (file_of(hall=ONE).replace(b"249.75", b"1e999"), "endless"),
    "distance enormous": (file_of(hall=ONE).replace(b"249.75", b"9" * 400), "damaged"),
    "distance is no number": (file_of(hall=ONE).replace(b"249.75", b"NaN"), "NaN is no number"),
    "a distance missing": (file_of(hall={k: v for k, v in ONE.items() if k != "down_mm"}), "damaged"),
    "a key too many": (file_of(hall=ONE | {"tray": 2}), "damaged"),
    "other units": (file_of(hall=ONE | {"units": "ell"}), "damaged"),
    "a printer that is a number": (file_of(hall=3), "damaged"),
    "a name with a path": (file_of(**{"../hall": ONE}), "not a path"),
    "a name with an escape": (file_of(**{"ha\x1bll": ONE}), "control characters"),
    "the same name twice": (file_of(hall=ONE).replace(b'"hall"', b'"study"'), "twice"),
    "nested without end": (b"[" * 100_000, "damaged"),
    "huge": (b" " * 1_100_000, "larger than"),
}


@pytest.mark.parametrize("case", DAMAGED)
def test_a_damaged_settings_file_is_told_of_and_left_alone(
    curvewright: Command, settings: Path, stool: Path, tmp_path: Path, case: str
) -> None:
    data, said = DAMAGED[case]
    settings.parent.mkdir(parents=True)
    settings.write_bytes(data)
    out = tmp_path / "out.pdf"
    for words in (
        ["printer"],
        ["printer", "study"],
        ["printer", "hall", "--units", "mm", *MEASURED],
        ["printer", "study", "--forget"],
        ["sheets", stool, "-o", out, "--printer", "study"],
    ):
        result = curvewright(*words)
        assert_refused(result, str(settings), said)
        assert "nothing" in result.err
        assert "\x1b" not in result.err
    assert settings.read_bytes() == data
    assert [one.name for one in settings.parent.iterdir()] == ["printers.json"]
    assert not out.exists()
    assert curvewright("sheets", stool, "-o", out).status == 0, "who names no printer needs no settings"


def test_a_folder_in_its_place_is_told_of(curvewright: Command, settings: Path) -> None:
    settings.mkdir(parents=True)
    for words in (["printer"], STUDY, ["printer", "study", "--forget"]):
        assert_refused(curvewright(*words), str(settings), "is a folder")
    assert settings.is_dir()


def test_a_file_in_its_folder_s_place_is_told_of(curvewright: Command, settings: Path) -> None:
    settings.parent.parent.mkdir(parents=True)
    settings.parent.write_text("mine")
    for words in (STUDY, ["printer"]):
        result = curvewright(*words)
        assert result.status in (0, 1, 3)
        assert "Traceback" not in result.err
    assert_refused(curvewright(*STUDY), str(settings.parent))
    assert settings.parent.read_text() == "mine"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_a_pipe_in_its_place_is_not_waited_for(curvewright: Command, settings: Path) -> None:
    settings.parent.mkdir(parents=True)
    os.mkfifo(settings)
    assert_refused(curvewright(*STUDY), "no ordinary file")


def test_a_file_that_may_not_be_read_is_told_of(
    curvewright: Command, settings: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    curvewright(*STUDY)
    before = settings.read_bytes()
    opened = Path.open

    def refused(self: Path, *words: Any, **more: Any) -> Any:
        if self == settings:
            raise PermissionError(13, "Permission denied", str(self))
        return opened(self, *words, **more)

    monkeypatch.setattr(Path, "open", refused)
    assert_refused(curvewright("printer"), str(settings), "can't be read", status=3)
    assert_refused(curvewright(*STUDY), str(settings), status=3)
    monkeypatch.undo()
    assert settings.read_bytes() == before


def test_a_disk_that_is_full_loses_nothing(
    curvewright: Command, settings: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    curvewright(*STUDY)
    before = settings.read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    hall = ["printer", "hall", "--units", "mm", *MEASURED]
    assert_refused(curvewright(*hall), "no space left", "Nothing was changed", status=3)
    assert settings.read_bytes() == before
    assert [one.name for one in settings.parent.iterdir()] == ["printers.json"]


def test_what_is_written_reads_back_to_the_last_digit() -> None:
    true = SHEETS["in"].distances.values()
    records = {"Büro ½": printers.Record.of(SHEETS["in"], Distances(*(length * 1.0031 / 3 * 3 for length in true)))}
    assert printers.decoded(printers.encoded(records), Path("printers.json")) == records
