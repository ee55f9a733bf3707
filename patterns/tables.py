"""From the plain tables of a TOML file to the structs of a model, with every mistake of shape in one go.

msgspec checks a right file in one step. It stops at the first mistake, so a wrong file is walked table by table and
field by field, along the same types.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any, TypeVar

import msgspec
from msgspec import inspect

from patterns.mistakes import Mistakes
from patterns.wording import bare, inside, listed, named_place, nearest, printable, quoted, rather, shown

Model = TypeVar("Model", bound=msgspec.Struct)

_BROKEN = object()
"""Stands where a value can't be used; never leaves this file."""

MOST_UNKNOWN = 50
"""Unknown keys of one table that are told one by one."""

SURELY_MEANT = 0.7
"""A key that is missing and an unknown one of this likeness are one mistake."""

SHORT_DIGITS = 10
"""A whole number of fewer digits than this may be one that the maker meant."""

MOST_ROWS = 2000
"""More points than anyone measures, few enough to fit at once."""

A_FIGURE = 'a figure, or a formula in quotes such as "22 13/16"'


def read_table(model: type[Model], raw: dict[str, Any], mistakes: Mistakes, place: str = "") -> Model:
    """The table as ``model``. Where it is wrong, ``mistakes`` hears of it and the result holds what could be read.

    A required value that could not be read is there but empty, and its place is marked as broken.
    """
    try:
        return msgspec.convert(raw, model)
    except msgspec.ValidationError as error:
        before = mistakes.marks
        struct = inspect.type_info(model)
        result: Model = _Walk(mistakes).struct(struct, raw, place)
        if mistakes.marks == before:
            mistakes.add(place, str(error))
        return result


class _Walk:
    """One walk through a wrong file."""

    def __init__(self, mistakes: Mistakes) -> None:
        self.mistakes = mistakes

    def struct(self, kind: Any, raw: dict[str, Any], place: str) -> Any:
        """A table as its struct: unknown and missing keys are told, the rest is read."""
        fields = {field.encode_name: field for field in kind.fields}
        unknown = [key for key in raw if key not in fields]
        for key in unknown[:MOST_UNKNOWN]:
            self.mistakes.broke(inside(place, printable(key)), f"unknown key; {rather(key, fields)}")
            meant = nearest(key, fields, SURELY_MEANT)
            if meant is not None and meant not in raw:
                self.mistakes.answered(inside(place, meant))
        if len(unknown) > MOST_UNKNOWN:
            self.mistakes.add(place, f"has {len(unknown) - MOST_UNKNOWN} more unknown keys")
        values = {}
        as_written = [key for key in raw if key in fields]
        for key in [*(key for key in fields if key not in raw), *as_written]:
            field = fields[key]
            if key in raw:
                value = self.value(field.type, raw[key], inside(place, key), key, field.type)
            elif field.required:
                value = _BROKEN
                self.mistakes.broke(inside(place, key), f"is missing; it must be {_expected(field.type)}")
            else:
                continue
            if value is not _BROKEN:
                values[field.name] = value
            elif field.required:
                values[field.name] = _likeliest(field.type, raw.get(key))
        return kind.cls(**values)

    def value(self, kind: Any, raw: Any, place: str, key: str, named: Any) -> Any:
        """Any value; ``named`` is the field's type with the words for the rows of a table."""
        kind = _plain(kind)
        choices = kind.types if isinstance(kind, inspect.UnionType) else (kind,)
        for choice in map(_plain, choices):
            if isinstance(choice, inspect.StructType) and isinstance(raw, dict):
                return self.struct(choice, raw, place)
            if isinstance(choice, inspect.DictType) and isinstance(raw, dict):
                return self.named_tables(choice, raw, place, named)
            if isinstance(choice, inspect.ListType) and isinstance(raw, list):
                return self.rows(choice, raw, place, key, named)
            if isinstance(choice, inspect.TupleType) and isinstance(raw, list):
                return self.row(choice, raw, place, key, named)
            if _fits(choice, raw):
                return raw
        self.mistakes.broke(place, _misfit(kind, raw, key))
        return _BROKEN

    def named_tables(self, kind: Any, raw: dict[str, Any], place: str, named: Any) -> dict[str, Any]:
        """A table whose keys are the maker's own names (edges.bottom)."""
        read = {
            name: self.value(kind.value_type, value, named_place(place, name), named_place(place, name), named)
            for name, value in raw.items()
        }
        return {name: value for name, value in read.items() if value is not _BROKEN}

    def rows(self, kind: Any, raw: list[Any], place: str, key: str, named: Any) -> list[Any]:
        """A list of anything; what is broken in it is left out."""
        if len(raw) > MOST_ROWS:
            self.mistakes.broke(place, f"has {len(raw)} entries; {MOST_ROWS} is the most")
            return []
        places = item_places(place, key, _words(named)["item"], raw)
        read = [self.value(kind.item_type, value, where, key, named) for value, where in zip(raw, places, strict=True)]
        return [value for value in read if value is not _BROKEN]

    def row(self, kind: Any, raw: list[Any], place: str, key: str, named: Any) -> Any:
        """A row of a fixed number of values, such as [station, depth]."""
        wanted = _row_words(kind, named)
        if len(raw) != len(kind.item_types):
            self.mistakes.broke(place, f"must be [{', '.join(wanted)}], not {shown(raw)}")
            return _BROKEN
        item = _words(named)["item"]
        labels = [f"{item} {k + 1}" for k in range(len(raw))] if wanted[0].startswith("[") else wanted
        read = [
            self.value(item, value, inside(place, label), key, named)
            for item, value, label in zip(kind.item_types, raw, labels, strict=True)
        ]
        return _BROKEN if _BROKEN in read else tuple(read)


def item_places(place: str, key: str, item: str, raw: list[Any]) -> list[str]:
    """The places of a list's items: ``part "rocker"`` by name, ``points, point 3`` or ``cut 2`` by number."""
    lead = place.removesuffix(key).removesuffix(", ") if item == key else place
    names = [_name_of(value) if key == "part" else None for value in raw]
    places, seen = [], set()
    for k, name in enumerate(names):
        if name is None:
            label = f"{item or 'item'} {k + 1}"
        elif name.casefold() in seen:
            label = f"{item} {k + 1} {quoted(name)}"
        else:
            label = f"{item} {quoted(name)}"
        seen.add((name or "").casefold())
        places.append(inside(lead, label))
    return places


def _name_of(raw: Any) -> str | None:
    name = raw.get("name") if isinstance(raw, dict) else getattr(raw, "name", None)
    return name if isinstance(name, str) and name else None


def _plain(kind: Any) -> Any:
    return kind.type if isinstance(kind, inspect.Metadata) else kind


def _words(kind: Any) -> dict[str, Any]:
    extra = kind.extra if isinstance(kind, inspect.Metadata) else None
    return {"rows": (), "item": "", **(extra or {})}


def _row_words(kind: Any, named: Any) -> list[str]:
    """What stands in a row, by name: ``station``, ``depth``; a row of rows has ``[x, y]`` for each."""
    names = _words(named)["rows"]
    if all(isinstance(_plain(item), inspect.TupleType) for item in kind.item_types):
        return [f"[{', '.join(names)}]"] * len(kind.item_types)
    return (
        list(names) if len(names) == len(kind.item_types) else [f"value {k + 1}" for k in range(len(kind.item_types))]
    )


def _fits(kind: Any, raw: Any) -> bool:
    """Whether a single value is of the kind."""
    if isinstance(kind, inspect.LiteralType):
        return type(raw) in (str, int) and raw in kind.values
    if isinstance(kind, inspect.StrType):
        return isinstance(raw, str)
    if isinstance(kind, inspect.BoolType):
        return isinstance(raw, bool)
    if isinstance(kind, inspect.IntType):
        return isinstance(raw, int) and not isinstance(raw, bool) and _within(kind, raw)
    if isinstance(kind, inspect.FloatType):
        return isinstance(raw, float)
    return isinstance(kind, inspect.DateType) and type(raw) is datetime.date


def _within(kind: inspect.IntType, raw: int) -> bool:
    return (kind.ge is None or raw >= kind.ge) and (kind.le is None or raw <= kind.le)


def _word(choice: object) -> str:
    """One of the values that a key may have, as it is written."""
    return quoted(choice) if isinstance(choice, str) else str(choice)


def _misfit(kind: Any, raw: Any, key: str) -> str:
    """What to say of a value that is of none of the kinds."""
    choices = [_plain(choice) for choice in (kind.types if isinstance(kind, inspect.UnionType) else (kind,))]
    if isinstance(raw, dict) and any(isinstance(choice, inspect.ListType) for choice in choices):
        header = key if key == "part" else f"part.{key}"
        return f"is one table; write [[{header}]] with two brackets, once for each {key}"
    literals = [choice for choice in choices if isinstance(choice, inspect.LiteralType)]
    words = [word for choice in literals for word in choice.values if isinstance(word, str)]
    if isinstance(raw, str) and words:
        near = nearest(raw, words)
        hint = f"; the nearest is {quoted(near)}" if near else ""
        return f"must be {listed(quoted(word) for word in words)}, not {shown(raw)}{hint}"
    if isinstance(raw, str) and any(_fits(choice, _unquoted(raw)) for choice in choices):
        return f"must be {_expected(kind)}, not {shown(raw)}; leave off the quotes: {key} = {raw.strip()}"
    return f"must be {_expected(kind)}, not {shown(raw)}"


def _unquoted(text: str) -> bool | int | None:
    """A whole number, true or false that was put in quotes, or None."""
    plain = text.strip()
    if plain in ("true", "false"):
        return plain == "true"
    return int(plain) if plain.isascii() and plain.isdigit() and len(plain) < SHORT_DIGITS else None


def _expected(kind: Any) -> str:
    """What a value of the kind looks like, in words."""
    kind = _plain(kind)
    if not isinstance(kind, inspect.UnionType):
        return _expected_one(kind)
    choices = [choice for choice in map(_plain, kind.types) if not isinstance(choice, inspect.NoneType)]
    if {type(choice) for choice in choices} >= {inspect.StrType, inspect.IntType, inspect.FloatType}:
        tables = [choice for choice in choices if isinstance(choice, inspect.StructType)]
        return listed([A_FIGURE, *map(_expected_one, tables)])
    return listed(map(_expected_one, choices))


def _expected_one(kind: Any) -> str:
    if isinstance(kind, inspect.LiteralType):
        return listed(map(_word, kind.values))
    if isinstance(kind, inspect.StructType):
        return f"a table {{ {', '.join(field.encode_name for field in kind.fields[:3])}, ... }}"
    if isinstance(kind, inspect.IntType):
        limits = f" from {bare(kind.ge)} to {bare(kind.le)}" if kind.ge is not None else ""
        return f"a whole number{limits}"
    return _PLAIN_WORDS[type(kind)]


_PLAIN_WORDS: dict[type, str] = {
    inspect.StrType: "text in quotes",
    inspect.BoolType: "true or false",
    inspect.FloatType: "a figure",
    inspect.DateType: "a date such as 2031-04-30",
    inspect.ListType: "a list [...]",
    inspect.TupleType: "a list [...]",
    inspect.DictType: "a table",
}


def _likeliest(kind: Any, raw: Any) -> Any:
    """What stands in for a required value that could not be read: the choice nearest to what was written, or nothing.

    So mistakes elsewhere in a file whose units are "inch" are told in inches.
    """
    plain = _plain(kind)
    words = [word for word in plain.values if isinstance(word, str)] if isinstance(plain, inspect.LiteralType) else []
    near = nearest(raw, words) if isinstance(raw, str) else None
    return near or _empty(kind)


def _empty(kind: Any) -> Any:
    """Something of the kind that holds nothing, to stand for a required value that could not be read."""
    kind = _plain(kind)
    if isinstance(kind, inspect.StructType):
        return kind.cls(**{field.name: _empty(field.type) for field in kind.fields if field.required})
    if isinstance(kind, inspect.TupleType):
        return tuple(_empty(item) for item in kind.item_types)
    if isinstance(kind, inspect.LiteralType):
        return kind.values[0]
    if isinstance(kind, inspect.IntType):
        return kind.ge or 0
    return ""


def given_keys(table: msgspec.Struct) -> list[str]:
    """The optional keys of a table that the maker wrote, in the model's order: neither None nor false."""
    pairs = zip(table.__struct_fields__, table.__struct_encode_fields__, strict=True)
    return [key for name, key in pairs if getattr(table, name) is not None and getattr(table, name) is not False]


def meanings(model: type[msgspec.Struct]) -> dict[tuple[str, ...], str]:
    """What each key of a model means, by its path of keys, in the model's order; tables are gone into."""
    return dict(_meanings(inspect.type_info(model), ()))


def _meanings(struct: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    for field in struct.fields:
        inner = (*path, field.encode_name)
        if isinstance(_plain(field.type), inspect.StructType):
            yield from _meanings(_plain(field.type), inner)
        else:
            yield inner, field.type.extra_json_schema["description"]
