"""Many nights on two processors: this process and one helper, which meet in the middle.

A helper takes a second to start where processes are spawned, and may not start at all. So
this process begins at once at one end of the nights, the helper at the other, and whatever
the helper has not answered when the two meet is worked out here.
"""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import cache

from core.memory import Memory
from core.nights import NightSeen, night_judge, nights_between
from core.plan import Plan, ShootName, Twilight

#: For fewer nights no helper is worth its start.
FEWEST_FOR_HELPER = 90
_PARCEL_NIGHTS = 6
#: Parcels the helper holds: one at work, one to go on with.
_PARCELS_AHEAD = 2
_YEAR_DAYS = 365.2422
#: Day of the year of the June solstice.
_SOLSTICE_DAY = 172

Dates = tuple[dt.date, ...]


def nights_in_two(
    plan: Plan,
    name: ShootName,
    first: dt.date,
    last: dt.date,
    twilight: Twilight,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[NightSeen, ...]:
    """The nights of `core.nights.nights`, each the same, in their order.

    Parameters
    ----------
    progress
        Called now and then with how many nights are done and how many there are.
    cancelled
        Asked after each night; the nights done so far are returned once it says so.

    Raises
    ------
    core.edit.PlanError
        As `core.nights.nights`.
    """
    count = nights_between(first, last)
    parcels = deque(_parcels(first, count))
    seen: dict[dt.date, NightSeen] = {}

    def done() -> bool:
        """Tell how far it is; whether to stop."""
        if progress is not None:
            progress(len(seen), count)
        return cancelled is not None and cancelled()

    helper = _Helper(plan, name, twilight) if _helped(count) else None
    try:
        if helper is not None:
            # It starts while this process gets ready.
            helper.go_on(parcels, seen)
        judged = night_judge(plan, name, twilight)
        for date in _own_dates(parcels, helper, seen):
            seen[date] = judged(date)
            if done():
                break
        else:
            done()
    finally:
        if helper is not None:
            helper.leave()
    return tuple(seen[date] for date in sorted(seen))


def _own_dates(
    parcels: deque[Dates], helper: _Helper | None, seen: dict[dt.date, NightSeen]
) -> Iterator[dt.date]:
    """Dates to work out here, one by one, while the helper's answers are gathered."""
    while parcels:
        for date in parcels.popleft():
            if helper is not None:
                helper.go_on(parcels, seen)
            yield date
    if helper is not None:
        for parcel in helper.unanswered():
            for date in parcel:
                helper.gather(seen)
                if date not in seen:
                    yield date
        helper.gather(seen)


class _Helper:
    """A process that works through parcels of nights from the far end."""

    def __init__(self, plan: Plan, name: ShootName, twilight: Twilight) -> None:
        self._asked = (plan, name, twilight)
        # A forked copy of a process with threads may hang; a spawned one is the same everywhere.
        self._pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"))
        self._at_work: dict[Dates, Future[list[NightSeen]]] = {}
        self._broken = False

    def go_on(self, parcels: deque[Dates], seen: dict[dt.date, NightSeen]) -> None:
        """Gather what is answered and hand over more."""
        self.gather(seen)
        while parcels and len(self._at_work) < _PARCELS_AHEAD and not self._broken:
            try:
                future = self._pool.submit(_judge_parcel, *self._asked, parcels[-1])
            except (BrokenProcessPool, OSError):
                self._broken = True
            else:
                self._at_work[parcels.pop()] = future

    def gather(self, seen: dict[dt.date, NightSeen]) -> None:
        """Take the nights that are answered; a helper that broke leaves its own unanswered."""
        for parcel, future in list(self._at_work.items()):
            if not future.done() or self._broken:
                continue
            try:
                seen.update((night.night.date, night) for night in future.result())
            except (BrokenProcessPool, OSError):
                self._broken = True
            else:
                del self._at_work[parcel]

    def unanswered(self) -> Sequence[Dates]:
        """Parcels that were handed over and not answered yet, those asked for last first."""
        return list(reversed(self._at_work))

    def leave(self) -> None:
        """Ask for nothing more; what is at work ends by itself."""
        self._pool.shutdown(wait=False, cancel_futures=True)


def _judge_parcel(plan: Plan, name: ShootName, twilight: Twilight, dates: Dates) -> list[NightSeen]:
    """Answer a parcel, in the helper's process."""
    judged = night_judge(plan, name, twilight, _helpers_memory())
    return [judged(date) for date in dates]


@cache
def _helpers_memory() -> Memory:
    """What the helper's process keeps from one parcel to the next."""
    return Memory()


def _helped(count: int) -> bool:
    return count >= FEWEST_FOR_HELPER and (os.cpu_count() or 1) > 1


def _parcels(first: dt.date, count: int) -> Iterator[Dates]:
    """Nights in small parcels, from those with the highest sun to those with the lowest.

    Nights whose sun goes alike lie together, so that each end looks at a sky of its own.
    """
    dates = [first + dt.timedelta(days=later) for later in range(count)]
    dates.sort(key=_days_from_solstice)
    for at in range(0, count, _PARCEL_NIGHTS):
        yield tuple(sorted(dates[at : at + _PARCEL_NIGHTS]))


def _days_from_solstice(date: dt.date) -> float:
    day = date.timetuple().tm_yday - _SOLSTICE_DAY
    return abs((day + _YEAR_DAYS / 2.0) % _YEAR_DAYS - _YEAR_DAYS / 2.0)
