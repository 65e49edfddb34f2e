"""Frames are the same wherever they are drawn, and are drawn whatever becomes of the process."""

from __future__ import annotations

import errno
import multiprocessing
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from threading import Thread
from typing import NoReturn

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from app.sheet.darkroom import Darkroom
from app.sheet.takeframes import Batch, batches_of, draw_batch
from core.forecast import outlook
from core.memory import Memory
from core.outlook import Outlook
from tests.app.sheetplans import quay
from tests.killed import ends, told_by_killed

#: A process that has a helper stand by and is killed.
KILLED = """
import os, signal
from app.standby import Standby

if __name__ == "__main__":
    pool = Standby(os.getpid).start()
    print(pool.submit(os.getpid).result(), flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture
def darkroom() -> Iterator[Darkroom]:
    made = Darkroom()
    yield made
    made.close()


def batch_of(minutes: float = 40.0) -> Batch:
    plan = quay({"shoots.A.start_after_event_min": minutes})
    return batches_of(plan, outlook(plan, "A", Memory()), 8, (20, 36))[0]


def opened(qtbot: QtBot, darkroom: Darkroom, batch: Batch) -> None:
    """Open the darkroom and have it know a batch's sky."""
    darkroom.open()
    darkroom.draw(batch)
    qtbot.waitUntil(lambda: darkroom.knows(batch.seen), timeout=20_000)


def counted(monkeypatch: pytest.MonkeyPatch) -> list[Batch]:
    """Count what is drawn in this process from now on."""
    here: list[Batch] = []

    def drawn_here(batch: Batch) -> object:
        here.append(batch)
        return draw_batch(batch)

    monkeypatch.setattr("app.sheet.darkroom.draw_batch", drawn_here)
    return here


def test_frames_are_the_same_wherever_they_are_drawn(
    qtbot: QtBot, darkroom: Darkroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = batch_of()
    opened(qtbot, darkroom, batch)
    here = counted(monkeypatch)
    for wanted in (batch, batch.started_at(batch.press_s + 300.0)):
        there, own = darkroom.draw(wanted), draw_batch(wanted)
        np.testing.assert_array_equal(there.rgb, own.rgb)
        np.testing.assert_array_equal(there.time_s, own.time_s)
    assert not here


def test_what_the_process_does_not_know_is_drawn_here_while_it_looks_it_up(
    qtbot: QtBot, darkroom: Darkroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(qtbot, darkroom, batch_of())
    here = counted(monkeypatch)
    other = batch_of(50.0)  # of a forecast of its own, as after another date
    assert not darkroom.knows(other.seen)
    darkroom.draw(other)
    assert here == [other]
    qtbot.waitUntil(lambda: darkroom.knows(other.seen), timeout=20_000)
    darkroom.draw(other)
    assert here == [other]


def test_a_darkroom_that_died_is_done_without(
    qtbot: QtBot, darkroom: Darkroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = batch_of()
    opened(qtbot, darkroom, batch)
    here = counted(monkeypatch)
    for process in darkroom._standby.start()._processes.values():
        process.kill()
    for _ in range(2):
        assert darkroom.draw(batch).rgb.any()
    assert here == [batch, batch]
    assert not darkroom.knows(batch.seen)


@pytest.mark.parametrize("refuses", ["util.spawnv_passfds", "synchronize.SemLock._make_name"])
def test_frames_are_drawn_here_where_the_system_starts_no_process(
    darkroom: Darkroom, monkeypatch: pytest.MonkeyPatch, refuses: str
) -> None:
    def refused(*_asked: object) -> NoReturn:
        raise BlockingIOError(errno.EAGAIN, "no process")

    monkeypatch.setattr(f"multiprocessing.{refuses}", refused)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    darkroom.open()
    batch = batch_of()
    here = counted(monkeypatch)
    for _ in range(2):
        assert darkroom.draw(batch).rgb.any()
    assert here == [batch, batch]


def test_no_process_stays_that_nobody_can_hand_work_to(
    darkroom: Darkroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(_thread: Thread) -> NoReturn:
        raise RuntimeError("can't start new thread")

    # Else the end of the program waits for it, and it for work.
    monkeypatch.setattr("concurrent.futures.process._ExecutorManagerThread.start", refused)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    before = set(multiprocessing.active_children())
    darkroom.open()
    for process in set(multiprocessing.active_children()) - before:
        process.join(10.0)
        assert process.exitcode is not None
    assert darkroom.draw(batch_of()).rgb.any()


def test_a_fault_of_the_work_is_told_not_hidden(qtbot: QtBot, darkroom: Darkroom) -> None:
    batch = batch_of()
    opened(qtbot, darkroom, batch)
    with pytest.raises(IndexError):
        darkroom.draw(replace(batch, indices=(10**6,)))
    assert darkroom.knows(batch.seen)


def test_a_closed_darkroom_starts_no_process(darkroom: Darkroom) -> None:
    batch = batch_of()
    assert darkroom.draw(batch).rgb.any()
    assert darkroom._standby._pool is None


def test_a_darkroom_that_is_closed_under_a_wish_starts_no_other_process(
    qtbot: QtBot, darkroom: Darkroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = batch_of()
    opened(qtbot, darkroom, batch)
    known = darkroom.knows

    def closed_meanwhile(seen: Outlook) -> bool:
        told = known(seen)
        darkroom.close()
        return told

    monkeypatch.setattr(darkroom, "knows", closed_meanwhile)
    assert darkroom.draw(batch).rgb.any()
    assert darkroom._standby._pool is None


def test_a_helper_ends_with_the_process_that_was_killed(tmp_path: Path) -> None:
    assert ends(told_by_killed(tmp_path, KILLED))
