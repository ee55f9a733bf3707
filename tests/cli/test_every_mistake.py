"""Mistakes that a pattern file can hold, one by one: what is said of each by a command that would have written sheets."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]

HEAD = 'curvewright = 1\ntitle = "Stool"\nunits = "in"\n'
PART = '[[part]]\nname = "leg"\nblank = { length = "20", width = "4" }\n'


def part(text: str, head: str = "") -> str:
    return HEAD + head + PART + text


def nested(depth: int) -> str:
    return "(" * depth + "1" + ")" * depth


MISTAKES = {
    "unknown key": (part('widht = "4"'), ['part "leg"', "widht"]),
    "newer format": (part("").replace("curvewright = 1", "curvewright = 9"), ["9", "1"]),
    "missing size": (part('thickness = "rise / 2"'), ['part "leg", thickness', "rise"]),
    "circle of sizes": (part("", '[sizes]\na = "b"\nb = "c"\nc = "a"\n'), ["sizes", "a", "b", "c"]),
    "outside its limits": (part("", '[sizes]\na = { value = "9", most = "3" }\n'), ["sizes.a", "9", "3"]),
    "divided by zero": (part('thickness = "3/0"'), ["thickness", "3/0"]),
    "endless figure": (part('thickness = "1e400"'), ["thickness", "1e400"]),
    "endless TOML float": (part("thickness = 1e400"), ["thickness", "1e400"]),
    "nan": (part("thickness = nan"), ["thickness", "nan"]),
    "nested 5,000 deep": (part(f'thickness = "{nested(5000)}"'), ["thickness"]),
    "built to explode": (part(f'thickness = "{"*".join(["999999"] * 60)}"'), ["thickness"]),
    "negative length": (part('thickness = "-1"'), ["thickness", "-1"]),
    "zero length": (part("").replace('length = "20"', 'length = "0"'), ["blank", "length", "0"]),
    "impossible rise": (part('edges.top = { arch = "segmental", rise = "14" }'), ["edges.top", "rise", "14"]),
    "unordered stations": (
        part('edges.top = { points = [["0", "0"], ["9", "1"], ["5", "1"], ["20", "0"]] }'),
        ["edges.top", "9", "5"],
    ),
    "repeated station": (
        part('edges.top = { points = [["0", "0"], ["5", "1"], ["5", "2"], ["20", "0"]] }'),
        ["edges.top", "5"],
    ),
    "curve leaves the blank": (
        part('edges.top = { points = [["0", "0"], ["9", "-1"], ["20", "0"]] }'),
        ["edges.top", "-1"],
    ),
    "outline crosses itself": (
        part('edges.top = { points = [["0", "0"], ["10", "3 1/2"], ["20", "0"]] }\n')
        + 'edges.bottom = { points = [["0", "0"], ["10", "2"], ["20", "0"]] }\n',
        ['part "leg"', "edges."],
    ),
    "hole outside": (part('[[part.hole]]\ncircle = "1"\nat = ["30", "2"]'), ["hole", "30"]),
    "two parts of one name": (part("") + PART, ["leg"]),
    "control character in a name": (part("").replace('"leg"', '"le\\u0007g"'), ["name"]),
    "a part of 20 m": (part("").replace('length = "20"', 'length = "20000 mm"'), ["20000 mm", "blank"]),
    "unknown unit": (part("").replace('units = "in"', 'units = "furlong"'), ["units", "furlong"]),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_each_mistake_is_told_with_its_place_and_nothing_is_written(
    curvewright: Command, tmp_path: Path, name: str
) -> None:
    text, said = MISTAKES[name]
    file, out = tmp_path / "stool.toml", tmp_path / "out"
    file.write_text(text, encoding="utf-8")
    out.mkdir()
    result = curvewright("sheets", file, "-o", out / "stool.pdf")
    assert (result.status, result.out) == (1, "")
    assert result.err.startswith("stool.toml: ")
    for words in said:
        assert words in result.err
    assert "Traceback" not in result.err and list(out.iterdir()) == []
    assert len(result.err) < 2000


def test_markup_in_a_name_is_text(curvewright: Command, tmp_path: Path) -> None:
    """It stands on the paper as written, and names no file and no element."""
    file, out = tmp_path / "stool.toml", tmp_path / "out"
    file.write_text(part("").replace('"leg"', "'<b>leg</b> & \"../x\"'"), encoding="utf-8")
    assert curvewright("patterns", file, "-o", out).status == 0
    (drawn,) = out.iterdir()
    assert drawn.parent == out and "<b>" not in drawn.read_text(encoding="utf-8")


def test_more_than_two_thousand_sheets_are_refused_with_their_count(curvewright: Command, tmp_path: Path) -> None:
    """Forty boards of eleven metres; ``--many`` would print them."""
    boards = "".join(
        f'[[part]]\nname = "board {k}"\nblank = {{ length = "11000 mm", width = "600 mm" }}\n' for k in range(40)
    )
    file, target = tmp_path / "deck.toml", tmp_path / "deck.pdf"
    file.write_text(HEAD + boards, encoding="utf-8")
    result = curvewright("sheets", file, "-o", target)
    assert result.status == 1 and "--many" in result.err and not target.exists()
    count = int(result.err.split(" sheets")[0].split()[-1].replace(",", ""))
    assert count > 2000
