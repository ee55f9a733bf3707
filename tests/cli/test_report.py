"""Tables stay within the page and in their columns; JSON is pure ASCII and never says nan."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cli import report

words = st.text(st.characters(categories=["L", "N"], max_codepoint=0x24F), min_size=1, max_size=9)
cells = st.lists(words, max_size=9).map(" ".join)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(words, words, cells), min_size=1, max_size=6))
def test_a_table_keeps_its_columns_and_its_width(rows: list[tuple[str, str, str]]) -> None:
    lines = report.table(["part", "size", "what it is"], rows, right="lrl", width=72)
    assert max(map(report.columns_of, lines)) <= 72
    first, second = (len(dashes) for dashes in lines[1].split("  ")[:2])
    for name, size, _ in rows:
        assert any(line.startswith(name.ljust(first) + "  " + size.rjust(second)) for line in lines)
    body = " ".join(line[first + second + 4 :].strip() for line in lines[2:])
    assert body.split() == " ".join(row[2] for row in rows).split()


def test_columns_without_an_entry_are_left_out() -> None:
    assert report.table(["name", "note"], [["rise", ""], ["span", ""]]) == ["name", "----", "rise", "span"]


def test_wide_letters_count_double() -> None:
    lines = report.table(["part", "length"], [["椅子", "1"], ["seat", "2"]], right="lr")
    assert [line.rstrip()[-1] for line in lines[2:]] == ["1", "2"]
    assert {report.columns_of(line) for line in lines} == {12}


def test_json_is_ascii_and_unrounded() -> None:
    value = {"part": "crête", "length_mm": 0.1 + 0.2}
    text = report.json_text(value)
    assert text.isascii()
    assert json.loads(text) == value


def test_json_refuses_what_it_cannot_say() -> None:
    with pytest.raises(ValueError, match="JSON"):
        report.json_text({"radius_mm": math.nan})
