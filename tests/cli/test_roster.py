"""A class: a packet for each line of a roster, a summary for the teacher, every mistake told before anything is written."""

from __future__ import annotations

import json
import math
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import browser
import pymupdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cli import request
from cli.packets import members, roster, setups
from patterns import shopfile
from patterns.errors import PatternError
from patterns.filetext import NamedText

Command = Callable[..., Any]

PIECE = """\
curvewright = 1
title = "Step stool"
units = "in"

[sizes]
rise = { value = "1 1/2", least = "1/2", most = "3" }
lean = { value = "8 deg", least = "0 deg", most = "15 deg" }

[[part]]
name = "apron"
quantity = 2
thickness = "3/4"
wood = "ash"
blank = { bottom = "14", top = "14 + 8 * tan(lean)", height = "4" }
edges.bottom = { arch = "segmental", rise = "rise", arch_to = "inside", from = "2", to = "12" }

[[part]]
name = "bracket"
quantity = 2
opposite_hand = 1
blank = { length = "9", width = "5" }
edges.top = { points = [["0", "0"], ["2", "1/2"], ["5", "2"], ["9", "2"]] }
"""
CLASS = "name,paper,mirrored,rise,lean\nInes Varga,letter,,,\nNoor Adeyemi,A4,,2,\nTomasz Brandt,A4,yes,,9 deg\n"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "stool.toml"
    path.write_text(PIECE, encoding="utf-8")
    return path


def saved(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "class.csv"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return path


def read(tmp_path: Path, text: str | bytes) -> roster.Roster:
    return roster.read(saved(tmp_path, text), ["rise", "lean"], "in")


# ---------------------------------------------------------------- what is made


def test_each_member_gets_a_packet_and_the_teacher_a_summary(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = curvewright("packet", piece, "--roster", saved(tmp_path, CLASS), "-o", out)
    assert result.status == 0, result.err
    packets = {"ines-varga.zip", "noor-adeyemi.zip", "tomasz-brandt.zip"}
    assert {path.name for path in out.iterdir()} == {*packets, "summary.txt", "summary.html", "summary.json"}
    said = (out / "summary.txt").read_text(encoding="utf-8")
    for line in (
        r"Noor Adeyemi +rise +2 +1 1/2 +as for all",
        r"Tomasz Brandt +lean +9 deg +8 deg +one of its own",
        r"Tomasz Brandt +8 +9 +lean\n +82 +81 +apron, edges.right to edges.bottom",
    ):
        assert re.search(line, result.out) and re.search(line, said), line
    told = json.loads((out / "summary.json").read_text())
    by_name = {one["name"]: one for one in told["members"]}
    assert by_name["Ines Varga"]["sheets"].keys() == {"letter"} and by_name["Noor Adeyemi"]["sheets"].keys() == {"A4"}
    assert by_name["Tomasz Brandt"]["mirrored"] and by_name["Tomasz Brandt"]["sizes_that_need_a_set_up"] == ["lean"]
    assert sum(one["quantity"] for one in told["stock"] if one["wood"] == "ash") == 6, "two aprons each"
    assert told["sheet_counts"]["letter"] == by_name["Ines Varga"]["sheets"]["letter"]


def test_the_name_is_on_every_page_and_packets_are_whole(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    curvewright("packet", piece, "--roster", saved(tmp_path, CLASS), "-o", out)
    for name, file in (("Ines Varga", "ines-varga"), ("Tomasz Brandt", "tomasz-brandt")):
        told = curvewright("verify", out / f"{file}.zip", "--json").json
        assert told["whole"] and told["member"] == name
        with zipfile.ZipFile(out / f"{file}.zip") as packed:
            sheets = next(path for path in packed.namelist() if path.endswith(".pdf"))
            with pymupdf.open(stream=packed.read(sheets)) as document:
                assert all(f"for {name}" in " ".join(page.get_text().split()) for page in document)


def test_a_members_packet_is_the_one_that_packet_makes(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    """And so it does not matter in which order, nor by how many processes, they were made."""
    out, alone = tmp_path / "out", tmp_path / "alone.zip"
    curvewright("packet", piece, "--roster", saved(tmp_path, CLASS), "-o", out)
    words = ("--member", "Noor Adeyemi", "--paper", "A4", "--size", "rise=2")
    assert curvewright("packet", piece, "-o", alone, *words).status == 0
    assert (out / "noor-adeyemi.zip").read_bytes() == alone.read_bytes()


def data(made: members.Made | members.Unmade) -> bytes:
    assert isinstance(made, members.Made), made
    return made.data


def test_any_number_of_workers_makes_the_same_bytes(piece: Path, tmp_path: Path) -> None:
    shop = shopfile.load(shopfile.default_text(), shopfile.DEFAULT_SHOP)
    job = request.make(NamedText(PIECE, "stool.toml"), {}, shop)
    whole = members.class_of(job, ("A5",))
    rows = read(tmp_path, CLASS).rows
    steps: list[tuple[int, int]] = []
    one, two = (
        members.packets(whole, rows, lambda _, done, total: steps.append((done, total)), workers=count)
        for count in (1, 2)
    )
    assert [data(made) for made in one] == [data(made) for made in two]
    assert steps == [(1, 3), (2, 3), (3, 3)] * 2, "progress is shown"


def test_what_shows_only_in_a_drawing_is_told_with_its_line(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    """Half of a part can be printed only as long as its two halves are alike."""
    piece.write_text(SHELF, encoding="utf-8")
    out, table = tmp_path / "out", saved(tmp_path, "name,off\nInes,\nTom,1\nMay,\nKim,1/2\n")
    words = ("packet", piece, "--roster", table, "-o", out, "--half", "shelf")
    result = curvewright(*words)
    assert result.status == 1 and not out.exists()
    for who in ("line 3 (Tom)", "line 5 (Kim)"):
        assert f'class.csv: {who}, part "shelf", edges.top' in result.err
    assert curvewright(*words, "--skip-bad").status == 0
    assert sorted(path.name for path in out.glob("*.zip")) == ["ines.zip", "may.zip"]


SHELF = """\
curvewright = 1
title = "Shelf"
units = "in"

[sizes]
off = "0"

[[part]]
name = "shelf"
blank = { length = "12", width = "6" }
edges.top = { arch = "segmental", rise = "1", arch_to = "inside", from = "3 + off", to = "9" }
"""


# ---------------------------------------------------------------- whose machines are set anew

LEG = """\
curvewright = 1
title = "Trestle"
units = "in"

[sizes]
foot = "10"
spread = "2"
tall = "8"
nose = { value = "1", least = "0.5", most = "2" }

[[part]]
name = "leg"
blank = { bottom = "foot", top = "foot + 2*spread", height = "tall" }
edges.top = { arch = "segmental", rise = "nose", arch_to = "inside", from = "3", to = "foot - 2" }
cut = [{ from = ["bottom", "nose"], to = ["left", "2"] }]
"""
TALLER = st.sampled_from(["4", "6.5", "8", "8.0", "16"])
WIDER = st.sampled_from(["1", "2", "2.0", "3 1/4", "4"])


def maker_of(text: str) -> members._Maker:
    shop = shopfile.load(shopfile.default_text(), shopfile.DEFAULT_SHOP)
    return members._Maker(members.class_of(request.make(NamedText(text, "leg.toml"), {}, shop), ("A4",)))


def told_of(maker: members._Maker, sizes: dict[str, str]) -> tuple[dict[str, float], set[str]]:
    """The angles that differ, and the sizes that have to do with it."""
    row = roster.Row(2, "Ines", "", False, sizes)
    job = members._job(maker.whole, row, maker.memory, judged=False)
    found = setups.set_ups(maker.usual, job)
    return {one.address: one.own for one in found}, set(maker._altering(row, job) if found else ())


@settings(max_examples=40, deadline=None)
@given(TALLER, WIDER)
def test_a_slope_keeps_its_set_up_only_where_its_rise_and_run_do(tall: str, spread: str) -> None:
    """Reference: the sides of the blank stand atan(spread / tall) off square, and nothing else of it leans."""
    maker = maker_of(LEG.replace('cut = [{ from = ["bottom", "nose"], to = ["left", "2"] }]\n', ""))
    found, altering = told_of(maker, {"tall": tall, "spread": spread})
    run, rise = (float(sum(map(Fraction, text.split()))) for text in (spread, tall))
    if abs(run / rise - 2 / 8) < 1e-12:
        assert not found and not altering, "one set-up serves"
        return
    off = math.degrees(math.atan(run / rise))
    assert found == {
        "edges.right to edges.bottom": pytest.approx(90 - off),
        "edges.left to edges.bottom": pytest.approx(90 + off),
    }
    own = {name for name, value, usual in (("tall", rise, 8), ("spread", run, 2)) if value != usual}
    assert altering == own


def test_sizes_that_alter_no_angle_are_told_from_those_that_do() -> None:
    maker = maker_of(LEG)
    assert told_of(maker, {"foot": "12"}) == ({}, set()), "longer, and no line leans otherwise"
    found, altering = told_of(maker, {"foot": "12", "nose": "3/2"})
    assert found.keys() == {"cut 1 to edges.bottom"} and altering == {"nose"}


def test_members_who_need_the_same_set_up_stand_together(curvewright: Command, tmp_path: Path) -> None:
    path, out = tmp_path / "leg.toml", tmp_path / "out"
    path.write_text(LEG, encoding="utf-8")
    table = saved(tmp_path, "name,foot,spread,paper\nInes,12,3,A4\nTom,,3,A4\nMay,,4,A4\nKim,11,,\n")
    result = curvewright("packet", path, "--roster", table, "-o", out)
    section = result.out.split("Machine set-ups of their own")[1].split("Paper")[0]
    assert re.search(r"^Ines, Tom +76 +69\.4", section.replace("75.96", "76"), re.M), section
    assert "May" in section and "Kim" not in section
    assert re.search(r"as they choose +\d+ letter or \d+ A4 +Kim", result.out), "paper for one printing, not for two"


def test_warnings_that_come_of_a_members_sizes_are_told(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    piece.write_text(SMALL_ROUND, encoding="utf-8")
    out = tmp_path / "out"
    result = curvewright("packet", piece, "--roster", saved(tmp_path, "name,rise\nInes,\nTom,1/16\n"), "-o", out)
    warnings = result.out.split("Warnings that come of sizes of their own")
    assert len(warnings) == 2 and "Tom" in warnings[1] and "Ines" not in warnings[1]


SMALL_ROUND = """\
curvewright = 1
title = "Shelf"
units = "in"

[sizes]
rise = "1"

[[part]]
name = "shelf"
blank = { length = "12", width = "6" }
corners.bottom_left = { notch = ["rise", "rise"] }
corners.top_left = { round = "rise" }
"""


def test_the_summary_is_read_in_any_browser(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    table = saved(tmp_path, CLASS.replace("Ines Varga", "Ines <b>Varga</b> & Co"))
    assert curvewright("packet", piece, "--roster", table, "-o", out).status == 0
    page = (out / "summary.html").read_text(encoding="utf-8")
    assert "<b>" not in page and "Ines &lt;b&gt;Varga" in page, "a name is no markup"
    links = re.findall(r'href="([^"]*)"', page)
    assert len(links) == 3 and all((out / link).is_file() for link in links)
    for width in (375, 1280):
        found = browser.checked(out / "summary.html", width, tmp_path)
        assert found["violations"] == [] and found["passes"] > 10 and not found["scripts"]
        assert found["scrolls"] <= found["width"], "no wider than the window; tables scroll by themselves"


# ---------------------------------------------------------------- how tables are saved


@pytest.mark.parametrize(
    "text",
    [
        CLASS,
        "\ufeff" + CLASS,
        CLASS.replace(",", ";"),
        CLASS.replace(",", "\t"),
        CLASS.replace("\n", "\r\n"),
        CLASS.replace("\n", "\r"),
        "\n\n" + CLASS.replace("\n", "\n,,,,\n"),
        CLASS.replace("Ines Varga", '" Ines  Varga "').replace("name,", "Name ,"),
        CLASS.replace("\n", ",,\n"),
        CLASS.replace(",2,", ",+2,"),
    ],
    ids=[
        *("plain", "byte-order mark", "semicolons", "tabs", "windows", "old mac", "empty lines", "quotes and spaces"),
        *("empty columns", "a figure with its sign"),
    ],
)
def test_any_spreadsheet_s_way_of_saving_it_is_read(tmp_path: Path, text: str) -> None:
    found = read(tmp_path, text.encode("utf-8"))
    assert not found.problems
    assert [(row.name, row.paper, row.mirrored, dict(row.sizes)) for row in found.rows] == [
        ("Ines Varga", "letter", False, {}),
        ("Noor Adeyemi", "A4", False, {"rise": "+2" if ",+2," in text else "2"}),
        ("Tomasz Brandt", "A4", True, {"lean": "9 deg"}),
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"name\n", "has no member"),
        (b"paper,rise\nA4,2\n", 'no column is called "name"'),
        (b"name,arch\nInes,2\n", 'no size "arch"'),
        (b"name,rise,rise\nInes,2,2\n", 'two columns are called "rise"'),
        (b"name,,rise\nInes,,2\n", "a column has no name"),
        ("name\nInes\n".encode("utf-16"), "UTF-16"),
        ("name\nJosé\n".encode("latin-1"), "line 2: is not UTF-8"),
        (b'name\n"Ines\n', "makes no sense"),
        (b"name\n" + b"x" * 1_100_000, "larger than"),
        (b"name\n" + b"".join(b"m%d\n" % n for n in range(501)), "501 rows"),
    ],
)
def test_tables_that_make_no_sense_are_refused(tmp_path: Path, data: bytes, said: str) -> None:
    with pytest.raises(PatternError) as caught:
        read(tmp_path, data)
    assert said in "\n".join(caught.value.lines())
    assert all(line.startswith("class.csv: ") for line in caught.value.lines())


BAD = """\
name,paper,mirrored,rise,lean
Ines Varga,letter,,,
,A4,,,
=cmd|x,A4,,,
Noor Adeyemi,foolscap of old,,2,
Tomasz Brandt,A4,perhaps,,
Wen Li,A4,,9,
Ada Roth,A4,,=1+1,
ADA ROTH,A4,,,
Sam,A4,,,,,more
Mia,,,-1,
"""


def test_every_mistake_of_every_line_is_told_at_once_and_nothing_is_written(
    curvewright: Command, piece: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    result = curvewright("packet", piece, "--roster", saved(tmp_path, BAD), "-o", out)
    assert result.status == 1 and not out.exists()
    for said in (
        "line 3: has no name",
        'line 4: name: "=cmd|x" begins as a formula does',
        'line 5 (Noor Adeyemi): paper: "foolscap of old"',
        'line 6 (Tomasz Brandt): mirrored: "perhaps" is neither yes nor no',
        "line 7 (Wen Li), size asked for, rise: 9 is more than the most",
        'line 8 (Ada Roth): rise: "=1+1" begins as a formula does',
        'line 10 (Sam): has more cells than there are columns: "more"',
        "line 11 (Mia)",
        "nothing is written",
    ):
        assert f"class.csv: {said}" in result.err, said
    lines = [int(line.split("line ")[1].split()[0].strip(":,")) for line in result.err.splitlines() if "line " in line]
    assert lines == sorted(lines)


@pytest.mark.parametrize("name", ["=1", "@Ines", "+49 Ines", "-5 Ines"])
def test_names_that_a_spreadsheet_would_work_out_are_refused(tmp_path: Path, name: str) -> None:
    found = read(tmp_path, f"name\n{name}\nMia\n")
    assert [row.name for row in found.rows] == ["Mia"] and "begins as a formula does" in found.problems[0].what


def test_sizes_that_differ_in_their_capitals_are_not_mixed_up(tmp_path: Path) -> None:
    path = saved(tmp_path, "name,off\nInes,1\n")
    assert roster.read(path, ["Off", "off"], "in").rows[0].sizes == {"off": "1"}
    assert roster.read(path, ["Off"], "in").rows[0].sizes == {"Off": "1"}
    path = saved(tmp_path, "name,OFF\nInes,1\n")
    with pytest.raises(PatternError, match='no size "OFF"'):
        roster.read(path, ["Off", "off"], "in")


def test_two_members_of_one_name_are_told_apart_or_refused(tmp_path: Path) -> None:
    found = read(tmp_path, "name\nInes\nAda Roth\nADA  roth\nÁda-Roth\n")
    assert [row.name for row in found.rows] == ["Ines"]
    assert len(found.problems) == 3 and "add an initial" in found.problems[0].what


def test_bad_lines_are_left_out_when_that_is_wished_and_are_named(
    curvewright: Command, piece: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    result = curvewright("packet", piece, "--roster", saved(tmp_path, BAD), "-o", out, "--skip-bad")
    assert result.status == 0
    assert sorted(path.name for path in out.glob("*.zip")) == ["ada-roth.zip", "ines-varga.zip"]
    assert "line 7 (Wen Li)" in result.err and "line 7 (Wen Li)" in (out / "summary.txt").read_text(encoding="utf-8")
    lone = saved(tmp_path, "name,rise\nMia,99\n")
    nobody = curvewright("packet", piece, "--roster", lone, "-o", tmp_path / "no", "--skip-bad")
    assert nobody.status == 1 and "no row is left" in nobody.err and not (tmp_path / "no").exists()


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_in_words(tmp_path: Path, data: bytes) -> None:
    try:
        found = read(tmp_path, b"name,rise\n" + data)
    except PatternError as error:
        assert error.lines()
        return
    assert all(problem.place.startswith("line ") for problem in found.problems)
    assert len({row.slug for row in found.rows}) == len(found.rows)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.text("abcdefghijklmnopqrstuvwxyzäöéł -'", min_size=1, max_size=20), min_size=1, max_size=8))
def test_every_line_is_a_member_or_a_mistake(tmp_path: Path, names: list[str]) -> None:
    kept = [name for name in names if name.strip()]
    if not kept:
        return
    text = "name\n" + "".join(f'"{name}"\n' for name in kept)
    found = read(tmp_path, text)
    told = {row.line for row in found.rows} | {int(one.place.split()[1].strip(":(")) for one in found.problems}
    assert told == set(range(2, len(kept) + 2))


# ---------------------------------------------------------------- what is there already


def test_strangers_in_the_folder_stay_and_older_packets_go(curvewright: Command, piece: Path, tmp_path: Path) -> None:
    out, table = tmp_path / "out", saved(tmp_path, CLASS)
    out.mkdir()
    (out / "summary.txt").write_text("my notes", encoding="utf-8")
    refused = curvewright("packet", piece, "--roster", table, "-o", out)
    assert refused.status == 1 and "summary.txt is there already" in refused.err
    assert [path.name for path in out.iterdir()] == ["summary.txt"]
    (out / "summary.txt").unlink()
    assert curvewright("packet", piece, "--roster", table, "-o", out).status == 0
    fewer = curvewright("packet", piece, "--roster", saved(tmp_path, "name,paper\nInes Varga,A4\n"), "-o", out)
    assert fewer.status == 0 and "noor-adeyemi.zip was there before" in fewer.err, "it may be of an older revision"
    assert "ines-varga.zip was" not in fewer.err and (out / "noor-adeyemi.zip").is_file()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--member", "Ines"), "--member"),
        (("--mirrored",), "--mirrored"),
        (("--paper", "A4", "--paper", "a4"), "--paper"),
    ],
)
def test_options_that_the_roster_answers_are_refused(
    curvewright: Command, piece: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    result = curvewright("packet", piece, "--roster", saved(tmp_path, CLASS), "-o", tmp_path / "out", *words)
    assert result.status == 1 and said in result.err
    assert curvewright("packet", piece, "-o", tmp_path / "out.zip", "--skip-bad").status == 1


# ---------------------------------------------------------------- ended early


def workers_of(process: subprocess.Popen[str]) -> list[int]:
    told = subprocess.run(["ps", "-o", "pid=", "--ppid", str(process.pid)], capture_output=True, text=True).stdout
    return [int(word) for word in told.split()]


def gone(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return True
    return Path(f"/proc/{number}/stat").exists() and Path(f"/proc/{number}/stat").read_text().split(") ")[1][0] == "Z"


@pytest.mark.skipif(not Path("/proc/self/stat").exists() or shutil.which("ps") is None, reason="asks Linux and its ps")
@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGKILL, "a worker"])
def test_stopped_or_killed_it_leaves_no_process_and_no_file(
    piece: Path, tmp_path: Path, sent: signal.Signals | str
) -> None:
    table = saved(tmp_path, "name\n" + "".join(f"Member {n}\n" for n in range(60)))
    out = tmp_path / "out"
    code = "from cli.packets import members; members.os.cpu_count = lambda: 2; from cli.main import command; command()"
    words = [sys.executable, "-c", code, "packet", piece, "--roster", table, "-o", out]
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    with subprocess.Popen(list(map(str, words)), stderr=subprocess.PIPE, text=True, env=env) as process:
        end = time.monotonic() + 60
        while len(workers := workers_of(process)) < 3 and time.monotonic() < end:  # two, and one that tidies up
            time.sleep(0.05)
        time.sleep(1.0)
        if isinstance(sent, str):
            os.kill(workers[-1], signal.SIGKILL)
        else:
            process.send_signal(sent)
        _, told = process.communicate(timeout=60)
    while not all(map(gone, workers)) and time.monotonic() < end:
        time.sleep(0.1)
    assert all(map(gone, workers))
    assert process.returncode != 0 and "Traceback" not in told and not out.exists()
    if isinstance(sent, str):
        assert process.returncode == 3 and "ended by the system" in told
