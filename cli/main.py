"""The command ``curvewright``: finds the command's module, runs it, and turns what went wrong into words and a status.

Exit status: 0 done; 1 the pattern file or the request is wrong; 2 the command line is wrong; 3 the machine failed us.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import importlib
import importlib.util
import itertools
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn, Protocol

from cli import terminal

COMMANDS = {
    "check": "say how a pattern file is read: sizes, parts, curves, warnings",
    "settings": "say what the saw is set to for each edge: tilt, gauge, lengths",
    "patterns": "draw each part full size, as SVG files",
    "sheets": "lay the parts out on sheets of paper to print and tape, as one PDF",
    "reprint": "after a change, print again only the sheets that differ",
    "packet": "put all that a class member is handed into one zip file",
    "verify": "say whether a packet is whole, and how it differs from your own file",
    "unpack": "write out the pattern file that a PDF of sheets or a packet carries",
    "compare": "say what differs between two versions of a piece, and draw it",
    "printer": "make a test sheet, and record what a printer does to a page",
    "solve": "find the sizes that give a wanted figure: a radius, a length, a sheet count",
    "shop": "show the shop's machines, bits and habits that are in force",
    "schema": "print the JSON Schema of the pattern file, for editors",
}
"""Each command and what it does; its module is ``cli.commands.<name>``, imported only when it is asked for."""

ABOUT = "Full-size patterns for curved and slope-sided woodwork, on sheets that tape together true to size."

EPILOG = """\
example:  curvewright sheets cradle.toml -o cradle.pdf

'curvewright COMMAND --help' explains a command. FILE is a pattern file, or a PDF
made by 'curvewright sheets' (it carries the pattern file it was made from)."""


FEWER_COLLECTIONS = 1_000_000
"""New objects between two looks for garbage. A command is short and makes few cycles; the usual 700 cost a tenth of it."""


class CommandModule(Protocol):
    """What a command's module offers."""

    def describe(self, parser: argparse.ArgumentParser) -> None:
        """Adds the command's words and options to its parser."""

    def run(self, arguments: argparse.Namespace) -> None:
        """Does it; raises CurvewrightError where it can't."""


class Parser(argparse.ArgumentParser):
    """A parser that takes no abbreviations, uses no colour and keeps paragraphs as they are written."""

    def __init__(self, **options: object) -> None:
        options.setdefault("formatter_class", argparse.RawDescriptionHelpFormatter)
        self.options: list[str] = []
        super().__init__(allow_abbrev=False, **options)  # type: ignore[arg-type]
        self.color = False  # Python 3.14 colours help unless told not to

    def add_argument(self, *names: str, **words: Any) -> argparse.Action:
        """As usual; remembers the options, so that a misspelt one can be told from a word too many."""
        self.options += [name for name in names if name.startswith("-")]
        return super().add_argument(*names, **words)

    def check_options(self, words: Sequence[str]) -> None:
        """Ends with status 2 where one of ``words`` is no option of this parser, and says which is meant."""
        for word in itertools.takewhile(lambda word: word != "--", words):
            name = word.partition("=")[0]
            if name.startswith("--") and name not in self.options:
                self.error(f"there is no option '{name}'; {_rather(name, self.long_options())}")

    def long_options(self) -> list[str]:
        """The options that begin with two dashes, the one for help last."""
        return sorted((name for name in self.options if name.startswith("--")), key="--help".__eq__)

    def error(self, message: str) -> NoReturn:
        """One line of what is wrong, one of where help is; exit status 2."""
        self.exit(2, f"{self.prog}: {message}\nTry '{self.prog} --help'.\n")


class ShowVersion(argparse.Action):
    """``--version``; asks for the installed version only when it is wanted."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from importlib import metadata  # late: slow to import

        print(f"curvewright {metadata.version('curvewright')}")
        parser.exit()


def command() -> NoReturn:
    """What the console command calls: ``run``, then out at once.

    Everything is written and closed by then. Taking down the libraries module by module would cost a tenth of a short
    command's time and give nothing that the system does not take back by itself.
    """
    gc.set_threshold(FEWER_COLLECTIONS)
    status = run()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(Exception):  # a pipe that was closed, or no console at all
            stream.flush()
    os._exit(status)


def run(argv: Sequence[str] | None = None) -> int:
    """The console command. Returns its exit status; ``argv`` is without the program's name."""
    terminal.prepare()
    if sys.platform in ("darwin", "win32"):
        from cli import cairo  # late: other systems' loaders look in the right places

        cairo.look_in_usual_places()
    words = list(sys.argv[1:] if argv is None else argv)
    stranger = _stranger()
    if stranger is not None:
        terminal.say(stranger)
        return 3
    try:
        return _run(words)
    except SystemExit as exit_:
        return exit_.code if isinstance(exit_.code, int) else 2
    except KeyboardInterrupt:
        terminal.say("stopped")
        return 130
    except BrokenPipeError:
        terminal.abandon_output()
        return 0
    except Exception as error:
        return _explain(error)


def _run(words: list[str]) -> int:
    name = words[0] if words else ""
    if name and name not in (*COMMANDS, "-h", "--help", "--version"):
        Parser(prog="curvewright").error(_no_such(name))
    parser, command = _parsers(name)
    if not words:
        parser.print_help()
        return 0
    if command is not None:
        command.check_options(words[1:])
    arguments, strange = parser.parse_known_args(words)
    if strange:
        (command or parser).error(_too_many(strange))
    _module(name).run(arguments)
    sys.stdout.flush()
    return 0


def _no_such(name: str) -> str:
    if name.startswith("-"):
        return f"there is no option '{name}' before a command"
    return f"there is no command '{name}'; {_rather(name, list(COMMANDS))}"


def _rather(word: str, known: Sequence[str]) -> str:
    """Which of the known words is meant, or else all of them."""
    import difflib  # late: only a mistake needs it

    near = difflib.get_close_matches(word, known, n=1)
    return f"did you mean '{near[0]}'?" if near else f"known are {', '.join(known)}"


def _too_many(words: Sequence[str]) -> str:
    """What is said of words that no option and no FILE takes."""
    first = words[0]
    if first.startswith("-"):
        return f"there is no option '{first}'"
    return f"'{first}' is one word too many; put quotes round a value with spaces in it, such as --size 'rise=2 1/4'"


def _parsers(name: str) -> tuple[argparse.ArgumentParser, Parser | None]:
    """The parser of every command line, and that of the command ``name``, with its options."""
    found: Parser | None = None
    parser = Parser(prog="curvewright", description=ABOUT, epilog=EPILOG)
    parser.add_argument("--version", action=ShowVersion, nargs=0, help="show the version and stop")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=Parser)
    for command, what in COMMANDS.items():
        child = commands.add_parser(command, help=what, description=f"{what[0].upper()}{what[1:]}.")
        if command == name:
            _module(name).describe(child)
            found = child
    return parser, found


def _module(name: str) -> CommandModule:
    module: CommandModule = importlib.import_module(f"cli.commands.{name}")
    return module


def _stranger() -> str | None:
    """The three packages have plain names: says so if a stranger's package of such a name is found before ours."""
    home = Path(__file__).resolve().parents[1]
    for package in ("patterns", "tiling"):
        spec = importlib.util.find_spec(package)
        place = Path(spec.origin).resolve().parents[1] if spec is not None and spec.origin else None
        if place != home:
            return (
                f"another Python package named '{package}' is in the way ({place}); "
                "install curvewright in a virtual environment of its own"
            )
    return None


def _explain(error: Exception) -> int:
    """Says what went wrong on standard error; returns the exit status."""
    if os.environ.get("CURVEWRIGHT_DEBUG"):
        import traceback  # late: for whoever works on Curvewright

        traceback.print_exception(error)
    from cli import cairo
    from patterns.errors import CurvewrightError, PatternError

    if isinstance(error, PatternError):
        terminal.say(*error.lines())
        return error.exit_status
    if isinstance(error, CurvewrightError):
        terminal.say(str(error))
        return error.exit_status
    if cairo.is_missing(error):
        terminal.say(cairo.what_to_type())
    elif isinstance(error, MemoryError):
        terminal.say("this machine ran out of memory")
    elif isinstance(error, OSError):
        terminal.drop_what_cannot_be_written()
        where = f", {error.filename}" if error.filename else ""
        terminal.say(f"the machine failed: {error.strerror or error}{where}")
    else:
        terminal.say(
            f"something went wrong inside Curvewright ({type(error).__name__}: {error})",
            "That is a fault of ours: please report it with the pattern file. CURVEWRIGHT_DEBUG=1 shows where it was.",
        )
    return 3
