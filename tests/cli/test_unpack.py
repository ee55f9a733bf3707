"""The pattern file in the PDF: written out byte for byte, found by other readers, and enough to print from."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tiling.carried import pattern_file_name

Command = Callable[..., Any]

SHOP = 'units = "in"\nprinting.inch_fraction = 16\n'


@pytest.fixture
def odd(stool: Path) -> Path:
    """The stool's file as some editors save it: with a byte-order mark and line ends of two characters."""
    stool.write_bytes(b"\xef\xbb\xbf" + stool.read_bytes().replace(b"\n", b"\r\n"))
    return stool


@pytest.fixture
def shop(tmp_path: Path, curvewright: Command) -> Path:
    path = tmp_path / "bench.toml"
    path.write_text(curvewright("shop", "--text").out, encoding="utf-8")
    return path


def test_it_comes_out_byte_for_byte(curvewright: Command, odd: Path, shop: Path, tmp_path: Path) -> None:
    sheets, folder = tmp_path / "stool.pdf", tmp_path / "out"
    assert curvewright("sheets", odd, "-o", sheets, "--shop", shop, "--size", "rise=2").status == 0
    result = curvewright("unpack", sheets, "-o", folder)
    assert result.status == 0 and "--size rise=2" in result.out
    assert (folder / "stool.toml").read_bytes() == odd.read_bytes()
    assert (folder / "shop.toml").read_bytes() == shop.read_bytes()
    assert sorted(path.name for path in folder.iterdir()) == ["shop.toml", "stool.toml"]


def test_from_file_to_pdf_to_file_to_pdf_gives_the_same_bytes(curvewright: Command, odd: Path, tmp_path: Path) -> None:
    first, second, third = (tmp_path / f"{name}.pdf" for name in ("first", "second", "third"))
    assert curvewright("sheets", odd, "-o", first, "--size", "rise=2", "--member", "Ines").status == 0
    assert curvewright("unpack", first, "-o", tmp_path / "out").status == 0
    again = ("--size", "rise=2", "--member", "Ines")
    assert curvewright("sheets", tmp_path / "out" / "stool.toml", "-o", second, *again).status == 0
    assert curvewright("sheets", first, "-o", third).status == 0
    assert first.read_bytes() == second.read_bytes() == third.read_bytes()


def test_other_readers_show_it_with_its_relationship_and_checksum(
    curvewright: Command, odd: Path, shop: Path, tmp_path: Path
) -> None:
    """ISO 32000-2, 7.11.4 and 14.13: the file's own bytes, size, MD5 checksum, media type, relationship."""
    sheets = tmp_path / "stool.pdf"
    curvewright("sheets", odd, "-o", sheets, "--shop", shop)
    with pymupdf.open(sheets) as document:
        assert document.embfile_names() == ["sheets.json", "shop.toml", "stool.toml"]
        assert document.embfile_get("stool.toml") == odd.read_bytes()
    with pikepdf.open(sheets) as pdf:
        for name, relationship in (("stool.toml", "/Source"), ("shop.toml", "/Source"), ("sheets.json", "/Data")):
            spec = pdf.attachments[name]
            file = spec.get_file()
            assert file.mime_type == ("application/json" if name == "sheets.json" else "application/toml")
            assert spec.obj.AFRelationship == relationship
            assert spec.obj in list(pdf.Root.AF)
            assert file.md5 == hashlib.md5(file.read_bytes()).digest()
            assert file.size == len(file.read_bytes())


def test_who_has_only_the_pdf_changes_the_arch_and_prints(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    sheets, new = tmp_path / "stool.pdf", tmp_path / "new.pdf"
    curvewright("sheets", stool, "-o", sheets, "--member", "Ines")
    stool.unlink()
    result = curvewright("reprint", sheets, sheets, "-o", new, "--size", "rise=2", "--json")
    assert result.status == 0
    assert {one["label"] for one in result.json["sheets"]}
    with pymupdf.open(new) as document:
        assert all("for Ines" in " ".join(page.get_text().split()) for page in document)


def test_files_that_differ_are_not_written_over(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    sheets, folder = tmp_path / "stool.pdf", tmp_path / "out"
    curvewright("sheets", stool, "-o", sheets)
    assert curvewright("unpack", sheets, "-o", folder).status == 0
    assert curvewright("unpack", sheets, "-o", folder).status == 0
    (folder / "stool.toml").write_text("mine", encoding="utf-8")
    result = curvewright("unpack", sheets, "-o", folder)
    assert result.status == 1 and "stool.toml is there already and differs" in result.err and "--replace" in result.err
    assert (folder / "stool.toml").read_text(encoding="utf-8") == "mine"
    assert curvewright("unpack", sheets, "-o", folder, "--replace").status == 0
    assert (folder / "stool.toml").read_bytes() == stool.read_bytes()


def renamed(sheets: Path, name: str, text: str | None = None) -> Path:
    """The PDF with another name of the pattern file in its record, or another text."""
    with pikepdf.open(sheets) as pdf:
        value = json.loads(pdf.attachments["sheets.json"].get_file().read_bytes())
        value["pattern_file"]["name"] = name
        value["pattern_file"]["text"] = value["pattern_file"]["text"] if text is None else text
        del pdf.attachments["sheets.json"]
        data = json.dumps(value).encode()
        pdf.attachments["sheets.json"] = pikepdf.AttachedFileSpec(pdf, data, filename="sheets.json")
        changed = sheets.with_name("changed.pdf")
        pdf.save(changed)
    return changed


STRANGE_NAMES = ["../../escaped.toml", "/etc/escaped.toml", "C:\\escaped.toml", "..", "", "con", "shop.toml"]


@pytest.mark.parametrize("name", STRANGE_NAMES)
def test_a_strangers_name_leads_into_no_other_folder(
    curvewright: Command, stool: Path, tmp_path: Path, name: str
) -> None:
    sheets, folder = tmp_path / "stool.pdf", tmp_path / "in" / "out"
    curvewright("sheets", stool, "-o", sheets)
    changed = renamed(sheets, name)
    before = set(tmp_path.rglob("*"))
    folder.parent.mkdir()
    assert curvewright("unpack", changed, "-o", folder).status == 0
    (file,) = folder.iterdir()
    assert set(tmp_path.rglob("*")) - before == {folder.parent, folder, file}
    assert file.read_bytes() == stool.read_bytes()


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=130))
def test_any_name_becomes_one_that_any_system_takes(name: str) -> None:
    made = pattern_file_name(name)
    assert made.endswith(".toml") and len(made) > len(".toml") and len(made) <= 120
    assert not set(made) & set('<>:"/\\|?*') and not any(ord(c) < 32 for c in made)
    assert made[0] not in ". " and made.casefold() != "shop.toml"


@pytest.mark.parametrize("name", ["wren-cradle.toml", "Wren's cradle, rev B.toml", "wiege für zwei.toml"])
def test_a_fit_name_is_kept(name: str) -> None:
    assert pattern_file_name(name) == name


def test_what_carries_no_pattern_file_is_refused_and_nothing_is_made(curvewright: Command, tmp_path: Path) -> None:
    foreign = tmp_path / "letter.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(foreign)
    result = curvewright("unpack", foreign, "-o", tmp_path / "out")
    assert result.status == 1 and "carries no pattern file" in result.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["x" * 61, "Ines\u202egnp", "Ines\x07"])
def test_a_members_name_that_cannot_be_printed_is_refused(
    curvewright: Command, stool: Path, tmp_path: Path, name: str
) -> None:
    result = curvewright("sheets", stool, "-o", tmp_path / "stool.pdf", "--member", name)
    assert result.status == 2 and "--member" in result.err
    assert not (tmp_path / "stool.pdf").exists()


@pytest.mark.parametrize("text", ["", "MZ\x90\x00", "#!/bin/sh\nrm -rf ~\n", 'title = "a shopping list"\n', "[" * 500])
def test_an_attachment_that_is_no_pattern_is_not_written_out(
    curvewright: Command, stool: Path, tmp_path: Path, text: str
) -> None:
    sheets = tmp_path / "stool.pdf"
    curvewright("sheets", stool, "-o", sheets)
    result = curvewright("unpack", renamed(sheets, "stool.toml", text), "-o", tmp_path / "out")
    assert result.status == 1 and "no pattern file" in result.err
    assert not (tmp_path / "out").exists()
    assert curvewright("check", tmp_path / "changed.pdf").status == 1
