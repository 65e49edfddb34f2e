"""Garbage that holds widgets dies in the window's thread, whoever made it."""

from __future__ import annotations

import gc
import threading
from concurrent.futures import ThreadPoolExecutor

from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.collecting import collect_here


class Knot:
    """Garbage that only a collection frees; it tells which thread freed it."""

    def __init__(self, freed: list[int]) -> None:
        self.me = self
        self.freed = freed

    def __del__(self) -> None:
        """Tell the thread."""
        self.freed.append(threading.get_ident())


def knotted(freed: list[int], count: int) -> None:
    """Leave so much garbage."""
    for _ in range(count):
        Knot(freed)


def test_garbage_of_another_thread_is_collected_in_the_windows_own(
    qtbot: QtBot, qapp: QApplication
) -> None:
    freed: list[int] = []
    gc.collect()
    collect_here(qapp)
    with ThreadPoolExecutor(max_workers=1) as thread:
        thread.submit(knotted, freed, 5000).result()
    assert not freed
    qtbot.waitUntil(lambda: len(freed) == 5000)
    assert set(freed) == {threading.get_ident()}
