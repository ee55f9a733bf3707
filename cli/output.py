"""Writing output whole or not at all.

Everything is written under temporary names beside its target and renamed at the end, so a full disk or a power cut
leaves what was there before. Several files are one output: if one rename fails, those done are undone.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from patterns.errors import MachineError, PatternError


@dataclass(slots=True)
class _Staged:
    """One file on its way: the bytes are in ``temporary``; what stood at ``target`` before is in ``former``."""

    target: Path
    temporary: Path
    former: Path | None = None
    placed: bool = False


def write_file(path: Path, content: bytes) -> None:
    """Writes one file; see ``write_files``."""
    write_files({path: content})


def write_file_soon(path: Path, content: bytes) -> None:
    """The same, but that a power cut in the next moment may still leave an empty file: ``settle`` ends that moment.

    For a file that is made anew again and again: to wait for the disk would take longer than to make it.
    """
    staged = _stage(path, content, is_settled=False)
    try:
        _place(staged, keep_former=False)
    except BaseException as error:
        _undo([staged], [])
        if isinstance(error, OSError):
            raise _failure(error, path) from error
        raise


def settle(path: Path) -> None:
    """Waits until what ``write_file_soon`` wrote is on the disk; says nothing where that can't be told."""
    with contextlib.suppress(OSError), path.open("rb+") as stream:
        os.fsync(stream.fileno())


def write_files(files: Mapping[Path, bytes], make_folder: Path | None = None) -> None:
    """Writes all files or none; ``make_folder`` is made first if need be, and taken away again on failure.

    Raises PatternError where the request can't be met (the target is a folder, its folder is missing) and
    MachineError where the machine fails (rights, a full disk). Then nothing has changed.
    """
    made = _make_folder(make_folder) if make_folder is not None else []
    staged: list[_Staged] = []
    try:
        for path, content in files.items():
            staged.append(_stage(path, content))
        for one in staged:
            _place(one, keep_former=len(staged) > 1)
    except BaseException as error:
        _undo(staged, made)
        if isinstance(error, OSError):
            raise _failure(error, staged[-1].target if staged else Path(str(error.filename))) from error
        raise
    for one in staged:
        if one.former is not None:
            _remove(one.former)


def check_target(path: Path, kind: bytes, sources: Mapping[str, Path]) -> None:
    """Refuses a target, before any work is done, that would destroy something.

    ``kind`` is what files of this sort begin with (``b"%PDF"``); an existing file that begins otherwise is someone
    else's. ``sources`` are the files read by this command, by the word that names each. Raises PatternError.
    """
    _check_place(path)
    for word, source in sources.items():
        if path.exists() and source.exists() and path.samefile(source):
            raise PatternError.of("", f"{path} is the {word} itself; name another file, so that it is kept")
    if path.is_file():
        try:
            with path.open("rb") as stream:
                begins = stream.read(len(kind))
        except OSError as error:
            raise _failure(error, path) from error
        if begins and begins != kind:
            raise PatternError.of("", f"{path} is there already and is a file of another kind; name another file")


def _check_place(path: Path) -> None:
    if path.is_dir():
        raise PatternError.of("", f"{path} is a folder; name the file to write, such as {path / 'sheets.pdf'}")
    if path.exists() and not path.is_file():
        raise PatternError.of("", f"{path} is no ordinary file; name another")
    parent = path.parent
    if not parent.exists():
        raise PatternError.of(
            "", f"{path} can't be written: there is no folder {parent}; make it first or name another"
        )
    if not parent.is_dir():
        raise PatternError.of("", f"{path} can't be written: {parent} is a file, not a folder")


def _make_folder(folder: Path) -> list[Path]:
    """Makes the folder and those above it; returns the ones it made, innermost first."""
    if folder.exists() and not folder.is_dir():
        raise PatternError.of("", f"{folder} is a file; name a folder to write the patterns in")
    missing = [one for one in [folder, *folder.parents] if not one.exists()]
    made: list[Path] = []
    try:
        for one in reversed(missing):
            one.mkdir()
            made.insert(0, one)
    except OSError as error:
        _undo([], made)
        raise _failure(error, folder) from error
    return made


def _stage(path: Path, content: bytes, is_settled: bool = True) -> _Staged:
    _check_place(path)
    target = Path(os.path.realpath(path))
    if target.exists() and not os.access(target, os.W_OK):
        raise MachineError(f"{path} can't be written: it is marked read-only. Nothing was changed.")
    temporary = target.with_name(f".curvewright-{os.urandom(6).hex()}.part")
    try:
        with temporary.open("xb") as stream:
            stream.write(content)
            stream.flush()
            if is_settled:
                os.fsync(stream.fileno())
    except BaseException as error:
        _remove(temporary)
        if isinstance(error, OSError):
            raise _failure(error, path) from error
        raise
    return _Staged(target, temporary)


def _place(one: _Staged, keep_former: bool) -> None:
    if keep_former and one.target.exists():
        former = one.temporary.with_suffix(".former")
        try:
            former.hardlink_to(one.target)
        except OSError:  # a file system without links, such as a memory stick's
            one.target.replace(former)
        one.former = former
    one.temporary.replace(one.target)
    one.placed = True


def _undo(staged: list[_Staged], made: list[Path]) -> None:
    for one in staged:
        _remove(one.temporary)
        if one.former is not None and one.former.exists():
            with contextlib.suppress(OSError):
                one.former.replace(one.target)
        elif one.placed:
            _remove(one.target)
    for folder in made:
        with contextlib.suppress(OSError):
            folder.rmdir()


def _remove(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)


def _failure(error: OSError, path: Path) -> MachineError:
    why = (error.strerror or str(error)).lower()
    return MachineError(f"{path} can't be written: {why}. Nothing was changed.")
