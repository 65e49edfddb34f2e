"""What the program itself fails at is told in one sentence, and the plan stays."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app import mishap
from app.window import MainWindow
from tests.app.windows import window

__all__ = ["window"]
ROOT = Path(__file__).resolve().parents[2]

# Runs the program's own main with a menu action that fails.
FAILING = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app.window import MainWindow

def fail():
    raise KeyError("shutter")

def failed():
    window = next(one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow))
    plan = window.store.plan
    action = window.menuBar().addAction("Fail")
    action.triggered.connect(fail)
    action.trigger()
    print(window.notice.isVisible(), window.store.plan is plan is not None)
    print(window.notice.text())
    QApplication.quit()

QTimer.singleShot(0, failed)
from app.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


# The same with drawings that fail, each three times over.
UNDRAWN = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QWidget
from app.sheet import tonelayer
from app.widgets import text
from app.window import MainWindow

def fail(*_):
    raise KeyError("hatch")

def shown():
    window = next(one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow))
    track = window.sheet.clock
    for drawing in ("draw_still", "draw_moving"):
        setattr(track, drawing, fail)
        for turn in range(3):
            track.refresh()
            track.resize(track.width(), track.height() + 1)
            QApplication.processEvents()
        delattr(track, drawing)
    for module, drawing in ((tonelayer, "draw_text"), (text, "write")):
        drawn = getattr(module, drawing)
        setattr(module, drawing, fail)
        for turn in range(3):
            for widget in window.findChildren(QWidget):
                widget.update()
            QApplication.processEvents()
        setattr(module, drawing, drawn)
    track.resize(track.width() + 2, track.height())
    track.refresh()
    QApplication.processEvents()
    image = track.grab().toImage()
    print(window.notice.isVisible())
    print(len({image.pixel(x, y) for x in range(image.width()) for y in range(image.height())}))
    QApplication.quit()

QTimer.singleShot(0, lambda: QTimer.singleShot(500, shown))
from app.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


def run(script: str) -> subprocess.CompletedProcess[str]:
    plan = ROOT / "demo_sites" / "corvane_harbour.duskplan"
    return subprocess.run(
        [sys.executable, "-c", script, "open", str(plan)],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
        check=False,
        capture_output=True,
        text=True,
        timeout=60,
    )


def test_a_drawing_that_fails_takes_nothing_down_and_is_drawn_later() -> None:
    done = run(UNDRAWN)
    assert done.returncode == 0, done.stderr
    assert "paint device" not in done.stderr
    assert "active painter" not in done.stderr
    told, colours = done.stdout.split()
    assert told == "True"
    assert int(colours) > 20


def test_a_slot_that_fails_is_told_in_the_window_and_not_on_the_terminal() -> None:
    done = run(FAILING)
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    assert "KeyError" not in done.stderr
    seen, said = done.stdout.splitlines()
    assert seen == "True True"
    head, record = said.removesuffix(").").split(" (what happened is written in ")
    assert head == (
        "Duskwright could not finish the last step; the plan is still open here: save it under"
        " another name and start Duskwright again"
    )
    assert "KeyError: 'shutter'" in Path(record).read_text(encoding="utf-8")


def raised(what: BaseException) -> None:
    """Hand something that nobody caught to the hook of the program."""
    mishap._tell(type(what), what, what.__traceback__)


def test_without_a_window_it_stands_on_the_terminal_in_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pathlib.Path.write_text", _full)
    raised(ValueError("x"))
    said = capsys.readouterr().err
    assert said.startswith("Duskwright could not finish the last step; ")
    assert said.endswith("start Duskwright again.\n")
    assert said.count("\n") == 1


def _full(*_args: object, **_kwargs: object) -> None:
    raise OSError(28, "")


def test_an_interrupt_closes_the_window_as_its_menu_does(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    answers = [False, True]
    monkeypatch.setattr(window, "may_lose_plan", lambda: answers.pop(0))
    raised(KeyboardInterrupt())
    assert window.isVisible()
    raised(KeyboardInterrupt())
    qtbot.waitUntil(lambda: not window.isVisible())


def test_a_hook_that_somebody_else_set_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "excepthook", print)
    mishap.tell_mishaps()
    assert sys.excepthook is print
    monkeypatch.setattr(sys, "excepthook", sys.__excepthook__)
    mishap.tell_mishaps()
    assert sys.excepthook is mishap._tell
