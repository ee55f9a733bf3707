"""Printing again on every save: what is done at each event, and what is said of it. Knows neither clock nor terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from msgspec import Struct

from cli import changes, reprinting
from cli.looking import Event
from cli.request import Job
from patterns.errors import CurvewrightError, PatternError
from patterns.filetext import NamedText
from tiling.job import Printed


class Made(Struct, frozen=True, eq=False):
    """A reprint: what of, and the PDF."""

    job: Job
    printed: Printed


class Bench(Struct, frozen=True, eq=False):
    """What a watch needs of the world: how to read the file, print, write and speak, and what time it is.

    ``read`` raises PatternError or MachineError, ``reprint`` PatternError, ``write`` either of them.
    """

    file: str
    target: str
    read: Callable[[], NamedText]
    reprint: Callable[[NamedText], Made]
    write: Callable[[Made], None]
    tell: Callable[[list[str]], None]
    warn: Callable[[list[str]], None]
    time_of_day: Callable[[], str]
    rest: Callable[[], object]
    """Called when a save has been worked off and no other follows at once."""


class Watch:
    """A watch under way. What can't be read or printed is told when it has settled, and the PDF stays as it was."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.source: NamedText | None = None
        """The text of the last save that was printed, or that was wrong."""
        self.made: Made | None = None
        """The last reprint."""
        self.written: bytes | None = None
        """What the target holds."""
        self.trouble: list[str] = []
        """What is to be told of the last save if no other follows at once."""
        self.is_at_rest = True
        self.told_of_writing: list[str] = []
        """Why the target could not be written, as it was told."""

    def follow(self, events: Iterable[Event]) -> None:
        """Goes through all events."""
        for event in events:
            if event == "saved":
                self.saved()
            else:
                self.quiet()

    def saved(self) -> None:
        """The file is another than it was."""
        self.is_at_rest = False
        try:
            source = self.bench.read()
        except CurvewrightError as error:
            self.source = None
            self.trouble = _lines(error)
            return
        if source == self.source and not self.trouble:
            self._say("saved; nothing in it differs")
            return
        self.source = source
        try:
            made = self.bench.reprint(source)
        except PatternError as error:
            self.trouble = _lines(error)
            return
        self.trouble = []
        before, self.made = self.made, made
        is_written = self._write()
        if before is not None:
            self._account(before, made, is_written)

    def quiet(self) -> None:
        """Nothing has happened for a while: what went wrong is not about to be mended by a second step of the save."""
        if self.trouble:
            self.bench.warn([f"{self.bench.time_of_day()}  {self._as_it_was()}", *self.trouble])
            self.trouble = []
            self.source = None
        elif self.made is not None and self.written != self.made.printed.data:
            self._write()
        if not self.is_at_rest:
            self.bench.rest()
            self.is_at_rest = True

    def left(self) -> str:
        """What a watch that was ended leaves behind."""
        if self.made is None or self.written is None:
            return "nothing was written"
        is_last = self.written == self.made.printed.data
        return f"{self.bench.target}: {reprinting.in_brief(self.made.printed)}" if is_last else self._as_it_was()

    def _account(self, before: Made, made: Made, is_written: bool) -> None:
        """What the save changed, against the one before it."""
        target = self.bench.target if is_written else f"not yet in {self.bench.target}"
        lines = changes.told(before.job, before.printed, made.job, made.printed)
        self._say(*lines, f"{target}: {reprinting.in_brief(made.printed)}")
        fresh = [one for one in made.printed.warnings if one not in before.printed.warnings]
        self.bench.warn([f"warning: {self.bench.file}: {one}" for one in fresh])

    def _write(self) -> bool:
        """Writes the last reprint, if it is not there already; a failure is told once, and it is tried again later."""
        if self.made is None or self.made.printed.data == self.written:
            return True
        is_first = self.written is None
        try:
            self.bench.write(self.made)
        except CurvewrightError as error:
            why = _lines(error)
            if why != self.told_of_writing:
                self.bench.warn(
                    [f"{self.bench.time_of_day()}  {why[0]}", *why[1:], "It is tried again until it can be."]
                )
            self.told_of_writing = why
            return False
        self.written = self.made.printed.data
        if is_first:
            self.bench.tell(reprinting.told(self.bench.target, self.made.printed))
            self.bench.warn([f"warning: {self.bench.file}: {one}" for one in self.made.printed.warnings])
        elif self.told_of_writing:
            self._say(f"{self.bench.target} is written")
        self.told_of_writing = []
        return True

    def _as_it_was(self) -> str:
        return f"{self.bench.target} stays as it was" if self.written is not None else "nothing is written yet"

    def _say(self, *lines: str) -> None:
        time = f"{self.bench.time_of_day()}  "
        self.bench.tell([(time if k == 0 else " " * len(time)) + line for k, line in enumerate(lines)])


def _lines(error: CurvewrightError) -> list[str]:
    return error.lines() if isinstance(error, PatternError) else [str(error)]
