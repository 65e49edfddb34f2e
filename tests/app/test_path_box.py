"""The path from above: what it shows, and stations moved by hand, key and typing."""

from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import msgspec
import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.resources import demo_sites
from app.store import Store
from app.widgets.path_box import PathBox
from app.widgets.pathwords import LOOK_PX, towards, word_rooms
from app.widgets.planview import fitted_view, sketch_of
from app.window import MainWindow
from core.edit import with_values
from core.plan import Plan, Station
from core.planfile import load
from tests.app.windows import settle, window

__all__ = ["window"]

TWO_TAKES = next(site for site in demo_sites() if site.stem == "montevaro_hill")
STATIONS = (
    Station(east_m=-80.0, north_m=40.0, up_m=70.0, heading_deg=250.0, pitch_deg=-40.0),
    Station(east_m=-40.0, north_m=-30.0, up_m=90.0, heading_deg=300.0, pitch_deg=-10.0),
)
LEFT = Qt.MouseButton.LeftButton


def plan_with(stations: tuple[Station, ...], **values: object) -> Plan:
    """A ready plan on another path."""
    plan = load(TWO_TAKES)
    path = msgspec.structs.replace(plan.path, stations=stations)
    return with_values(msgspec.structs.replace(plan, path=path), values)


@pytest.fixture
def store() -> Store:
    """A store with two stations that look where they were told to."""
    store = Store()
    store.open(plan_with(STATIONS))
    return store


def shown(qtbot: QtBot, store: Store) -> PathBox:
    """The box on the screen, wide enough for a hand."""
    box = PathBox(store)
    qtbot.addWidget(box)
    box.resize(300, 300)
    with qtbot.waitExposed(box):
        box.show()
    return box


def stations(store: Store) -> tuple[Station, ...]:
    """The stations as they stand."""
    assert store.plan is not None
    return store.plan.path.stations


def where(box: PathBox, number: int, store: Store) -> QPointF:
    """The middle of a station's ring."""
    station = stations(store)[number]
    assert box.sketch.view is not None
    return QPointF(*box.sketch.view.xy((station.east_m, station.north_m)))


def drag(box: PathBox, begin: QPointF, *steps: QPointF) -> QPoint:
    """Press, move by steps and let go; where the hand is at last."""
    at = begin
    QTest.mousePress(box.sketch, LEFT, pos=at.toPoint())
    for step in steps:
        at += step
        QTest.mouseMove(box.sketch, at.toPoint())
    QTest.mouseRelease(box.sketch, LEFT, pos=at.toPoint())
    return at.toPoint()


def test_a_station_follows_the_hand_and_one_undo_takes_it_back(qtbot: QtBot, store: Store) -> None:
    box = shown(qtbot, store)
    assert box.sketch.view is not None
    scale = box.sketch.view.px_per_m
    drag(box, where(box, 0, store), QPointF(10.0, 0.0), QPointF(10.0, -30.0))
    moved = stations(store)[0]
    assert moved.east_m == pytest.approx(-80.0 + 20.0 / scale, abs=1.0)
    assert moved.north_m == pytest.approx(40.0 + 30.0 / scale, abs=1.0)
    assert (moved.up_m, moved.heading_deg, moved.pitch_deg) == (70.0, 250.0, -40.0)
    assert store.undo_stack.count() == 1
    store.undo_stack.undo()
    assert stations(store) == STATIONS


def test_a_press_that_trembles_chooses_and_moves_nothing(qtbot: QtBot, store: Store) -> None:
    box = shown(qtbot, store)
    drag(box, where(box, 1, store), QPointF(2.0, 1.0))
    assert stations(store) == STATIONS
    assert box.name.text() == "last"


def test_the_ground_stays_under_the_hand(qtbot: QtBot, store: Store) -> None:
    box = shown(qtbot, store)
    before = box.sketch.view
    begin = where(box, 1, store).toPoint()
    QTest.mousePress(box.sketch, LEFT, pos=begin)
    QTest.mouseMove(box.sketch, begin + QPoint(60, 60))
    assert box.sketch.view == before
    QTest.mouseRelease(box.sketch, LEFT, pos=begin + QPoint(60, 60))
    assert box.sketch.view != before


def test_the_end_of_its_line_turns_a_station(qtbot: QtBot, store: Store) -> None:
    box = shown(qtbot, store)
    at = where(box, 1, store)
    begin = at + towards(300.0, LOOK_PX)
    drag(box, begin, at + towards(30.0, 60.0) - begin)
    assert stations(store)[1].heading_deg == pytest.approx(30.0, abs=2.0)
    assert stations(store)[1].east_m == STATIONS[1].east_m
    assert store.undo_stack.undoText() == "turn a station"


def test_a_point_that_is_looked_at_moves_for_all_that_look_at_it(qtbot: QtBot) -> None:
    store = Store()
    aimed = tuple(msgspec.structs.replace(one, look_at=(-50.0, 20.0, 0.0)) for one in STATIONS)
    store.open(plan_with(aimed))
    box = shown(qtbot, store)
    view = box.sketch.view
    assert view is not None
    begin, end = (QPointF(*view.xy(at)) for at in ((-50.0, 20.0), (-60.0, 0.0)))
    drag(box, begin, end - begin)
    (aim,) = {one.look_at for one in stations(store)}
    assert aim == pytest.approx((-60.0, 0.0, 0.0), abs=1.0)
    assert box.fields["pitch_deg"].isReadOnly()
    box.sketch.nudged.emit(0, "heading_deg", 1.0)
    assert stations(store)[0].heading_deg == 250.0


def test_keys_choose_move_turn_tilt_and_lift(qtbot: QtBot, store: Store) -> None:
    box = shown(qtbot, store)
    box.sketch.setFocus()
    QTest.keyClick(box.sketch, Qt.Key.Key_PageDown)
    assert box.name.text() == "last"
    QTest.keyClick(box.sketch, Qt.Key.Key_Right)
    QTest.keyClick(box.sketch, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(box.sketch, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClick(box.sketch, Qt.Key.Key_Down, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClick(box.sketch, Qt.Key.Key_Plus)
    expected = msgspec.structs.replace(
        STATIONS[1], east_m=-39.0, north_m=-20.0, up_m=91.0, heading_deg=301.0, pitch_deg=-11.0
    )
    assert stations(store) == (STATIONS[0], expected)
    QTest.keyClick(box.sketch, Qt.Key.Key_PageUp)
    assert box.name.text() == "first"


def test_height_heading_and_pitch_are_typed_beside_it(qtbot: QtBot, store: Store) -> None:
    box = shown(qtbot, store)
    for key, text in (("up_m", "65 m"), ("heading_deg", "10"), ("pitch_deg", "-20°")):
        box.fields[key].entered.emit(text)
    first = stations(store)[0]
    assert (first.up_m, first.heading_deg, first.pitch_deg) == (65.0, 10.0, -20.0)
    assert [field.text() for field in box.fields.values()] == ["65 m", "010°", "−20°"]
    box.fields["pitch_deg"].entered.emit("down")
    assert box.refusal.startswith("Pitch")
    assert stations(store)[0] == first
    box.fields["pitch_deg"].entered.emit("-30")
    assert not box.refusal


def test_stations_are_named_in_the_order_of_the_flight(store: Store) -> None:
    store.open(plan_with(STATIONS, **{"shoots.A.path_reversed": True}))
    plan, seen = store.plan, store.outlook("A")
    assert plan is not None
    assert seen is not None
    spots = sketch_of(plan, seen, None).spots
    assert [(one.word, one.number) for one in spots] == [("first", 1), ("last", 0)]
    assert spots[0].told() == "first: 90 m up, heading 300°, pitch −10°"


def test_glow_and_camera_are_those_of_the_take(store: Store) -> None:
    plan, seen = store.plan, store.outlook("A")
    assert plan is not None
    assert seen is not None
    middle_s = (seen.press_s + seen.last_frame_s) / 2.0
    sketch = sketch_of(plan, seen, seen.press_s)
    assert sketch.glow_deg == pytest.approx(seen.night.sun(np.array([middle_s]))[1][0], abs=0.1)
    assert sketch.now is not None
    assert sketch.now.place_m == pytest.approx((-80.0, 40.0))
    last = sketch_of(plan, seen, seen.last_frame_s).now
    assert last is not None
    assert last.place_m == pytest.approx((-40.0, -30.0))
    assert sketch_of(plan, seen, seen.last_frame_s + 60.0).now is None


def test_the_view_holds_every_point_at_one_scale_north_up() -> None:
    points = [(0.0, 0.0), (-300.0, 20.0), (40.0, -90.0)]
    view = fitted_view(points, 200.0, 100.0, 10.0)
    for point in points:
        x, y = view.xy(point)
        assert 10.0 - 1e-6 <= x <= 190.0 + 1e-6
        assert 10.0 - 1e-6 <= y <= 90.0 + 1e-6
        assert view.metres(x, y) == pytest.approx(point)
    x, y = view.xy((0.0, 0.0))
    assert view.xy((10.0, 0.0)) == pytest.approx((x + 10.0 * view.px_per_m, y))
    assert view.xy((0.0, 10.0)) == pytest.approx((x, y - 10.0 * view.px_per_m))
    assert math.isfinite(fitted_view([(5.0, 5.0)], 200.0, 100.0, 10.0).px_per_m)


@pytest.mark.parametrize("site", demo_sites(), ids=lambda site: site.stem)
def test_no_word_of_the_sketch_lies_on_its_path_or_on_another_word(
    window: MainWindow, site: Path
) -> None:
    """In the small window, where the path takes the place of the map."""
    window.store.open(load(site))
    picture = window.night.place.picture
    picture.switch.button(1).click()
    settle(window)
    view, plan, seen = window.night.path.sketch.view, window.store.plan, window.store.outlook("A")
    assert view is not None
    assert plan is not None
    assert seen is not None
    drawn = sketch_of(plan, seen, None)
    rooms = word_rooms(drawn, view)
    boxes = [*rooms.names, rooms.scale]
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
    places = [QPointF(*view.xy(place)) for place in drawn.curve_m]
    # A word beside a ring may hide a stump of the line that leaves it, and no more.
    hidden = [sum(box.contains(place) for place in places) for box in boxes]
    assert max(hidden) <= len(places) // 16
    # What is under the switch cannot be taken with the hand.
    assert min(place.y() for place in places) > picture.switch.height()


def test_the_path_has_its_own_place_where_there_is_room_and_the_maps_where_not(
    window: MainWindow,
) -> None:
    night, picture = window.night, window.night.place.picture
    assert not night.path.isVisible()
    picture.switch.button(1).click()
    assert night.path.isVisible()
    assert not night.place.locator.isVisible()
    window.resize(1680, 1050)
    settle(window)
    assert night.path.isVisible()
    assert night.place.locator.isVisible()
    assert not picture.switch.isVisible()
    window.resize(1280, 800)
    settle(window)
    assert night.path.isVisible()
    assert not night.place.locator.isVisible()
