"""The JSON Schema of the pattern file, so that an editor can complete and check one."""

from __future__ import annotations

from typing import Any

import msgspec

from patterns.filemodel import FileTable
from patterns.partmodel import BlankTable, CornerTable, HoleTable, MarkTable

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_ONE_OF: dict[str, list[list[str]]] = {
    BlankTable.__name__: [["length", "width"], ["bottom", "top", "height"], ["vertices"]],
    CornerTable.__name__: [["round"], ["chamfer"], ["notch"]],
    HoleTable.__name__: [["circle", "at"], ["elongated", "at"], ["points"]],
    MarkTable.__name__: [["centre"], ["line"], ["note", "at"]],
}
"""Tables of which exactly one set of keys must be there."""


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a pattern file, with a title and a description for every key."""
    (root,), tables = msgspec.json.schema_components([FileTable], ref_template="#/$defs/{name}")
    for name, table in tables.items():
        _complete(name, table)
    return {"$schema": DIALECT, "title": "Curvewright pattern file", **root, "$defs": tables}


def _complete(name: str, table: dict[str, Any]) -> None:
    """Adds to one table what the types alone do not say, and takes out what TOML does not have."""
    table["title"] = name.removesuffix("Table")
    for key, described in table["properties"].items():
        table["properties"][key] = {"title": key.replace("_", " "), **_without_null(described)}
    if name in _ONE_OF:
        table["oneOf"] = [{"required": keys} for keys in _ONE_OF[name]]
    if name == FileTable.__name__:
        table["properties"]["curvewright"]["const"] = 1
        table["anyOf"] = [{"required": ["part"]}, {"required": ["carcass"]}]
        table["properties"]["part"]["minItems"] = 1


def _without_null(described: dict[str, Any]) -> dict[str, Any]:
    """TOML has no null: a key that may be left out is left out."""
    kept = {key: value for key, value in described.items() if not (key == "default" and value is None)}
    if "anyOf" in kept:
        choices = [choice for choice in kept.pop("anyOf") if choice != {"type": "null"}]
        kept |= choices[0] if len(choices) == 1 else {"anyOf": choices}
    if None in kept.get("enum", ()):
        kept["enum"] = [value for value in kept["enum"] if value is not None]
    return kept
