"""Packets from strangers: whole ones are told what they are, changed ones what is changed, harmful ones are refused.

Nothing is ever written, whatever a packet holds.
"""

from __future__ import annotations

import random
import stat
import struct
import unicodedata
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from strangepackets import FOLDER, entries_of, packed

from cli.packets import entries
from cli.packets.opened import opened
from cli.packets.receipt import receipt_of
from patterns.errors import PatternError

Command = Callable[..., Any]


@pytest.fixture
def nothing_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The test runs in an empty folder, which stays empty, as does all round it."""
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.parent.iterdir()}
    yield
    assert list(work.iterdir()) == []
    assert set(tmp_path.parent.iterdir()) == set(before)


def reasons(path: Path) -> str:
    with pytest.raises(PatternError) as caught:
        receipt_of(path)
    return "\n".join(caught.value.lines())


# ---------------------------------------------------------------- whole and unchanged


@pytest.mark.usefixtures("nothing_written")
def test_a_whole_packet_is_told_what_it_is(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    path = tmp_path / "stool.zip"
    made = curvewright("packet", stool, "-o", path, "--member", "Ines", "--size", "rise=2", "--json").json
    result = curvewright("verify", path)
    assert result.status == 0 and "whole and unchanged" in result.out
    for word in (made["word"], "Ines", "rise = 2"):
        assert word in result.out
    told = curvewright("verify", path, "--json").json
    assert told["whole"] and told["packet_word"] == made["word"] and told["sizes"] == {"rise": "2"}
    cover = made["files"]
    assert told["files"] == len(cover)


@pytest.mark.usefixtures("nothing_written")
def test_the_folder_that_it_was_unpacked_to_is_as_good(curvewright: Command, packet: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(packet) as archive:
        archive.extractall(tmp_path / "unpacked")
    result = curvewright("verify", tmp_path / "unpacked" / FOLDER)
    assert result.status == 0 and "whole and unchanged" in result.out


@pytest.mark.usefixtures("nothing_written")
def test_packed_again_by_another_program_it_is_still_whole(packet: Path, tmp_path: Path) -> None:
    """Other times, another order, stored or deflated, and entries for the folders themselves."""
    files = dict(sorted(entries_of(packet).items(), reverse=True))
    again = packed(
        {f"{FOLDER}/": b"", f"{FOLDER}/sheets/": b"", **files}, tmp_path / "again.zip", kind=zipfile.ZIP_STORED
    )
    assert receipt_of(again).is_whole


@pytest.mark.usefixtures("nothing_written")
def test_it_says_how_it_differs_from_ones_own_file(curvewright: Command, packet: Path, stool: Path) -> None:
    same = curvewright("verify", packet, stool)
    assert same.status == 0 and "othing differs" in same.out
    stool.write_text(stool.read_text(encoding="utf-8").replace('"1 1/2"', '"2"'), encoding="utf-8")
    other = curvewright("verify", packet, stool)
    assert other.status == 0 and "rise" in other.out and "apron" in other.out
    assert curvewright("verify", packet, stool, "--json").json["compared"]["sizes"]


def test_a_packet_made_from_a_pdf_differs_from_it_in_nothing(curvewright: Command, stool: Path, tmp_path: Path) -> None:
    """With a size, a part, a half and a shop file of its own: the packet takes them over, and is one revision with it."""
    shop = tmp_path / "bench.toml"
    shop.write_text(curvewright("shop", "--text").out, encoding="utf-8")
    more = ("--size", "rise=2", "--part", "apron", "--half", "apron", "--shop", shop, "--member", "Zoë")
    assert curvewright("sheets", stool, "-o", tmp_path / "stool.pdf", *more).status == 0
    assert curvewright("packet", tmp_path / "stool.pdf", "-o", tmp_path / "stool.zip").status == 0
    told = curvewright("verify", tmp_path / "stool.zip", tmp_path / "stool.pdf", "--json").json
    assert told["whole"] and told["member"] == "Zoë" and told["sizes"] == {"rise": "2"}
    assert told["compared"]["same"]


def test_unpack_writes_the_pattern_file_of_a_packet_byte_for_byte(
    curvewright: Command, packet: Path, stool: Path, tmp_path: Path
) -> None:
    assert curvewright("unpack", packet, "-o", tmp_path / "out").status == 0
    assert (tmp_path / "out" / "stool.toml").read_bytes() == stool.read_bytes()
    changed = packed({**entries_of(packet), f"{FOLDER}/cautions.txt": b"none"}, tmp_path / "changed.zip")
    refused = curvewright("unpack", changed, "-o", tmp_path / "other")
    assert refused.status == 1 and "cautions.txt: was changed" in refused.err and not (tmp_path / "other").exists()


# ---------------------------------------------------------------- changed on the way


@pytest.mark.usefixtures("nothing_written")
def test_each_file_that_is_missing_added_or_changed_is_named(
    curvewright: Command, packet: Path, tmp_path: Path
) -> None:
    files = entries_of(packet)
    del files[f"{FOLDER}/start.txt"]
    files |= {f"{FOLDER}/more.txt": b"hello", f"{FOLDER}/drawings/tread.svg": b"<svg/>"}
    result = curvewright("verify", packed(files, tmp_path / "changed.zip"))
    assert result.status == 1 and "NOT whole" in result.out
    for line in ("start.txt: is missing", "more.txt: was added", "drawings/tread.svg: was changed"):
        assert line in result.err
    told = curvewright("verify", tmp_path / "changed.zip", "--json")
    assert told.status == 1 and {one["what"] for one in told.json["wrong"]} == {
        "is missing",
        "was added",
        "was changed",
    }


@pytest.mark.usefixtures("nothing_written")
def test_a_change_that_covers_its_tracks_in_the_checksums_shows_in_the_packets_word_and_in_the_sheets(
    curvewright: Command, packet: Path, stool: Path, tmp_path: Path
) -> None:
    from cli.packets.archive import sums_of

    files = {name.removeprefix(f"{FOLDER}/"): data for name, data in entries_of(packet).items()}
    del files["SHA256SUMS"]
    files["pattern/stool.toml"] = stool.read_bytes().replace(b'"1 1/2"', b'"2 1/2"')
    files["SHA256SUMS"] = sums_of(files)
    forged = receipt_of(packed({f"{FOLDER}/{name}": data for name, data in files.items()}, tmp_path / "forged.zip"))
    assert forged.packet_word != receipt_of(packet).packet_word
    assert {path for path, _ in forged.wrong} == {"pattern/stool.toml", "sheets/step-stool-letter.pdf"}


@pytest.mark.usefixtures("nothing_written")
def test_a_pdf_that_carries_no_pattern_is_told(packet: Path, tmp_path: Path) -> None:
    from cli.packets.archive import sums_of

    files = {name.removeprefix(f"{FOLDER}/"): data for name, data in entries_of(packet).items()}
    del files["SHA256SUMS"]
    files["sheets/step-stool-letter.pdf"] = b"%PDF-1.7\n%%EOF\n"
    files["SHA256SUMS"] = sums_of(files)
    found = receipt_of(packed({f"{FOLDER}/{name}": data for name, data in files.items()}, tmp_path / "other.zip"))
    assert [path for path, _ in found.wrong] == ["sheets/step-stool-letter.pdf"]


@pytest.mark.usefixtures("nothing_written")
@pytest.mark.parametrize("seed", range(120))
def test_a_packet_that_is_damaged_anywhere_is_never_whole(packet: Path, tmp_path: Path, seed: int) -> None:
    """Bits flipped, bytes dropped, doubled, cut off: refused in words, or told to be changed; and never taken for whole,
    but where the damage is in what a zip file says of no file's bytes (a date, say)."""
    dice = random.Random(seed)
    data = bytearray(packet.read_bytes())
    at = dice.randrange(len(data))
    kind = dice.choice(["flip", "drop", "double", "cut"])
    if kind == "flip":
        data[at] ^= 1 << dice.randrange(8)
    elif kind == "drop":
        del data[at : at + dice.randrange(1, 400)]
    elif kind == "double":
        data[at:at] = data[at : at + dice.randrange(1, 400)]
    else:
        del data[at:]
    broken = tmp_path / "broken.zip"
    broken.write_bytes(data)
    try:
        receipt = receipt_of(broken)
    except PatternError as error:
        assert error.lines()
        return
    whole = receipt_of(packet)
    unharmed = opened(broken, lambda _: False).digests == opened(packet, lambda _: False).digests
    assert not receipt.is_whole or (unharmed and receipt.packet_word == whole.packet_word)


# ---------------------------------------------------------------- made to harm


def test_ways_out_of_the_folder_are_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    names = ["../out", f"{FOLDER}/../../out", "/etc/out", "C:/out", f"{FOLDER}\\out", f"{FOLDER}/./a", f"{FOLDER}//a"]
    for number, name in enumerate(names):
        bad = packed({**entries_of(packet), name: b"x"}, tmp_path / f"{number}.zip")
        said = reasons(bad)
        assert "folder" in said or "place of its own" in said, name


def test_names_that_some_system_can_t_have_are_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    names = ["a\x07b", "a\u202eb", "con", "nul.txt", "a ", "a.", "a:b", "x" * 300, "a" + "/a" * 40]
    for number, name in enumerate(names):
        bad = packed({**entries_of(packet), f"{FOLDER}/{name}": b"x"}, tmp_path / f"{number}.zip")
        assert reasons(bad), name


def test_a_thousand_nested_folders_are_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    deep = packed({**entries_of(packet), FOLDER + "/d" * 1000 + "/x": b"x"}, tmp_path / "deep.zip")
    assert "letters" in reasons(deep) or "deep" in reasons(deep)
    folder = tmp_path / "deep"
    (folder / "/".join("d" * 30)).mkdir(parents=True)
    assert "folders deep" in reasons(folder)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_files_of_one_name_are_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    files = entries_of(packet)
    bad = tmp_path / "twice.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        for name, data in [*files.items(), (f"{FOLDER}/start.txt", b"another")]:
            archive.writestr(name, data)
    assert "stands in it twice" in reasons(bad)
    upper = packed({**files, f"{FOLDER}/START.txt": b"x"}, tmp_path / "upper.zip")
    assert "same name" in reasons(upper)
    forms = {f"{FOLDER}/{unicodedata.normalize(form, 'é')}.txt": b"x" for form in ("NFC", "NFD")}
    assert len(forms) == 2 and "same name" in reasons(packed({**files, **forms}, tmp_path / "forms.zip"))


def with_entry(path: Path, out: Path, change: Callable[[zipfile.ZipInfo], None], data: bytes = b"x") -> Path:
    """The packet with one entry more, made as ``change`` says."""
    info = zipfile.ZipInfo(f"{FOLDER}/more")
    change(info)
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in entries_of(path).items():
            archive.writestr(name, content)
        archive.writestr(info, data)
    return out


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFSOCK])
def test_links_and_devices_are_refused(packet: Path, tmp_path: Path, nothing_written: None, kind: int) -> None:
    def linked(info: zipfile.ZipInfo) -> None:
        info.create_system, info.external_attr = 3, (kind | 0o777) << 16

    assert "is a link or a device" in reasons(with_entry(packet, tmp_path / "link.zip", linked, b"/etc/passwd"))


def test_a_link_in_a_folder_is_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    with zipfile.ZipFile(packet) as archive:
        archive.extractall(tmp_path / "in")
    (tmp_path / "in" / FOLDER / "more").symlink_to("/etc/passwd")
    assert "is a link or a device" in reasons(tmp_path / "in" / FOLDER)


def flagged(path: Path, out: Path, flags: int, name: bytes | None = None) -> Path:
    """The packet with flags set in its last entry, and another name of the same length written over its own, in both the
    entry and the list."""
    plain = with_entry(path, out, lambda info: None)
    data = bytearray(plain.read_bytes())
    old = f"{FOLDER}/more".encode()
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.rfind(mark)
        while data.find(old, at, at + 200) < 0:
            at = data.rfind(mark, 0, at)
        struct.pack_into("<H", data, at + offset, flags)
        if name is not None:
            place = data.find(old, at)
            data[place : place + len(old)] = name
    out.write_bytes(data)
    return out


def test_locked_entries_and_names_in_strange_encodings_are_refused(
    packet: Path, tmp_path: Path, nothing_written: None
) -> None:
    assert "password" in reasons(flagged(packet, tmp_path / "locked.zip", 0x1))
    latin = f"{FOLDER}/m\xf6re".encode("latin-1")
    assert "encoding that it does not name" in reasons(flagged(packet, tmp_path / "latin.zip", 0, latin))
    assert reasons(flagged(packet, tmp_path / "broken.zip", 0x800, latin)), "said to be UTF-8, and is not"


@pytest.mark.parametrize("kind", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_other_ways_of_packing_are_refused(packet: Path, tmp_path: Path, nothing_written: None, kind: int) -> None:
    assert "packed in a way" in reasons(packed(entries_of(packet), tmp_path / "other.zip", kind=kind))


def test_what_stands_before_or_after_a_packet_is_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    data = packet.read_bytes()
    for name, bad in (("before", b"PK and more" + data), ("after", data + b"more"), ("zip", data + data)):
        path = tmp_path / f"{name}.zip"
        path.write_bytes(bad)
        assert reasons(path), name
    (tmp_path / "none.zip").write_bytes(b"MZ" + data)
    assert "neither a zip file nor a folder" in reasons(tmp_path / "none.zip")


def test_entries_that_lie_over_one_another_are_refused(packet: Path, tmp_path: Path, nothing_written: None) -> None:
    """As in a bomb without nesting: many names for the same packed bytes."""
    data = bytearray(packet.read_bytes())
    central = struct.unpack_from("<I", data, len(data) - 6)[0]
    second = data.find(b"PK\x01\x02", central + 4)
    struct.pack_into("<I", data, second + 42, 0)
    (tmp_path / "over.zip").write_bytes(data)
    said = reasons(tmp_path / "over.zip")
    assert "lies over another" in said or "damaged" in said


def test_too_many_files_are_refused(tmp_path: Path, nothing_written: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(entries, "MOST_FILES", 50)
    many = packed({f"{FOLDER}/{n}": b"" for n in range(60)}, tmp_path / "many.zip")
    assert "more than 50 files" in reasons(many)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"[]", "makes no sense"),
        (b"{", "makes no sense"),
        (b'{"format": 99, "sizes": {}}', "makes no sense"),
        (b"[" * 100_000, "makes no sense"),
    ],
)
def test_a_record_that_makes_no_sense_is_refused(
    packet: Path, tmp_path: Path, nothing_written: None, data: bytes, said: str
) -> None:
    assert said in reasons(packed({**entries_of(packet), f"{FOLDER}/packet.json": data}, tmp_path / "odd.zip"))


def test_other_zips_and_other_files_are_no_packets(curvewright: Command, tmp_path: Path, nothing_written: None) -> None:
    assert "missing" in reasons(packed({"photos/one.jpg": b"x"}, tmp_path / "photos.zip"))
    assert "one folder" in reasons(packed({"one.jpg": b"x", "a/b": b"y"}, tmp_path / "loose.zip"))
    with zipfile.ZipFile(tmp_path / "empty.zip", "w"):
        pass
    assert reasons(tmp_path / "empty.zip")
    for path, status in ((tmp_path / "none.zip", 1), (tmp_path / "photos.zip", 1)):
        result = curvewright("verify", path)
        assert result.status == status and str(path.name) in result.err and "Traceback" not in result.err


def test_only_what_is_looked_at_is_kept(packet: Path) -> None:
    found = opened(packet, lambda path: path.startswith("sheets/"))
    assert set(found.kept) == {"sheets/step-stool-letter.pdf"}
    assert len(found.digests) == len(entries_of(packet))
