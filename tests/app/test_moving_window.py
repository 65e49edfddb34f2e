"""Motion and weather of the active shoot, as the window beside shows them."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.store import Store
from app.widgets.readout import Table
from app.widgets.value_field import ValueField
from app.windows.moving import MovingWindow
from tests.app.panes import store_of


@pytest.fixture
def store() -> Store:
    return store_of("corvane_harbour")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> MovingWindow:
    made = MovingWindow(store)
    qtbot.addWidget(made)
    made.show()
    return made


def told(table: Table) -> dict[str, str]:
    return {row[0].text: row[1].text for row in table.rows}


def test_every_subject_is_told_with_the_figures_of_the_forecast(
    window: MovingWindow, store: Store
) -> None:
    motion = store.motion("A")
    assert motion is not None
    rows = [tuple(cell.text for cell in row) for row in window.subjects.rows[1:]]
    assert len(rows) == 2 * len(motion.moving)
    cars = motion.of("cars")
    assert cars is not None
    assert rows[0][:3] == (
        "cars, 14 m/s, mid-picture", f"{cars.distance_m:.0f} m", f"{cars.px_per_frame:.0f} px",
    )  # fmt: skip


def test_a_longer_shutter_smears_more_at_once(
    qtbot: QtBot, window: MovingWindow, store: Store
) -> None:
    before = told(window.camera)["shutter open for"]
    store.edit("shutter", {"shoots.A.shutter_s": 0.5})
    store.settle_now()
    qtbot.waitUntil(lambda: told(window.camera)["shutter open for"] != before)
    assert told(window.camera)["shutter open for"] == "17 % of the interval"


def test_humidity_typed_here_tells_dew_and_cloud(
    qtbot: QtBot, window: MovingWindow, store: Store
) -> None:
    store.edit("temperature", {"shoots.A.conditions.temperature_c": 12.0})
    editor = window.typed["humidity_percent"].editor
    assert isinstance(editor, ValueField)
    editor.setFocus()
    editor.selectAll()
    QTest.keyClicks(editor, "90")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    store.settle_now()
    # 12 °C and 90 %: dew point 10.41 °C with the coefficients of WMO-No. 8, base at 199 m.
    qtbot.waitUntil(lambda: told(window.air)["dew point"].startswith("10.4 °C"))
    assert told(window.air)["cloud base"] == "from 198 m"


def test_the_other_shoot_brings_its_own(qtbot: QtBot, window: MovingWindow, store: Store) -> None:
    store.edit("dry", {"shoots.B.conditions.humidity_percent": 40.0})
    store.set_active("B")
    qtbot.waitUntil(lambda: told(window.air)["cloud base"] != "\N{EN DASH}")


def test_both_twilights_stand_there(window: MovingWindow) -> None:
    first, second = (text.text() for text in window.twilights)
    assert "6° down" in first
    assert "30 min after sunset" in second
