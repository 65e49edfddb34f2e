"""The predicted frames on the sheet: current or not shown, marked where they fail."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.panels.sheet import SheetPanel
from app.sheet.clock import Axis, Clock
from app.sheet.developer import images
from app.sheet.frames import BUSY_AFTER_MS, FramesTrack
from app.sheet.framespicture import FramesPicture, cells_of, frames_across
from app.sheet.takeframes import (
    STEP_S,
    Batch,
    Draw,
    batches_of,
    between,
    draw_batch,
    steps_around,
)
from app.store import Store
from app.theme import THEMES, show_theme
from core.edit import with_values
from core.forecast import outlook
from core.judge import LIMITS, slack_by_limit
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Camera, Plan, ShootName
from core.preview import LinearFrames, develop
from tests.app.sheetplans import NOTHING_HOLDS, OTHER_NIGHT, quay

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
START_A, SHUTTER_A = "shoots.A.start_after_event_min", "shoots.A.shutter_s"
SHOWN = 10

pytestmark = pytest.mark.usefixtures("plain_looks")


class Studio:
    """Draws grey frames whose light tells their start, as many batches as it is let."""

    def __init__(self) -> None:
        self.asked: list[tuple[ShootName, float, tuple[int, ...]]] = []
        self.fails = False
        self._leave = threading.Semaphore(0)
        self._closed = True

    def let(self, batches: int) -> None:
        self._leave.release(batches)

    def open(self) -> None:
        self._closed = False
        self.let(1000)

    def close(self) -> None:
        self._closed, self._leave = True, threading.Semaphore(0)

    def draw(self, batch: Batch) -> LinearFrames:
        seen, indices = batch.seen, batch.indices
        self.asked.append((seen.name, batch.press_s, indices))
        if self._closed:
            self._leave.acquire(timeout=20.0)
        if self.fails:
            message = "The lens fell off."
            raise ValueError(message)
        shape = (len(indices), batch.rows, batch.cols)
        rgb = np.full((*shape, 3), grey_cd_m2(batch.press_s), dtype=np.float32)
        none = np.zeros(shape, dtype=np.float32)
        time_s = seen.tones.time_s[list(indices)] + batch.press_s - seen.press_s
        return LinearFrames(np.array(indices), time_s, rgb, none, none, none)


def grey_cd_m2(press_s: float) -> float:
    """Light that tells a start: ten minutes raise it by 0.2 cd/m²."""
    return 0.1 + press_s % 7200.0 / 3000.0


@pytest.fixture
def studio(qtbot: QtBot) -> Iterator[Studio]:
    """Give a studio that lets go of its thread before the windows close."""
    assert qtbot is not None
    made = Studio()
    yield made
    made.open()


def shown(
    qtbot: QtBot, plan: Plan | None, draw: Draw, size: tuple[int, int] = (758, 620)
) -> tuple[SheetPanel, Store]:
    store = Store()
    panel = SheetPanel(store, draw=draw)
    store.setParent(panel)
    qtbot.addWidget(panel)
    panel.resize(*size)
    panel.show()
    store.open(plan)
    store.settle_now()
    return panel, store


def picture(track: FramesTrack) -> FramesPicture:
    assert track._picture is not None
    return track._picture


def drawn(track: FramesTrack) -> int:
    return sum(image is not None for image in picture(track).images)


def wait_for_all(qtbot: QtBot, panel: SheetPanel) -> None:
    qtbot.waitUntil(lambda: all(picture(track).complete for track in panel.frames))


def level(image: QImage | None) -> int:
    assert image is not None
    return image.pixelColor(image.width() // 2, image.height() // 2).green()


def expected_level(seen: Outlook, plan: Plan) -> int:
    """The value that the studio's frames of a take have when they are exposed."""
    grey = np.full((1, 1, 1, 3), grey_cd_m2(seen.press_s), dtype=np.float32)
    none = np.zeros((1, 1, 1), dtype=np.float32)
    frames = LinearFrames(np.zeros(1, dtype=int), np.zeros(1), grey, none, none, none)
    return int(develop(frames, seen.mid, plan.camera.highlight_stops)[0, 0, 0, 1])


def assert_current(track: FramesTrack, store: Store) -> None:
    """Every picture that is shown belongs to the plan as it stands."""
    seen, plan = store.outlook("A"), store.plan
    assert seen is not None
    assert plan is not None
    wanted = expected_level(seen, plan)
    for image in picture(track).images:
        assert image is None or abs(level(image) - wanted) <= 1


# ---- current or not shown ----


def test_frames_come_in_batches_and_the_head_counts_them(qtbot: QtBot, studio: Studio) -> None:
    panel, _ = shown(qtbot, quay(), studio.draw)
    a, b = panel.frames
    whole = picture(a).second_line
    assert whole == "192, 8.0 s"
    assert drawn(a) == drawn(b) == 0
    qtbot.waitUntil(lambda: picture(a).second_line == f"0 of {SHOWN}")
    studio.let(1)
    qtbot.waitUntil(lambda: picture(a).second_line == f"5 of {SHOWN}")
    assert picture(b).second_line == f"0 of {SHOWN}"
    studio.open()
    wait_for_all(qtbot, panel)
    assert picture(a).second_line == whole


def test_what_is_missing_is_a_dashed_outline_but_not_at_once(qtbot: QtBot, studio: Studio) -> None:
    panel, _ = shown(qtbot, quay(), studio.draw)
    track = panel.frames[0]
    cells = picture(track).cells
    edge = THEMES["light"].edge.rgb()

    def outline() -> int:
        image = track.grab().toImage()
        row = range(cells.lefts[3], cells.lefts[3] + cells.width)
        return sum(image.pixel(x, 0) == edge for x in row)

    assert outline() == 0
    qtbot.wait(BUSY_AFTER_MS + 100)
    dashes = outline()
    assert 0.3 * cells.width < dashes < 0.9 * cells.width
    studio.open()
    wait_for_all(qtbot, panel)
    assert outline() == 0


def test_the_active_shoots_frames_are_drawn_first(qtbot: QtBot, studio: Studio) -> None:
    panel, store = shown(qtbot, quay(), studio.draw)
    studio.open()
    wait_for_all(qtbot, panel)
    assert [name for name, *_ in studio.asked[:4]] == ["A", "A", "B", "B"]
    qtbot.wait(100)
    store.set_active("B")
    qtbot.wait(100)
    studio.close()
    studio.asked.clear()
    store.edit("Interval", {"shoots.A.interval_s": 5.0, "shoots.B.interval_s": 4.0})
    studio.open()
    wait_for_all(qtbot, panel)
    # What lay on the desk first may be under way when the other shoot's wishes come.
    order = [name for name, press_s, _ in studio.asked if press_s == press_of(store, name)]
    assert order in (["B", "B", "A", "A"], ["A", "B", "B", "A"])


def press_of(store: Store, name: ShootName) -> float:
    seen = store.outlook(name)
    assert seen is not None
    return seen.press_s


def test_frames_of_an_old_plan_are_dropped(qtbot: QtBot, studio: Studio) -> None:
    panel, store = shown(qtbot, quay(), studio.draw)
    a = panel.frames[0]
    old_s = press_of(store, "A")
    qtbot.waitUntil(lambda: len(studio.asked) == 1)
    store.edit("Start", {START_A: 50.0})
    studio.let(1)
    qtbot.waitUntil(lambda: len(studio.asked) == 2)
    qtbot.wait(20)
    assert studio.asked[0][1] == old_s
    assert studio.asked[1][1] != old_s
    assert drawn(a) == 0
    studio.open()
    wait_for_all(qtbot, panel)
    assert_current(a, store)


@pytest.mark.parametrize(
    "change",
    [
        {"shoots.A.interval_s": 5.0},
        {"shoots.A.clip_length_s": 5.0},
        {"shoots.A.conditions.cloud_okta": 6.0},
        {"camera.focal_equivalent_mm": 35.0},
        {"ground.land_reflectance": 0.3},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_stale_picture_goes_with_the_edit(
    qtbot: QtBot, studio: Studio, change: dict[str, object]
) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    wait_for_all(qtbot, panel)
    qtbot.wait(100)
    studio.close()
    store.edit("Change", change)
    assert drawn(panel.frames[0]) == 0
    studio.open()
    wait_for_all(qtbot, panel)


def test_a_new_exposure_draws_nothing_and_is_there_at_once(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    wait_for_all(qtbot, panel)
    qtbot.waitUntil(lambda: len(studio.asked) == 12)
    asked = len(studio.asked)
    before = level(picture(panel.frames[0]).images[0])
    for key, value in ((SHUTTER_A, 0.5), ("shoots.A.iso", 200.0), ("shoots.A.nd_stops", 2.0)):
        store.edit("Exposure", {key: value})
        assert picture(panel.frames[0]).complete
        assert_current(panel.frames[0], store)
    assert level(picture(panel.frames[0]).images[0]) < before
    qtbot.wait(100)
    assert len(studio.asked) == asked


def test_a_moving_start_is_seen_all_the_way(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    wait_for_all(qtbot, panel)
    qtbot.waitUntil(lambda: len(studio.asked) == 12)  # the steps around it
    store.begin_gesture()
    for step in range(1, 40):
        store.edit("Start", {START_A: 43.2 + step / 10.0})
        assert picture(panel.frames[0]).complete
        assert_current(panel.frames[0], store)
        qtbot.wait(5)
    qtbot.waitUntil(lambda: studio.asked[-1][1] >= press_of(store, "A"))


def test_a_start_far_away_is_never_an_old_picture(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    wait_for_all(qtbot, panel)
    for minutes in (20.0, 90.0, 43.2, 60.0, 20.0):
        store.edit("Start", {START_A: minutes})
        assert_current(panel.frames[0], store)
        qtbot.wait(2)
        assert_current(panel.frames[0], store)
    wait_for_all(qtbot, panel)
    assert_current(panel.frames[0], store)


@pytest.mark.parametrize("minutes", [30.0, 43.2, 60.0])
def test_frames_between_two_starts_are_as_good_as_their_own(minutes: float) -> None:
    """The straight line in light misses no value by more than two steps of 255."""
    plan = quay({START_A: minutes})
    seen = outlook(plan, "A", Memory())
    batch = batches_of(plan, seen, SHOWN, (35, 62))[1]
    middle_s = np.floor(seen.press_s / STEP_S) * STEP_S + 0.5 * STEP_S
    batch = batch.started_at(middle_s)
    before, after = (draw_batch(one) for one in steps_around(batch))
    own = draw_batch(batch)
    near = between(before, after, middle_s)
    assert near.time_s == pytest.approx(own.time_s, abs=1e-3)
    shown_, wanted = (
        develop(one, seen.mid, plan.camera.highlight_stops).astype(int) for one in (near, own)
    )
    assert np.abs(shown_ - wanted).max() <= 2
    still = develop(before, seen.mid, plan.camera.highlight_stops).astype(int)
    assert np.abs(still - wanted).max() > 2


def test_a_new_size_shows_what_there_is_until_it_is_drawn(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, _ = shown(qtbot, quay(), studio.draw)
    wait_for_all(qtbot, panel)
    panel.resize(860, 640)
    assert picture(panel.frames[0]).complete
    width = picture(panel.frames[0]).cells.width

    def drawn_anew() -> bool:
        image = picture(panel.frames[0]).images[0]
        return image is not None and image.width() == width

    qtbot.waitUntil(drawn_anew)


# ---- what fails ----


def test_frames_that_break_a_limit_are_marked(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, store = shown(qtbot, quay({"shoots.A.iso": 400.0}), studio.draw)
    wait_for_all(qtbot, panel)
    seen, plan = store.outlook("A"), store.plan
    assert seen is not None
    assert plan is not None
    slack = slack_by_limit(seen.tones, plan.bands, plan.camera.highlight_stops)
    broken = np.min([slack[limit] for limit in LIMITS], axis=0) < 0.0
    found = picture(panel.frames[0])
    assert found.failing == tuple(bool(broken[number - 1]) for number in found.numbers)
    assert True in found.failing
    image = panel.frames[0].grab().toImage()
    alarm = THEMES["light"].alarm.rgb()
    for left, failing in zip(found.cells.lefts, found.failing, strict=True):
        corners = [(left, 20), (left + 1, 20), (left + found.cells.width - 2, 2)]
        assert all((image.pixel(x, y) == alarm) == failing for x, y in corners)
    assert "a limit is broken at" in panel.frames[0].accessibleDescription()


def test_a_frame_that_fails_has_a_bold_number_in_the_colour_of_problems(
    qtbot: QtBot, studio: Studio
) -> None:
    studio.open()
    panel, store = shown(qtbot, quay({START_A: 50.0}), studio.draw)
    alarm, ink = THEMES["light"].alarm, THEMES["light"].ink2
    paper = THEMES["light"].sheet.green()

    def weight(track: FramesTrack) -> float:
        cells, image = picture(track).cells, track.grab().toImage()
        left = cells.lefts[-1]
        dark = [
            paper - image.pixelColor(x, y).green()
            for x in range(left, left + 26)
            for y in range(cells.height + 3, track.height())
        ]
        return float(sum(dark))

    assert [picture(panel.frames[0]).failing[-1]] == [False]
    plain = weight(panel.frames[0])
    store.edit("Settings", NOTHING_HOLDS)
    assert [picture(panel.frames[0]).failing[-1]] == [True]
    # The pigment of both colours counted out, bold has a third more ink.
    blackness = (paper - alarm.green()) / (paper - ink.green())
    assert weight(panel.frames[0]) / blackness > 1.2 * plain


# ---- cursor ----


def test_a_frame_under_the_pointer_moves_the_cursor_to_its_time(
    qtbot: QtBot, studio: Studio
) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    for track, name in zip(panel.frames, "AB", strict=True):
        found = picture(track)
        seen = store.outlook("A" if name == "A" else "B")
        assert seen is not None
        for index in (0, 4, 9):
            place = QPoint(found.cells.lefts[index] + 20, 12)
            QTest.mouseMove(track, place)
            assert store.cursor_s == seen.tones.time_s[found.numbers[index] - 1]
    QTest.mouseMove(panel.frames[0], QPoint(30, 12))
    moments: list[float | None] = [store.cursor_s]
    QTest.mouseClick(panel.frames[0], LEFT, NONE, QPoint(found.cells.lefts[2] + 5, 12))
    moments.append(store.cursor_s)
    assert moments == [None, picture(panel.frames[0]).time_s[2]]
    assert store.undo_stack.count() == 0


def test_on_two_nights_the_others_frame_moves_the_common_clock(
    qtbot: QtBot, studio: Studio
) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(OTHER_NIGHT), studio.draw)
    a, b = store.outlook("A"), store.outlook("B")
    assert a is not None
    assert b is not None
    found = picture(panel.frames[1])
    QTest.mouseMove(panel.frames[1], QPoint(found.cells.lefts[3] + 20, 12))
    assert store.cursor_s is not None
    after_sunset_s = found.time_s[3] - b.night.event.time_s
    assert store.cursor_s - a.night.event.time_s == pytest.approx(after_sunset_s, abs=1e-3)


def test_the_frame_nearest_to_the_cursor_is_framed(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    wait_for_all(qtbot, panel)
    found = picture(panel.frames[0])
    ink = THEMES["light"].ink.rgb()

    def framed(track: FramesTrack) -> list[int]:
        image, cells = track.grab().toImage(), picture(track).cells
        inner = [(0, 15), (1, 15), (cells.width - 1, 15), (20, 0), (20, cells.height - 1)]
        return [
            index
            for index, left in enumerate(cells.lefts)
            if all(image.pixel(left + x, y) == ink for x, y in inner)
        ]

    assert framed(panel.frames[0]) == []
    store.set_cursor(0.6 * found.time_s[4] + 0.4 * found.time_s[5])
    assert framed(panel.frames[0]) == [4]
    store.set_cursor(found.time_s[-1] + 60.0)
    assert framed(panel.frames[0]) == []


# ---- looks ----


def test_dim_frames_give_off_no_blue_light(qtbot: QtBot, qapp: QApplication) -> None:
    panel, store = shown(qtbot, quay(), draw_batch)
    wait_for_all(qtbot, panel)
    store.set_cursor(picture(panel.frames[0]).time_s[4])
    show_theme(qapp, "dim")
    qapp.processEvents()
    for track in panel.frames:
        assert picture(track).complete
        image = track.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
        data = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(-1, 4).astype(int)
        blue, green, red = data[:, 0], data[:, 1], data[:, 2]
        assert (red >= green).all()
        assert (green >= blue).all()


def test_a_strip_fills_the_clock_and_has_the_cameras_shape() -> None:
    clock = Clock(Axis(0.0, 3600.0), 112.0, 746.0)
    wide = Clock(Axis(0.0, 3600.0), 124.0, 1076.0)
    assert (frames_across(clock), frames_across(wide)) == (10, 12)
    for one in (clock, wide):
        cells = cells_of(one, Camera(), frames_across(one))
        assert cells.lefts[0] == one.left
        assert cells.lefts[-1] + cells.width == pytest.approx(one.right, abs=1)
        assert cells.width / cells.height == pytest.approx(16 / 9, rel=0.03)
        gaps = np.diff(cells.lefts) - cells.width
        assert gaps.min() >= 1
        assert gaps.max() <= 3
    assert cells_of(clock, Camera(), 10).height == 35
    assert (
        cells_of(clock, Camera(aspect="1:1"), 10).width
        == cells_of(clock, Camera(aspect="1:1"), 10).height
    )


def test_the_cameras_shape_makes_room_for_itself(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    assert panel.frames[0].height() == 35 + 18
    tone = panel.tone.height()
    store.edit("Aspect", {"camera.aspect": "4:3"})
    grown = panel.frames[0].height() - 53
    assert grown > 0
    assert panel.tone.height() == tone - 2 * grown


def test_a_take_of_few_frames_shows_them_all(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, _ = shown(qtbot, quay({"shoots.A.clip_length_s": 0.1}), studio.draw)
    wait_for_all(qtbot, panel)
    assert picture(panel.frames[0]).numbers == (1, 2)


def test_tracks_stand_in_the_order_of_the_sheet(qtbot: QtBot, studio: Studio) -> None:
    studio.open()
    panel, _ = shown(qtbot, quay(), studio.draw)
    tracks: tuple[QWidget, ...] = (
        panel.tone, panel.slack, panel.clock, panel.fan, *panel.frames, *panel.flights,
        panel.charge,
    )  # fmt: skip
    bottom = 0
    for track in tracks:
        assert track.mapTo(panel, QPoint(0, 0)).y() == bottom
        bottom += track.height()
    assert bottom == panel.height()


@pytest.mark.parametrize("name", ["A", "B"])
def test_the_fan_joins_the_take_to_the_ends_of_its_frames(
    qtbot: QtBot, studio: Studio, name: ShootName
) -> None:
    studio.open()
    panel, store = shown(qtbot, quay(), studio.draw)
    store.set_active(name)
    seen, clock = store.outlook(name), panel.tone.clock
    assert seen is not None
    assert clock is not None
    image = panel.fan.grab().toImage()
    sheet = THEMES["light"].sheet

    def inked(x: float, y: int) -> bool:
        near = range(max(round(x) - 3, 0), round(x) + 4)
        return any(image.pixelColor(at, y).green() < sheet.green() - 60 for at in near)

    for time_s, end in ((seen.press_s, clock.left), (seen.last_frame_s, clock.right)):
        x = clock.x_of(time_s, name)
        shares = np.linspace(0.02, 0.98, 60)
        way = [inked(x + share * (end - x), int(share * panel.fan.height())) for share in shares]
        assert np.mean(way) > (0.9 if name == "A" else 0.5)
    middle = clock.x_of((seen.press_s + seen.last_frame_s) / 2.0, name)
    assert not inked(middle, 6)
    assert panel.fan.accessibleDescription().startswith(f"The frames of {name} run from ")


# ---- threads ----


def developers() -> list[threading.Thread]:
    return [one for one in threading.enumerate() if one.name.startswith("developer")]


def test_no_thread_outlives_its_window(qtbot: QtBot, qapp: QApplication) -> None:
    others = set(developers())
    begun = threading.Event()

    def slowly(batch: Batch) -> LinearFrames:
        begun.set()
        time.sleep(0.05)
        return draw_batch(batch)

    store = Store()
    panel = SheetPanel(store, draw=slowly)
    store.setParent(panel)
    panel.resize(758, 620)
    panel.show()
    store.open(quay())
    qtbot.waitUntil(begun.is_set)
    assert set(developers()) - others
    panel.deleteLater()
    qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    qapp.processEvents()
    assert set(developers()) <= others


def test_a_drawing_that_fails_is_told_and_the_next_one_tried(qtbot: QtBot, studio: Studio) -> None:
    studio.fails = True
    studio.open()
    with qtbot.capture_exceptions() as told:
        panel, store = shown(qtbot, quay(), studio.draw)
        qtbot.waitUntil(lambda: len(told) >= 1)
        studio.fails = False
        # One that began to fail before may be told after the first.
        store.edit("Start", {START_A: 46.0})
        wait_for_all(qtbot, panel)
    assert {str(one[1]) for one in told} == {"The lens fell off."}


def test_images_keep_their_own_pixels() -> None:
    pixels = np.arange(2 * 3 * 5 * 3, dtype=np.uint8).reshape(2, 3, 5, 3)
    made = images(pixels.copy())
    pixel = made[1].pixelColor(4, 2)
    assert (pixel.red(), pixel.green(), pixel.blue()) == tuple(pixels[1, 2, 4])


def test_a_plan_is_found_by_what_its_frames_depend_on() -> None:
    plan = quay()
    seen = outlook(plan, "A", Memory())
    key = batches_of(plan, seen, SHOWN, (35, 62))[0].key
    exposed = with_values(plan, {SHUTTER_A: 0.25, "camera.write_time_s": 1.0})
    assert batches_of(exposed, outlook(exposed, "A", Memory()), SHOWN, (35, 62))[0].key == key
    later = replace(seen, press_s=seen.press_s + 1.0)
    assert batches_of(plan, later, SHOWN, (35, 62))[0].key != key
