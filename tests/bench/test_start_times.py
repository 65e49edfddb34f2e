"""From the start of the process to the first painted window with a plan, on a warm disk."""

from __future__ import annotations

import os
import subprocess
import sys
import time

import numpy as np
import pytest

from app.resources import demo_sites
from tests.bench.conftest import add_row

RUNS = 5
#: What no program with these libraries can save: Qt with a window, numpy, the plots.
FLOOR = """
import sys, time
from PySide6.QtWidgets import QApplication, QMainWindow
application = QApplication([])
import numpy, pyqtgraph
window = QMainWindow()
window.show()
application.processEvents()
print(time.time() - float(sys.argv[1]), time.process_time())
"""
#: The program's own start; it ends when every panel has been painted once.
START = """
import gc, os, sys, time
gc.disable()
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
from pathlib import Path
import core.forecast
from app.startup import start_trouble
assert start_trouble(os.environ) is None
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication
application = QApplication(["duskwright"])
from app.window import open_window
window = open_window(Path(sys.argv[2]))
panels = {window.verdict, window.night, window.sheet.tone, window.sheet.charge, window.shoot}
class Painted(QObject):
    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            panels.discard(watched)
        return False
painted = Painted()
application.installEventFilter(painted)
while panels and time.time() < float(sys.argv[1]) + 60.0:
    application.processEvents()
assert not panels, panels
print(time.time() - float(sys.argv[1]), time.process_time())
os._exit(0)
"""


def times(code: str, *words: str) -> tuple[float, float]:
    """Median seconds on the clock and of processor time, of a few processes one by one."""
    runs = []
    for _ in range(RUNS + 1):
        command = [sys.executable, "-c", code, str(time.time()), *words]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        runs.append([float(word) for word in done.stdout.split()])
    # The first one warms the disk.
    wall_s, cpu_s = np.median(np.array(runs[1:]), axis=0)
    return float(wall_s), float(cpu_s)


def test_the_window_comes_soon_after_what_its_libraries_need(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", os.environ.get("QT_QPA_PLATFORM", "offscreen"))
    floor_s, floor_cpu_s = times(FLOOR)
    start_s, start_cpu_s = times(START, str(demo_sites()[0]))
    for name, wall_s, cpu_s in (
        ("start, libraries alone: CPU, clock", floor_s, floor_cpu_s),
        ("start to the painted plan: CPU, clock", start_s, start_cpu_s),
    ):
        add_row(request.config, name, "cold start", 1000.0 * cpu_s, 1000.0 * wall_s)
    # A third of the start is the libraries'; a slower machine is slower at both.
    assert start_cpu_s < 4.0 * floor_cpu_s
