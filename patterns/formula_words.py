"""Splits the text of a formula into its words: numerals, names and signs; refuses what can't be one."""

from __future__ import annotations

import re
from typing import Literal

from msgspec import Struct

from patterns import numeral
from patterns.formula_error import FormulaError
from patterns.numeral import Numeral

MOST_CHARACTERS = 500
"""The longest text that is read: some seven lines."""

DEEPEST = 50
"""The most brackets that may be open at once."""

FUNCTIONS = ("min", "max", "abs", "sqrt", "sin", "cos", "tan", "asin", "acos", "atan")
RESERVED = frozenset((*FUNCTIONS, *numeral.UNITS, "over"))
"""Words that can't be the name of a size."""

NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")

# One character for one, so that places in the plain text are places in the text as written.
_PLAIN = str.maketrans(
    {"\t": " ", "\n": " ", "\r": " ", "\u00a0": " ", "\u2009": " ", "\u202f": " "}
    | {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "º": "°"}
    | {"−": "-", "–": "-", "‐": "-", "‑": "-", "⁄": "/", "∕": "/"}
)
_BETTER_SIGN = {"×": "write *", "·": "write *", "÷": "write /", "^": "a power is written x * x", "²": "write x * x"} | {
    "[": "brackets are ( and )",
    "]": "brackets are ( and )",
    "{": "brackets are ( and )",
    "}": "brackets are ( and )",
    "%": "write / 100",
    "=": "write only what stands after it",
    ":": "a slope such as 1:8 stands alone; among other terms write atan(1 / 8)",
    "π": "write 3.14159265",
}
_EXPONENT = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)[eE][+-]?[0-9]+(?![A-Za-z0-9_])")
_UNDERSCORES = re.compile(r"[0-9]+(?:_[0-9]+)+")
_COMMAS = re.compile(r"[0-9]+(?:,[0-9]+)+")
_TWO_POINTS = re.compile(r"[0-9]*\.[0-9]*\.[0-9.]*")
_POINT_AFTER_FRACTION = re.compile(r"((?:[0-9]+ +)?[0-9]+/[0-9]+)\.(?![0-9])")
_FRACTION_OF_FRACTION = re.compile(r"([0-9]+ +)?([0-9]+)/([0-9]+)/([0-9]+)")


class Word(Struct, frozen=True):
    """A numeral, a name or a sign, and its place in the text."""

    kind: Literal["numeral", "name", "sign", "end"]
    text: str
    start: int
    end: int
    numeral: Numeral | None = None


def plain(text: str) -> str:
    """``text`` with typographic primes, minus signs and spaces made plain, character for character.

    Raises FormulaError for a text that is empty or too long.
    """
    if not text.strip():
        raise FormulaError("holds nothing: write a value such as 22 13/16, 580 mm or body_width / 2")
    if len(text) > MOST_CHARACTERS:
        raise FormulaError(f"has {len(text)} characters, and {MOST_CHARACTERS} are the most: name its parts as sizes")
    return text.translate(_PLAIN)


def split(text: str) -> list[Word]:
    """The words of a plain ``text``, an "end" last. A hyphenated numeral is one word only as the whole text."""
    whole = _whole_numeral(text)
    words = whole or _split_all(text)
    words.append(Word("end", "", len(text), len(text)))
    return words


def _whole_numeral(text: str) -> list[Word]:
    """The text as a sign and a numeral; empty if it is more than that."""
    start = len(text) - len(text.lstrip())
    signs = []
    if text[start] in "+-":
        signs = [Word("sign", text[start], start, start + 1)]
        start += len(text[start + 1 :]) - len(text[start + 1 :].lstrip()) + 1
    _refuse_foreign(text, start)
    found = numeral.read(text, start, hyphens=True)
    if found is None or text[found.end :].strip():
        return []
    return [*signs, Word("numeral", text[start : found.end], start, found.end, found)]


def _split_all(text: str) -> list[Word]:
    words: list[Word] = []
    at = depth = 0
    while at < len(text):
        if text[at] == " ":
            at += 1
            continue
        word = _next(text, at)
        depth += {"(": 1, ")": -1}.get(word.text, 0)
        if depth > DEEPEST:
            raise FormulaError(f"has more than {DEEPEST} brackets inside one another: name a part of it as a size")
        if word.kind == "numeral":
            _refuse_hyphen(text, words, word)
        words.append(word)
        at = word.end
    return words


def _next(text: str, at: int) -> Word:
    _refuse_foreign(text, at)
    found = numeral.read(text, at)
    if found:
        return Word("numeral", text[at : found.end], at, found.end, found)
    name = NAME.match(text, at)
    if name:
        return Word("name", name[0], at, name.end())
    if text.startswith("**", at):
        raise FormulaError("has **: a power is written x * x")
    if text[at] in "+-*/(),":
        return Word("sign", text[at], at, at + 1)
    raise FormulaError(_strange(text[at]))


def _strange(character: str) -> str:
    better = _BETTER_SIGN.get(character)
    if better:
        return f"has {character}: {better}"
    mark = {"'": "a foot mark", '"': "an inch mark", "°": "a degree sign"}.get(character)
    if mark:
        return f"has {mark} without a number in front of it: write the number first"
    if character.isalpha():
        return f"has the letter {character}: names are made of a to z, 0 to 9 and _"
    shown = f"the sign {character}" if character.isprintable() else f"the character U+{ord(character):04X}"
    return f"has {shown} in it, which is no part of a number or a formula"


def _refuse_foreign(text: str, at: int) -> None:
    """Spellings of numbers that other trades use, and that a shop could misread."""
    for pattern, says in (
        (_EXPONENT, _says_exponent),
        (_UNDERSCORES, _says_underscores),
        (_COMMAS, _says_commas),
        (_TWO_POINTS, _says_points),
        (_POINT_AFTER_FRACTION, _says_point_after),
        (_FRACTION_OF_FRACTION, _says_fractions),
    ):
        match = pattern.match(text, at)
        if match:
            raise FormulaError(says(match))


def _says_exponent(match: re.Match[str]) -> str:
    digits, power = re.split("[eE]", match[0])
    if len(power.lstrip("+-0")) > 2 or abs(int(power)) > 9:
        return (
            f"has {match[0]}, far outside anything that is built; numbers are written out in digits, with no exponent"
        )
    shift = f"{float(match[0]):.12f}".rstrip("0").rstrip(".")
    return f"has an exponent: write {shift or digits} for {match[0]}"


def _says_underscores(match: re.Match[str]) -> str:
    return f"groups its digits: write {match[0].replace('_', '')} for {match[0]}"


def _says_commas(match: re.Match[str]) -> str:
    groups = match[0].split(",")
    pair = len(groups) == 2
    pointed = ".".join(groups)
    if "(" in match.string[: match.start()]:
        point = f", or {pointed} for one with a decimal point" if pair else ""
        return f"has a comma between digits: write {', '.join(groups)} for {len(groups)} values{point}"
    if all(len(group) == 3 for group in groups[1:]):
        point = f", or {pointed} if the comma stands for a decimal point" if pair else ""
        return f"groups its digits: write {''.join(groups)} for {match[0]}{point}"
    return f"has a decimal comma: write {pointed} for {match[0]}" if pair else f"has commas in {match[0]}: write none"


def _says_points(match: re.Match[str]) -> str:
    return f"has {match[0]}: a number has one decimal point"


def _says_point_after(match: re.Match[str]) -> str:
    return f"has a point after a fraction: write {match[1]}"


def _says_fractions(match: re.Match[str]) -> str:
    whole, over, under, last = match.groups()
    if whole:
        return f"divides a mixed number without brackets: write ({whole}{over}/{under}) / {last}"
    return f"can be read two ways: write ({over}/{under}) / {last}, or {over} / ({under}/{last})"


def _refuse_hyphen(text: str, words: list[Word], right: Word) -> None:
    """A minus between two numbers has a space on each side, since 22-13/16 may be meant as one number."""
    if len(words) < 2 or words[-1].text != "-":
        return
    minus, left = words[-1], words[-2]
    if left.numeral is None or right.numeral is None:
        return
    spaced = left.end < minus.start and minus.end < right.start
    inches = right.numeral.unit in ("", "in")
    together, apart = f"{left.text} {right.text}", f"{left.text} - {right.text}"
    if left.numeral.feet_alone and inches:
        apart = f"({left.text}) - {right.text}"
    elif spaced:
        return
    mixed = left.numeral.form == "decimal" and left.numeral.unit == "" and "." not in left.text
    if (mixed and right.numeral.form in ("fraction", "vulgar")) or (left.numeral.unit == "ft" and inches):
        raise FormulaError(f"can be read two ways: write {together} for one measure, or {apart} to take away")
    raise FormulaError(f"has a minus between numbers without a space on each side: write {apart}")
