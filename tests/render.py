"""Every window and state as pictures: `python -m tests.render [FOLDER]`, offscreen.

Each picture is made in light, dark and dim, at 100 % and at 200 % of the pixels, and named
after what it shows. `--readme` renews the picture of the README instead.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from itertools import count
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QWidget

from app.looks import choose_theme, prepare
from app.resources import demo_sites
from app.theme import THEME_NAMES, ThemeName, set_text_scale
from app.window import MainWindow
from app.windows.field import FieldWindow
from app.windows.new_place import NewPlaceDialog
from core.edit import with_values
from core.plan import Plan
from core.planfile import load
from tests.dusk import december_plan
from tests.practice.take import write_take
from tests.practice.truth import drawn_truth

ROOT = Path(__file__).resolve().parent.parent
README_PICTURE = ROOT / "assets" / "screenshots" / "main.png"
SMALL, LARGE = (1280, 800), (1680, 1050)
SCALES = (1, 2)
FRAMES_WITHIN_S = 5.0
NIGHTS_WITHIN_S = 300.0
LAID_OUT_WITHIN_S = 0.3

Changes = dict[str, object]


def _harbour(**changes: object) -> Plan:
    """The first ready site with some values changed, by key with __ for the dot."""
    values = {key.replace("__", "."): value for key, value in changes.items()}
    return with_values(load(demo_sites()[0]), values)


def _both(**changes: object) -> Changes:
    return {f"shoots__{name}__{key}": value for name in "AB" for key, value in changes.items()}


#: Plans of states that no ready site shows, by the state's name.
PLANS: dict[str, Callable[[], Plan]] = {
    "nothing_holds": lambda: _harbour(**_both(iso=1600.0, conditions__haze_aod=0.05)),
    "light_without_flight": lambda: _harbour(**_both(battery_start_percent=80.0)),
    "flight_cannot_be_flown": lambda: _harbour(
        **_both(conditions__wind_10m_m_s=14.0, conditions__wind_from_deg=90.0)
    ),
    "two_nights": lambda: _harbour(shoots__B__date=dt.date(2026, 10, 21)),
    "dusk_and_dawn": lambda: _harbour(
        shoots__B__twilight="dawn", shoots__B__start_after_event_min=-38.0
    ),
    "late_start": lambda: _harbour(shoots__A__start_after_event_min=60.0),
}


def settle(window: MainWindow) -> None:
    """Let a window catch up with its plan, and the frames with the window."""
    application = QApplication.instance()
    patient_until = time.monotonic() + FRAMES_WITHIN_S
    for turn in count():
        window.store.settle_now()
        if application is not None:
            application.processEvents()
        pictures = [track.picture for track in window.sheet.frames]
        drawn = all(picture is None or picture.complete for picture in pictures)
        if turn >= 3 and (drawn or time.monotonic() > patient_until):
            return


def window_of(plan: Plan | None, size: tuple[int, int] = SMALL) -> MainWindow:
    """A main window that shows a plan as if it had come from a file."""
    window = MainWindow()
    window.resize(*size)
    if plan is not None:
        window.store.open(plan)
        window.document.changed.emit()
    window.show()
    settle(window)
    return window


def states() -> Iterator[tuple[str, QWidget]]:
    """Name and window of every picture, one after the other."""
    for site in demo_sites():
        for size in (SMALL, LARGE):
            yield f"main_{site.stem}_{size[0]}x{size[1]}", window_of(load(site), size)
    for name, plan in PLANS.items():
        yield f"state_{name}", window_of(plan())
    yield "state_empty", window_of(None)
    yield "state_refused_value", _with_refused_value()
    yield "state_notice", _with_notice()
    yield "state_shoot_b", _with_b()
    yield "state_cursor", _with_cursor()
    yield from _other_windows()


def _with_refused_value() -> MainWindow:
    window = window_of(_harbour())
    field = window.shoot.rows["shutter_s"].field
    field.setText("half a lot")
    field.entered.emit(field.text())
    settle(window)
    return window


def _with_notice() -> MainWindow:
    window = window_of(_harbour())
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "torn.duskplan"
        path.write_text('{"schema": "1.0", "place": {"name": "Torn", "latitude_deg": 95}}', "utf-8")
        window.open_path(path)
    settle(window)
    return window


def _with_b() -> MainWindow:
    window = window_of(_harbour())
    window.store.set_active("B")
    settle(window)
    return window


def _with_cursor() -> MainWindow:
    window = window_of(_harbour())
    seen = window.store.outlook("A")
    if seen is not None:
        window.store.set_cursor((seen.press_s + seen.last_frame_s) / 2.0)
    settle(window)
    return window


def _other_windows() -> Iterator[tuple[str, QWidget]]:
    window = window_of(_harbour())
    details = window.beside.details()
    settle(window)
    yield "details", details
    details.resize(details.width(), 2600)
    settle(window)
    yield "details_whole", details
    details.hide()
    yield from _settings_and_readings(window)
    dialog = NewPlaceDialog(window, dt.date(2026, 10, 17))
    dialog.show()
    settle(window)
    yield "new_place", dialog
    for key, text in (("name", "North Mole"), ("latitude_deg", "95"), ("longitude_deg", "-9.5")):
        dialog.fields[f"place.{key}"].setText(text)
    dialog.take()
    _until(lambda: True)
    yield "new_place_refused", dialog


def _settings_and_readings(window: MainWindow) -> Iterator[tuple[str, QWidget]]:
    best = window.beside.best()
    best.resize(best.width(), 1100)
    _until(lambda: not best.searching)
    best.ask_filters()
    _until(lambda: not best.searching)
    yield "best", best
    best.hide()
    readings = window.beside.readings()
    settle(window)
    readings.tone.take("+0.4")
    readings.take()
    settle(window)
    yield "readings", readings
    readings.hide()
    last_night = window.beside.last_night()
    settle(window)
    row = last_night.remarks["land"]
    row.showed.button(3).click()
    row.frame.setText("60")
    last_night.learn()
    last_night.plan_tonight()
    settle(window)
    yield "last_night", last_night
    last_night.hide()
    window.store.undo_stack.setIndex(0)
    late = window.beside.late()
    settle(window)
    late.now.take("19:50")
    late.look()
    _until(lambda: not late.searching)
    yield "late", late
    late.now.take("18:50")
    late.plan_takes()
    _until(lambda: not late.searching)
    yield "several_batteries", late
    late.hide()
    yield from _field(window)
    compare = window.beside.compare()
    settle(window)
    yield "compare", compare
    compare.hide()
    many = window.beside.nights()
    yield "nights_under_way", many
    # A picture that is made hides its window, and a hidden one works nothing out.
    many.show()
    _until(lambda: bool(many.nights), NIGHTS_WITHIN_S)
    yield "nights", many
    many.hide()
    yield from _help_and_path(window)
    yield from _review()


def _help_and_path(window: MainWindow) -> Iterator[tuple[str, QWidget]]:
    page = window.beside.help("charge")
    settle(window)
    yield "help", page
    page.hide()
    window.night.place.picture.switch.button(1).click()
    window.store.lock("A", "shutter_s", on=True)
    settle(window)
    yield "path_and_lock", window


def _review() -> Iterator[tuple[str, QWidget]]:
    """A take reviewed: asked for, under way, measured."""
    plan = with_values(december_plan(camera__aspect="4:3"), {"shoots.A.clip_length_s": 3.0})
    window = window_of(plan)
    review = window.beside.review()
    settle(window)
    yield "review_empty", review
    with tempfile.TemporaryDirectory() as folder:
        write_take(Path(folder), plan, drawn_truth(plan, "A", 11), 11)
        review.measure(Path(folder))
        yield "review_under_way", review
        _until(lambda: review.measured is not None, NIGHTS_WITHIN_S)
        yield "review", review
    review.hide()


def _field(
    window: MainWindow, size: tuple[int, int] = (1024, 720)
) -> Iterator[tuple[str, QWidget]]:
    """The field window before take-off, late, before the press and after the latest stop."""
    seen = window.store.outlook("A")
    if seen is None or seen.take_off_s is None or seen.latest_stop_s is None:
        return
    off_s, stop_s = seen.take_off_s, seen.latest_stop_s
    for name, time_s, done in (
        ("field_checks", off_s - 760.0, {}),
        ("field_late", off_s + 130.0, {}),
        ("field", seen.press_s - 126.0, {"took_off_s": off_s}),
        ("field_past", stop_s + 20.0, {"took_off_s": off_s, "pressed_s": seen.press_s}),
    ):
        field = FieldWindow(window.store, window, clock=partial(float, time_s))
        field.resize(*size)
        field.show()
        field.note(took_off_s=None, pressed_s=None)
        field.note(**done)
        field.tick()
        settle(window)
        yield name, field
        field.hide()


def _until(done: Callable[[], bool], within_s: float = FRAMES_WITHIN_S) -> None:
    """Let the windows work until something is done."""
    end = time.monotonic() + within_s
    while not done() and time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.01)
    # The answer is laid out over some turns: text that wraps asks for its lines first.
    end = time.monotonic() + LAID_OUT_WITHIN_S
    while time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.01)


def _large_text(application: QApplication) -> Iterator[tuple[str, QWidget]]:
    set_text_scale(application, 2.0)
    window = window_of(_harbour())
    yield "text200_sheet", window
    for side in ("left", "right"):
        window.columns.toggle(side)
        settle(window)
        yield f"text200_drawer_{side}", window
    for name, field in _field(window, SMALL):
        yield f"text200_{name}", field
    for name, review in _review():
        yield f"text200_{name}", review
    set_text_scale(application, 1.0)


def prepared_application() -> QApplication:
    """An application without the settings of whoever runs this."""
    empty = tempfile.mkdtemp(prefix="render")
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, empty)
    application = QApplication([])
    prepare(application)
    return application


def render(folder: Path, scale: int) -> int:
    """Write every picture at one scale, the one this process runs at; how many they are."""
    application = prepared_application()
    made = 0
    for theme in THEME_NAMES:
        choose_theme(application, theme)
        for shown in (states(), _large_text(application)):
            for name, widget in shown:
                _write(widget, folder / f"{name}_{theme}_{scale}00.png")
                made += 1
                widget.window().hide()
    return made


def _write(widget: QWidget, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    widget.show()
    # What changed while it was hidden is laid out only now.
    _until(lambda: True)
    if not widget.grab().save(str(path)):
        raise OSError(f"{path} was not written.")


def render_readme(theme: ThemeName = "light") -> None:
    """Write the picture that the README shows."""
    choose_theme(prepared_application(), theme)
    # Two takes of one evening that differ in start and filter.
    site = next(one for one in demo_sites() if one.stem == "montevaro_hill")
    _write(window_of(load(site)), README_PICTURE)


def main() -> int:
    """Read the words of the command line and write the pictures."""
    parser = argparse.ArgumentParser(prog="python -m tests.render", description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=ROOT / "build" / "pictures")
    parser.add_argument("--readme", action="store_true", help="only the picture of the README")
    parser.add_argument("--scale", type=int, choices=SCALES, help=argparse.SUPPRESS)
    words = parser.parse_args()
    if words.readme:
        render_readme()
        print(README_PICTURE.relative_to(ROOT))
    elif words.scale:
        print(f"{render(words.folder, words.scale)} pictures at {words.scale}00 %")
    else:
        return _each_scale(words.folder)
    return 0


def _each_scale(folder: Path) -> int:
    """One process for each scale: Qt reads it once, at the start."""
    for scale in SCALES:
        command = [sys.executable, "-m", "tests.render", str(folder), "--scale", str(scale)]
        environ = os.environ | {"QT_QPA_PLATFORM": "offscreen", "QT_SCALE_FACTOR": str(scale)}
        done = subprocess.run(command, cwd=ROOT, env=environ, check=False)
        if done.returncode:
            return done.returncode
    return 0


if __name__ == "__main__":
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    sys.exit(main())
