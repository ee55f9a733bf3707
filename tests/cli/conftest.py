"""A command line to call, and a small piece to call it with."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from cli.main import run

STOOL = """\
curvewright = 1
title = "Step stool"
units = "in"

[sizes]
rise = { value = "1 1/2", least = "1/2", most = "3", note = "rise of the apron's arch" }

[[part]]
name = "apron"
quantity = 2
thickness = "3/4"
wood = "ash"
blank = { length = "14", width = "4" }
edges.bottom = { arch = "segmental", rise = "rise", arch_to = "inside", from = "2", to = "12" }

[[part]]
name = "tread"
thickness = "3/4"
wood = "ash"
blank = { length = "16", width = "9" }
corners.top_left = { round = "1" }
corners.top_right = { round = "1" }
"""


@dataclass(frozen=True)
class Result:
    """What a command left behind."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


Command = Callable[..., Result]


@pytest.fixture
def curvewright(capsys: pytest.CaptureFixture[str]) -> Command:
    """Runs the command in this process."""

    def call(*words: str | Path) -> Result:
        capsys.readouterr()
        status = run([str(word) for word in words])
        return Result(status, *capsys.readouterr())

    return call


@pytest.fixture
def stool(tmp_path: Path) -> Path:
    """A pattern file with a size, an arch and corners."""
    path = tmp_path / "stool.toml"
    path.write_text(STOOL, encoding="utf-8")
    return path


@pytest.fixture
def apart() -> Callable[..., subprocess.CompletedProcess[bytes]]:
    """Runs the command in a process of its own, as the console script does."""

    def call(*words: str | Path, **options: Any) -> subprocess.CompletedProcess[bytes]:
        line = [sys.executable, "-c", "import sys; from cli.main import run; sys.exit(run())", *map(str, words)]
        return subprocess.run(line, capture_output="stdout" not in options, check=False, timeout=120, **options)

    return call


@pytest.fixture(scope="session")
def packet_data(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The stool's packet, on letter paper, made once."""
    folder = tmp_path_factory.mktemp("packet")
    (folder / "stool.toml").write_text(STOOL, encoding="utf-8")
    words = ["packet", folder / "stool.toml", "-o", folder / "stool.zip", "--paper", "letter"]
    assert run([str(word) for word in words]) == 0
    return (folder / "stool.zip").read_bytes()


@pytest.fixture
def packet(packet_data: bytes, tmp_path: Path) -> Path:
    """The stool's packet, whole."""
    path = tmp_path / "stool.zip"
    path.write_bytes(packet_data)
    return path
