"""What a watch saves: from a save of the file to the PDF written, against a command that starts cold on the same job.

    python tests/bench/bench_watch.py [--runs N] [--piece NAME]

Each run saves another value of a size of a demo piece and waits for the PDF of a watch that is running; then a cold
``curvewright reprint`` is run on the very same file. The two are told as medians over all runs, in wall time, and as
their ratio. Modules are compiled beforehand, as an installer leaves them.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
COMMAND = "from cli.main import command; command()"
PATIENCE_S = 60.0
_COMPILED = tempfile.TemporaryDirectory(prefix="compiled-")

TRIED = {
    "dolls-cradle": ("arch_rise", [f"{n}/16" for n in range(20, 38)]),
    "bench-back": ("arch_rise", [str(n) for n in range(98, 128)]),
    "hall-rack": ("depth", [str(n) for n in range(170, 210, 2)]),
    "settle-crest": ("length", [f"{n}/8" for n in range(369, 390)]),
}
"""Demo pieces, the size that is changed, and the values that it takes in turn."""


def _environment() -> Mapping[str, str]:
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    paths = os.pathsep.join(filter(None, [str(HOME), os.environ.get("PYTHONPATH")]))
    return usual | {"PYTHONPATH": paths, "PYTHONPYCACHEPREFIX": _COMPILED.name, "OPENBLAS_NUM_THREADS": "1"}


def _curvewright(*words: str | Path) -> list[str]:
    return [sys.executable, "-c", COMMAND, *map(str, words)]


def _run(*words: str | Path) -> None:
    subprocess.run(_curvewright(*words), cwd=HOME, env=_environment(), check=True, capture_output=True)


@contextmanager
def watching(old: Path, file: Path, new: Path) -> Iterator[subprocess.Popen[str]]:
    """A watch that has written its first PDF and waits."""
    words = _curvewright("reprint", old, file, "-o", new, "--watch")
    with subprocess.Popen(words, cwd=HOME, env=_environment(), stdout=subprocess.PIPE, text=True) as process:
        try:
            while process.stdout and "Watching" not in (line := process.stdout.readline()):
                if not line:
                    raise RuntimeError("the watch ended")
            yield process
        finally:
            process.kill()


def _until(is_done: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not is_done():
        if time.monotonic() > end:
            raise RuntimeError("the watch wrote nothing")
        time.sleep(0.0005)


def compared(folder: Path, name: str, size: str, values: list[str]) -> tuple[list[float], list[float]]:
    """Seconds of each save under a watch, and of each cold command."""
    text = (HOME / "demo" / f"{name}.toml").read_text(encoding="utf-8")
    file, old, new, cold = (folder / f"{name}{end}" for end in (".toml", ".pdf", "-new.pdf", "-cold.pdf"))
    file.write_text(text, encoding="utf-8")
    _run("sheets", file, "-o", old)
    warm_s, cold_s = [], []
    with watching(old, file, new):
        for value in values:
            changed = re.sub(rf'^({size} = {{ value = )"[^"]*"', rf'\g<1>"{value}"', text, flags=re.M)
            before = new.stat().st_ino
            begun = time.perf_counter()
            file.write_text(changed, encoding="utf-8")
            _until(lambda before=before: new.exists() and new.stat().st_ino != before)  # type: ignore[misc]
            warm_s.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            _run("reprint", old, file, "-o", cold)
            cold_s.append(time.perf_counter() - begun)
            if cold.read_bytes() != new.read_bytes():
                raise RuntimeError(f"{name}, {size} {value}: the watch wrote other bytes than the command")
    return warm_s[1:], cold_s[1:]


def report(runs: int, names: Iterable[str], say: Callable[[str], object]) -> None:
    """Measures and says all figures of these pieces. The first save of each, and the command beside it, do not count.

    Raises RuntimeError where a watch writes other bytes than the command.
    """
    with tempfile.TemporaryDirectory() as folder:
        for name in names:
            size, values = TRIED[name]
            warm_s, cold_s = compared(Path(folder), name, size, values[: runs + 1])
            warm, cold = statistics.median(warm_s), statistics.median(cold_s)
            told = f"{name}, {size}: save to PDF {warm * 1e3:.0f} ms, a cold command {cold * 1e3:.0f} ms"
            say(f"{told}: {warm / cold:.3f}; 0.1 at most")


def main() -> None:
    """The script."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=9, help="saves of each piece (9)")
    parser.add_argument("--piece", choices=TRIED, action="append", help="only this demo piece (all of them)")
    arguments = parser.parse_args()
    report(arguments.runs, arguments.piece or TRIED, print)


if __name__ == "__main__":
    main()
