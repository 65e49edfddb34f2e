"""A process that stands by for work, so that nothing waits for its start.

What takes long and holds Python's lock would hold up the window too if it ran in a thread.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from concurrent.futures import CancelledError, ProcessPoolExecutor
from threading import Lock
from typing import Final

from core.spawned import spawned

#: What a helper that broke, was left or never started raises; a broken pool is a runtime error.
GONE: Final = (RuntimeError, CancelledError, OSError)


class Standby:
    """A helper's process; any thread may ask for it.

    Parameters
    ----------
    get_ready
        What it does first, unasked: a function that can be imported by name.
    """

    def __init__(self, get_ready: Callable[[], object]) -> None:
        self._get_ready = get_ready
        self._lock = Lock()
        self._pool: ProcessPoolExecutor | None = None

    def start(self) -> ProcessPoolExecutor:
        """Start the process where it does not stand by yet; it gets ready behind.

        Raises
        ------
        OSError, RuntimeError
            Where the system starts none, both among `GONE`.
        """
        with self._lock:
            if self._pool is None:
                pool = spawned(1)
                self._begin_work(pool)
                self._pool = pool
            return self._pool

    def _begin_work(self, pool: ProcessPoolExecutor) -> None:
        others = set(multiprocessing.active_children())
        try:
            pool.submit(self._get_ready)
        except GONE:
            # Where only the thread could not start that hands out the work, the process waits for
            # some for good, and this one at its end for the process.
            for process in set(multiprocessing.active_children()) - others:
                process.terminate()
            raise

    def leave(self) -> None:
        """Ask for nothing more; what is at work ends by itself."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)
