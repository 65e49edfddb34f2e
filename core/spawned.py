"""Processes beside this one: fresh ones, which write as it does and end with it."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from multiprocessing.connection import wait
from threading import Thread

from core.manner import Manner, adopt, manner


def spawned(processes: int) -> ProcessPoolExecutor:
    """A pool of so many processes, each started once there is work for it.

    A forked copy of a process with windows and threads may hang; a spawned one is the same
    everywhere.
    """
    context = multiprocessing.get_context("spawn")
    # The manner first: texts are looked up as the modules of the work are imported.
    return ProcessPoolExecutor(processes, context, _begin, (manner(),))


def _begin(written: Manner) -> None:
    adopt(written)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End once the process that asks is gone: one that was killed says no farewell."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(0)
