"""Output appears whole or not at all, and nothing that was there is lost."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from cli import output
from patterns.errors import MachineError, PatternError


def everything_in(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def fill_disk_after(monkeypatch: pytest.MonkeyPatch, written: int) -> None:
    """From now on the disk has room for so many flushed files and no more."""
    count = iter(range(1000))
    real = os.fsync

    def full(descriptor: int) -> None:
        if next(count) >= written:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", full)


def test_files_are_written_and_nothing_else_is_left(tmp_path: Path) -> None:
    output.write_files({tmp_path / "a.svg": b"one", tmp_path / "b.svg": b"two"})
    assert everything_in(tmp_path) == {"a.svg": b"one", "b.svg": b"two"}


def test_an_existing_file_is_replaced_and_keeps_others_rights(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_bytes(b"former")
    output.write_files({tmp_path / "a.svg": b"new", tmp_path / "b.svg": b"two"})
    assert everything_in(tmp_path) == {"a.svg": b"new", "b.svg": b"two"}
    if os.name == "posix":
        mask = os.umask(0)
        os.umask(mask)
        assert (tmp_path / "b.svg").stat().st_mode & 0o777 == 0o666 & ~mask


@pytest.mark.parametrize("room_for", [0, 1, 2])
def test_a_disk_that_fills_up_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, room_for: int
) -> None:
    (tmp_path / "a.svg").write_bytes(b"former")
    before = everything_in(tmp_path)
    fill_disk_after(monkeypatch, room_for)
    with pytest.raises(MachineError, match="no space left on device"):
        output.write_files({tmp_path / f"{name}.svg": b"new" for name in "abc"})
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize("links", [True, False], ids=["with links", "a memory stick without links"])
def test_a_rename_that_fails_half_way_is_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool) -> None:
    for name in "ab":
        (tmp_path / f"{name}.svg").write_bytes(b"former")
    before = everything_in(tmp_path)
    real = Path.replace

    def replace(self: Path, target: Path) -> Path:
        if Path(target).name == "c.svg":
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(self, target)

    def no_links(self: Path, target: Path) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(Path, "replace", replace)
    if not links:
        monkeypatch.setattr(Path, "hardlink_to", no_links)
    with pytest.raises(MachineError, match="permission denied"):
        output.write_files({tmp_path / f"{name}.svg": b"new" for name in "abc"})
    assert everything_in(tmp_path) == before


def test_being_stopped_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(descriptor: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        output.write_files({tmp_path / "new" / "a.svg": b"one"}, make_folder=tmp_path / "new")
    assert list(tmp_path.iterdir()) == []


def test_folders_are_made_and_taken_away_again_on_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "deep" / "deeper"
    output.write_files({folder / "a.svg": b"one"}, make_folder=folder)
    assert (folder / "a.svg").read_bytes() == b"one"
    fill_disk_after(monkeypatch, 0)
    other = tmp_path / "other" / "deeper"
    with pytest.raises(MachineError):
        output.write_files({other / "a.svg": b"one"}, make_folder=other)
    assert not (tmp_path / "other").exists()


@pytest.mark.skipif(not sys.platform.startswith("linux") or os.geteuid() != 0, reason="mounting a disk needs root")
def test_a_truly_full_disk(tmp_path: Path) -> None:
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(tmp_path)], capture_output=True)
    if mounted.returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        (tmp_path / "old.pdf").write_bytes(b"%PDF former")
        with pytest.raises(MachineError, match="no space left"):
            output.write_file(tmp_path / "old.pdf", b"%PDF" + bytes(200_000))
        assert everything_in(tmp_path) == {"old.pdf": b"%PDF former"}
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


def test_a_link_is_written_through(tmp_path: Path) -> None:
    (tmp_path / "real.pdf").write_bytes(b"%PDF former")
    (tmp_path / "link.pdf").symlink_to(tmp_path / "real.pdf")
    output.write_file(tmp_path / "link.pdf", b"%PDF new")
    assert (tmp_path / "link.pdf").is_symlink()
    assert (tmp_path / "real.pdf").read_bytes() == b"%PDF new"


@pytest.mark.parametrize(
    ("target", "words"),
    [("folder", "is a folder"), ("nowhere/a.pdf", "no folder"), ("file/a.pdf", "is a file, not a folder")],
)
def test_places_that_cannot_be_written(tmp_path: Path, target: str, words: str) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(PatternError, match=words):
        output.check_target(tmp_path / target, b"%PDF", {})


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"precious")
    with pytest.raises(PatternError, match="name a folder"):
        output.write_files({tmp_path / "file" / "a.svg": b""}, make_folder=tmp_path / "file")
    assert everything_in(tmp_path) == {"file": b"precious"}


def test_what_was_read_is_never_written_over(tmp_path: Path) -> None:
    piece = tmp_path / "piece.pdf"
    piece.write_bytes(b"%PDF-1.7 carries the pattern file")
    with pytest.raises(PatternError, match="is the pattern file itself"):
        output.check_target(tmp_path / "." / "piece.pdf", b"%PDF", {"pattern file": piece})


def test_a_file_of_another_kind_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(PatternError, match="another kind"):
        output.check_target(tmp_path / "thesis.txt", b"%PDF", {})
    (tmp_path / "old.pdf").write_bytes(b"%PDF-1.7")
    output.check_target(tmp_path / "old.pdf", b"%PDF", {})
