"""The JSON Schema of the pattern file, held against documents with a validator of another house (jsonschema)."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import jsonschema  # type: ignore[import-untyped,unused-ignore]
import pytest

from patterns import fileschema, patternfile
from patterns.arches import KINDS
from patterns.partmodel import ArchKind

DEMO = Path(__file__).parents[2] / "demo"
HEAD = 'curvewright = 1\ntitle = "Stool"\nunits = "in"\n'
PART = '[[part]]\nname = "seat"\nblank = { length = "12", width = 9 }\n'


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    schema = fileschema.schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.toml")), ids=lambda path: path.stem)
def test_every_demo_piece_is_valid(validator: jsonschema.Draft202012Validator, path: Path) -> None:
    assert list(validator.iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))) == []


def test_there_are_demo_pieces_to_check() -> None:
    assert len(list(DEMO.glob("*.toml"))) >= 3


@pytest.mark.parametrize(
    "lines",
    [
        "edges.top = [{ arch = 'ogee', rise = 1 }, { leave = 1 }]",
        "[[part]]\nname = 'ear'\nblank = { vertices = [[0, 0], [3, 0], [0, 3]], edge_names = ['foot', 'slant', 'back'] }\n"
        "edges.slant = { fit = true }",
        "edges.top = { points = [[0, '1/2'], [1.5, 2]], ends = ['0', '1:8'] }",
        "[[part.cut]]\nfrom = ['left', 3]\nto = ['top', '5']",
        "[[part.hole]]\ncircle = 1\nat = [1, 1]\n[[part.hole]]\npoints = [[1, 1], [2, 1], [2, 2]]",
        "[[part.mark]]\nline = [[1, 1], [2, 2]]\n[[part.mark]]\nnote = 'up'\nat = [1, 1]",
        "corners.top_left = { notch = [1, 2] }",
    ],
)
def test_right_documents(validator: jsonschema.Draft202012Validator, lines: str) -> None:
    text = HEAD + PART + lines + "\n"
    assert list(validator.iter_errors(tomllib.loads(text))) == []
    assert patternfile.examine(patternfile.PatternSource(text, "stool.toml")).problems == ()


@pytest.mark.parametrize(
    "text",
    [
        HEAD,
        HEAD + "part = []",
        HEAD.replace("= 1", "= 2") + PART,
        HEAD.replace('"in"', '"inch"') + PART,
        HEAD.replace("title", "titel") + PART,
        HEAD + PART.replace("width", "wdith"),
        HEAD + PART + "quantity = 0",
        HEAD + PART + "quantity = '2'",
        HEAD + PART + "thickness = true",
        HEAD + PART + "edges.top = { arch = 'gothic', rise = 1 }",
        HEAD + PART + "edges.top = { points = [[1, 2, 3]] }",
        HEAD + PART + "[[part.hole]]\ncircle = 1",
        HEAD + PART + "[[part.hole]]\ncircle = 1\npoints = [[1, 1], [2, 1], [2, 2]]\nat = [1, 1]",
        HEAD + PART + "[[part.cut]]\nfrom = ['left', 3]",
        HEAD + PART + "corners.top_left = {}",
        HEAD + PART + "[[part.mark]]\nnote = 'up'",
        HEAD + "[sizes]\na = { least = 1 }\n" + PART,
    ],
)
def test_wrong_documents_are_wrong_for_the_schema_and_for_us(
    validator: jsonschema.Draft202012Validator, text: str
) -> None:
    assert list(validator.iter_errors(tomllib.loads(text)))
    assert patternfile.examine(patternfile.PatternSource(text, "stool.toml")).problems


def properties(schema: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for name, table in schema["$defs"].items():
        for key, described in table["properties"].items():
            yield name, key, described


def test_every_key_and_table_has_a_title_and_a_description() -> None:
    schema = fileschema.schema()
    for name, key, described in properties(schema):
        assert described["title"], (name, key)
        assert len(described["description"]) > 8, (name, key)
    for name, table in schema["$defs"].items():
        assert table["title"]
        assert len(table["description"]) > 8, name
        assert table["additionalProperties"] is False, name


def test_edges_take_any_name() -> None:
    edges = fileschema.schema()["$defs"]["PartTable"]["properties"]["edges"]
    assert {"$ref": "#/$defs/EdgeTable"} in edges["additionalProperties"]["anyOf"]


def test_nothing_in_it_is_null_for_toml_has_no_null() -> None:
    def walk(node: object) -> None:
        assert node is not None
        assert node != "null"
        for child in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
            walk(child)

    walk(fileschema.schema())


def test_the_arches_that_can_be_asked_for_are_those_that_can_be_drawn() -> None:
    assert get_args(ArchKind) == KINDS
