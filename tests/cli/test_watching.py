"""``reprint --watch``: what each save writes and says, told by a list of events, and once by real saves."""

from __future__ import annotations

import itertools
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cli import looking, output
from cli.looking import Event

Command = Callable[..., Any]
Steps = Iterator[Event]


class Floor:
    """A bench with old sheets, a pattern file, and what the watch has written and said so far."""

    def __init__(self, curvewright: Command, monkeypatch: pytest.MonkeyPatch, stool: Path, folder: Path) -> None:
        self.call, self.monkeypatch, self.file = curvewright, monkeypatch, stool
        self.old, self.new = folder / "old.pdf", folder / "out" / "new.pdf"
        self.new.parent.mkdir()
        self.text = stool.read_text(encoding="utf-8")
        assert curvewright("sheets", stool, "-o", self.old).status == 0

    def save(self, text: str) -> None:
        self.file.write_text(text, encoding="utf-8")

    def with_rise(self, rise: str) -> str:
        return self.text.replace('value = "1 1/2"', f'value = "{rise}"')

    def fresh(self) -> bytes:
        """What a plain reprint of the file as it stands gives."""
        other = self.old.with_name("fresh.pdf")
        assert self.call("reprint", self.old, self.file, "-o", other, "--replace").status == 0
        return other.read_bytes()

    def watch(self, steps: Callable[[], Steps], *more: str) -> Any:
        """Runs the command over the events that ``steps`` yields; it saves files between them. Then comes Ctrl-C."""

        def events(_: object) -> Steps:
            yield from steps()
            raise KeyboardInterrupt

        self.monkeypatch.setattr(looking, "looks", events)
        return self.call("reprint", self.old, self.file, "-o", self.new, "--watch", *more)


@pytest.fixture
def floor(curvewright: Command, monkeypatch: pytest.MonkeyPatch, stool: Path, tmp_path: Path) -> Floor:
    return Floor(curvewright, monkeypatch, stool, tmp_path)


def test_every_save_is_printed_against_the_old_sheets(floor: Floor) -> None:
    """NEW.pdf holds all that differs from the bench, not only from the save before."""
    held: list[bytes] = []

    def steps() -> Steps:
        yield "saved"
        for rise in ("2", "2 1/2", "1 1/2"):
            floor.save(floor.with_rise(rise))
            yield "saved"
            held.append(floor.new.read_bytes())

    result = floor.watch(steps)
    assert result.status == 0
    for rise, data in zip(("2", "2 1/2", "1 1/2"), held, strict=True):
        floor.save(floor.with_rise(rise))
        assert data == floor.fresh()
    lines = result.out.splitlines()
    assert "nothing differs" in lines[0]
    assert any(line.startswith("Watching ") for line in lines)
    assert [line[10:] for line in lines if "->" in line] == [
        "rise 1 1/2 in -> 2 in",
        "rise 2 in -> 2 1/2 in",
        "rise 2 1/2 in -> 1 1/2 in",
    ]
    assert "other sheets than before: apron: A1, A2" in result.out
    assert lines[-1].startswith("stopped; ")


def test_the_time_of_day_stands_in_front(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.save(floor.with_rise("2"))
        yield "saved"

    floor.monkeypatch.setattr(time, "strftime", lambda _: "14:03:22")
    assert "\n14:03:22  rise 1 1/2 in -> 2 in\n" in floor.watch(steps).out


def test_a_broken_save_is_told_once_settled_and_the_last_pdf_stays(floor: Floor) -> None:
    before: list[bytes] = []

    def steps() -> Steps:
        floor.save(floor.with_rise("2"))
        yield "saved"
        before.append(floor.new.read_bytes())
        floor.save(floor.text.replace('width = "4"', 'width = "wide"').replace('rise = "rise"', 'rise = "rise +"'))
        yield "saved"
        before.append(floor.new.read_bytes())
        yield "quiet"
        yield "quiet"
        before.append(floor.new.read_bytes())
        floor.save(floor.with_rise("2 1/4"))
        yield "saved"

    result = floor.watch(steps)
    assert result.status == 0
    assert len(set(before)) == 1
    assert result.err.count("stays as it was") == 1
    assert result.err.count('part "apron"') == 2  # both mistakes, each once
    assert "rise 2 in -> 2 1/4 in" in result.out


@pytest.mark.parametrize(
    "half", ["", "curvewr", 'curvewright = 1\ntitle = "Step stool"\nunits = "in"\n[sizes]\nrise = {']
)
def test_a_file_read_half_written_is_not_spoken_of_when_the_rest_follows(floor: Floor, half: str) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.save(half)
        yield "saved"
        floor.save(floor.with_rise("2"))
        yield "saved"
        yield "quiet"

    result = floor.watch(steps)
    assert (result.status, result.err) == (0, "")
    assert "rise 1 1/2 in -> 2 in" in result.out
    assert floor.new.read_bytes() == floor.fresh()


@pytest.mark.parametrize("half", ["", "curvewr", "\x00\xff"])
def test_a_file_left_half_written_is_spoken_of(floor: Floor, half: str) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.file.write_bytes(half.encode("latin-1"))
        yield "saved"
        yield "quiet"

    assert "stool.toml: " in floor.watch(steps).err


def test_a_file_that_vanishes_is_waited_for(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.file.rename(floor.file.with_suffix(".bak"))
        yield "saved"
        yield "quiet"
        yield "quiet"
        floor.save(floor.with_rise("2"))
        yield "saved"

    result = floor.watch(steps)
    assert result.status == 0
    assert result.err.count("stool.toml: is gone; it is printed again when it is back") == 1
    assert "rise 1 1/2 in -> 2 in" in result.out


def test_a_file_that_becomes_another_piece_is_refused(floor: Floor) -> None:
    def steps() -> Steps:
        floor.save(floor.with_rise("2"))
        yield "saved"
        floor.save(floor.text.replace("Step stool", "Garden bench"))
        yield "saved"
        yield "quiet"

    result = floor.watch(steps)
    assert 'holds sheets of "Step stool", and stool.toml is "Garden bench"' in result.err
    floor.save(floor.with_rise("2"))
    assert floor.new.read_bytes() == floor.fresh()


def test_two_saves_in_quick_succession_leave_the_second(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.save(floor.with_rise("2"))
        floor.save(floor.with_rise("2 1/2"))
        yield "saved"
        yield "saved"

    result = floor.watch(steps)
    assert "rise 1 1/2 in -> 2 1/2 in" in result.out
    assert "saved; nothing in it differs" in result.out
    assert floor.new.read_bytes() == floor.fresh()


def test_a_save_that_changes_no_sheet_says_so(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        yield "saved"
        floor.save(floor.text + "# a remark\n")
        yield "saved"

    result = floor.watch(steps)
    assert result.out.count("saved; nothing in it differs") == 1
    assert result.out.count("saved; no sheet differs from the save before") == 1


def test_a_folder_that_vanishes_is_told_once_and_written_to_when_it_is_back(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.new.unlink()
        floor.new.parent.rmdir()
        floor.save(floor.with_rise("2"))
        yield "saved"
        yield "quiet"
        yield "quiet"
        assert not floor.new.parent.exists()
        floor.new.parent.mkdir()
        yield "quiet"
        assert floor.new.exists()
        yield "quiet"

    result = floor.watch(steps)
    assert result.status == 0
    assert result.err.count("there is no folder") == 1
    assert result.out.count("new.pdf is written") == 1
    assert floor.new.read_bytes() == floor.fresh()


def test_a_pdf_that_another_program_holds_is_tried_again(floor: Floor) -> None:
    """As where a viewer locks what it shows."""
    held = True
    write = output.write_file_soon

    def guarded(path: Path, content: bytes) -> None:
        if path == floor.new and held:
            raise output._failure(PermissionError(13, "Permission denied"), path)
        write(path, content)

    def steps() -> Steps:
        nonlocal held
        held = False
        yield "saved"
        before = floor.new.read_bytes()
        held = True
        floor.save(floor.with_rise("2"))
        yield "saved"
        yield "quiet"
        assert floor.new.read_bytes() == before
        floor.save(floor.with_rise("2 1/4"))
        yield "saved"
        held = False
        yield "quiet"

    floor.monkeypatch.setattr(output, "write_file_soon", guarded)
    result = floor.watch(steps)
    assert result.status == 0
    assert result.err.count("permission denied") == 1
    assert floor.new.read_bytes() == floor.fresh()


def test_nothing_is_written_over_that_is_not_ours(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.new.write_text("12 rockers to cut", encoding="utf-8")
        floor.save(floor.with_rise("2"))
        yield "saved"

    assert "is a file of another kind" in floor.watch(steps).err
    assert floor.new.read_text(encoding="utf-8") == "12 rockers to cut"


def test_a_dry_watch_tells_and_writes_nothing(floor: Floor) -> None:
    def steps() -> Steps:
        yield "saved"
        floor.save(floor.with_rise("2"))
        yield "saved"

    result = floor.watch(steps, "--dry-run")
    assert (result.status, floor.new.exists()) == (0, False)
    assert "2 sheets to print" in result.out


def test_what_can_never_be_saved_again_is_not_watched(floor: Floor) -> None:
    words = ("--watch", "-o", floor.new)
    result = floor.call("reprint", floor.old, floor.old, *words)
    assert (result.status, "is a PDF, and --watch waits for a pattern file" in result.err) == (1, True)
    assert floor.call("reprint", floor.old, floor.file.with_name("none.toml"), *words).status == 1
    assert floor.call("reprint", floor.old, floor.file.parent, *words).status == 1
    assert "can't be watched" in floor.call("reprint", floor.old, Path("-"), *words).err
    assert floor.call("reprint", floor.old, floor.file, *words, "--json").status == 2
    if hasattr(os, "mkfifo"):
        pipe = floor.file.with_name("pipe")
        os.mkfifo(pipe)
        assert "can't be watched" in floor.call("reprint", floor.old, pipe, *words).err
    assert not floor.new.exists()


# ---------------------------------------------------------------- noticing


def events(path: Path, moves: list[Callable[[], object]]) -> list[list[Event]]:
    """What is noticed of each move, looking on until all is quiet. No time passes but that of a clock of ours."""
    now = itertools.count()
    seen = looking.looks(lambda: looking.trace(path), lambda _: None, lambda: next(now) * looking.SETTLED_S)
    found = []
    for move in moves:
        move()
        found.append(list(itertools.takewhile(lambda event: event != "quiet", seen)))
    return found


def test_every_way_of_saving_is_noticed(tmp_path: Path) -> None:
    file, other = tmp_path / "a.toml", tmp_path / "b.toml"
    file.write_text("one", encoding="utf-8")

    def replaced() -> None:
        """As many editors save: under another name, then renamed."""
        other.write_text("two", encoding="utf-8")
        other.replace(file)

    def kept_aside() -> None:
        file.rename(tmp_path / "a.toml~")
        file.write_text("two", encoding="utf-8")

    moves = [
        lambda: None,
        lambda: file.write_text("other", encoding="utf-8"),
        lambda: None,
        replaced,
        kept_aside,
        file.unlink,
        lambda: None,
        lambda: file.write_text("two", encoding="utf-8"),
    ]
    assert [len(one) for one in events(file, moves)] == [1, 1, 0, 1, 1, 1, 0, 1]


# ---------------------------------------------------------------- for real


def lines_until(process: subprocess.Popen[str], what: str) -> str:
    said = ""
    while what not in said:
        line = process.stdout.readline() if process.stdout else ""
        assert line, f"the watch ended; it had said {said!r}"
        said += line
    return said


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C reaches another process otherwise there")
def test_a_real_watch_sees_a_real_save_and_ends_well(floor: Floor) -> None:
    code = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"  # a shell's background ignores it
    code += "; from cli.main import command; command()"
    words = [sys.executable, "-c", code, "reprint", floor.old, floor.file, "-o", floor.new, "--watch"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        try:
            lines_until(process, "Watching")
            floor.save(floor.with_rise("2"))
            lines_until(process, "rise 1 1/2 in -> 2 in")
            lines_until(process, "2 sheets to print")
            beside = floor.file.with_suffix(".tmp")
            beside.write_text(floor.with_rise("2 1/4"), encoding="utf-8")
            beside.replace(floor.file)
            lines_until(process, "rise 2 in -> 2 1/4 in")
            floor.save("curvewright =")
            lines_until(process, "stool.toml: ")
            process.send_signal(signal.SIGINT)
            lines_until(process, "stopped; ")
            assert process.wait(timeout=60) == 0
        finally:
            process.kill()
    floor.save(floor.with_rise("2 1/4"))
    assert floor.new.read_bytes() == floor.fresh()


def test_a_watch_at_rest_does_nothing(floor: Floor) -> None:
    """After each save it waits for the disk once; then it only looks."""
    settled: list[Path] = []
    floor.monkeypatch.setattr(output, "settle", settled.append)

    def steps() -> Steps:
        yield "saved"
        for _ in range(5):
            yield "quiet"
        assert settled == [floor.new]
        floor.save(floor.with_rise("2"))
        yield "saved"
        yield "quiet"
        yield "quiet"
        assert settled == [floor.new] * 2

    assert floor.watch(steps).status == 0
