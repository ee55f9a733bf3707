"""The benches run and print their figures; what they are is for whoever runs them to judge."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import bench_watch
import pytest


def printed_by(script: str, *words: str) -> str:
    command = [sys.executable, str(Path(__file__).with_name(script)), *words]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def test_the_bench_prints_every_figure() -> None:
    text = printed_by("bench_sheets.py", "--runs", "1")
    for what in ("against the libraries alone", r"\(one part\) against", r"\(ten parts\) against", "memory", "bytes"):
        assert re.search(what + r".*\d", text), text


def test_the_bench_of_a_watch_prints_its_ratio_and_finds_the_bytes_of_a_command() -> None:
    """Two saves: the bench ends with an error where the watch has written other bytes than the command beside it."""
    text = printed_by("bench_watch.py", "--runs", "1", "--piece", "hall-rack")
    assert re.fullmatch(
        r"hall-rack, depth: save to PDF \d+ ms, a cold command \d+ ms: \d+\.\d{3}; 0\.1 at most\n", text
    )


def test_the_bench_of_a_watch_notices_other_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A watch that goes on from another size than the command beside it begins with."""
    usual = bench_watch._run

    def run(*words: str | Path) -> None:
        usual(*words, *(["--size", "rail=700"] if "reprint" in words else []))

    monkeypatch.setattr(bench_watch, "_run", run)
    with pytest.raises(RuntimeError, match="other bytes than the command"):
        bench_watch.compared(tmp_path, "hall-rack", "depth", ["172"])


def test_the_bench_of_a_class_prints_how_many_packets_it_costs() -> None:
    text = printed_by("bench_packets.py", "--members", "2", "--runs", "1")
    assert re.search(r"2 members take the time of \d+\.\d packets; 20 at most for 30", text), text
    assert re.search(r"\d+ MB in all processes together", text)


def test_the_bench_of_a_carcass_prints_its_share_of_the_start() -> None:
    text = printed_by("bench_carcass.py", "--runs", "2")
    assert re.fullmatch(r"12 boards solved in \d+\.\d ms, the program's start \d+ ms: \d+\.\d{3}\n", text), text
