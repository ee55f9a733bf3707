"""``curvewright reprint OLD.pdf FILE -o NEW.pdf``: after a change, only the sheets that differ."""

from __future__ import annotations

import argparse
import gc
import time
from collections.abc import Iterator
from pathlib import Path

from cli import (
    halving,
    looking,
    mirroring,
    options,
    output,
    printers,
    printing,
    replacing,
    report,
    reprinting,
    request,
    shopaids,
    templating,
    terminal,
)
from cli.watching import Bench, Made, Watch
from patterns import patternfile, shopfile
from patterns.errors import PatternError
from patterns.filetext import NamedText
from patterns.memory import FORGETFUL, Memory
from patterns.wording import quoted
from tiling.recipe import Recipe

EPILOG = """\
Compares the new piece with the old sheets, on the old layout, and prints the cover
and the sheets that differ. It lists which of the old sheets to keep and which to
throw away. FILE may be the changed pattern file, or OLD.pdf again with --size.

--watch goes on: on every save of FILE it writes NEW.pdf again, with all that differs
from OLD.pdf, and says what the save changed; a mistake in FILE leaves NEW.pdf as it
was. Ctrl-C ends it.

example:  curvewright reprint cradle.pdf cradle.toml --size 'arch_rise=2 1/4' -o change.pdf"""


def describe(parser: argparse.ArgumentParser) -> None:
    """OLD.pdf, FILE, -o, --dry-run, --watch, --size, --shop, --json."""
    parser.add_argument("old", metavar="OLD.pdf", type=Path, help="the PDF whose sheets are on the bench")
    options.add_file(parser)
    parser.add_argument("-o", "--output", metavar="NEW.pdf", type=Path, help="the PDF to write")
    parser.add_argument("--dry-run", action="store_true", help="only tell which sheets differ; -o may be left out")
    parser.add_argument("--watch", action="store_true", help="print again whenever FILE is saved, until Ctrl-C")
    options.add_printer(parser, "the old sheets' correction is kept, and another one refused")
    replacing.add_option(parser, "a PDF even if it holds something else")
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.set_defaults(refuse=parser.error)
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Writes the PDF and says what to keep, throw away and print; again and again under ``--watch``."""
    if arguments.output is None and not arguments.dry_run:
        arguments.refuse("-o NEW.pdf is missing; --dry-run alone does without it")
    if arguments.watch and arguments.json:
        arguments.refuse("--watch tells a person what changes, and goes on; leave --json or --watch out")
    _check_order(arguments.old, arguments.file, arguments.output)
    if not arguments.dry_run:
        _check_target(arguments)
    if arguments.watch:
        _check_watched(arguments.file)
    old = request.read_pdf(arguments.old)
    if arguments.watch:
        _watch(arguments, old)
    else:
        _once(arguments, old)


def _once(arguments: argparse.Namespace, old: Recipe) -> None:
    job = request.read(arguments.file, options.sizes_given(arguments.size), arguments.shop, old.only)
    with terminal.progress() as progress:
        made = _made(arguments, old, job, progress)
        progress.finish()
        if not arguments.dry_run:
            former = replacing.read_former(arguments.output, job.piece.title, arguments.replace)
            terminal.say(*replacing.note(arguments.output, former, made.printed))
            output.write_file(arguments.output, made.printed.data)
    printed = made.printed
    terminal.warn([f"{job.source.name}: {warning}" for warning in printed.warnings])
    terminal.say(*reprinting.sizes_no_longer_given(old, job))
    if arguments.json:
        report.print_json(reprinting.as_json(printed))
    else:
        print("\n".join(reprinting.told(_target(arguments), printed)))


def _made(
    arguments: argparse.Namespace,
    old: Recipe,
    job: request.Job,
    progress: terminal.Progress,
    memory: Memory = FORGETFUL,
) -> Made:
    """The reprint of a job. Raises PatternError where the job and the old sheets don't go together."""
    from tiling.job import make_reprint

    _check_piece(old, arguments.old, job)
    printers.check_same(arguments.printer, old, arguments.old, arguments.file)
    job = halving.halved(mirroring.mirrored(job, False, old), (), old)
    job = shopaids.aided(templating.as_before(job, old), False, old)
    return Made(job, make_reprint(printing.order_of(job, old, many=True), old, progress, memory))


def _target(arguments: argparse.Namespace) -> str:
    return reprinting.DRY_RUN if arguments.dry_run else str(arguments.output)


# ---------------------------------------------------------------- on every save


def _watch(arguments: argparse.Namespace, old: Recipe) -> None:
    """Prints on every save of the file until Ctrl-C. The shop and the old sheets are those of the beginning."""
    given, shop, memory = options.sizes_given(arguments.size), shopfile.find(arguments.shop), Memory()

    def reprinted(source: NamedText) -> Made:
        with terminal.progress() as progress:
            made = _made(arguments, old, request.make(source, given, shop, old.only, memory=memory), progress, memory)
        memory.forget()
        return made

    def written(made: Made) -> None:
        if arguments.dry_run:
            return
        if watch.written is None:
            former = replacing.read_former(arguments.output, made.job.piece.title, arguments.replace)
            terminal.say(*replacing.note(arguments.output, former, made.printed))
        _check_target(arguments)
        output.write_file_soon(arguments.output, made.printed.data)

    def rest() -> None:
        gc.collect()
        if watch.written is not None and not arguments.dry_run:
            output.settle(arguments.output)

    bench = Bench(
        file=arguments.file.name,
        target=_target(arguments),
        read=lambda: _read(arguments.file),
        reprint=reprinted,
        write=written,
        tell=lambda lines: print("\n".join(lines), flush=True),
        warn=lambda lines: terminal.say(*lines),
        time_of_day=lambda: time.strftime("%H:%M:%S"),
        rest=rest,
    )
    watch = Watch(bench)
    try:
        watch.follow(_events(arguments.file))
    except KeyboardInterrupt:
        rest()
        print(f"stopped; {watch.left()}", flush=True)


def _read(file: Path) -> NamedText:
    """The file's text. Raises PatternError, in other words than of a file that never was, where it has vanished."""
    if not file.exists():
        raise PatternError.of("", "is gone; it is printed again when it is back", file.name)
    return patternfile.read(file)


def _events(file: Path) -> Iterator[looking.Event]:
    """The first event is told of, so that a maker knows that saves are now waited for."""
    events = looking.looks(lambda: looking.trace(file))
    yield next(events)
    print(f"Watching {file}: it is printed again on every save, until Ctrl-C.", flush=True)
    yield from events


def _check_watched(file: Path) -> None:
    """Raises PatternError where nobody can save the file again."""
    if request.is_pdf(file):
        what = "is a PDF, and --watch waits for a pattern file to be saved; 'curvewright sheets' reads one"
        raise PatternError.of("", f"{what}, and its pattern file stands in it", str(file))
    if str(file) == "-" or (file.exists() and not file.is_file() and not file.is_dir()):
        raise PatternError.of("", "can't be watched, since it is read only once; name a pattern file", str(file))
    if not file.is_file():
        patternfile.read(file)  # says what is wrong with the name


def _check_target(arguments: argparse.Namespace) -> None:
    """Raises PatternError where the PDF would take the place of something that is to be kept."""
    output.check_target(arguments.output, b"%PDF", {"old PDF": arguments.old, "pattern file": arguments.file})


def _check_order(old: Path, file: Path, new: Path | None) -> None:
    """Raises PatternError where OLD.pdf and FILE have changed places."""
    if not request.is_pdf(old) and request.is_pdf(file) and old.is_file():
        right = f"curvewright reprint {file} {old} " + (f"-o {new}" if new else "--dry-run")
        raise PatternError.of("", f"{old} is no PDF and {file} is one: the old PDF comes first, as in '{right}'")


def _check_piece(old: Recipe, path: Path, job: request.Job) -> None:
    """Raises PatternError where the old sheets are those of another piece."""
    if old.title != job.piece.title:
        held = f"{path} holds sheets of {quoted(old.title)}, and {job.source.name} is {quoted(job.piece.title)}"
        remedy = "every sheet carries the title, so none could be kept; print all of them with 'curvewright sheets'"
        raise PatternError.of("", f"{held}: {remedy}")
