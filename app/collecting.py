"""Cyclic garbage is collected in the window's own thread.

Python collects it in whichever thread happens to allocate. Widgets, timers and stores stand in
cycles, and one that dies beside the thread it lives in takes the program with it: so nothing is
collected but here, between two turns of the event loop.
"""

from __future__ import annotations

import gc
from typing import Final

from PySide6.QtCore import QCoreApplication, QTimer

_EVERY_MS: Final = 200
_NAME: Final = "collector"


def collect_here(application: QCoreApplication) -> None:
    """Collect in the application's thread alone from now on; a second call changes nothing."""
    gc.disable()
    if application.findChild(QTimer, _NAME) is None:
        timer = QTimer(application)
        timer.setObjectName(_NAME)
        timer.timeout.connect(collect_if_due)
        timer.start(_EVERY_MS)


def collect_if_due() -> None:
    """Collect the oldest generation that has grown beyond Python's own threshold."""
    counts, thresholds = gc.get_count(), gc.get_threshold()
    for generation in (2, 1, 0):
        if counts[generation] > thresholds[generation]:
            gc.collect(generation)
            return
