"""Help, exit statuses, and that nobody ever sees a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cli import cairo, terminal
from cli.commands import schema
from cli.main import COMMANDS

Command = Callable[..., Any]
Apart = Callable[..., "subprocess.CompletedProcess[bytes]"]


def test_no_words_shows_the_commands(curvewright: Command) -> None:
    result = curvewright()
    assert result.status == 0
    assert all(f"    {name} " in result.out for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_with_an_example(curvewright: Command, name: str) -> None:
    result = curvewright(name, "--help")
    assert result.status == 0
    assert result.err == ""
    assert f"example:  curvewright {name}" in result.out
    assert max(map(len, result.out.splitlines())) <= 100


def test_the_version(curvewright: Command) -> None:
    result = curvewright("--version")
    assert result.status == 0
    assert result.out.startswith("curvewright ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["sheet"], "did you mean 'sheets'?"),
        (["zzz"], "known are check,"),
        (["check"], "FILE"),
        (["check", "a.toml", "--colour"], "there is no option '--colour'; known are --size,"),
        (["sheets", "a.toml", "--papr", "A4", "-o", "a.pdf"], "no option '--papr'; did you mean '--paper'?"),
        (["sheets", "--papr=A4", "a.toml"], "no option '--papr'; did you mean '--paper'?"),
        (["sheets", "a.toml", "--ouput", "a.pdf"], "did you mean '--output'?"),
        (["check", "a.toml", "-q"], "there is no option '-q'"),
        (["check", "a.toml", "--size", "rise=2", "1/4"], "'1/4' is one word too many; put quotes"),
        (["check", "a.toml", "--size", "rise"], "NAME=VALUE"),
        (["check", "a.toml", "--size", "=3"], "NAME=VALUE"),
        (["sheets", "a.toml"], "-o"),
        (["--vers"], "--vers"),
    ],
)
def test_a_wrong_command_line_is_status_2(curvewright: Command, words: list[str], said: str) -> None:
    result = curvewright(*words)
    assert result.status == 2
    assert said in result.err
    assert result.out == ""


def test_a_fault_of_ours_is_status_3_and_no_traceback(curvewright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(arguments: object) -> None:
        raise IndexError("list index out of range")

    monkeypatch.setattr(schema, "run", broken)
    result = curvewright("schema")
    assert result.status == 3
    assert "please report" in result.err
    assert "Traceback" not in result.err
    monkeypatch.setenv("CURVEWRIGHT_DEBUG", "1")
    assert "Traceback" in curvewright("schema").err


def test_being_interrupted_is_status_130(curvewright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(schema, "run", stopped)
    result = curvewright("schema")
    assert (result.status, result.err) == (130, "stopped\n")


def test_a_missing_cairo_is_status_3_with_the_line_to_type(
    curvewright: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(arguments: object) -> None:
        raise OSError('no library called "cairo-2" was found\ncannot load library "libcairo.so.2"')

    monkeypatch.setattr(schema, "run", missing)
    result = curvewright("schema")
    assert result.status == 3
    assert cairo.what_to_type() in result.err


@pytest.mark.skipif(os.name != "posix", reason="a pipe that closes early is a matter of POSIX shells")
def test_a_reader_that_goes_away_is_no_error(apart: Apart) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as stream:
        result = apart("schema", stdout=stream, stderr=subprocess.PIPE)
    assert result.stderr == b""
    assert result.returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_behind_standard_output_is_status_3(apart: Apart) -> None:
    with Path("/dev/full").open("wb") as stream:
        result = apart("schema", stdout=stream, stderr=subprocess.PIPE)
    assert result.returncode == 3
    assert b"No space left" in result.stderr
    assert b"Traceback" not in result.stderr


def test_an_old_console_shows_what_it_can(apart: Apart) -> None:
    code = "from cli import terminal; terminal.prepare(); print('≈ 22 ½ in → crête 椅')"
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, env={**os.environ, "PYTHONIOENCODING": "cp1252"}
    )
    assert result.stdout.decode("cp1252").strip() == "~ 22 ½ in -> crête ?"


def test_a_strangers_package_in_the_way_is_named(tmp_path: Path, apart: Apart) -> None:
    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "__init__.py").write_text("")
    home = Path(__file__).parents[2]
    code = (
        f"import sys; sys.path.insert(0, {str(home)!r}); import cli.main; "
        f"sys.path.insert(0, {str(tmp_path)!r}); sys.exit(cli.main.run(['schema']))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, text=True)
    assert result.returncode == 3
    assert "another Python package named 'patterns' is in the way" in result.stderr
    assert "Traceback" not in result.stderr


def test_progress_is_silent_where_there_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    progress = terminal.Progress()
    progress("sheets", 1, 2)
    progress.finish()
    assert capsys.readouterr().err == ""


def test_progress_on_a_terminal_says_how_far_and_wipes_itself(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(terminal.Progress, "PATIENCE_S", 0.0)
    progress = terminal.Progress()
    progress("sheets", 7, 20)
    progress.finish()
    assert capsys.readouterr().err == "\rsheets: 7 of 20\r               \r"
