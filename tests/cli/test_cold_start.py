"""What a command imports: the list that guards how quickly it starts."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

COLD = """
import sys
before = set(sys.modules)
from cli.main import run
status = run(sys.argv[1:])
packages = {name.partition(".")[0] for name in set(sys.modules) - before} - set(sys.stdlib_module_names)
print(status, *sorted(packages), file=sys.stderr)
"""

OURS_AND_NEEDED = {"cli", "patterns", "tiling", "numpy", "msgspec", "platformdirs", "cython_runtime"}
DRAWING = {"svgwrite", "cairosvg", "cairocffi", "cffi", "_cffi_backend", "pycparser", "cssselect2", "tinycss2"}
DRAWING |= {"webencodings", "defusedxml", "PIL", "pypdf", "uharfbuzz", "fontpkg_noto_sans"}
TAKEN_IF_THERE = {"typing_extensions", "fontTools", "cryptography", "Crypto"}
"""Packages that our dependencies import by themselves where something else has brought them."""


def packages_of(*words: str | Path) -> set[str]:
    done = subprocess.run([sys.executable, "-c", COLD, *map(str, words)], capture_output=True, text=True, check=True)
    status, *packages = done.stderr.splitlines()[-1].split()
    assert status == "0"
    return {name for name in packages if not name.startswith("_cython")}


def test_a_cold_sheets_imports_what_it_needs_and_no_scipy(stool: Path, tmp_path: Path) -> None:
    packages = packages_of("sheets", stool, "-o", tmp_path / "a.pdf")
    assert packages - TAKEN_IF_THERE <= OURS_AND_NEEDED | DRAWING


def test_a_cold_check_draws_nothing(stool: Path) -> None:
    assert packages_of("check", stool) - TAKEN_IF_THERE <= OURS_AND_NEEDED


def test_help_needs_nothing_at_all() -> None:
    assert packages_of("--help") <= {"cli"}
