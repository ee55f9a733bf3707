"""Where cairo is looked for, and what is said where it is missing."""

import os
import sys

import pytest

from cli import cairo
from cli.main import run


def without(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """An environment of the test's own, in which ``name`` is not set."""
    monkeypatch.setattr(os, "environ", {key: value for key, value in os.environ.items() if key != name})


def test_a_mac_is_told_where_its_package_managers_keep_libraries(monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    monkeypatch.setattr(sys, "platform", "darwin")
    without(monkeypatch, "DYLD_FALLBACK_LIBRARY_PATH")
    assert run(["--version"]) == 0
    assert "/opt/homebrew/lib" in os.environ["DYLD_FALLBACK_LIBRARY_PATH"].split(":")


def test_what_a_person_has_set_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "darwin")
    monkeypatch.setenv("DYLD_FALLBACK_LIBRARY_PATH", "/my/own")
    cairo.look_in_usual_places()
    assert os.environ["DYLD_FALLBACK_LIBRARY_PATH"] == "/my/own"


def test_windows_gets_the_folders_that_are_there(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(cairo, "_WINDOWS_FOLDERS", (str(tmp_path), str(tmp_path / "absent")))
    without(monkeypatch, "CAIROCFFI_DLL_DIRECTORIES")
    cairo.look_in_usual_places()
    assert os.environ["CAIROCFFI_DLL_DIRECTORIES"] == str(tmp_path)
    assert os.environ["PATH"].split(os.pathsep)[0] == str(tmp_path)


def test_a_missing_library_is_told_with_the_line_to_type() -> None:
    lost = OSError("no library called 'cairo-2' was found")
    assert cairo.is_missing(lost)
    assert "cairo" in cairo.what_to_type() and "type:" in cairo.what_to_type()
