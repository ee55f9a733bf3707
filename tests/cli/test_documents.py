"""What the README and the demo say is true: examples run, links lead somewhere, every command is named."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cli.main import COMMANDS
from patterns import filemodel, partmodel
from patterns.carcass import model
from patterns.piece import SweepSpec

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PIECES = sorted((ROOT / "demo").glob("*.toml"))

Command = Callable[..., Any]


def test_the_readmes_first_piece_can_be_made_and_changed(curvewright: Command, tmp_path: Path) -> None:
    apron = tmp_path / "apron.toml"
    apron.write_text(re.findall(r"```toml\n(.*?)```", README, re.S)[0], encoding="utf-8")
    assert curvewright("check", apron).status == 0
    sheets = tmp_path / "apron.pdf"
    assert curvewright("sheets", apron, "-o", sheets).status == 0
    assert curvewright("reprint", sheets, apron, "--size", "rise=2", "-o", tmp_path / "change.pdf").status == 0


@pytest.mark.parametrize("piece", PIECES, ids=lambda path: path.stem)
def test_every_demo_piece_becomes_sheets(curvewright: Command, tmp_path: Path, piece: Path) -> None:
    result = curvewright("sheets", piece, "-o", tmp_path / "a.pdf")
    assert result.status == 0, result.err
    assert curvewright("patterns", piece, "-o", tmp_path).status == 0


def test_the_demo_shows_what_it_is_meant_to_show() -> None:
    text = "\n".join(path.read_text(encoding="utf-8") for path in PIECES)
    for feature in (
        'units = "in"',
        'units = "mm"',
        "measured =",
        "leave_out",
        "glue_lines",
        '"before glue"',
        "[[part.cut]]",
    ):
        assert feature in text


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_links_and_pictures_lead_somewhere(text: str) -> None:
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert target.startswith("https://") or (ROOT / target).is_file(), target


def test_every_command_is_in_the_readme() -> None:
    for name in COMMANDS:
        assert f"`{name}" in README


def test_every_key_of_the_pattern_file_is_in_the_readme() -> None:
    tables = [
        table
        for module in (filemodel, partmodel, model)
        for table in vars(module).values()
        if isinstance(table, type) and issubclass(table, partmodel.Table)
    ]
    keys = {key for table in tables for key in table.__struct_encode_fields__}
    assert len(keys) > 40
    assert [key for key in sorted(keys) if not re.search(rf"[`\s.{{\[]{key}[`\s.=\]]", README)] == []


def test_what_the_readme_says_of_keys_that_are_left_out_is_so() -> None:
    assert '`arch_to = "edge"`, as it is if left out' in README
    assert SweepSpec("arch", "").arch_to == "edge"
    assert '`faces = "both"` if nothing else is said' in README
    assert partmodel.RoundOverTable(radius="1").faces == "both"
    assert '`grain` is `"along"` (if left out; of a stave `"across"`)' in README


def test_the_rooms_of_the_guide_are_the_folders_of_the_house() -> None:
    rooms = re.search(r"## The rooms\n\n(.*?)\n\n", DEVELOPERS, re.S)
    assert rooms is not None
    named = set(re.findall(r"^    ([\w.]+)/", rooms[1], re.M))
    made = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    folders = {path.name for path in ROOT.iterdir() if path.is_dir() and not path.name.startswith((".", "__"))}
    assert named == {name for name in folders if f"{name}/" not in made and not name.endswith(".egg-info")}


def test_files_that_the_guide_names_exist() -> None:
    for name in re.findall(r"`((?:patterns|tiling|cli|tests|demo)/[\w./-]+)`", DEVELOPERS):
        assert (ROOT / name).exists(), name
