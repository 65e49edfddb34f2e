"""From the move of a slider to the painted window, at 1280 by 800: offscreen and on an X server."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.looks import choose_theme, prepare
from app.resources import demo_sites
from app.store import Store
from app.window import MainWindow
from core.planfile import load
from tests.bench.conftest import Measure, add_row

ROOT = Path(__file__).resolve().parents[2]
MOVES = 60
ON_X = "DUSKWRIGHT_BENCH_ON_X"
WHERE = "X" if os.environ.get(ON_X) else "offscreen"

#: What the slider of a setting sends, move by move.
EDITS: dict[str, Callable[[int], dict[str, object]]] = {
    "start": lambda k: {"shoots.A.start_after_event_min": 20.0 + 0.25 * (k % 40)},
    "shutter": lambda k: {"shoots.A.shutter_s": (0.5, 0.629961, 0.793701, 1.0)[k % 4]},
    "interval": lambda k: {"shoots.A.interval_s": (2.0, 3.0, 4.0, 5.0)[k % 4]},
    "clip length": lambda k: {"shoots.A.clip_length_s": 4.0 + 0.5 * (k % 12)},
}


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication) -> MainWindow:
    prepare(qapp)
    choose_theme(qapp, "light")
    made = MainWindow()
    qtbot.addWidget(made, before_close_func=lambda one: one.store.open(None))
    made.resize(1280, 800)
    with qtbot.waitExposed(made):
        made.show()
    made.open_path(demo_sites()[0], copy=True)
    for _ in range(3):
        made.store.settle_now()
        QApplication.processEvents()
    return made


@pytest.mark.parametrize("what", EDITS)
def test_slider_to_painted(window: MainWindow, measure: Measure, what: str) -> None:
    """One edit, then everything it asks to be painted; starts and findings follow later."""
    painted: list[bool] = []
    window.store.begin_gesture()
    soon = window.store._settle_soon

    def move(k: int) -> None:
        window.store.edit(what, EDITS[what](k))
        # Under a moving hand the next edit comes before the event loop is idle.
        soon.stop()
        QApplication.processEvents()
        painted.append(True)

    measure(f"slider to painted, {WHERE}: {what}", "slider to painted", move, MOVES)
    assert len(painted) == MOVES + 2


@pytest.mark.parametrize("what", ["start", "interval"])
def test_slider_to_settled(window: MainWindow, measure: Measure, what: str) -> None:
    """The same with every start and the findings."""
    window.store.begin_gesture()

    def move(k: int) -> None:
        window.store.edit(what, EDITS[what](k))
        window.store._settle_soon.stop()
        window.store._settle()
        window.store._rest.stop()
        QApplication.processEvents()

    measure(f"slider to settled, {WHERE}: {what}", "", move, 15)
    assert window.store.findings is not None


def test_store_edit_alone(qapp: QApplication, measure: Measure) -> None:
    """Check, undo step and the outlook that changes, without a window."""
    assert qapp is not None  # timers of the store live in an application
    store = Store()
    store.open(load(demo_sites()[0]))
    store.settle_now()

    def move(k: int) -> None:
        store.edit("start", EDITS["start"](k))
        store._settle_soon.stop()

    measure("store edit alone: start", "", move, MOVES)
    assert store.undo_stack.canUndo()


def test_slider_to_painted_on_an_x_server(pytestconfig: pytest.Config) -> None:
    """Two of the same in a process with a real window, where an X server can be had."""
    xvfb = shutil.which("xvfb-run")
    if WHERE == "X" or xvfb is None:
        return
    command = [xvfb, "-a", "-s", "-screen 0 1600x1200x24", sys.executable, "-m", "pytest", "-q"]
    this = str(Path(__file__).relative_to(ROOT))
    done = subprocess.run(
        [*command, "-p", "no:randomly", this, "-k", "slider_to_painted and (start or shutter)"],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "xcb", ON_X: "1"},
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout
    found = re.findall(r"(slider to painted, X: \w+) +([\d.]+) +([\d.]+)", done.stdout)
    assert len(found) == 2
    for name, p50, p95 in found:
        add_row(pytestconfig, name, "slider to painted", float(p50), float(p95))
