"""Reading a pattern file: what a right one comes to, and that every mistake of a wrong one is told at once, in its place."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns import patternfile
from patterns.errors import MachineError, PatternError
from patterns.mistakes import MOST_TOLD
from patterns.patternfile import PatternSource

HEAD = 'curvewright = 1\ntitle = "Stool"\nunits = "in"\n'
PART = '[[part]]\nname = "seat"\nblank = { length = "12", width = "9" }\n'


def problems(text: str, **overrides: str) -> list[str]:
    """Every mistake of a file, as it is shown."""
    return [str(problem) for problem in patternfile.examine(PatternSource(text, "stool.toml"), overrides).problems]


def only_problem(text: str, **overrides: str) -> str:
    found = problems(text, **overrides)
    assert len(found) == 1, found
    return found[0]


def of_part(lines: str) -> str:
    return HEAD + PART + lines + "\n"


# -------------------------------------------------------------------- files


def test_missing_file_is_named_with_one_of_a_like_name(tmp_path: Path) -> None:
    (tmp_path / "stool.toml").write_text(HEAD)
    with pytest.raises(PatternError, match=r'stol\.toml: there is no such file; is "stool\.toml" meant\?'):
        patternfile.read(tmp_path / "stol.toml")


@pytest.mark.parametrize(("asked", "meant"), [("stool", True), ("stol", True), ("boot.toml", False), ("x.toml", False)])
def test_a_missing_file_is_taken_for_another_only_where_the_names_are_near(
    tmp_path: Path, asked: str, meant: bool
) -> None:
    (tmp_path / "stool.toml").write_text(HEAD)
    with pytest.raises(PatternError) as caught:
        patternfile.read(tmp_path / asked)
    assert ("stool.toml" in str(caught.value)) is meant


def test_folder_instead_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "stool.toml").write_text(HEAD)
    with pytest.raises(PatternError, match=r'is a folder, not a file; in it there is "stool\.toml"'):
        patternfile.read(tmp_path)


def test_a_path_that_no_system_takes_is_a_fault_of_the_machine_not_a_traceback() -> None:
    with pytest.raises((MachineError, PatternError)):
        patternfile.read(Path("a\0b.toml"))


def test_large_file_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(PatternError, match=r"large\.toml: is larger than 1,000,000 bytes"):
        patternfile.read(path)


@pytest.mark.parametrize("text", ["", " \n\t\n", "\ufeff"])
def test_empty_file_says_how_one_begins(tmp_path: Path, text: str) -> None:
    path = tmp_path / "empty.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PatternError, match=r"empty\.toml: is empty; a pattern file begins with curvewright = 1"):
        patternfile.open_file(path)


def test_not_utf8_names_the_byte(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    path.write_bytes(b'curvewright = 1\ntitle = "Caf\xe9"\n')
    with pytest.raises(PatternError) as caught:
        patternfile.read(path)
    assert str(caught.value) == ("old.toml: line 2, byte 13: byte 29 (0xE9) is not UTF-8; save the file as UTF-8")


def test_utf16_is_recognised(tmp_path: Path) -> None:
    path = tmp_path / "wide.toml"
    path.write_bytes(HEAD.encode("utf-16"))
    with pytest.raises(PatternError, match="looks like UTF-16"):
        patternfile.read(path)


def test_byte_order_mark_and_windows_lines_are_read(tmp_path: Path) -> None:
    path = tmp_path / "marked.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + PART).replace("\n", "\r\n").encode())
    assert patternfile.open_file(path).piece.title == "Stool"


def test_byte_order_mark_in_a_text_that_came_from_elsewhere() -> None:
    assert problems("\ufeff" + HEAD + PART) == []


# -------------------------------------------------------------------- TOML


@pytest.mark.parametrize(
    ("line", "place", "words"),
    [
        ("length = 22 13/16", "line 4, column 13", 'stands in quotes, such as "22 13/16"'),
        ("length = 3/4", "line 4, column 11", 'stands in quotes, such as "22 13/16"'),
        ("blank = { length = 1 3/4, width = 3 }", "line 4, column 22", "stands in quotes"),
        ("title = Stool", "line 4, column 9", "this is not a value"),
        ("titel", "line 4, column", "a key must be followed by ="),
        ('units = "mm"', "line 4, column", "this key stands twice"),
        ('about = "a stool', "line 4, column", "a text in quotes is not closed"),
        ('blank = { length = "42, width = "5" }', "line 4, column 34", "a quote is missing or one too many"),
        ('blank = { length = 42", width = "5" }', "line 4, column 22", "a quote is missing or one too many"),
        ('length = "3/4""', "line 4, column 15", 'an inch mark within quotes is written \\", or left off'),
        ('blank = { length = "42", width = "5"', "line 4, column 37", "a } is missing"),
        ('blank = { length = "42" width = "5" }', "line 4, column 25", "a comma is missing"),
        ('top = { points = [["0", "3"], ["4", "1"], to = "4" }', "line 4, column 43", "a ] is missing before this key"),
        ('glue_lines = ["1",\n[[part]]', "line 5, column 3", "a ] is missing above this line"),
        ("length = “3/4”", "line 4, column 10", "write a straight one"),
        ("apron rise = 3", "line 4, column 7", "holds no spaces"),
        ("glue_lines = [1, 2", "the end of the file", "a list [ ... ] is not closed"),
        ("blank = { length = 1,\n width = 2 }", "line 4, column 22", "stands on one line"),
    ],
)
def test_broken_toml_names_line_and_column(line: str, place: str, words: str) -> None:
    found = only_problem(f"{HEAD}{line}\n")
    assert found.startswith(place) or f", {place}" in found
    assert words in found


def test_of_a_long_line_the_part_is_shown_where_it_is_wrong() -> None:
    rows = ", ".join(f'["{k}", "1"]' for k in range(40))
    found = only_problem(f"{HEAD}top = {{ points = [{rows}, to = 4, ends = 'natural' }}\n")
    assert found.endswith("""["38", "1"], ["39", "1"], to = 4, ends = 'natural' }""")
    assert len(found) < 200


@pytest.mark.parametrize(
    "value",
    [
        "[" * 5000 + "]" * 5000,
        "[" * 5000,
        "{a=" * 5000 + "1" + "}" * 5000,
        "{" + "a." * 5000 + "a = 1}",
        "9" * 5000,
        "1e" + "9" * 5000,
        "0x" + "f" * 5000,
    ],
    ids=["lists", "open lists", "tables", "dotted key", "digits", "exponent", "hexadecimal"],
)
@pytest.mark.parametrize("key", ["odd", "title", "sizes.a"])
def test_toml_built_to_break_the_reader_is_refused_in_words(key: str, value: str) -> None:
    found = problems(f"{HEAD.replace('title', 'about')}{key} = {value}\n{PART}")
    assert found
    assert max(map(len, found)) < 400


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    patternfile.examine(PatternSource(text, "any.toml"), {})


# -------------------------------------------------------------------- version and keys


def test_version_missing_wrong_and_newer() -> None:
    assert "a pattern file begins with curvewright = 1" in only_problem('title = "Stool"\n')
    assert 'is "curvewrite" meant to be it?' in only_problem("curvewrite = 1\n")
    assert (
        only_problem('curvewright = "1"\n')
        == 'curvewright: must be 1, a whole number without quotes: the format\'s version; not "1"'
    )
    assert "there is no format 0" in only_problem("curvewright = 0\n")
    newer = only_problem("curvewright = 2\nunheard_of = 3\n")
    assert newer == "curvewright: 2 is newer than this program, which reads format 1; get a newer one"


def test_unknown_keys_name_the_nearest_known_one_at_every_depth() -> None:
    found = problems(
        HEAD + 'revison = "B"\n[sizes]\na = { value = "1", leest = "1" }\n'
        '[[part]]\nname = "seat"\nthicknes = "1"\nblank = { lenght = "12", length = "12", width = "9" }\n'
        'edges.top = { arch = "segmental", ryse = "1", rise = "1" }\n'
    )
    assert found == [
        'revison: unknown key; the nearest is "revision"',
        'sizes.a, leest: unknown key; the nearest is "least"',
        'part "seat", thicknes: unknown key; the nearest is "thickness"',
        'part "seat", blank, lenght: unknown key; the nearest is "length"',
        'part "seat", edges.top, ryse: unknown key; the nearest is "rise"',
    ]


def test_a_key_of_another_name_is_known_by_its_meaning_and_not_missed_as_well() -> None:
    found = problems(
        HEAD + '[sizes]\na = { value = "1", min = "1", max = "2" }\n'
        '[[part]]\nname = "seat"\nspecies = "ash"\nblank = { lenght = "12", width = "9" }\n'
        'edges.top = { arch = "segmental", ryse = "1" }\nedges.lower = { fit = true }\n'
        'corners.lower_left = { round = "1" }\ncorners.right_upper = { radius = "1" }\n'
    )
    assert found == [
        'sizes.a, min: unknown key; the nearest is "least"',
        'sizes.a, max: unknown key; the nearest is "most"',
        'part "seat", species: unknown key; the nearest is "wood"',
        'part "seat", blank, lenght: unknown key; the nearest is "length"',
        'part "seat", edges.top, ryse: unknown key; the nearest is "rise"',
        'part "seat", corners.right_upper, radius: unknown key; the nearest is "round"',
        'part "seat", edges.lower: the blank has no edge "lower"; the nearest is "bottom"',
        'part "seat", corners.lower_left: the blank has no corner "lower_left"; the nearest is "bottom_left"',
        'part "seat", corners.right_upper: the blank has no corner "right_upper"; the nearest is "top_right"',
    ]


@pytest.mark.parametrize(
    ("units", "meant"), [("inch", "in"), ("inches", "in"), ("millimeters", "mm"), ("metric", "mm")]
)
def test_mistakes_of_a_file_with_a_wrong_unit_are_told_in_the_unit_meant(units: str, meant: str) -> None:
    examined = patternfile.examine(PatternSource(HEAD.replace('"in"', f'"{units}"') + PART, "seat.toml"))
    assert [p.place for p in examined.problems] == ["units"]
    assert f'the nearest is "{meant}"' in examined.problems[0].what
    assert examined.piece is not None
    assert examined.piece.units == meant


def test_keys_of_a_format_to_come_are_unknown_now() -> None:
    assert only_problem(f'{HEAD}{PART}[upholstery]\nkind = "seat"\n').startswith("upholstery: unknown key;")


def test_unknown_units_name_the_known_ones() -> None:
    found = only_problem(HEAD.replace('"in"', '"inch"') + PART)
    assert found == 'units: must be "cm", "in" or "mm", not "inch"; the nearest is "in"'


def test_missing_keys_are_told_each_in_its_place() -> None:
    assert problems("curvewright = 1\n[[part]]\nquantity = 2\n") == [
        "title: is missing; it must be text in quotes",
        'units: is missing; it must be "cm", "in" or "mm"',
        "part 1, name: is missing; it must be text in quotes",
        "part 1, blank: is missing; it must be a table { length, width, bottom, ... }",
    ]


def test_a_piece_without_parts() -> None:
    assert only_problem(HEAD) == "part: is missing; a piece has at least one part, under [[part]], or a [carcass]"


def test_one_table_where_a_list_of_tables_is_meant() -> None:
    single = HEAD + '[part]\nname = "seat"\nblank = { length = 12, width = 9 }\n'
    assert only_problem(single) == "part: is one table; write [[part]] with two brackets, once for each part"
    assert "write [[part.hole]] with two brackets" in only_problem(of_part("hole = { circle = 1, at = [1, 1] }"))


def test_a_row_of_the_wrong_length_says_what_it_should_hold() -> None:
    found = only_problem(of_part("edges.top = { points = [[0, 1], [3], [4, 1]] }"))
    assert found == 'part "seat", edges.top, points, point 2: must be [station, depth], not a list of 1'


def test_values_of_the_wrong_kind() -> None:
    found = problems(of_part('quantity = "2"\nthickness = true\nwood = 3\nnotes = "one"\nshape = "before gluing"'))
    assert found == [
        'part "seat", quantity: must be a whole number from 1 to 1000, not "2"; leave off the quotes: quantity = 2',
        'part "seat", thickness: must be a figure, or a formula in quotes such as "22 13/16", not true',
        'part "seat", wood: must be text in quotes, not 3',
        'part "seat", notes: must be a list [...], not "one"',
        'part "seat", shape: must be "before glue" or "whole", not "before gluing"; the nearest is "before glue"',
    ]


@pytest.mark.parametrize("count", [0, -1, 1001, 10**30])
def test_absurd_quantities(count: int) -> None:
    found = only_problem(of_part(f"quantity = {count}"))
    assert found.startswith('part "seat", quantity: must be a whole number from 1 to 1000, not ')


# -------------------------------------------------------------------- all in one go


def test_every_mistake_of_a_file_in_one_go_and_no_echo_of_them() -> None:
    """Mistakes of shape, of sizes, of values and of names stand side by side; what follows from one is not told again."""
    text = (
        'curvewright = 1\ntitel = "Stool"\nunits = "in"\n'
        '[sizes]\nspan = "3/0"\nhalf = "span / 2"\n'
        '[[part]]\nname = "seat"\nquantity = 0\nblank = { length = "half", width = "-9" }\n'
        'edges.top = { arch = "segmental", rise = "half" }\n'
        '[[part]]\nname = "SEAT"\nblank = 7\n'
    )
    found = problems(text)
    assert [line.split(":")[0] for line in found] == [
        "titel",
        'part "seat", quantity',
        'part 2 "SEAT", blank',
        "sizes.span",
        'part 2 "SEAT", name',
        'part "seat", blank, width',
    ]


def test_the_error_carries_the_file_before_every_line() -> None:
    with pytest.raises(PatternError) as caught:
        patternfile.load(PatternSource(of_part("quantity = 0\nfoo = 1"), "stool.toml"))
    assert [line.split(":")[0] for line in caught.value.lines()] == ["stool.toml", "stool.toml"]


def test_parts_without_a_mistake_are_there_although_others_have_some() -> None:
    text = of_part("quantity = 0") + PART.replace("seat", "leg") + PART.replace("seat", "rail").replace("12", "no_size")
    examined = patternfile.examine(PatternSource(text, "stool.toml"))
    assert examined.piece is not None
    assert [part.name for part in examined.piece.parts] == ["leg"]


def test_thousands_of_mistakes_are_told_in_part_and_counted() -> None:
    rows = ", ".join(["[1, 1]"] * 1000)
    found = problems(of_part(f"edges.top = {{ points = [{rows}] }}"))
    assert len(found) == MOST_TOLD + 1
    assert found[-1] == f"and {999 - MOST_TOLD} more mistakes"
    many = problems(HEAD + PART + "".join(f"key{k} = 1\n" for k in range(1000)))
    assert many[-1] == 'part "seat": has 950 more unknown keys'


def test_the_same_mistakes_in_the_same_order_whatever_the_hash_seed(tmp_path: Path) -> None:
    import os
    import subprocess
    import sys

    path = tmp_path / "bad.toml"
    unknown = "".join(f"{name} = 1\n" for name in ("zeta", "alpha", "mid", "beta"))
    path.write_text(HEAD + unknown + '[sizes]\na = "b"\nb = "a"\nc = "d"\nd = "c"\ne = "a + c"\n' + PART)
    code = "import sys; from pathlib import Path; from patterns import patternfile\n"
    code += "print(*patternfile.examine(patternfile.read(Path(sys.argv[1]))).problems, sep='\\n')"
    root = Path(__file__).parents[2]
    outputs = [
        subprocess.run(
            [sys.executable, "-c", code, str(path)],
            cwd=root,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert outputs[0] == outputs[1]
    assert outputs[0].decode().splitlines()[0].startswith("zeta")


# -------------------------------------------------------------------- names and texts


@pytest.mark.parametrize("other", ["seat", "SEAT", "Seat ", "s-e a t", "séat"])
def test_two_parts_of_one_name(other: str) -> None:
    found = only_problem(HEAD + PART + PART.replace("seat", other))
    assert 'name of part 1, "seat"; every part needs a name of its own' in found


def test_names_that_differ_in_a_letter_are_two_names() -> None:
    assert problems(HEAD + PART + PART.replace("seat", "seats") + PART.replace("seat", "сиденье")) == []


@pytest.mark.parametrize("escape", ["\\u0000", "\\n", "\\u001b[31m", "\\u202e", "\\u200b", "\\u2028", "\\ue000"])
def test_names_with_control_characters_are_refused_and_shown_harmless(escape: str) -> None:
    found = only_problem(HEAD + PART.replace("seat", f"se{escape}at"))
    assert "holds the invisible character \\u" in found
    assert found.isprintable()


@pytest.mark.parametrize("name", ["<b>seat</b>", "seat & leg", "../seat", "C:\\\\seat", "seat 'n' leg", "座面"])
def test_markup_and_separators_are_only_text_in_a_name(name: str) -> None:
    assert problems(HEAD + PART.replace("seat", name)) == []


@pytest.mark.parametrize(
    ("name", "words"), [("", "is empty"), ("  ", "is empty"), ("//..", "needs a letter or a digit")]
)
def test_names_of_nothing(name: str, words: str) -> None:
    assert words in only_problem(HEAD + PART.replace("seat", name))


def test_a_long_name_is_refused_and_cut_short_in_messages() -> None:
    found = only_problem(HEAD + PART.replace("seat", "s" * 5000))
    assert "has 5000 characters; 60 is the most" in found
    assert len(found) < 200


def test_invisible_characters_in_any_printed_text() -> None:
    for line in ('wood = "o\\u0007ak"', 'notes = ["a", "b\\u0007"]', '[[part.mark]]\nnote = "a\\u0007"\nat = [1, 1]'):
        assert "holds the invisible character \\u0007" in only_problem(of_part(line))


def test_about_and_notes_may_run_over_lines() -> None:
    text = HEAD + 'about = """Two\nlines."""\n' + PART + 'notes = ["""one\ntwo"""]\n'
    assert problems(text) == []
    assert "title: holds the invisible character" in only_problem(text.replace('"Stool"', '"Sto\\nol"'))


def test_a_date_may_be_a_date_or_text() -> None:
    for written in ("2031-04-30", '"2031-04-30"'):
        piece = patternfile.load(PatternSource(f"{HEAD}date = {written}\n{PART}", "stool.toml")).piece
        assert piece.date == "2031-04-30"
