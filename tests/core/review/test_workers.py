"""Work in several processes: nothing one job does costs the others theirs."""

from __future__ import annotations

import errno
import os
from multiprocessing import util
from pathlib import Path
from typing import Any, NoReturn

import pytest

from core import manner
from core.language import say
from core.manner import Manner
from core.review import raw
from core.review.workers import worked
from tests.killed import ends, told_by_killed

#: A process that has files read by others and is killed meanwhile.
KILLED = """
import multiprocessing, os, signal
from core.review.workers import worked

if __name__ == "__main__":
    for _ in worked(abs, range(9), 1):
        print(multiprocessing.active_children()[0].pid, flush=True)
        os.kill(os.getpid(), signal.SIGKILL)
"""


def square_or_die(number: int) -> int:
    if number == 5:
        os._exit(1)
    return number * number


def test_a_job_that_kills_its_process_costs_only_itself() -> None:
    done = dict(worked(square_or_die, range(12), 2))
    assert done == {k: None if k == 5 else k * k for k in range(12)}


def test_the_processes_end_with_one_that_was_killed(tmp_path: Path) -> None:
    assert ends(told_by_killed(tmp_path, KILLED))


@pytest.mark.parametrize("started", [0, 1])
def test_where_the_system_starts_no_further_process_all_is_done_here(
    monkeypatch: pytest.MonkeyPatch, started: int
) -> None:
    left, spawn = [None] * started, util.spawnv_passfds

    def refused(*asked: Any) -> int:
        if not left:
            raise BlockingIOError(errno.EAGAIN, "no process")
        left.pop()
        return spawn(*asked)

    assert dict(worked(abs, [1], 1)) == {0: 1}  # the tracker of semaphores is a process too
    monkeypatch.setattr(util, "spawnv_passfds", refused)
    assert dict(worked(abs, range(12), 2)) == {k: k for k in range(12)}


def test_where_no_pool_can_be_made_all_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_self: object) -> NoReturn:
        raise OSError(errno.ENOSPC, "no semaphore")

    monkeypatch.setattr("multiprocessing.synchronize.SemLock._make_name", refused)
    assert dict(worked(abs, range(12), 2)) == {k: k for k in range(12)}


def test_what_is_cancelled_keeps_what_is_done() -> None:
    done: list[int] = []
    for at, _ in worked(abs, range(100), 0, lambda: len(done) >= 7):
        done.append(at)
    assert done == list(range(7))


def told(_job: int) -> tuple[Manner, str]:
    return manner.manner(), raw.NOT_INSTALLED


def test_what_the_processes_tell_is_in_the_manner_of_this_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Texts that stand in modules too: the manner is taken before the work is imported."""
    german = Manner(units="imperial", language="de", dates="de_DE")
    monkeypatch.setattr(manner, "_of_process", german)
    wanted = say('it is DNG: install Duskwright with its extra "raw" to have it read')
    assert wanted != raw.NOT_INSTALLED
    assert list(worked(told, [0], 1)) == [(0, (german, wanted))]
