"""What sheets cost, as ratios within one run: time against the libraries alone, growth, memory, bytes.

Run it from the checkout:  python tests/bench/bench_sheets.py [--runs N]

Each figure is the least of several cold processes, taken in turn so that a busy machine slows all of them alike.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
_COMPILED = tempfile.TemporaryDirectory(prefix="compiled-")

BARE = """\
import sys
import numpy, svgwrite, cairosvg, pypdf
for name in sys.argv[1:]:
    with open(name, "rb") as file:
        cairosvg.svg2pdf(bytestring=file.read())
"""
MODULE, FUNCTION = tomllib.loads((HOME / "pyproject.toml").read_text())["project"]["scripts"]["curvewright"].split(":")
COMMAND = f"import sys; from {MODULE} import {FUNCTION}; sys.exit({FUNCTION}())"
"""What the console command does."""
KEEP_DRAWINGS = """\
import itertools, sys
from pathlib import Path
import cairosvg
folder, turn, count = Path(sys.argv[1]), cairosvg.svg2pdf, itertools.count()
def kept(*, bytestring, **options):
    (folder / f"drawing-{next(count):02}.svg").write_bytes(bytestring)
    return turn(bytestring=bytestring, **options)
cairosvg.svg2pdf = kept
from cli.main import run
sys.exit(run(sys.argv[2:]))
"""
"""The command, keeping what it sends to cairosvg."""

PANEL = """\
curvewright = 1
title = "Panels of the assembly hall"
units = "mm"
"""
PART = """
[[part]]
name = "panel {name}"
thickness = "22"
wood = "oak"
blank = {{ length = "{length}", width = "{width}" }}
edges.top = {{ arch = "segmental", rise = "{rise}", arch_to = "edge" }}
edges.left = {{ points = [["0", "0"], ["{third}", "30"], ["{two}", "12"], ["{side}", "0"]], to = "{side}" }}
[[part.hole]]
circle = "60"
at = ["{middle}", "{third}"]
"""


@dataclass(frozen=True)
class Cost:
    """Of one process, or the least over several: wall clock and processor time (s), greatest memory (MB)."""

    wall: float
    processor: float
    memory: float

    def least(self, other: Cost | None) -> Cost:
        """The lesser figure of each kind."""
        if other is None:
            return self
        return Cost(*(min(pair) for pair in zip(self.values(), other.values(), strict=True)))

    def values(self) -> tuple[float, float, float]:
        """The three figures."""
        return self.wall, self.processor, self.memory


@dataclass(frozen=True)
class Job:
    """A pattern file to print, its sheets and bytes, and the drawings that it sends to cairosvg."""

    file: Path
    sheets: int
    size: int
    drawings: tuple[Path, ...]


def panels(*sizes: tuple[int, int]) -> str:
    """A pattern file of arched panels of these lengths and heights (mm)."""
    parts = []
    for k, (length, width) in enumerate(sizes):
        rise = min(length // 4, width // 3)
        side = width - rise
        figures = {"third": side // 3, "two": 2 * side // 3, "side": side, "middle": length // 2}
        parts.append(PART.format(name=chr(ord("a") + k), length=length, width=width, rise=rise, **figures))
    return PANEL + "".join(parts)


def measured(words: Sequence[str]) -> Cost:
    """The cost of one cold process. Raises CalledProcessError where it fails."""
    begun = time.perf_counter()
    child = subprocess.Popen(words, cwd=HOME, env=_environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    stdout, stderr = child.stdout, child.stderr
    said = (stdout.read() if stdout else b""), (stderr.read() if stderr else b"")
    _, status, usage = os.wait4(child.pid, 0)
    wall = time.perf_counter() - begun
    child.returncode = os.waitstatus_to_exitcode(status)
    for stream in (stdout, stderr):
        if stream:
            stream.close()
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, words, *said)
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return Cost(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / unit)


def _environment() -> Mapping[str, str]:
    """One thread, so that processor time compares; modules compiled beforehand, as an installer leaves them."""
    paths = os.pathsep.join(filter(None, [str(HOME), os.environ.get("PYTHONPATH")]))
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return usual | {"PYTHONPATH": paths, "PYTHONPYCACHEPREFIX": _COMPILED.name, "OPENBLAS_NUM_THREADS": "1"}


def sheets_command(file: Path) -> list[str]:
    """``curvewright sheets`` on a file, cold."""
    return [sys.executable, "-c", COMMAND, "sheets", str(file), "-o", str(file.with_suffix(".pdf"))]


def prepared(folder: Path, name: str, text: str) -> Job:
    """Writes the pattern file, prints it once, and keeps the drawings that were sent to cairosvg."""
    file = folder / f"{name}.toml"
    file.write_text(text, encoding="utf-8")
    kept = folder / name
    kept.mkdir()
    words = [sys.executable, "-c", KEEP_DRAWINGS, str(kept), *sheets_command(file)[3:], "--json"]
    told = subprocess.run(words, cwd=HOME, env=_environment(), check=True, capture_output=True).stdout
    size = file.with_suffix(".pdf").stat().st_size
    return Job(file, len(json.loads(told)["sheets"]), size, tuple(sorted(kept.iterdir())))


def compared(runs: int, commands: Mapping[str, Sequence[str]]) -> dict[str, Cost]:
    """The least cost of each command over ``runs`` turns."""
    least: dict[str, Cost] = {}
    for _ in range(runs):
        for name, words in commands.items():
            least[name] = measured(words).least(least.get(name))
    return least


def report(runs: int, say: Callable[[str], object]) -> None:
    """Measures and says all figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small = prepared(folder, "small", panels((900, 1200)))
        large = prepared(folder, "large", panels((11_900, 9_000)))
        many = prepared(folder, "many", panels(*[(880 + 10 * k, 1200) for k in range(10)]))
        commands = {
            "bare": [sys.executable, "-c", BARE, *map(str, small.drawings)],
            "small": sheets_command(small.file),
            "large": sheets_command(large.file),
            "many": sheets_command(many.file),
        }
        cost = compared(runs, commands)
    for key in commands:
        c = cost[key]
        say(f"{key:6} {c.wall * 1e3:6.0f} ms, processor {c.processor * 1e3:6.0f} ms, {c.memory:5.0f} MB")
    small_to_bare, small_cpu = cost["small"].wall / cost["bare"].wall, cost["small"].processor / cost["bare"].processor
    say(f"{small.sheets} sheets against the libraries alone: {small_to_bare:.2f} ({small_cpu:.2f}); 1.3 at most")
    for job, key, what in ((large, "large", "one part"), (many, "many", "ten parts")):
        grown = cost[key].wall / cost["small"].wall, cost[key].processor / cost["small"].processor
        say(f"{job.sheets} sheets ({what}) against {small.sheets}: {grown[0]:.2f} ({grown[1]:.2f}); 2 at most")
        say(f"memory of the {job.sheets} ({what}): {cost[key].memory:.0f} MB; 120 at most")
        further = (job.size - small.size) / (job.sheets - small.sheets)
        say(f"bytes a further sheet ({what}): {further:.0f}; 2,000 at most")


def main() -> None:
    """The script."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=9, help="cold processes of each kind (9)")
    report(parser.parse_args().runs, print)


if __name__ == "__main__":
    main()
