"""The bench runs and prints its figures; what they are is for whoever runs it to judge."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path


def test_the_bench_prints_every_figure() -> None:
    words = [sys.executable, str(Path(__file__).with_name("bench_sheets.py")), "--runs", "1"]
    text = subprocess.run(words, check=True, capture_output=True, text=True).stdout
    for what in ("against the libraries alone", r"\(one part\) against", r"\(ten parts\) against", "memory", "bytes"):
        assert re.search(what + r".*\d", text), text
