"""The horizon in the review's window: laid by hand, by keys and typed, and measured by."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.reviewed import measuring
from app.reviewed.horizon import HorizonBox, HorizonPicture
from app.reviewed.picture import image_of
from app.store import Store
from app.windows.review import ReviewWindow
from core.edit import with_values
from core.path import LEVEL, Tilt
from core.plan import Plan
from core.review.result import review_take
from tests.app.panes import type_into
from tests.app.windows import is_reached_by_tab
from tests.dusk import december_plan
from tests.practice.take import write_take
from tests.practice.truth import Truth

PLAN = with_values(
    december_plan(camera__aspect="4:3"),
    {"shoots.A.clip_length_s": 1.0, "shoots.A.interval_s": 20.0},
)
OFF_DEG = 4.0
SHIFT = Qt.KeyboardModifier.ShiftModifier

pytestmark = pytest.mark.usefixtures("plain_looks")


@pytest.fixture(scope="module")
def stills(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A take whose camera looked 4° higher than planned."""
    folder = tmp_path_factory.mktemp("stills")
    pitch = {
        f"path.stations.{k}.pitch_deg": one.pitch_deg + OFF_DEG
        for k, one in enumerate(PLAN.path.stations)
    }
    write_take(folder, with_values(PLAN, pitch), Truth(), 5)
    return folder


@pytest.fixture
def store() -> Store:
    """A store with the plan of the take."""
    store = Store()
    store.open(PLAN)
    return store


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Measure few stills without processes of their own, which take longer to start."""
    monkeypatch.setattr(measuring, "review_take", partial(review_take, processes=0))


@pytest.fixture
def window(qtbot: QtBot, store: Store, stills: Path) -> Iterator[ReviewWindow]:
    """The window, its take measured by the planned poses."""
    window = ReviewWindow(store)
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()
    window.measure(stills)
    qtbot.waitUntil(lambda: window.measured is not None, timeout=60_000)
    box = window.column.horizon
    window.column.ensureWidgetVisible(box.pitch)
    qtbot.waitUntil(lambda: box.picture.height() == box.picture.heightForWidth(box.picture.width()))
    yield window
    window.close()


def box_of(window: ReviewWindow) -> HorizonBox:
    """The horizon's part of the column."""
    return window.column.horizon


def tilt_of(window: ReviewWindow) -> Tilt:
    """The tilt by which the take that is shown was measured."""
    assert window.measured is not None
    return window.measured.seen.shown.reviewed.tilt


def measured_by(qtbot: QtBot, window: ReviewWindow, tilt: Tilt) -> None:
    """Let the window measure again, by a tilt."""
    qtbot.waitUntil(lambda: tilt_of(window) == tilt, timeout=60_000)
    qtbot.waitUntil(window.column.learn.isEnabled)


def drag(picture: HorizonPicture, handle: int, down_px: int) -> None:
    """Take a handle of the line and drag it down."""
    start = picture.handles()[handle].toPoint()
    button = Qt.MouseButton.LeftButton
    QTest.mousePress(picture, button, pos=start)
    for step in (down_px // 2, down_px):
        QTest.mouseMove(picture, start + QPoint(0, step))
    QTest.mouseRelease(picture, button, pos=start + QPoint(0, down_px))


def frame_in(window: ReviewWindow) -> QImage:
    """The frame of the take that the line is laid on."""
    measured, number = window.measured, box_of(window).picture.number
    assert measured is not None
    frames = measured.seen.shown.reviewed.frames
    pair = next(one for one in measured.pairs if frames[one.at].index + 1 == number)
    assert pair.close is not None
    return image_of(pair.close, dim=False)


def edge_of(image: QImage) -> float:
    """The row, from 0 to 1, at which a frame's middle column darkens most: its real horizon."""
    x, rows = image.width() // 2, range(image.height())
    light = [sum(image.pixelColor(x + k, y).lightness() for k in range(-4, 5)) for y in rows]
    steps = [light[y] - light[y + 3] for y in range(len(light) - 3)]
    return (steps.index(max(steps)) + 2.0) / len(light)


def test_the_line_dragged_onto_the_edge_of_the_sky_tells_how_the_camera_was_off(
    qtbot: QtBot, window: ReviewWindow
) -> None:
    box, picture = box_of(window), box_of(window).picture
    real = edge_of(frame_in(window)) * picture.height()
    planned = picture.handles()[1].y()
    assert real > planned + 5.0
    drag(picture, 1, round(real - planned))
    assert picture.handles()[1].y() == pytest.approx(real, abs=1.5)
    assert box.tilt.pitch_deg == pytest.approx(OFF_DEG, abs=0.5)
    assert box.tilt.roll_deg == 0.0
    assert box.pitch.field.text() == f"+{box.tilt.pitch_deg:.1f}°"
    shown = window.measured
    # The take stays, and cannot be learned from, while it is measured again.
    qtbot.waitUntil(window.stop_button.isVisible)
    assert window.measured is shown
    assert window.sheet.isVisible()
    assert not window.column.learn.isEnabled()
    measured_by(qtbot, window, box.tilt)
    assert f"The camera looked {box.tilt.pitch_deg:.1f}° higher" in window.about.text()


def test_a_take_left_out_while_it_is_measured_again_does_not_come_back(
    qtbot: QtBot, window: ReviewWindow
) -> None:
    window._progress.told.connect(lambda *_: window.leave())
    drag(box_of(window).picture, 1, 20)
    qtbot.waitUntil(lambda: window.measured is None, timeout=60_000)
    # Its thread does one thing after the other: behind this one the take is measured.
    window._behind._thread.submit(int).result()
    QApplication.processEvents()
    assert window.measured is None
    assert window.choose_button.isVisible()


def test_the_line_is_turned_by_its_ends(qtbot: QtBot, window: ReviewWindow) -> None:
    box, picture = box_of(window), box_of(window).picture
    level = picture.handles()
    drag(picture, 2, -14)
    left, middle, right = picture.handles()
    assert box.tilt.roll_deg > 0.0
    assert box.tilt.pitch_deg == 0.0
    assert right.y() == pytest.approx(level[2].y() - 14.0, abs=1.0)
    assert left.y() > middle.y() > right.y()
    measured_by(qtbot, window, box.tilt)
    assert "to the right." in window.about.text()


def test_the_line_is_laid_by_keys_alone_and_told_to_a_screen_reader(
    qtbot: QtBot, window: ReviewWindow, store: Store
) -> None:
    box, picture = box_of(window), box_of(window).picture
    assert is_reached_by_tab(picture)
    assert is_reached_by_tab(box.pitch.field)
    assert picture.accessibleName() == "Horizon in frame 25"
    before = picture.handles()[1].y()
    for _ in range(4):
        QTest.keyClick(picture, Qt.Key.Key_Down, SHIFT)
    QTest.keyClick(picture, Qt.Key.Key_Up)
    QTest.keyClick(picture, Qt.Key.Key_Right)
    assert picture.handles()[1].y() > before
    assert box.tilt == Tilt(3.9, -0.1)
    assert picture.accessibleDescription() == "Pitch +3.9°, roll −0.1°"
    QTest.keyClick(picture, Qt.Key.Key_Backspace)
    assert box.tilt == LEVEL
    type_into(box.roll, "-0.1")
    type_into(box.pitch, "3.9")
    picture.setFocus()
    assert box.tilt == Tilt(3.9, -0.1)
    assert box.pitch.field.accessibleName() == "Camera above its planned pitch"
    assert box.roll.field.accessibleName() == "Camera leaning to the right"
    measured_by(qtbot, window, Tilt(3.9, -0.1))
    QTest.mouseClick(window.column.learn, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(_plan(store).takes), timeout=20_000)
    (take,) = _plan(store).takes
    assert (take.summary.pitch_off_deg, take.summary.roll_off_deg) == (3.9, -0.1)


def test_degrees_are_typed_stepped_and_set_back_by_a_double_click(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    box = box_of(window)
    type_into(box.pitch, "4")
    QTest.keyClick(box.pitch.field, Qt.Key.Key_Return)
    assert box.tilt == Tilt(4.0)
    measured_by(qtbot, window, Tilt(4.0))
    window.measure(stills)
    qtbot.waitUntil(lambda: window.measured is not None, timeout=60_000)
    assert tilt_of(window) == box.tilt == Tilt(4.0)
    QTest.keyClick(box.pitch.field, Qt.Key.Key_Up, SHIFT)
    QTest.keyClick(box.roll.field, Qt.Key.Key_Down)
    assert box.tilt == Tilt(4.1, -1.0)
    type_into(box.roll, "upright")
    QTest.keyClick(box.roll.field, Qt.Key.Key_Return)
    assert "no angle of the camera" in box.roll.refusal
    for row in (box.pitch, box.roll):
        QTest.mouseDClick(row.field, Qt.MouseButton.LeftButton)
    assert box.tilt == LEVEL
    assert (box.pitch.field.text(), box.roll.field.text()) == ("0.0°", "0.0°")
    measured_by(qtbot, window, LEVEL)


def test_other_frames_are_shown_by_keys_and_by_a_click_on_the_sheet(
    window: ReviewWindow,
) -> None:
    picture = box_of(window).picture
    window.grab()
    QTest.keyClick(picture, Qt.Key.Key_PageUp)
    assert picture.number == 22
    for _ in range(9):
        QTest.keyClick(picture, Qt.Key.Key_PageUp)
    assert picture.accessibleName() == "Horizon in frame 1"
    # The path looks down there.
    assert picture._out_of_sight()
    right = window.sheet.rect()
    QTest.mouseClick(
        window.sheet, Qt.MouseButton.LeftButton, pos=QPoint(round(0.7 * right.width()), 40)
    )
    assert picture.number is not None
    assert picture.number > 20


def test_stopped_or_refused_the_take_that_was_shown_stays(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    shown = window.measured
    QTest.keyClick(box_of(window).picture, Qt.Key.Key_Down)
    qtbot.waitUntil(window.stop_button.isVisible)
    window.stop()
    qtbot.waitUntil(lambda: not window.stop_button.isVisible(), timeout=60_000)
    assert window.measured is shown
    assert box_of(window).tilt == LEVEL
    assert window.column.learn.isEnabled()
    away = stills.rename(stills.with_name("away"))
    try:
        QTest.keyClick(box_of(window).picture, Qt.Key.Key_Down)
        qtbot.waitUntil(lambda: bool(window.refusal), timeout=60_000)
    finally:
        away.rename(stills)
    assert window.measured is shown
    assert "it is not there" in window.refusal


def _plan(store: Store) -> Plan:
    assert store.plan is not None
    return store.plan
