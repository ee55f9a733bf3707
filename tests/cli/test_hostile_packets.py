"""Packets that were packed to deceive: lists and contents that disagree, names with a second meaning, sums that fit a lie.

None is ever told to be whole, none takes much memory, and what they hold reaches a terminal in plain letters only.
"""

from __future__ import annotations

import json
import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strangepackets import FOLDER, entries_of, packed, summed

from cli.packets.opened import opened
from cli.packets.receipt import receipt_of
from patterns.errors import PatternError

Command = Callable[..., Any]
LOCAL, CENTRAL, END = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"


def reasons(path: Path) -> str:
    """Why a packet is refused, or is not whole."""
    try:
        return "\n".join(f"{inner}: {what}" for inner, what in receipt_of(path).wrong)
    except PatternError as error:
        return "\n".join(error.lines())


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


def unpacked(packet: Path, folder: Path) -> Path:
    with zipfile.ZipFile(packet) as archive:
        archive.extractall(folder)
    return folder / FOLDER


def with_gap(data: bytes, at: int, gap: bytes) -> bytes:
    """A zip file with bytes put in at an entry's beginning or at the list's, and every place of the list set right."""
    shifted = bytearray(data[:at] + gap + data[at:])
    end = len(shifted) - 22
    place = struct.unpack_from("<I", shifted, end + 16)[0] + len(gap)
    struct.pack_into("<I", shifted, end + 16, place)
    while shifted[place : place + 4] == CENTRAL:
        name, extra, comment = struct.unpack_from("<HHH", shifted, place + 28)
        offset = struct.unpack_from("<I", shifted, place + 42)[0]
        struct.pack_into("<I", shifted, place + 42, offset + (len(gap) if offset >= at else 0))
        place += 46 + name + extra + comment
    return bytes(shifted)


# ---------------------------------------------------------------- the list of a zip file against its entries


@pytest.mark.parametrize(
    ("offset", "form", "value"),
    [(6, "<H", 1), (8, "<H", 0), (14, "<I", 1), (18, "<I", 7), (22, "<I", 7), (30, "<B", 65)],
)
def test_an_entry_that_says_otherwise_than_the_list_is_refused(
    packet: Path, tmp_path: Path, offset: int, form: str, value: int
) -> None:
    """Lock, packing, checksum, both sizes, name (APPNOTE.TXT 4.3.7): programs unpack by one or the other."""
    data = bytearray(packet.read_bytes())
    struct.pack_into(form, data, data.find(LOCAL, 4) + offset, value)
    assert "than the packet's own list" in reasons(written(tmp_path / "two.zip", bytes(data)))


@pytest.mark.parametrize("where", ["first", "between", "last"])
def test_bytes_that_no_list_tells_of_are_refused(packet: Path, tmp_path: Path, where: str) -> None:
    """A file that programs which read from the front unpack, and those that read the list don't."""
    data = packet.read_bytes()
    alone = packed({f"{FOLDER}/hidden.txt": b"hidden"}, tmp_path / "one.zip").read_bytes()
    listed = struct.unpack_from("<I", data, len(data) - 6)[0]
    at = {"first": 0, "between": data.find(LOCAL, 4), "last": listed}[where]
    bad = written(tmp_path / "hidden.zip", with_gap(data, at, alone[: alone.find(CENTRAL)]))
    with zipfile.ZipFile(bad) as archive:
        assert archive.testzip() is None, "an ordinary reader takes it"
    assert "that no list tells of" in reasons(bad)


def test_a_packet_written_to_a_pipe_is_whole(packet: Path, tmp_path: Path) -> None:
    """There checksums and sizes follow each entry (APPNOTE.TXT 4.3.9), as some programs always write them."""

    class Pipe:
        def __init__(self) -> None:
            self.data = bytearray()

        def write(self, data: bytes) -> int:
            self.data += data
            return len(data)

        def flush(self) -> None:
            pass

    pipe = Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as archive:  # type: ignore[call-overload]
        for name, data in entries_of(packet).items():
            archive.writestr(name, data)
    assert b"PK\x07\x08" in pipe.data
    assert receipt_of(written(tmp_path / "pipe.zip", bytes(pipe.data))).is_whole


def test_a_second_name_in_an_extra_field_is_refused(packet: Path, tmp_path: Path) -> None:
    """Info-ZIP's Unicode path (APPNOTE.TXT 4.6.9): some unzip programs write to this name, and not to the entry's own."""
    own = f"{FOLDER}/more".encode()
    field = struct.pack("<BI", 1, zlib.crc32(own)) + b"../../out"
    info = zipfile.ZipInfo(own.decode())
    info.extra = struct.pack("<HH", 0x7075, len(field)) + field
    with zipfile.ZipFile(tmp_path / "named.zip", "w") as archive:
        for name, data in entries_of(packet).items():
            archive.writestr(name, data)
        archive.writestr(info, b"x")
    assert "a second name" in reasons(tmp_path / "named.zip")


def test_a_list_that_counts_otherwise_than_the_end_says_is_refused(packet: Path, tmp_path: Path) -> None:
    data = bytearray(packet.read_bytes())
    struct.pack_into("<HH", data, len(data) - 14, 3, 3)
    assert "says that it holds 3 entries" in reasons(written(tmp_path / "few.zip", bytes(data)))


def test_a_damaged_entry_is_one_finding_among_the_others(packet: Path, tmp_path: Path) -> None:
    """A bit flipped in the packed bytes of one file, and another file gone."""
    files = entries_of(packet)
    del files[f"{FOLDER}/start.txt"]
    data = bytearray(packed(files, tmp_path / "some.zip").read_bytes())
    with zipfile.ZipFile(tmp_path / "some.zip") as archive:
        info = archive.getinfo(f"{FOLDER}/cautions.txt")
    data[info.header_offset + 30 + len(info.filename) + info.compress_size // 2] ^= 4
    said = reasons(written(tmp_path / "some.zip", bytes(data)))
    assert "cautions.txt: is damaged" in said and "start.txt: is missing" in said


def test_other_problems_than_the_first_forty_are_counted_in_a_word(packet: Path, tmp_path: Path) -> None:
    bad = {**entries_of(packet), **{f"{FOLDER}/\x07{n}.txt": b"" for n in range(300)}}
    with pytest.raises(PatternError) as caught:
        opened(packed(bad, tmp_path / "bad.zip"), lambda _: False)
    assert len(caught.value.lines()) == 41 and "more of this kind" in caught.value.lines()[-1]


# ---------------------------------------------------------------- bombs


def peak(path: Path) -> tuple[str, float]:
    """What is said of a packet, and how many MB it takes at the most to say it."""
    tracemalloc.start()
    try:
        said = reasons(path)
        return said, tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("counted", [7, 0xFFFF])
def test_a_list_of_half_a_million_entries_is_refused_unread(tmp_path: Path, counted: int) -> None:
    """However many the end of the file says that there are: readers go by the list's length."""
    entry = struct.pack("<4s6H3I5H2I", CENTRAL, 20, 20, 0, 0, 0, 33, 0, 0, 0, 3, 0, 0, 0, 0, 0, 0) + b"a/b"
    local = struct.pack("<4s5H3I2H", LOCAL, 20, 0, 0, 0, 33, 0, 0, 0, 3, 0) + b"a/b"
    listed = entry * 500_000
    end = struct.pack("<4s4H2IH", END, 0, 0, counted, counted, len(listed), len(local), 0)
    said, mb = peak(written(tmp_path / "many.zip", local + listed + end))
    assert "more than 10,000 files" in said and mb < 1


@pytest.mark.parametrize("declared", [True, False])
def test_a_gigabyte_of_nothing_takes_little_memory(packet: Path, tmp_path: Path, declared: bool) -> None:
    """Told truly, and told falsely in both places."""
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, data in entries_of(packet).items():
            archive.writestr(name, data)
        with archive.open(f"{FOLDER}/sheets/more.pdf", "w", force_zip64=False) as stream:
            for _ in range(1000):
                stream.write(bytes(1_000_000))
    bomb = bytearray((tmp_path / "bomb.zip").read_bytes())
    if not declared:
        for mark, place in ((LOCAL, 22), (CENTRAL, 24)):
            struct.pack_into("<I", bomb, bomb.rfind(mark) + place, 1000)
    said, mb = peak(written(tmp_path / "bomb.zip", bytes(bomb)))
    assert "sheets/more.pdf" in said and mb < 20


@pytest.mark.parametrize("name", ["pattern/stool.toml", "pattern/shop.toml", "SHA256SUMS", "packet.json"])
def test_a_text_of_many_megabytes_is_not_read(packet: Path, tmp_path: Path, name: str) -> None:
    """Small when packed; it would take minutes to read as TOML, or a gigabyte to split into lines."""
    large = {**entries_of(packet), f"{FOLDER}/{name}": b"a = [" + b"[],\n" * 4_000_000 + b"]"}
    said, mb = peak(packed(large, tmp_path / "large.zip"))
    assert f"{name}: is larger than" in said and mb < 60


def test_a_pdf_too_large_to_look_into_is_never_passed_over(packet: Path, tmp_path: Path) -> None:
    more = {**entries_of(packet), f"{FOLDER}/sheets/more.pdf": b"%PDF-1.7" + bytes(70_000_000)}
    assert "sheets/more.pdf: is too large to be looked into" in reasons(summed(more, tmp_path / "large.zip"))


# ---------------------------------------------------------------- checksums that fit a lie


def with_record(packet: Path, path: Path, **changed: Any) -> Path:
    """The packet with another record, and checksums that fit."""
    files = entries_of(packet)
    record = json.loads(files[f"{FOLDER}/packet.json"])
    return summed({**files, f"{FOLDER}/packet.json": json.dumps({**record, **changed}).encode()}, path)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"revision": "Z"}, 'revision "", and the packet says "Z"'),
        ({"title": "Tall stool"}, 'title "Step stool", and the packet says "Tall stool"'),
        ({"word": "bagab"}, "another revision"),
        ({"sizes": {"rise": "2"}}, "with other sizes"),
        ({"member": "Ines"}, 'is for "", and the packet for "Ines"'),
        ({"mirrored": True}, "is not mirrored"),
        ({"parts": ["apron"]}, "other parts or halves"),
        ({"halves": ["apron"]}, "other parts or halves"),
        ({"papers": ["letter", "A4"]}, "other papers"),
    ],
)
def test_a_record_that_disagrees_with_the_rest_is_told(
    packet: Path, tmp_path: Path, changed: dict[str, Any], said: str
) -> None:
    assert said in reasons(with_record(packet, tmp_path / "lie.zip", **changed))


def test_checksums_that_fit_are_no_fault_of_their_own(packet: Path, tmp_path: Path) -> None:
    """What the tests above change is what they find."""
    assert receipt_of(with_record(packet, tmp_path / "same.zip")).is_whole


def test_a_shop_file_that_the_sheets_were_not_made_with_is_told(packet: Path, tmp_path: Path) -> None:
    files = {**entries_of(packet), f"{FOLDER}/pattern/shop.toml": b"# of another shop\n"}
    assert "another shop file" in reasons(summed(files, tmp_path / "shop.zip"))


@pytest.mark.parametrize(
    "record",
    [
        b'{"format": 1e999}',
        b'{"format": 1, "title": 3}',
        b'{"format": 1, "title": "\\ud800", "revision": "", "word": "", "member": "", "papers": [], "parts": [],'
        b' "pattern_file": "pattern/stool.toml", "sizes": {"rise": "\\ud800"}, "halves": []}',
        b"NaN",
        b"\xff\xfe",
    ],
)
def test_no_record_is_a_fault_of_ours(curvewright: Command, packet: Path, tmp_path: Path, record: bytes) -> None:
    result = curvewright("verify", packed({**entries_of(packet), f"{FOLDER}/packet.json": record}, tmp_path / "x.zip"))
    assert result.status == 1 and "packet.json: makes no sense" in result.err


@pytest.mark.parametrize("place", ["record", "checksums", "folder"])
def test_nothing_of_a_packet_moves_the_cursor(curvewright: Command, packet: Path, tmp_path: Path, place: str) -> None:
    evil = "\x1b[2J\u202ewhole"
    files = entries_of(packet)
    if place == "record":
        bad = with_record(
            packet, tmp_path / "lie.zip", title=evil, member=evil, revision=evil, word=evil, sizes={evil: evil}
        )
    elif place == "checksums":
        files[f"{FOLDER}/SHA256SUMS"] += f"{'0' * 64}  {evil}\n".encode()
        bad = packed(files, tmp_path / "sums.zip")
    else:
        bad = unpacked(packet, tmp_path / "in")
        (bad / evil).write_bytes(b"x")
    result = curvewright("verify", bad)
    assert result.status == 1 and "whole" in result.err
    assert not {"\x1b", "\u202e"} & set(result.out + result.err)


def test_the_words_of_a_packet_are_not_told_where_it_is_not_whole(
    curvewright: Command, packet: Path, stool: Path, tmp_path: Path
) -> None:
    """They follow from the list of checksums, which a change of another file alone leaves as it was."""
    word = receipt_of(packet).packet_word
    bad = packed({**entries_of(packet), f"{FOLDER}/cautions.txt": b"none"}, tmp_path / "changed.zip")
    assert word in curvewright("verify", packet).out
    told = curvewright("verify", bad, stool)
    assert word not in told.out and "first it has to be whole" in told.out
    assert curvewright("verify", bad, "--json").json["packet_word"] is None


# ---------------------------------------------------------------- by chance


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_no_packet_with_other_files_is_ever_whole(
    packet_data: bytes, tmp_path_factory: Any, data: st.DataObject
) -> None:
    """Files flipped, dropped, renamed, cut short and added in any mixture, then packed as any program packs."""
    folder = tmp_path_factory.mktemp("chance")
    files = entries_of(written(folder / "packet.zip", packet_data))
    before = dict(files)
    for _ in range(data.draw(st.integers(1, 4))):
        name = data.draw(st.sampled_from(sorted(files)))
        content = files[name]
        kind = data.draw(st.sampled_from(["flip", "drop", "rename", "cut", "add"]))
        at = data.draw(st.integers(0, max(0, len(content) - 1)))
        if kind == "flip" and content:
            files[name] = content[:at] + bytes([content[at] ^ 1 << data.draw(st.integers(0, 7))]) + content[at + 1 :]
        elif kind == "cut":
            files[name] = content[:at]
        elif kind == "drop" and len(files) > 1:
            del files[name]
        elif kind == "rename":
            files[f"{FOLDER}/{data.draw(st.text(max_size=8))}"] = files.pop(name)
        elif kind == "add":
            files[f"{FOLDER}/{data.draw(st.text(max_size=8))}"] = content
    try:
        packed(files, folder / "other.zip")
    except (UnicodeEncodeError, UserWarning):
        return
    same = entries_of(folder / "other.zip") == before
    assert bool(reasons(folder / "other.zip")) != same
    assert {path.name for path in folder.iterdir()} == {"packet.zip", "other.zip"}


# ---------------------------------------------------------------- taken for something else


def test_a_packet_handed_to_another_command_is_told_to_be_one(
    curvewright: Command, packet: Path, tmp_path: Path
) -> None:
    for words in (("check", packet), ("sheets", packet, "-o", tmp_path / "x.pdf"), ("compare", packet, packet)):
        result = curvewright(*words)
        assert result.status == 1 and "is a packet" in result.err and "curvewright unpack" in result.err


def test_a_file_that_the_system_put_beside_the_others_is_named_as_such(packet: Path, tmp_path: Path) -> None:
    folder = unpacked(packet, tmp_path / "in")
    (folder / ".DS_Store").write_bytes(b"x")
    assert ".DS_Store: was added; some systems put such a file there by themselves" in reasons(folder)
