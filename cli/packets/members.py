"""The packets of a class, made side by side on all cores; the same bytes however many there are."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool

from msgspec import Struct
from msgspec.structs import replace

from cli import halving, request
from cli.packets.contents import packet_of
from cli.packets.roster import Row
from cli.packets.setups import SetUp, set_ups
from cli.packets.stock import BlankToCut, blanks_of
from cli.request import Job
from patterns import shopfile
from patterns.errors import MachineError, PatternError, Problem
from patterns.filetext import NamedText
from patterns.memory import Memory
from tiling.paper import paper

Progress = Callable[[str, int, int], None]

MOST_WORKERS = 32
"""Each takes memory of its own, and one system lets nobody wait for more than 61."""


class Class(Struct, frozen=True):
    """What all packets are made from: plain values, which go to other processes as they are."""

    source: NamedText
    given: Mapping[str, str]
    shop_text: str
    shop_name: str
    only: tuple[str, ...]
    halves: tuple[str, ...]
    papers: tuple[str, ...]
    """For members who name none."""


class Made(Struct, frozen=True):
    """A member's packet, and what the teacher is told of it. ``altering`` are sizes that have to do with an angle that
    differs, ``plain_sizes`` all others."""

    row: Row
    file: str
    data: bytes
    word: str
    sheet_counts: Mapping[str, int]
    stock: tuple[BlankToCut, ...]
    warnings: tuple[str, ...]
    plain_sizes: tuple[str, ...]
    altering: tuple[str, ...]
    set_ups: tuple[SetUp, ...]


class Unmade(Struct, frozen=True):
    """A member whose packet can't be made, and why: what shows only once it is drawn or laid out."""

    row: Row
    problems: tuple[Problem, ...]


def class_of(job: Job, papers: Sequence[str]) -> Class:
    """What the packets of a class are made from."""
    return Class(job.source, job.given, job.shop.text, job.shop.where, job.only, job.halves, tuple(papers))


def problems_of(whole: Class, rows: Sequence[Row]) -> dict[Row, list[Problem]]:
    """What is wrong with the sizes of each row whose piece can't be made."""
    memory = Memory()
    found: dict[Row, list[Problem]] = {}
    for row in rows:
        try:
            _job(whole, row, memory, judged=False)
        except PatternError as error:
            found[row] = list(_placed(error, row))
        memory.forget()
    return found


def _placed(error: PatternError, row: Row) -> tuple[Problem, ...]:
    """Its problems with the row in front."""
    return tuple(Problem(f"{row.place}, {one.place}" if one.place else row.place, one.what) for one in error.problems)


def packets(whole: Class, rows: Sequence[Row], progress: Progress, workers: int | None = None) -> list[Made | Unmade]:
    """A packet for each row, or why there is none, in their order. ``workers`` are as many as there are cores, if it is
    not said. Raises MachineError where one of them is ended from outside."""
    count = min(len(rows), workers or os.cpu_count() or 1, MOST_WORKERS)
    done: dict[int, Made | Unmade] = {}
    if count == 1:
        maker = _Maker(whole)
        for number, row in enumerate(rows):
            done[number] = maker.made(row)
            progress("packets", number + 1, len(rows))
        return [done[number] for number in range(len(rows))]
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, context, _begin, (whole,))
    try:
        waiting = {pool.submit(_in_worker, row): number for number, row in enumerate(rows)}
        for future in as_completed(waiting):
            done[waiting[future]] = future.result()
            progress("packets", len(done), len(rows))
    except BrokenProcessPool as error:
        raise MachineError("a process that made packets was ended by the system; is memory short?") from error
    finally:  # at once where something went wrong, or someone wants to stop: nobody waits for what is still being made
        pool.shutdown(wait=len(done) == len(rows), cancel_futures=True)
        for worker in multiprocessing.active_children() if len(done) < len(rows) else ():
            worker.terminate()
    return [done[number] for number in range(len(rows))]


# ---------------------------------------------------------------- in one process


class _Maker:
    """Makes packets one after the other, and draws nothing twice that they have in common."""

    def __init__(self, whole: Class) -> None:
        self.whole, self.memory = whole, Memory()
        self.usual = _job(whole, None, self.memory)

    def made(self, row: Row) -> Made | Unmade:
        """Its packet. A mistake is handed back as a value: an error would lose its places on the way from a worker."""
        try:
            result = self._made(row)
        except PatternError as error:
            return Unmade(row, _placed(error, row))
        self._keep_usual()
        return result

    def _made(self, row: Row) -> Made:
        job = _job(self.whole, row, self.memory)
        names = (row.paper,) if row.paper else self.whole.papers
        packet = packet_of(job, [paper(name, job.piece.units) for name in names], row.name, self.memory)
        differing = set_ups(self.usual, job)
        altering = self._altering(row, job) if differing else ()
        return Made(
            row,
            f"{row.slug}.zip",
            packet.to_zip(),
            packet.word,
            packet.sheet_counts,
            blanks_of(job.parts),
            tuple(str(problem) for problem in job.warnings),
            tuple(size for size in row.sizes if size not in altering),
            altering,
            differing,
        )

    def _altering(self, row: Row, job: Job) -> tuple[str, ...]:
        """The sizes that have to do with an angle that differs; all of them where that can't be told apart."""
        found = tuple(size for size in row.sizes if self._matters(size, row, job))
        return found or tuple(row.sizes)

    def _matters(self, size: str, row: Row, job: Job) -> bool:
        """Whether the size alters an angle by itself, or beside the member's others. Where it can be neither taken alone
        nor left out (the piece can't be made so), it may."""
        others = {name: value for name, value in row.sizes.items() if name != size}
        alone = self._differs(self.usual, {size: row.sizes[size]})
        told = [found for found in (alone, self._differs(job, others)) if found is not None]
        return any(told) or not told

    def _differs(self, one: Job, sizes: Mapping[str, str]) -> bool | None:
        """Whether a piece of these sizes has other angles than ``one``; None where it can't be made."""
        try:
            other = _job(self.whole, Row(0, "", "", False, sizes), self.memory, judged=False)
        except PatternError:
            return None
        return bool(set_ups(one, other))

    def _keep_usual(self) -> None:
        """Ends a round, without forgetting what the file's own sizes gave."""
        self.memory.forget()
        _job(self.whole, None, self.memory).patterns  # noqa: B018


def _job(whole: Class, row: Row | None, memory: Memory, judged: bool = True) -> Job:
    shop = shopfile.load(whole.shop_text, whole.shop_name)
    given = {**whole.given, **(row.sizes if row is not None else {})}
    job = request.make(whole.source, given, shop, whole.only, judged, memory)
    job = replace(job, mirrored=row is not None and row.mirrored)
    return halving.halved(job, whole.halves) if whole.halves else job


# ---------------------------------------------------------------- in a worker


_MAKERS: list[_Maker] = []
"""The one of this process."""


def _begin(whole: Class) -> None:
    """Stopping is the first process's business, and a worker ends with it, however that ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_the_first, daemon=True).start()
    _MAKERS[:] = [_Maker(whole)]


def _end_with_the_first() -> None:
    first = multiprocessing.parent_process()
    if first is not None:
        first.join()
        os._exit(1)


def _in_worker(row: Row) -> Made | Unmade:
    return _MAKERS[0].made(row)
