"""``curvewright printer``: a test sheet, and the printers that were measured by it."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cli import options, output, report
from patterns.errors import PatternError, Problem
from patterns.wording import listed, quoted

if TYPE_CHECKING:
    from cli.printers import Record, Records
    from tiling.distortion import Distances, Drawn, SheetUnits
    from tiling.paper import Paper

DISTANCES = {
    "across": "from A to B on the test sheet, along its foot",
    "down": "from D to A, down its left side",
    "rising": "from A to C, the diagonal that rises to the right",
    "falling": "from D to B, the diagonal that falls to the right",
}

IN_WORDS = {"mm": "millimetres", "in": "inches"}

SAYS_APART_MM = 0.2
"""Diagonals that differ by more are told, since a page skewed either way is as likely."""

EPILOG = """\
Few printers print quite true. Print the test sheet, measure its four distances with
a steel rule, and record them under a name; 'curvewright sheets --printer NAME' then
draws the sheets so that they come out of that printer true.

    curvewright printer --test-sheet test.pdf --units mm
    curvewright printer study --units mm --across 149.5 --down 199.75 \\
        --rising 249.5 --falling 249.75

Without options it shows what is recorded, of one printer or of all. --units says
which of the two test sheets was measured: it stands on the sheet. A figure without
a unit is in that unit; '--across "5 57/64 in"' may be read off an inch rule.

example:  curvewright printer --test-sheet test.pdf --units in"""


def describe(parser: argparse.ArgumentParser) -> None:
    """NAME, the four distances, --test-sheet, --forget, --json."""
    parser.add_argument("name", metavar="NAME", nargs="?", help="your own name for the printer")
    parser.add_argument("--test-sheet", metavar="OUT.pdf", type=Path, help="write the sheet to print and measure")
    parser.add_argument(
        "--paper", metavar="NAME", help="of the test sheet (letter where it is in inches, A4 where it is in mm)"
    )
    parser.add_argument(
        "--units",
        choices=("mm", "in"),
        help="the test sheet in millimetres, or the one in inches (if left out, as usual with the paper, or as in the "
        "shop file)",
    )
    for option, what in DISTANCES.items():
        parser.add_argument(f"--{option}", metavar="LENGTH", help=what)
    parser.add_argument("--sure", action="store_true", help="record distances that look wrong")
    parser.add_argument("--forget", action="store_true", help="forget this printer")
    parser.add_argument("--replace", action="store_true", help="write the test sheet over a PDF that is no test sheet")
    options.add_json(parser)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Does one of the four things that can be asked for."""
    given = [option for option in DISTANCES if getattr(arguments, option) is not None]
    if arguments.test_sheet is not None:
        _check_alone(arguments, given, "--test-sheet", [arguments.name or "", arguments.forget and "--forget"])
        _test_sheet(arguments)
    elif arguments.forget:
        _check_alone(arguments, given, "--forget", [])
        _forget(arguments)
    elif given:
        _record(arguments, given)
    else:
        _show(arguments)


def _check_alone(arguments: argparse.Namespace, given: list[str], asked: str, others: list[Any]) -> None:
    """Raises PatternError where two things are asked for at once."""
    too_many = [*filter(None, others), *(f"--{option}" for option in given)]
    if too_many:
        raise PatternError.of(asked, f"says what to do by itself; leave {listed(too_many, 'and')} out")
    if asked == "--forget" and not arguments.name:
        raise PatternError.of(asked, "name the printer to forget, as in 'curvewright printer study --forget'")


# -------------------------------------------------------------------- the test sheet


def _test_sheet(arguments: argparse.Namespace) -> None:
    from tiling import testsheet
    from tiling.distortion import SHEETS
    from tiling.paper import paper

    units, whose = _units(arguments)
    drawn = SHEETS[units]
    page = paper(arguments.paper or ("letter" if units == "in" else "A4"), drawn.units)
    if not testsheet.room_for(drawn, testsheet.page_of(drawn, page)):
        rim = 2 * testsheet.RIM_MM
        least = f"{drawn.width_mm + rim:.0f} by {drawn.height_mm + rim:.0f} mm"
        what = f"{page.name} paper has no room for the test sheet, which takes {least}; print it on a larger paper"
        raise PatternError.of("--paper", f"{what}, such as A4 or letter, from the same printer")
    path = arguments.test_sheet
    output.check_target(path, b"%PDF", {})
    _check_replaced(path, arguments.replace)
    output.write_file(path, testsheet.made(drawn, page))
    if arguments.json:
        sides = dict(zip(DISTANCES, drawn.distances.values(), strict=True))
        report.print_json({"file": str(path), "paper": page.name, "units": drawn.units, "drawn_mm": sides})
        return
    print(f"{path}: a test sheet in {IN_WORDS[units]}, for {_named(page)}")
    if whose:
        other: SheetUnits = "mm" if units == "in" else "in"
        print(f"{whose}; with --units {other} the test sheet is in {IN_WORDS[other]}.")
    print("Print it at actual size (100 %), measure it, and type the line that stands on it.")


def _units(arguments: argparse.Namespace) -> tuple[SheetUnits, str]:
    """The test sheet asked for, else that of the paper named, else of the shop; and why, where that has to be
    said. Raises PatternError for a shop file with mistakes, where it would decide."""
    from patterns import shopfile
    from tiling.paper import paper, units_of

    if arguments.units is not None:
        return ("in" if arguments.units == "in" else "mm"), ""
    chosen = paper(arguments.paper) if arguments.paper is not None else None
    named = units_of(chosen) if chosen is not None else None
    if chosen is not None and named is not None:
        return named, f"{chosen.name[0].upper()}{chosen.name[1:]} paper goes with {IN_WORDS[named]}"
    shop = shopfile.find()
    written = next(figure.written for figure in shop.figures if figure.key == "units")
    units: SheetUnits = "in" if written == "in" else "mm"
    whose = f"The {shop.where}" if shop.where == shopfile.DEFAULT_SHOP else f"The shop of {shop.where}"
    return units, f"{whose} measures in {IN_WORDS[units]}"


def _named(page: Paper) -> str:
    return f"paper off a {page.name} wide" if page.roll else f"{page.name} paper"


def _check_replaced(path: Path, replace: bool) -> None:
    """Raises PatternError where the test sheet would take the place of anything but another test sheet."""
    from tiling import testsheet
    from tiling.attachment import pdf_bytes

    if not replace and path.is_file() and path.stat().st_size and not testsheet.is_one(pdf_bytes(path)):
        what = f"{path} is there already and is no test sheet; name another file, or add --replace to write over it"
        raise PatternError.of("", what)


# -------------------------------------------------------------------- recording


def _record(arguments: argparse.Namespace, given: list[str]) -> None:
    from cli import printers
    from tiling.distortion import SHEETS
    from tiling.doubts import doubts, refusals

    if arguments.name is None:
        raise PatternError.of("printer", "name the printer that was measured, as in 'curvewright printer study ...'")
    name = printers.checked_name(arguments.name)
    missing = [f"--{option}" for option in DISTANCES if option not in given]
    if missing:
        raise PatternError.of("", f"all four distances are needed; {listed(missing, 'and')} not given")
    if arguments.units is None:
        raise PatternError.of("--units", "say which test sheet was measured, as stands on it: --units mm or --units in")
    if arguments.paper is not None:
        raise PatternError.of("--paper", "is for a test sheet; leave it out")
    drawn = SHEETS["in" if arguments.units == "in" else "mm"]
    measured = _measured(arguments, drawn)
    problems = refusals(drawn, measured)
    if problems:
        raise PatternError(problems)
    questions = doubts(drawn, measured)
    if questions and not arguments.sure:
        last = Problem("", "nothing was recorded; measure again, or add --sure if the figures are right")
        raise PatternError([*(Problem("", question) for question in questions), last])
    records = printers.load()
    former = next((one for one in records if one.casefold() == name.casefold()), None)
    kept = {one: record for one, record in records.items() if one != former}
    record = printers.Record.of(drawn, measured)
    printers.save({**kept, name: record})
    if arguments.json:
        report.print_json(_json({name: record}))
        return
    print("\n".join(_recorded(name, record, records[former] if former else None)))


def _measured(arguments: argparse.Namespace, drawn: Drawn) -> Distances:
    from tiling.distortion import Distances

    lengths: list[float] = []
    problems: list[Problem] = []
    for option in DISTANCES:
        try:
            lengths.append(options.length(f"--{option}", getattr(arguments, option), drawn.units) or 0.0)
        except PatternError as error:
            problems += error.problems
    if problems:
        raise PatternError(problems)
    return Distances(*lengths)


def _recorded(name: str, record: Record, former: Record | None) -> list[str]:
    from tiling.doubts import length_text
    from tiling.printer import in_words

    lines = [f"{name}: recorded. {_correction(name, record)}."]
    apart = record.rising_mm - record.falling_mm
    if abs(apart) >= SAYS_APART_MM:
        longer, shorter = ("A to C", "D to B") if apart > 0 else ("D to B", "A to C")
        by = length_text(record.drawn, abs(apart))
        lines.append(
            f"So {longer} is longer than {shorter} by {by}: had the two changed places, the skew would double."
        )
    if former is not None and former != record:
        lines.append(f"Before: {in_words(former.printer(name))}.")
        lines += report.paragraph(
            "Sheets printed before carry the earlier correction: reprint keeps it, and new sheets do not fit to them."
        )
    return [*lines, f"Print with it:  curvewright sheets FILE -o OUT.pdf --printer {_as_word(name)}"]


def _correction(name: str, record: Record) -> str:
    """What becomes of sheets for this printer, in a sentence."""
    from tiling.printer import NO_CORRECTION, PRINTS_TRUE, in_words

    printer = record.printer(name)
    if printer.correction == NO_CORRECTION:
        return f"It {PRINTS_TRUE}: its sheets are drawn as they are"
    return f"Correction of its sheets: {in_words(printer)}"


def _as_word(name: str) -> str:
    import shlex  # late: few ask

    return shlex.quote(name)


def _forget(arguments: argparse.Namespace) -> None:
    from cli import printers

    records = printers.load()
    name = printers.known(arguments.name, records)
    printers.save({one: record for one, record in records.items() if one != name})
    if arguments.json:
        report.print_json(_json({}))
        return
    print(f"{name}: forgotten. PDFs that were made for it keep its correction.")


# -------------------------------------------------------------------- showing


def _show(arguments: argparse.Namespace) -> None:
    from cli import printers

    unused = [option for option in ("units", "paper", "sure", "replace") if getattr(arguments, option)]
    if unused:
        what = "goes with --test-sheet or with the four distances"
        raise PatternError.of(f"--{unused[0]}", f"{what}; by itself it says nothing")
    records = printers.load()
    if arguments.name:
        name = printers.known(arguments.name, records)
        records = {name: records[name]}
    if arguments.json:
        report.print_json(_json(records))
    elif not records:
        print("\n".join(["No printer is recorded.", f"{printers.BEGIN[0].upper()}{printers.BEGIN[1:]}."]))
    else:
        print("\n".join(_told(records)))


def _told(records: Records) -> Iterator[str]:
    from tiling.distortion import adjusted
    from tiling.doubts import doubts, length_text
    from tiling.printer import in_words

    head = ("printer", *DISTANCES, "correction")
    rows = [
        (name, *(length_text(one.drawn, mm) for mm in one.measured.values()), in_words(one.printer(name)))
        for name, one in sorted(records.items())
    ]
    yield from report.table(head, rows, right="lrrrr")
    for name, one in sorted(records.items()):
        pairs = zip(one.measured.values(), adjusted(one.measured).values(), strict=True)
        off = max(abs(a - b) for a, b in pairs)
        if len(records) == 1:
            within = f"within {length_text(one.drawn, round(off, 3))}" if round(off, 3) else "exactly"
            yield f"The four distances go together {within}."
        for question in doubts(one.drawn, one.measured):
            yield from report.paragraph(f"{quoted(name)} was recorded although {question}")


def _json(records: Records) -> dict[str, object]:
    from cli import printers

    return {
        "settings": str(printers.usual_path()),
        "printers": [_one_json(name, record) for name, record in sorted(records.items())],
    }


def _one_json(name: str, record: Record) -> dict[str, object]:
    import math

    from tiling.distortion import distortion_of
    from tiling.doubts import doubts
    from tiling.printer import skew_of

    printed = distortion_of(record.drawn, record.measured)
    return {
        "name": name,
        "units": record.units,
        "measured_mm": dict(zip(DISTANCES, record.measured.values(), strict=True)),
        "drawn_mm": dict(zip(DISTANCES, record.drawn.distances.values(), strict=True)),
        "printed_scale": {"across": math.hypot(printed.a, printed.b), "down": math.hypot(printed.c, printed.d)},
        "printed_skew_deg": math.degrees(skew_of(printed)),
        "correction": list(record.printer(name).correction.values()),
        "doubts": list(doubts(record.drawn, record.measured)),
    }
