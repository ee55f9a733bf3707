"""What a carcass costs: twelve boards solved, from the text of the file to parts, against the start of the program.

    python tests/bench/bench_carcass.py [--runs N]

The time is that of one process that is warm, told as a share of ``curvewright --help`` started cold. Modules are compiled
beforehand, as an installer leaves them.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
_COMPILED = tempfile.TemporaryDirectory(prefix="compiled-")

VESSEL = """\
curvewright = 1
title = "Tub"
units = "mm"
[carcass]
kind = "staved"
sides = 11
across = "400"
height = "300"
splay = "7 deg"
thickness = "18"
corner_joint = "mitre"
base = { thickness = "18", place = "inside" }
"""
"""Eleven staves and a bottom."""


def main() -> None:
    """The script."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=15, help="of each (15)")
    runs = parser.parse_args().runs
    sys.path.insert(0, str(HOME))
    from patterns import patternfile
    from patterns.filetext import NamedText

    solved = []
    for _ in range(runs + 1):
        begun = time.perf_counter()
        carcass = patternfile.load(NamedText(VESSEL, "tub.toml")).piece.carcass
        if carcass is None or len(carcass.boards) != 12:
            raise RuntimeError("these are not twelve boards")
        solved.append(time.perf_counter() - begun)
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment = usual | {"PYTHONPATH": str(HOME), "PYTHONPYCACHEPREFIX": _COMPILED.name}
    command = [sys.executable, "-c", "from cli.main import command; command()", "--help"]
    started = []
    for _ in range(runs + 1):
        begun = time.perf_counter()
        subprocess.run(command, env=environment, check=True, capture_output=True)
        started.append(time.perf_counter() - begun)
    one, start = statistics.median(solved[1:]), statistics.median(started[1:])
    print(f"12 boards solved in {one * 1e3:.1f} ms, the program's start {start * 1e3:.0f} ms: {one / start:.3f}")


if __name__ == "__main__":
    main()
