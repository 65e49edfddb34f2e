"""From the move of a slider to the painted window, at 1280 by 800: offscreen and on an X server."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.looks import choose_theme, prepare
from app.resources import demo_sites
from app.sheet.darkroom import DARKROOM, Darkroom
from app.sheet.frames import FramesTrack
from app.store import Store
from app.window import MainWindow
from core.plan import SHOOT_NAMES
from core.planfile import load
from core.scales import SettingKey
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
#: The setting each moves; the start has a row of its own.
KEYS: dict[str, SettingKey] = {
    "shutter": "shutter_s", "interval": "interval_s", "clip length": "clip_length_s"
}  # fmt: skip


@pytest.fixture(scope="module")
def darkroom() -> Iterator[Darkroom]:
    """Give the process that draws the frames, as it stands by half a second after a start."""
    DARKROOM.open()
    yield DARKROOM
    DARKROOM.close()


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication, darkroom: Darkroom) -> MainWindow:
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

    def known() -> bool:
        outlooks = [made.store.outlook(name) for name in SHOOT_NAMES]
        return all(seen is not None and darkroom.knows(seen) for seen in outlooks)

    qtbot.waitUntil(known, timeout=20_000)
    return made


@pytest.fixture
def preview_ms(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Give what the predicted frames took, call by call: the budget does not pay for them."""
    spent: list[float] = []

    def timed(call: Callable[..., None]) -> Callable[..., None]:
        def run(*arguments: object) -> None:
            begin = time.thread_time()
            call(*arguments)
            spent.append(1000.0 * (time.thread_time() - begin))

        return run

    for name in ("show_scene", "_redraw_if_stale"):
        monkeypatch.setattr(FramesTrack, name, timed(getattr(FramesTrack, name)))
    return spent


@pytest.mark.parametrize("hand", ["slider", "key"])
@pytest.mark.parametrize("what", EDITS)
def test_slider_to_painted(
    preview_ms: list[float],
    window: MainWindow,
    pytestconfig: pytest.Config,
    what: str,
    hand: str,
) -> None:
    """One edit, then everything it asks to be painted; starts and findings follow later.

    The clock stands still under a slider, as it does not for the keys.
    """
    row = window.shoot.rows[KEYS[what]] if what in KEYS else window.shoot.start
    if hand == "slider":
        row.slider.sliderPressed.emit()
    window.store.begin_gesture()
    painted, with_preview = [], []
    for k in range(MOVES + 2):
        preview_ms.clear()
        begin = time.thread_time()
        window.store.edit(what, EDITS[what](k))
        # Under a moving hand the next edit comes before the event loop is idle.
        window.store._soon.stop()
        QApplication.processEvents()
        with_preview.append(1000.0 * (time.thread_time() - begin))
        painted.append(with_preview[-1] - sum(preview_ms))
    assert preview_ms
    for name, budget, times_ms in (
        (f"{hand} to painted, {WHERE}: {what}", "slider to painted", painted),
        (f"  with the predicted frames, {hand}: {what}", "", with_preview),
    ):
        p50, p95 = np.percentile(times_ms[2:], (50.0, 95.0))
        add_row(pytestconfig, name, budget, float(p50), float(p95))


@pytest.mark.parametrize("site", demo_sites(), ids=lambda site: site.stem)
def test_the_longest_turn_while_everything_settles(
    qapp: QApplication, pytestconfig: pytest.Config, site: Path
) -> None:
    """Every start, the findings and the good ranges, turn by turn of the event loop."""
    assert qapp is not None  # timers of the store live in an application
    store = Store()
    store.open(load(site))
    store.settle_now()
    turns_ms = []
    for interval_s in (4.0, 5.0, 2.0):
        store.edit("interval", {"shoots.A.interval_s": interval_s})
        store._rest.stop()
        for begin_work in (store._go_on, store._begin_takes):
            begin_work()
            while store._work is not None:
                begin = time.thread_time()
                store._go_on()
                turns_ms.append(1000.0 * (time.thread_time() - begin))
            assert store.findings is not None
    p50 = float(np.percentile(turns_ms, 50.0))
    add_row(pytestconfig, f"turn while settling, p50 and most: {site.stem}", "", p50, max(turns_ms))


@pytest.mark.parametrize("what", ["start", "interval"])
def test_slider_to_settled(window: MainWindow, measure: Measure, what: str) -> None:
    """The same with every start and the findings."""
    window.store.begin_gesture()

    def move(k: int) -> None:
        window.store.edit(what, EDITS[what](k))
        window.store._finish()
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
        store._soon.stop()

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
        [*command, "-p", "no:randomly", this, "-k", "slider_to_painted and not on_an_x"],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "xcb", ON_X: "1"},
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout
    found = re.findall(r"(\w+ to painted, X: [a-z ]+?) +([\d.]+) +([\d.]+)", done.stdout)
    assert len(found) == 2 * len(EDITS)
    for name, p50, p95 in found:
        add_row(pytestconfig, name, "slider to painted", float(p50), float(p95))
