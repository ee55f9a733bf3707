"""The figures of a report and how each is called: ``head board / edges.top / length``, in the maker's own names.

A report is what a command gives a program under ``--json``. Each number in it has an address, made of plain words: lists
are entered by the name of the part, edge, board or hole, a unit at a key's end falls off, and the two numbers of a list
such as ``overall_mm`` are told apart by a word (overall length, overall width).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from patterns.wording import key_in_words

Unit = Literal["mm", "mm2", "deg", "kg", "s", ""]
Steps = tuple[str, ...]

BETWEEN = " / "
"""What stands between the steps of an address."""

MADE_OF_PARTS = "parts"
"""The list of a report that has an element for each part; the part's name stands for both."""

_UNITS: tuple[Unit, ...] = ("mm", "mm2", "deg", "kg", "s")
_PAIRS: dict[str, Steps] = {
    "overall": ("length", "width"),
    "blank": ("length", "width"),
    "finished": ("length", "width", "thickness"),
    "rough": ("length", "width", "thickness"),
}
_POINT = ("x", "y")
_STATIONS = ("from", "to")
"""Keys of a cut's ends: an edge and a station on it, in mm."""

_NUMBERED = ("cut", "hole", "mark")
"""What has a number where the maker gave it no name."""

_OWN_NAMES = ("part", "key", "corner", "edge", "board", "name", "label", "kind")
"""Keys by which the elements of a list are told apart, the first of them that an element has."""


class Figure(Struct, frozen=True):
    """One value of a report: a number, or what is no number and so can't be wanted (a text, a yes or no).

    ``address`` is what it is called, ``other`` the same with numbers in place of the names of holes and cuts. ``value``
    is in ``unit``, None where there is none at present. ``part`` is the part it belongs to, empty where it is of the
    whole piece; ``report`` is the report that gives it.
    """

    address: str
    other: str
    value: float | int | str | bool | None
    unit: Unit = ""
    part: str = ""
    report: str = ""

    @property
    def is_number(self) -> bool:
        """Whether it is a number, now or at other sizes."""
        return self.value is None or (isinstance(self.value, (int, float)) and not isinstance(self.value, bool))

    @property
    def is_count(self) -> bool:
        """Whether it is a whole number of things, which changes in steps."""
        return isinstance(self.value, int) and not isinstance(self.value, bool)


class _Place(Struct, frozen=True):
    """Where the walk is: the steps so far in both spellings, the unit in force, the part, the names of holes and cuts."""

    steps: Steps = ()
    others: Steps = ()
    unit: Unit = ""
    part: str = ""
    names: Mapping[str, str] = {}
    report: str = ""

    def inside(self, step: str, unit: Unit = "", other: str = "", part: str = "") -> _Place:
        """One step on; a step that says again what the one before it ended with adds nothing."""
        same = bool(self.steps) and (step == "value" or f" {self.steps[-1]}".endswith(f" {step}"))
        steps = self.steps if same else (*self.steps, step)
        others = self.others if same else (*self.others, other or step)
        return replace(self, steps=steps, others=others, unit=unit or self.unit, part=part or self.part)

    def figure(self, value: Any) -> Figure:
        return Figure(BETWEEN.join(self.steps), BETWEEN.join(self.others), value, self.unit, self.part, self.report)


def figures_of(report: Mapping[str, Any], name: str, lead: str = "") -> tuple[Figure, ...]:
    """Every value of a report, in its order, no two with one address.

    ``name`` is the report's; ``lead`` stands in front of all addresses.
    """
    steps = (lead,) if lead else ()
    found: dict[str, Figure] = {}
    for figure in _of_table(report, _Place(steps, steps, report=name)):
        found.setdefault(figure.address, figure)
    return tuple(found.values())


def normal(address: str) -> str:
    """An address without what doesn't matter: case, accents' coding, spaces beside a slash, low lines."""
    plain = re.sub(r"[\s_]+", " ", unicodedata.normalize("NFC", address).casefold())
    return re.sub(r" ?/ ?", "/", plain).strip(" /")


def called(figures: Iterable[Figure], words: str) -> list[Figure]:
    """The figures whose address is ``words``; where there is none, those whose address ends with them."""
    wanted = normal(words)
    every = [(figure, {normal(figure.address), normal(figure.other)}) for figure in figures]
    exact = [figure for figure, names in every if wanted in names]
    ending = [figure for figure, names in every if any(name.endswith(f"/{wanted}") for name in names)]
    return exact or (ending if wanted else [])


def near(figures: Iterable[Figure], words: str, most: int = 5) -> list[str]:
    """The addresses most like ``words``: those that hold all its words first, then those spelt alike."""
    import difflib  # late: only a mistake needs it

    by_name = {normal(figure.address): figure.address for figure in figures}
    wanted = normal(words)
    every = [name for name in by_name if all(word in name for word in re.split(r"[ /]", wanted))]
    endings = {ending: name for name in by_name for ending in _endings(name)}
    alike = difflib.get_close_matches(wanted, endings, n=2 * most, cutoff=0.5)
    chosen = dict.fromkeys([*sorted(every, key=len), *(endings[one] for one in alike)])
    return [by_name[name] for name in chosen][:most]


def _endings(name: str) -> list[str]:
    steps = name.split("/")
    return ["/".join(steps[k:]) for k in range(len(steps))]


# -------------------------------------------------------------------- the walk


def _of_table(table: Mapping[str, Any], place: _Place) -> Iterator[Figure]:
    place = replace(place, names={**place.names, **_names_in(table)})
    for key, value in table.items():
        words, unit = _worded(key)
        if isinstance(value, Mapping):
            yield from _of_table(value, place.inside(words, unit))
        elif isinstance(value, list):
            yield from _of_list(value, words, unit, place)
        else:
            yield place.inside(words, unit).figure(value)


def _worded(key: str) -> tuple[str, Unit]:
    """A key in words, and the unit that it ended with."""
    stem, _, last = key.rpartition("_")
    unit: Unit = next((one for one in _UNITS if one == last and stem), "")
    return (stem if unit else key).replace("_", " "), unit


def _names_in(table: Mapping[str, Any]) -> dict[str, str]:
    """The maker's names by what would be said without them: ``{"hole 1": "hand hole"}``; none that is there twice."""
    found: dict[str, str] = {}
    for noun in _NUMBERED:
        rows = table.get(f"{noun}s")
        names = [row.get("name", "") for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
        found |= {f"{noun} {k}": name for k, name in enumerate(names, 1) if name and names.count(name) == 1}
    return found


def _of_list(values: list[Any], words: str, unit: Unit, place: _Place) -> Iterator[Figure]:
    if all(isinstance(value, Mapping) for value in values):
        yield from _of_rows(values, words, place)
    elif all(isinstance(value, list) for value in values):
        for k, value in enumerate(values, 1):
            one = _singular(words)
            yield from _of_list(value, one if len(values) == 1 else f"{one} {k}", unit, place)
    else:
        for step, value in zip(_steps_of(values, words), values, strict=True):
            yield place.inside(step, "mm" if words in _STATIONS else unit).figure(value)


def _steps_of(values: list[Any], words: str) -> list[str]:
    """What the values of a list of values are called."""
    if words in _STATIONS:
        return [f"{words} edge", f"{words} station"][: len(values)]
    names = _PAIRS.get(words, _POINT)
    if len(names) == len(values) and (words in _PAIRS or re.match(r"at$|.*point", words)):
        return [f"{words} {name}" for name in names]
    one = _singular(words)
    return [one] if len(values) == 1 else [f"{one} {k}" for k in range(1, len(values) + 1)]


def _of_rows(rows: Sequence[Mapping[str, Any]], words: str, place: _Place) -> Iterator[Figure]:
    """A list of tables, each entered by its name; a second of the same name by its number too."""
    seen: dict[str, int] = {}
    for number, row in enumerate(rows, 1):
        key, step, other = _named(row, words, number, place.names)
        name = f"{step}/{row.get('edge', '')}"
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:
            step, other = f"{step} {seen[name]}", f"{other} {seen[name]}"
        lists = _says_its_list(words, key)
        at = place.inside(words) if lists else place
        part = str(row["part"]) if words == MADE_OF_PARTS and "part" in row else ""
        at = at.inside(step, "", other, part)
        taken = {key}
        if key == "part" and row.get("edge"):
            at, taken = at.inside(f"edges.{row['edge']}"), {"part", "edge"}
        yield from _of_table({k: v for k, v in row.items() if k not in taken}, at)


def _says_its_list(words: str, key: str) -> bool:
    """Whether the list's own name is needed beside the names of its elements: ``sizes / rise``, but ``rocker``."""
    return key in ("name", "label", "kind") and words not in tuple(f"{noun}s" for noun in _NUMBERED)


def _named(row: Mapping[str, Any], words: str, number: int, names: Mapping[str, str]) -> tuple[str, str, str]:
    """The key that names an element of a list, and its name in both spellings."""
    numbered = f"{_singular(words)} {number}"
    if _singular(words) in _NUMBERED:
        return "name", names.get(numbered, numbered), numbered
    key = next((one for one in _OWN_NAMES if row.get(one) not in (None, "")), "")
    if not key:
        return "", numbered, numbered
    said = str(row[key])
    if key == "key":
        plain = key_in_words(said)
        noun = re.match(r"\w+ \d+", plain)
        name = names.get(noun[0]) if noun else None
        return key, plain.replace(noun[0], name) if noun and name else plain, plain
    if key in ("corner", "edge") and "part" not in row:
        said = f"{key}s.{said}"
    return key, f"board {said}" if key == "board" else said, f"board {said}" if key == "board" else said


def _singular(words: str) -> str:
    return words[:-1] if words.endswith("s") else words
