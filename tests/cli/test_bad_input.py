"""Everything that can be wrong with what a person asks, as it shows at the command line: status, words, nothing written."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]

EMPTY_PDF = (
    b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[]/Count 0>>endobj\n"
    b"trailer<</Root 1 0 R/Size 3>>\nstartxref\n0\n%%EOF\n"
)

READING = ["check", "patterns", "sheets"]


def words_for(command: str, file: Path, folder: Path) -> list[str | Path]:
    out: list[str | Path] = {"check": [], "patterns": ["-o", folder / "out"], "sheets": ["-o", folder / "out.pdf"]}[
        command
    ]
    return [command, file, *out]


def assert_refused(result: Any, *said: str, status: int = 1) -> None:
    assert (result.status, result.out) == (status, ""), result.err
    for words in said:
        assert words in result.err
    assert "Traceback" not in result.err


@pytest.fixture
def out(tmp_path: Path) -> Path:
    folder = tmp_path / "results"
    folder.mkdir()
    return folder


@pytest.mark.parametrize("command", READING)
@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "missing.toml"),
        (b"", "empty"),
        (b'title = "caf\xe9"', "UTF-8"),
        (b'curvewright = 1\ntitle = = "x"\n', "line 2"),
        (b"%PDF-1.7\nnot one of ours", "damaged"),
        (EMPTY_PDF, "not made by 'curvewright sheets'"),
        (b"\x00\x01\x02\x03", ""),
    ],
    ids=["missing", "empty", "not UTF-8", "broken TOML", "a broken PDF", "a stranger's PDF", "binary"],
)
def test_a_file_that_is_no_pattern_file(
    curvewright: Command, tmp_path: Path, out: Path, command: str, content: bytes | None, said: str
) -> None:
    file = tmp_path / "missing.toml"
    if content is not None:
        file.write_bytes(content)
    assert_refused(curvewright(*words_for(command, file, out)), "missing.toml", said)
    assert list(out.iterdir()) == []


@pytest.mark.parametrize("command", READING)
def test_a_folder_in_place_of_a_file(curvewright: Command, tmp_path: Path, out: Path, command: str) -> None:
    assert_refused(curvewright(*words_for(command, tmp_path, out)), "folder")
    assert list(out.iterdir()) == []


@pytest.mark.parametrize("command", READING)
def test_every_mistake_is_told_in_one_go(curvewright: Command, stool: Path, out: Path, command: str) -> None:
    text = stool.read_text(encoding="utf-8")
    text = text.replace('width = "4"', 'width = "3/0"').replace("quantity", "quantty")
    stool.write_text(text, encoding="utf-8")
    result = curvewright(*words_for(command, stool, out))
    assert_refused(result, 'stool.toml: part "apron", blank, width', "3/0", "quantty", '"quantity"')
    assert len(result.err.strip().splitlines()) == 2
    assert list(out.iterdir()) == []


def test_mistakes_of_several_parts_geometry_are_told_together(curvewright: Command, stool: Path) -> None:
    text = stool.read_text(encoding="utf-8").replace('value = "1 1/2", least = "1/2", most = "3"', 'value = "7"')
    text += '[[part.hole]]\ncircle = "2"\nat = ["15 1/2", "4"]\n'
    stool.write_text(text, encoding="utf-8")
    assert_refused(curvewright("check", stool), 'part "apron", edges.bottom', 'part "tread", hole')


@pytest.mark.parametrize("command", READING)
@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["rise=4"], "3"),
        (["rise=-1"], "rise"),
        (["rise=one"], "one"),
        (["rize=1"], '"rise"'),
        (["rise=1", "rise=2"], "twice"),
    ],
)
def test_sizes_that_cannot_be(
    curvewright: Command, stool: Path, out: Path, command: str, given: list[str], said: str
) -> None:
    options = [word for one in given for word in ("--size", one)]
    assert_refused(
        curvewright(*words_for(command, stool, out), *options), "rise" if "rize=1" not in given else "rize", said
    )
    assert list(out.iterdir()) == []


@pytest.mark.parametrize("command", ["patterns", "sheets"])
def test_a_part_that_is_not_there_names_the_nearest(curvewright: Command, stool: Path, out: Path, command: str) -> None:
    assert_refused(curvewright(*words_for(command, stool, out), "--part", "aprn"), "--part", "aprn", '"apron"')
    assert list(out.iterdir()) == []


@pytest.mark.parametrize("command", READING)
def test_a_shop_file_that_is_not_there(curvewright: Command, stool: Path, out: Path, command: str) -> None:
    words = words_for(command, stool, out)
    assert_refused(curvewright(*words, "--shop", out / "my-shop.toml"), "my-shop.toml")


@pytest.mark.parametrize("command", ["patterns", "sheets"])
@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written(curvewright: Command, stool: Path, out: Path, command: str) -> None:
    out.chmod(0o500)
    try:
        assert_refused(curvewright(*words_for(command, stool, out)), "can't be written", status=3)
        assert list(out.iterdir()) == []
    finally:
        out.chmod(0o700)


@pytest.mark.parametrize("command", ["patterns", "sheets"])
def test_a_disk_that_fills_up_while_writing(
    curvewright: Command, stool: Path, out: Path, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert_refused(curvewright(*words_for(command, stool, out)), "no space left", status=3)
    assert list(out.iterdir()) == []


def test_the_pattern_file_is_never_written_over(curvewright: Command, stool: Path) -> None:
    before = stool.read_bytes()
    assert_refused(curvewright("sheets", stool, "-o", stool), "itself")
    assert stool.read_bytes() == before


def test_output_that_names_a_file_for_a_folder(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    before = stool.read_bytes()
    assert_refused(curvewright("patterns", stool, "-o", stool), "folder")
    assert stool.read_bytes() == before
    assert_refused(curvewright("sheets", stool, "-o", tmp_path), "is a folder")
    assert_refused(curvewright("sheets", stool, "-o", tmp_path / "nowhere" / "a.pdf"), "there is no folder")
