"""The printers that were measured, kept where this platform keeps settings.

A file that can't be read as it was written is never written over: it is told of with its path, and left alone.
"""

from __future__ import annotations

import json
import math
import shlex
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from cli import output
from patterns import shopfile
from patterns.errors import MachineError, PatternError
from patterns.wording import is_unprintable, listed, nearest, quoted
from tiling.distortion import SHEETS, Distances, Drawn, SheetUnits, printer_of
from tiling.doubts import refusals
from tiling.printer import NO_PRINTER, Printer

if TYPE_CHECKING:
    from tiling.recipe import Recipe

VERSION = 1
LARGEST_BYTES = 1_000_000
LONGEST_NAME = 30
"""Characters: a longer one would leave the figures no room on a sheet."""
NONE = "none"
"""What stands for no printer at the command line."""

BEGIN = "'curvewright printer --test-sheet test.pdf' makes the sheet to measure one by"


class Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One printer's distances (mm) on the test sheet of these units."""

    units: SheetUnits
    across_mm: float
    down_mm: float
    rising_mm: float
    falling_mm: float

    @property
    def drawn(self) -> Drawn:
        """The test sheet."""
        return SHEETS[self.units]

    @property
    def measured(self) -> Distances:
        """What was measured on it."""
        return Distances(self.across_mm, self.down_mm, self.rising_mm, self.falling_mm)

    @classmethod
    def of(cls, drawn: Drawn, measured: Distances) -> Record:
        """The record of a measurement."""
        return cls(drawn.units, *measured.values())

    def printer(self, name: str) -> Printer:
        """The printer with its correction."""
        return printer_of(name, self.drawn, self.measured)


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    version: int
    printers: dict[str, Record]


Records = Mapping[str, Record]


# -------------------------------------------------------------------- the file


def usual_path() -> Path:
    """Where this platform keeps them for the person who is logged in: beside the shop file."""
    return shopfile.usual_path().with_name("printers.json")


def load() -> Records:
    """The printers recorded, by name. Raises PatternError for a damaged file and MachineError for one that can't be read."""
    path = usual_path()
    try:
        if not path.exists() and not path.is_symlink():
            return {}
        if not path.is_file():
            what = "is a folder" if path.is_dir() else "is no ordinary file"
            raise _damaged(path, f"{what}, and the printers measured should be kept there")
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise MachineError(f"{path}: can't be read: {(error.strerror or str(error)).lower()}") from None
    return decoded(data, path)


def save(records: Records) -> None:
    """Writes the file whole or not at all, its folder first if need be."""
    path = usual_path()
    output.write_files({path: encoded(records)}, make_folder=path.parent)


def encoded(records: Records) -> bytes:
    """The file's bytes."""
    value = {"version": VERSION, "printers": {name: msgspec.to_builtins(records[name]) for name in sorted(records)}}
    return (json.dumps(value, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def decoded(data: bytes, path: Path) -> Records:
    """The printers of the file's bytes. Raises PatternError, with the path and the remedy, where they make no sense."""
    if len(data) > LARGEST_BYTES:
        raise _damaged(path, f"is larger than {LARGEST_BYTES:,} bytes")
    try:
        value = json.loads(data.decode("utf-8-sig"), object_pairs_hook=_unique, parse_constant=_refused)
    except UnicodeDecodeError as error:
        raise _damaged(path, f"is damaged: byte {error.start + 1} is not UTF-8") from None
    except json.JSONDecodeError as error:
        raise _damaged(path, f"is damaged or cut short at line {error.lineno}: {error.msg.lower()}") from None
    except (ValueError, RecursionError) as error:
        raise _damaged(path, f"is damaged: {error}") from None
    version = value.get("version") if isinstance(value, dict) else None
    if isinstance(version, int) and version > VERSION:
        what = f"was written by a newer Curvewright (version {version}; this one reads {VERSION})"
        raise PatternError.of("", f"{what}; nothing in it was changed", str(path))
    try:
        found = msgspec.convert(value, _File)
    except (msgspec.ValidationError, OverflowError) as error:
        raise _damaged(path, f"is damaged: {_plain(error)}") from None
    if found.version != VERSION:
        raise _damaged(path, f"is damaged: there is no version {found.version}")
    for name, record in found.printers.items():
        _check_record(name, record, path)
    return found.printers


def _check_record(name: str, record: Record, path: Path) -> None:
    wrong = name_fault(name)
    if not wrong and not all(math.isfinite(length) for length in record.measured.values()):
        wrong = "a distance is endless"
    problems = [] if wrong else refusals(record.drawn, record.measured)
    if wrong or problems:
        raise _damaged(path, f"is damaged: printer {quoted(name)}: {wrong or problems[0].what}")


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) < len(pairs):
        raise ValueError("it says the same thing twice")
    return result


def _refused(text: str) -> float:
    raise ValueError(f"{text} is no number")


def _plain(error: Exception) -> str:
    """What the library says, without the path notation that only programs read."""
    text = str(error).replace("`", "")
    return f"{text[:1].lower()}{text[1:]}"


def _damaged(path: Path, what: str) -> PatternError:
    remedy = "nothing was changed; mend it, or move it away and record your printers again"
    return PatternError.of("", f"{what}; {remedy}", str(path))


# -------------------------------------------------------------------- names


def checked_name(text: str) -> str:
    """The name of a printer to be recorded. Raises PatternError where it can be none."""
    name = unicodedata.normalize("NFC", text.strip())
    fault = name_fault(name) or _unlettered(name)
    if fault:
        raise PatternError.of("printer", f"{quoted(text)}: {fault}")
    return name


def name_fault(name: str) -> str:
    """What is wrong with a printer's name; empty where nothing is."""
    if not name.strip():
        return "a printer needs a name, such as study"
    if len(name) > LONGEST_NAME:
        return f"a printer's name has at most {LONGEST_NAME} characters, so that it fits on a sheet"
    if "/" in name or "\\" in name or name.strip(".") == "":
        return "a printer's name is a word or two, not a path"
    if any(is_unprintable(character) for character in name):
        return "a printer's name has no control characters"
    if name.casefold() == NONE:
        return f"'--printer {NONE}' means that nothing is corrected; choose another name"
    return ""


def _unlettered(name: str) -> str:
    """What is wrong with a name that can't be written on a sheet; empty where it can."""
    from patterns.lettering import shape  # late: only a name to be recorded is looked at

    missing = shape(name, 1.0).missing
    return f"sheets can't show {missing[0]!r}: their lettering does not have it" if missing else ""


def known(name: str, records: Records, place: str = "printer") -> str:
    """The name as it was recorded; ``place`` is where it was asked for.

    Raises PatternError, with what is recorded or how to begin, where it was not.
    """
    plain = unicodedata.normalize("NFC", name.strip())
    same = [one for one in records if one == plain] or [one for one in records if one.casefold() == plain.casefold()]
    if same:
        return same[0]
    if not records:
        raise PatternError.of(place, f"no printer {quoted(name)} is recorded, nor any other; {BEGIN}")
    near = nearest(plain, records)
    hint = f"the nearest is {quoted(near)}" if near else f"recorded are {listed(map(quoted, sorted(records)), 'and')}"
    raise PatternError.of(place, f"no printer {quoted(name)} is recorded; {hint}")


# -------------------------------------------------------------------- for sheets


def asked_for(name: str | None, former: Recipe | None) -> Printer:
    """The printer to draw sheets for: the one named; else that of sheets printed before; else none.

    Raises PatternError where none of that name is recorded.
    """
    if name is None:
        return former.form.printer if former is not None else NO_PRINTER
    if name.strip().casefold() == NONE:
        return NO_PRINTER
    records = load()
    found = known(name, records, "--printer")
    return records[found].printer(found)


def check_same(name: str | None, old: Recipe, old_path: Path, file: Path) -> None:
    """Raises PatternError where the printer named needs another correction than the old sheets carry."""
    if name is None:
        return
    from tiling.printer import is_alike, made_for  # late: few reprints name a printer

    asked, before = asked_for(name, None), old.form.printer
    if is_alike(asked, before):
        return
    carry = f"the sheets of {old_path} are {made_for(before) or 'not corrected for any printer'}"
    wants = made_for(asked) or "not corrected for any printer"
    remedy = f"curvewright sheets {file} --like {old_path} --printer {shlex.quote(name)} -o all.pdf"
    what = f"{carry}; new ones, {wants}, would not fit to them. Print all of them: {remedy}"
    raise PatternError.of("--printer", what)
