"""Plan, fly, review, learn, plan again: the loop through the window, and on the command line."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.window import MainWindow
from core.edit import with_values
from core.plan import Plan
from core.planfile import load, save
from tests.app.commands import answered
from tests.app.windows import empty_window, settle
from tests.dusk import december_plan
from tests.practice.take import write_take
from tests.practice.truth import Handling, Lasting, Tonight, Truth

__all__ = ["empty_window"]

#: The place shows this much brighter than reckoned, every night; the weather is each night's own.
HIDDEN_STOPS = 0.8
WEATHER_STOPS = (-0.25, 0.2)
PLAN = with_values(
    december_plan(camera__aspect="4:3"),
    {"shoots.A.clip_length_s": 1.2, "shoots.A.interval_s": 20.0},
)


def flown(folder: Path, plan: Plan, night: int) -> Path:
    """The stills of a take of the plan's night, of a truth that the program does not see."""
    stills = folder / f"night {night}"
    stills.mkdir()
    truth = Truth(
        Lasting(level_stops=HIDDEN_STOPS), Tonight(weather_stops=WEATHER_STOPS[night]), Handling()
    )
    write_take(stills, plan, truth, night)
    return stills


def level_of(plan: Plan) -> float:
    """What the plan holds of the place's level, stops."""
    return next((one.value for one in reversed(plan.learned) if one.name == "level_stops"), 0.0)


def on_the_next_night(plan: Plan) -> dict[str, object]:
    """The edit that turns both shoots to the next night."""
    date = plan.shoots.A.date + dt.timedelta(days=1)
    return {"shoots.A.date": date, "shoots.B.date": date}


def learned_in_the_window(qtbot: QtBot, window: MainWindow, folder: Path, night: int) -> Plan:
    """Fly the plan's take, review its stills in the window, learn; the plan that learned."""
    plan = window.store.plan
    assert plan is not None
    review = window.beside.review()
    review.measure(flown(folder, plan, night))
    qtbot.waitUntil(lambda: review.measured is not None, timeout=60_000)
    QTest.mouseClick(review.column.learn, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.store.plan != plan, timeout=30_000)
    assert window.store.plan is not None
    return window.store.plan


def test_two_takes_reviewed_in_the_window_teach_the_place(
    empty_window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    window, path = empty_window, tmp_path / "quay.duskplan"
    save(PLAN, path)
    window.open_path(path)
    settle(window)
    off = [HIDDEN_STOPS]
    for night in range(2):
        taught = learned_in_the_window(qtbot, window, tmp_path, night)
        off.append(abs(level_of(taught) - HIDDEN_STOPS))
        window.store.begin_gesture()
        window.store.edit("the next night", on_the_next_night(taught))
        settle(window)
    # Each take leaves less to be wrong about, and tomorrow's start is planned on it.
    assert off[2] < off[1] < off[0]
    assert off[2] < 0.35
    assert window.save()
    assert len(load(path).takes) == 2
    assert len(list(tmp_path.glob("quay.*.csv"))) == 2


def test_the_same_loop_on_the_command_line(tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    save(PLAN, path)
    before = json.loads(answered("starts", str(path), "--format", "json"))
    stills = flown(tmp_path, PLAN, 0)
    told = json.loads(answered("review", str(path), str(stills), "--learn", "--format", "json"))
    assert told["kept"]
    level = next(one for one in told["learned"] if one["name"] == "level_stops")
    assert level["after"] == pytest.approx(level_of(load(path)), abs=1e-3)
    assert 0.1 < level["after"] < HIDDEN_STOPS + 0.1
    assert level["after_sigma"] < level["before_sigma"]
    after = json.loads(answered("starts", str(path), "--format", "json"))
    best = [one["starts"]["best"] for one in (before, after)]
    # A brighter place is pressed later.
    assert dt.datetime.fromisoformat(best[1]) > dt.datetime.fromisoformat(best[0])
