"""Work on many files in several processes: progress, cancelling, and what one bad file cannot do.

A file may break the library that decodes it, and with it the process. Only its own job is
lost: the others are done in new processes, the suspects one at a time. Where the system starts no
process, what is left is done in this one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from typing import TypeVar

from core.spawned import spawned

_Job = TypeVar("_Job")
_Result = TypeVar("_Result")

#: As many jobs wait in the queue for each process: enough to keep it busy, and the memory flat.
_AHEAD = 2


def worked(
    work: Callable[[_Job], _Result],
    jobs: Sequence[_Job],
    processes: int,
    cancelled: Callable[[], bool] = lambda: False,
) -> Iterator[tuple[int, _Result | None]]:
    """Do jobs and give each one's place and result as it is done, in any order.

    Parameters
    ----------
    work
        A function of a module; it, its jobs and results are handed from process to process.
    processes
        0 does the work in this process, job after job.
    cancelled
        Asked between jobs; once it says so no further job is begun, and what is done stays done.

    Returns
    -------
    iterator
        A result is None where its job broke the process that did it.
    """
    left = dict(enumerate(jobs))
    if processes > 0:
        with suppress(_NoProcessError):
            yield from _shared(work, left, processes, cancelled)
            return
    for at, job in left.items():
        if cancelled():
            return
        yield at, work(job)


def _shared(
    work: Callable[[_Job], _Result],
    left: dict[int, _Job],
    processes: int,
    cancelled: Callable[[], bool],
) -> Iterator[tuple[int, _Result | None]]:
    """Do jobs in pools, one after the other; each is taken out of `left` before it is given."""
    alone = False
    while left and not cancelled():
        broke_on = None
        # After a break one job at a time, until the one that breaks is found.
        at_once = 1 if alone else processes * _AHEAD
        for at, result in _pooled(work, left, processes, at_once, cancelled):
            if isinstance(result, _Broke):
                broke_on = at
            else:
                del left[at]
                yield at, result
        if broke_on is None:
            return
        if alone:
            del left[broke_on]
            yield broke_on, None
        alone = not alone


class _Broke:
    """Stands for the result of a job on which the pool broke."""


class _NoProcessError(Exception):
    """The system starts no process, or no further one."""


def _pooled(
    work: Callable[[_Job], _Result],
    jobs: dict[int, _Job],
    processes: int,
    at_once: int,
    cancelled: Callable[[], bool],
) -> Iterator[tuple[int, _Result | _Broke]]:
    """Places and results of jobs done by one pool, until it breaks."""
    try:
        started = spawned(processes)
    except OSError as refusal:
        raise _NoProcessError from refusal
    with started as pool:
        waiting: dict[Future[_Result], int] = {}
        queue = list(jobs.items())[::-1]
        while queue or waiting:
            if cancelled():
                pool.shutdown(wait=True, cancel_futures=True)
                return
            try:
                while queue and len(waiting) < at_once:
                    at, job = queue.pop()
                    waiting[pool.submit(work, job)] = at
            except BrokenProcessPool:
                yield at, _Broke()
                return
            except OSError as refusal:
                pool.shutdown(wait=True, cancel_futures=True)
                raise _NoProcessError from refusal
            done, _ = wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED)
            for future in done:
                at = waiting.pop(future)
                if isinstance(future.exception(), BrokenProcessPool):
                    yield at, _Broke()
                    return
                yield at, future.result()
