"""Noticing that a file was saved, by looking at it: whichever way it is saved, on whatever drive it lies.

A look asks the system for the file's size, times and number, which takes a few millionths of a second. Editors that
write a new file and rename it, folders that come and go, and network drives, which tell nobody of what others write,
are all seen in this one way; of the services that report changes, none sees them all, and each wants this as well.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal

Event = Literal["saved", "quiet"]
"""The file is another than it was, or gone; or nothing has happened for a while."""

LOOK_S = 0.002
"""Between two looks. One costs a few millionths of a second: at rest a watch takes less than a fiftieth of a core."""
SETTLED_S = 0.2
"""So long after a save a file is what it is meant to be: who writes it in two steps has done both."""
IDLE_S = 1.0
"""Between two reports that all is quiet."""

Trace = tuple[int, int, int, int] | None
"""What a save changes of a file: its number, size and times; None where there is none."""


def trace(path: Path) -> Trace:
    """What the system says of the file now."""
    try:
        stat = path.stat()
    except (OSError, ValueError):
        return None
    return stat.st_ino, stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns


def looks(
    look: Callable[[], Trace],
    sleep: Callable[[float], object] = time.sleep,
    clock: Callable[[], float] = time.monotonic,
) -> Iterator[Event]:
    """ "saved" whenever the file is another than it was, the first time at once; "quiet" a moment after each, then now
    and then. Ends when nobody asks for more."""
    known = look()
    yield "saved"
    due = clock() + SETTLED_S
    while True:
        sleep(LOOK_S)
        now = look()
        if now != known:
            known = now
            yield "saved"
            due = clock() + SETTLED_S
        elif clock() >= due:
            yield "quiet"
            due = clock() + IDLE_S
