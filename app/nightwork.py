"""Many nights on two processors: this process and one helper, which meet in the middle.

A helper takes a second to start where processes are spawned, and may not start at all. So
this process begins at once at one end of the nights, the helper at the other, and whatever
the helper has not answered when the two meet is worked out here. Who will ask for nights can
have the helper stand by before.
"""

from __future__ import annotations

import datetime as dt
import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import suppress
from functools import cache

from app.standby import GONE, Standby
from core.manner import Manner, adopt, manner
from core.memory import Memory
from core.nights import NightSeen, night_judge, nights_between
from core.plan import Plan, ShootName, Twilight
from core.skies import sky_table

#: For fewer nights no helper is worth its start.
FEWEST_FOR_HELPER = 90
_PARCEL_NIGHTS = 6
#: Parcels the helper holds: one at work, one to go on with.
_PARCELS_AHEAD = 2
_YEAR_DAYS = 365.2422
#: Day of the year of the June solstice.
_SOLSTICE_DAY = 172

Dates = tuple[dt.date, ...]


def nights_standby() -> Standby:
    """Make a helper for nights; who will ask for some starts it before."""
    return Standby(_get_ready)


def nights_in_two(
    plan: Plan,
    name: ShootName,
    first: dt.date,
    last: dt.date,
    twilight: Twilight,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    standby: Standby | None = None,
) -> tuple[NightSeen, ...]:
    """The nights of `core.nights.nights`, each the same, in their order.

    Parameters
    ----------
    progress
        Called now and then with how many nights are done and how many there are.
    cancelled
        Asked first and after each night; the nights done so far are returned once it says so.
    standby
        The helper's process, which goes on standing by; one for these nights where left out.

    Raises
    ------
    core.edit.PlanError
        As `core.nights.nights`.
    """
    count = nights_between(first, last)
    parcels = deque(_parcels(first, count))
    seen: dict[dt.date, NightSeen] = {}

    def stopped() -> bool:
        return cancelled is not None and cancelled()

    def done() -> bool:
        """Tell how far it is; whether to stop."""
        if progress is not None:
            progress(len(seen), count)
        return stopped()

    own, helper = standby or nights_standby(), None
    # Who closed its window before this thread began has left the helper for good.
    if helped(count) and not stopped():
        with suppress(*GONE):
            helper = _Helper(own.start(), plan, name, twilight)
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
            if standby is None or helper.broken:
                own.leave()
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
    """What works through parcels of nights from the far end, in another process."""

    def __init__(
        self, pool: ProcessPoolExecutor, plan: Plan, name: ShootName, twilight: Twilight
    ) -> None:
        self._pool = pool
        self._asked = (manner(), plan, name, twilight)
        self._at_work: dict[Dates, Future[list[NightSeen]]] = {}
        self.broken = False

    def go_on(self, parcels: deque[Dates], seen: dict[dt.date, NightSeen]) -> None:
        """Gather what is answered and hand over more."""
        self.gather(seen)
        while parcels and len(self._at_work) < _PARCELS_AHEAD and not self.broken:
            try:
                future = self._pool.submit(_judge_parcel, *self._asked, parcels[-1])
            except GONE:
                self.broken = True
            else:
                self._at_work[parcels.pop()] = future

    def gather(self, seen: dict[dt.date, NightSeen]) -> None:
        """Take the nights that are answered; a helper that broke leaves its own unanswered."""
        for parcel, future in list(self._at_work.items()):
            if not future.done() or self.broken:
                continue
            try:
                seen.update((night.night.date, night) for night in future.result())
            except GONE:
                self.broken = True
            else:
                del self._at_work[parcel]

    def unanswered(self) -> Sequence[Dates]:
        """Parcels that were handed over and not answered yet, those asked for last first."""
        return list(reversed(self._at_work))

    def leave(self) -> None:
        """Ask for nothing more; the parcel at work ends by itself."""
        for future in self._at_work.values():
            future.cancel()


def _judge_parcel(
    written: Manner, plan: Plan, name: ShootName, twilight: Twilight, dates: Dates
) -> list[NightSeen]:
    """Answer a parcel, in the helper's process, which tells reasons in the manner asked for."""
    adopt(written)
    judged = night_judge(plan, name, twilight, _helpers_memory())
    return [judged(date) for date in dates]


def _get_ready() -> None:
    """Read, in the helper's process, what all nights read."""
    sky_table(_helpers_memory())


@cache
def _helpers_memory() -> Memory:
    """What the helper's process keeps from one parcel to the next."""
    return Memory()


def helped(count: int) -> bool:
    """Whether so many nights are shared with a helper on this machine."""
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
