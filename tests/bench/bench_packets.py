"""What a class costs: a roster's packets against one packet, in time and in memory, each by a command that starts cold.

    python tests/bench/bench_packets.py [--members N] [--runs N]

Members differ as in a class: half on each paper, every third with a size of his own, every fifth mirrored. Memory is
that of all processes together at their highest (looked at every 20 ms; a page that several share counts for each), where
the system keeps /proc, else that of the largest one. Modules are compiled beforehand, as an installer leaves them.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
PIECE = HOME / "demo" / "dolls-cradle.toml"
MOST_TIMES = 20
_COMPILED = tempfile.TemporaryDirectory(prefix="compiled-")

RUN = """\
import resource, subprocess, sys, time
from pathlib import Path

def resident():
    "MB of our descendants"
    parents, pages = {}, {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parents[int(folder.name)] = int((folder / "stat").read_text().rsplit(")", 1)[1].split()[1])
            pages[int(folder.name)] = int((folder / "statm").read_text().split()[1])
        except (OSError, IndexError):
            continue
    ours, new = set(), {process.pid}
    while new:
        ours |= new
        new = {child for child, parent in parents.items() if parent in new}
    return sum(pages.get(one, 0) for one in ours) * resource.getpagesize() >> 20

process = subprocess.Popen([sys.executable, "-c", "from cli.main import command; command()", *sys.argv[1:]],
    stdout=subprocess.DEVNULL)
most = 0
while process.poll() is None:
    most = max(most, resident())
    time.sleep(0.02)
print(max(most, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024))
sys.exit(process.returncode)
"""


def roster(members: int) -> str:
    """A table of so many members."""
    lines = ["name,paper,mirrored,arch_rise"]
    for number in range(members):
        paper = "letter" if number % 2 else "A4"
        size = f"{16 + number % 7}/16" if number % 3 == 0 else ""
        lines.append(f"Member {number + 1},{paper},{'yes' if number % 5 == 0 else ''},{size}")
    return "\n".join(lines) + "\n"


def measured(*words: str | Path) -> tuple[float, int]:
    """Seconds of a command, and MB of it and all that it started."""
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env = usual | {"PYTHONPATH": str(HOME), "PYTHONPYCACHEPREFIX": _COMPILED.name, "OPENBLAS_NUM_THREADS": "1"}
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", RUN, *map(str, words)], env=env, check=True, capture_output=True, text=True
    )
    return time.perf_counter() - begun, int(done.stdout)


def report(members: int, runs: int, say: Callable[[str], object]) -> float:
    """Measures, says all figures, and returns how many packets' time the class takes."""
    one_s, class_s, one_mb, class_mb = [], [], 0, 0
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / "class.csv"
        table.write_text(roster(members), encoding="utf-8")
        for number in range(runs + 1):
            seconds, one_mb = measured("packet", PIECE, "-o", Path(folder) / "one.zip", "--paper", "A4")
            all_seconds, class_mb = measured("packet", PIECE, "--roster", table, "-o", Path(folder) / "class")
            if number:  # the first compiles
                one_s.append(seconds)
                class_s.append(all_seconds)
        made = len(list((Path(folder) / "class").glob("*.zip")))
    one, whole = statistics.median(one_s), statistics.median(class_s)
    say(f"one packet {one * 1e3:.0f} ms, {one_mb} MB")
    say(f"{made} members {whole * 1e3:.0f} ms, {class_mb} MB in all processes together")
    say(f"{made} members take the time of {whole / one:.1f} packets; {MOST_TIMES} at most for 30")
    return whole / one


def main() -> None:
    """The script."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--members", type=int, default=30, help="of the class (30)")
    parser.add_argument("--runs", type=int, default=3, help="runs that count (3)")
    arguments = parser.parse_args()
    report(arguments.members, arguments.runs, print)


if __name__ == "__main__":
    main()
