"""The two streams: results on standard output, everything said about them on standard error. No colour at all."""

from __future__ import annotations

import codecs
import contextlib
import os
import re
import sys
import time
from collections.abc import Iterator
from io import TextIOWrapper
from pathlib import Path

_PLAIN = {"≈": "~", "≤": "<=", "≥": ">=", "→": "->", "−": "-", "–": "-", "…": "...", "′": "'", "″": '"', "√": "sqrt"}

_CONTROLS = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def _in_plain_letters(error: UnicodeError) -> tuple[str, int]:
    """For consoles that can't show a character: what a typewriter would put there."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_PLAIN.get(c, "?") for c in error.object[error.start : error.end]), error.end


def prepare() -> None:
    """Makes both streams safe for any text, whatever the console's encoding; one that is closed takes text in vain."""
    codecs.register_error("curvewright", _in_plain_letters)
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="curvewright")


def say(*lines: str) -> None:
    """Puts lines on standard error; what would move a terminal's cursor (in a file's name, say) is written out."""
    for line in lines:
        print(_CONTROLS.sub(lambda found: f"\\u{ord(found[0]):04x}", line), file=sys.stderr)


def warn(lines: list[str]) -> None:
    """Puts warnings on standard error, one a line."""
    say(*(f"warning: {line}" for line in lines))


def abandon_output() -> None:
    """The reader of our output went away (``| head``): no more is written, and Python's last flush is kept quiet."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def drop_what_cannot_be_written() -> None:
    """After a failure: lets go of results that standard output does not take (a full disk behind ``>``)."""
    try:
        sys.stdout.flush()
    except OSError:
        abandon_output()


@contextlib.contextmanager
def progress() -> Iterator[Progress]:
    """Progress that wipes itself when the job ends, well or badly."""
    shown = Progress()
    try:
        yield shown
    finally:
        shown.finish()


class Progress:
    """One line that says how far a long job is, on a terminal only, and only once it has taken a while."""

    PATIENCE_S = 0.7

    def __init__(self) -> None:
        self._begun = time.monotonic()
        self._shown = 0
        self._on = sys.stderr.isatty()

    def __call__(self, what: str, done: int, total: int) -> None:
        """Says that ``done`` of ``total`` steps of ``what`` are behind us."""
        if not self._on or (time.monotonic() - self._begun < self.PATIENCE_S and not self._shown):
            return
        line = f"{what}: {done} of {total}"
        print("\r" + line.ljust(self._shown), end="", file=sys.stderr, flush=True)
        self._shown = len(line)

    def finish(self) -> None:
        """Wipes the line."""
        if self._shown:
            print("\r" + " " * self._shown + "\r", end="", file=sys.stderr, flush=True)
            self._shown = 0
