"""The darkroom: a process of its own in which predicted frames are drawn.

Drawn in a thread of the window's process they hold Python's lock by turns with the window, which
makes each of its moves half as long again. The process knows a plan's light and sky from the
plan alone, as the window does; while it looks them up, frames are drawn in the thread that asks.
"""

from __future__ import annotations

import os
from collections import OrderedDict
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import suppress
from functools import cache
from threading import Lock
from typing import Final

from app.sheet.takeframes import Batch, draw_batch, frames_started_at
from app.standby import GONE, Standby
from core.forecast import outlook
from core.framesky import FrameSky
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.preview import LinearFrames
from core.skies import sky_table

#: As many skies as a memory keeps.
_KNOWN: Final = 6


class Darkroom:
    """Draws frames in its process, once that is open, and here as long as it is not.

    Each window asks in a thread of its own.
    """

    def __init__(self) -> None:
        self._standby = Standby(_get_ready)
        self._lock = Lock()
        self._pool: ProcessPoolExecutor | None = None
        self._skies: OrderedDict[int, tuple[FrameSky, Future[None]]] = OrderedDict()

    def open(self) -> None:
        """Have the process started, where a second processor can carry it."""
        if (os.cpu_count() or 1) > 1:
            with suppress(*GONE):
                self._pool = self._standby.start()

    def close(self) -> None:
        """Let the process go; what is wanted after is drawn here."""
        with self._lock:
            self._pool = None
            self._skies.clear()
        self._standby.leave()

    def draw(self, batch: Batch) -> LinearFrames:
        """Draw a batch; the frames are the same wherever they are drawn."""
        # One that is closed meanwhile refuses what is asked of it: none is started in its place.
        pool, seen = self._pool, batch.seen
        if pool is None:
            return draw_batch(batch)
        asked = batch.plan, seen.name, batch.press_s, batch.indices, batch.rows, batch.cols
        try:
            if self.knows(seen):
                return pool.submit(_draw, *asked).result()
            self._have_looked_up(pool, batch.plan, seen)
        except GONE:
            self.close()
        return draw_batch(batch)

    def knows(self, seen: Outlook) -> bool:
        """Whether the process has the sky of an outlook at hand."""
        with self._lock:
            _, looked_up = self._skies.get(id(seen.framesky), (None, None))
        return looked_up is not None and looked_up.done() and looked_up.exception() is None

    def _have_looked_up(self, pool: ProcessPoolExecutor, plan: Plan, seen: Outlook) -> None:
        """Have the process look up the sky of an outlook, if it was not asked to already."""
        sky = seen.framesky
        with self._lock:
            if id(sky) not in self._skies:
                looked_up = pool.submit(_look_up, plan, seen.name)
                # With the sky itself, so that no other can take its number.
                self._skies[id(sky)] = sky, looked_up
                if len(self._skies) > _KNOWN:
                    self._skies.popitem(last=False)


# ---- in the darkroom's process ----


@cache
def _memory() -> Memory:
    """What the process keeps from one wish to the next."""
    return Memory(_KNOWN)


def _get_ready() -> None:
    sky_table(_memory())


def _look_up(plan: Plan, name: ShootName) -> None:
    _seen(plan, name)


def _seen(plan: Plan, name: ShootName) -> Outlook:
    memory = _memory()
    return memory.recall("seen", (plan, name), lambda: outlook(plan, name, memory))


def _draw(
    plan: Plan, name: ShootName, press_s: float, indices: tuple[int, ...], rows: int, cols: int
) -> LinearFrames:
    return frames_started_at(plan, _seen(plan, name), press_s, indices, rows, cols)


#: The one of this process, which all windows share.
DARKROOM: Final = Darkroom()
