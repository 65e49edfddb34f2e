"""The right column: which shoot is active, its settings, and what follows from them."""

from __future__ import annotations

import contextlib
import datetime as dt
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.shown import settings
from app.shown.readings import NO_PLACE, comparison, readouts
from app.shown.settings import SETTINGS, Setting
from app.store import LockKey, Store
from app.theme import px, scale_changes, theme_of
from app.widgets.buttons import Button
from app.widgets.flown_box import FlownBox
from app.widgets.readout import Column, Readouts, Table
from app.widgets.roomy import is_roomy
from app.widgets.rule import Gap, Rule
from app.widgets.setting_row import SettingRow
from app.widgets.switch import ShootTabs
from core.edit import PlanError
from core.fields import field_of
from core.language import say
from core.lightwords import no_span_reason
from core.outlook import Outlook
from core.parse import parse_value
from core.plan import SHOOT_NAMES, ShootName
from core.scales import scale_of
from core.sentences import by_names
from core.starts import Starts
from core.starttime import Clock, FromEvent, start_minutes
from core.words import clock_text, time_text

_MARGINS_PX = (16, 10, 16, 8)


class ShootPanel(QWidget):
    """Settings of the active shoot; every change is one edit of the store.

    Signals
    -------
    search_wanted
        The best settings are to be searched.
    """

    search_wanted = Signal()

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._shown: ShootName = store.active
        self.tabs = ShootTabs()
        self.start = SettingRow(say("Start"))
        # No search changes the frame rate.
        self.rows = {
            setting.key: SettingRow(setting.name, lockable=setting.key != "frame_rate_fps")
            for setting in SETTINGS
        }
        self.flown = FlownBox(store)
        self.readouts = Readouts(say("What follows from the settings"), 3)
        self.best_start = Button(say("Best start"), strong=True, wide=True)
        self.search = Button(say("Best settings…"), wide=True)
        self.against = _Against()
        self._compose()
        self._connect()
        self._refresh()

    def _compose(self) -> None:
        self._layout = QVBoxLayout(self)
        self._layout.setSpacing(0)
        self._layout.addWidget(self.tabs)
        self._layout.addWidget(Gap(6))
        self._layout.addWidget(self.start)
        for row in self.rows.values():
            self._layout.addWidget(row)
        self._layout.addWidget(self.flown)
        self._layout.addWidget(Gap(6))
        self._layout.addWidget(Rule())
        self._layout.addWidget(Gap(6))
        self._layout.addWidget(self.readouts)
        self._layout.addWidget(Gap(4))
        self._buttons = QHBoxLayout()
        self._buttons.addWidget(self.best_start)
        self._buttons.addWidget(self.search)
        self._layout.addLayout(self._buttons)
        self._layout.addWidget(self.against)
        self._layout.addStretch(1)
        self._rescale()

    def _connect(self) -> None:
        store = self._store
        self.tabs.chosen.connect(store.set_active)
        self._connect_row(self.start, None)
        for setting in SETTINGS:
            self._connect_row(self.rows[setting.key], setting)
        self.best_start.clicked.connect(self._take_best_start)
        self.search.clicked.connect(self.search_wanted)
        store.changed.connect(self._refresh)
        store.settled.connect(self._refresh)
        scale_changes().changed.connect(self._rescale)

    def _connect_row(self, row: SettingRow, setting: Setting | None) -> None:
        row.grasped.connect(self._store.begin_gesture)
        row.locked.connect(partial(self._lock, setting.key if setting else "start"))
        if setting is None:
            row.picked.connect(self._pick_start)
            row.stepped.connect(self._step_start)
            row.good_end.connect(self._start_to_good_end)
            row.typed.connect(self._type_start)
            row.reset.connect(self._reset_start)
        else:
            row.picked.connect(partial(self._pick, setting))
            row.stepped.connect(partial(self._step, setting))
            row.good_end.connect(partial(self._to_good_end, setting))
            row.typed.connect(partial(self._type, setting))
            row.reset.connect(partial(self._reset, setting))

    def _rescale(self) -> None:
        left, top, right, bottom = (px(margin) for margin in _MARGINS_PX)
        self._layout.setContentsMargins(left, top, right, bottom)
        self._buttons.setSpacing(px(8))

    # ---- what it shows ----

    @property
    def _active(self) -> ShootName:
        return self._store.active

    def _seen(self) -> Outlook | None:
        return self._store.outlook(self._active)

    def _refresh(self) -> None:
        plan, seen = self._store.plan, self._seen()
        self.setEnabled(seen is not None)
        self.setToolTip("" if seen else NO_PLACE)
        if plan is None or seen is None:
            return
        if self._active != self._shown:
            self._shown = self._active
            for row in (self.start, *self.rows.values()):
                row.accept()  # a text that was not understood belonged to the other shoot
        self.tabs.show_shoots(self._active, self._clocks())
        starts, good = self._store.starts(self._active), self._store.good(self._active)
        locked = self._store.locked(self._active)
        before = self._store.before_search(self._active)
        self.start.show_state(settings.start_state(plan, seen, starts, locked="start" in locked))
        for setting in SETTINGS:
            row, known = self.rows[setting.key], good.get(setting.key)
            row.setVisible(settings.has_choice(plan.camera, setting.key))
            row.show_state(
                settings.row_state(
                    setting, plan, seen, known, locked=setting.key in locked, before=before
                )
            )
        self._refresh_readouts()
        self._refresh_best_start()
        self._refresh_against()

    def _clocks(self) -> dict[ShootName, str]:
        outlooks = {name: self._store.outlook(name) for name in SHOOT_NAMES}
        return {
            name: clock_text(seen.night.clock(seen.press_s), seconds=True)
            for name, seen in outlooks.items()
            if seen is not None
        }

    def _refresh_best_start(self) -> None:
        starts, seen = self._store.starts(self._active), self._seen()
        if starts is None or seen is None:
            return
        best = starts.best_s
        locked = "start" in self._store.locked(self._active)
        self.best_start.setEnabled(best is not None and not locked)
        if locked:
            tip = say("The start is locked: open its lock to move it.")
        elif best is not None:
            tip = say("Start at {best}.", best=clock_text(seen.night.clock(best), seconds=True))
        else:
            tip = no_span_reason(seen.night, starts) or ""
        self.best_start.setToolTip(tip)
        self.best_start.setAccessibleDescription(tip)

    def _refresh_readouts(self) -> None:
        seen, motion = self._seen(), self._store.motion(self._active)
        if seen is None or motion is None:
            return
        self.readouts.show_entries(readouts(seen, motion, compared=is_roomy(self)))

    def _refresh_against(self) -> None:
        roomy = is_roomy(self)
        self.against.setVisible(roomy)
        a, b = self._store.outlook("A"), self._store.outlook("B")
        if roomy and a is not None and b is not None:
            self.against.table.show_rows(comparison(a, b))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show the comparison where the window has room for it."""
        super().resizeEvent(event)
        self._refresh_readouts()
        self._refresh_against()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the line that parts the column from the sheet."""
        QPainter(self).fillRect(0, 0, max(1, px(1)), self.height(), theme_of(self).rule)

    # ---- what it sends ----

    def _lock(self, key: LockKey, on: bool) -> None:
        self._store.lock(self._active, key, on=on)

    def _send(self, label: str, name: str, value: object) -> None:
        self._store.edit(label, {f"shoots.{self._active}.{name}": value})

    def _send_quietly(self, setting: Setting, value: float) -> None:
        # A step of a scale may lie outside the range of a plan: then nothing moves.
        with contextlib.suppress(PlanError):
            self._send(setting.label, setting.key, value)

    def _scale(self, setting: Setting) -> tuple[float, ...]:
        plan = self._store.plan
        return scale_of(plan.camera, setting.key) if plan else ()

    def _pick(self, setting: Setting, place: int) -> None:
        self._send_quietly(setting, self._scale(setting)[place])

    def _step(self, setting: Setting, steps: int, fine: bool) -> None:
        seen = self._seen()
        if seen is None:
            return
        scale = self._scale(setting)
        if fine:
            value = settings.fine_step(setting, seen.shoot, scale, steps)
        else:
            value = settings.stepped(scale, setting.value(seen.shoot), steps)
        self._send_quietly(setting, value)

    def _to_good_end(self, setting: Setting, end: int) -> None:
        good = self._store.good(self._active).get(setting.key)
        found = settings.runs(good) if good is not None else ()
        if found:
            self._pick(setting, found[0][0] if end < 0 else found[-1][1])

    def _reset(self, setting: Setting) -> None:
        self._send_quietly(setting, settings.default_of(setting, self._scale(setting)))

    def _type(self, setting: Setting, text: str) -> None:
        key = f"shoots.{self._active}.{setting.key}"
        row = self.rows[setting.key]
        try:
            self._store.edit(setting.label, {key: parse_value(key, text)})
        except PlanError as refusal:
            row.refuse(by_names(str(refusal), {key: setting.name}))
        else:
            row.accept()

    def _send_start(self, minutes: float) -> None:
        with contextlib.suppress(PlanError):
            self._send(say("start"), "start_after_event_min", minutes)

    def _start_at(self, time_s: float) -> None:
        seen = self._seen()
        if seen is not None:
            self._send_start(settings.minutes_at(seen.night, time_s))

    def _pick_start(self, place: int) -> None:
        plan, seen = self._store.plan, self._seen()
        if plan is not None and seen is not None:
            first, _ = settings.start_range_s(seen, self._store.starts(self._active))
            self._start_at(first + place)

    def _step_start(self, steps: int, fine: bool) -> None:
        seen = self._seen()
        if seen is not None:
            self._start_at(settings.start_stepped_s(seen.press_s, steps, fine=fine))

    def _start_to_good_end(self, end: int) -> None:
        starts = self._store.starts(self._active)
        if starts is not None:
            self._start_in_span(starts, starts.earliest_s if end < 0 else starts.latest_s)

    def _take_best_start(self) -> None:
        starts = self._store.starts(self._active)
        if starts is not None and starts.best_s is not None:
            self._store.begin_gesture()
            self._start_in_span(starts, starts.best_s)

    def _start_in_span(self, starts: Starts, time_s: float | None) -> None:
        """Go to a good start, on a whole second that is a good one too."""
        seen, first_s, last_s = self._seen(), starts.earliest_s, starts.latest_s
        if seen is None or time_s is None or first_s is None or last_s is None:
            return
        self._send_start(settings.minutes_in_span(seen.night, (first_s, last_s), time_s))

    def _reset_start(self) -> None:
        seen, field = self._seen(), field_of("shoots.A.start_after_event_min")
        if seen is None or field is None or not isinstance(field.default, (int, float)):
            return
        self._send_start(field.default if seen.night.twilight == "dusk" else -field.default)

    def _type_start(self, text: str) -> None:
        plan, seen = self._store.plan, self._seen()
        if plan is None or seen is None:
            return
        key = f"shoots.{self._active}.start_after_event_min"
        try:
            self._store.edit(say("start"), {key: _typed_minutes(key, text, seen)})
        except PlanError as refusal:
            self.start.refuse(by_names(str(refusal), {key: say("Start")}))
        else:
            self.start.accept()


def _typed_minutes(key: str, text: str, seen: Outlook) -> float:
    """A typed start in minutes after the event of its night."""
    typed = parse_value(key, text)
    event = seen.night.event
    if not isinstance(typed, (float, Clock, FromEvent)):
        clock = time_text(dt.time(16, 42, 10))
        raise PlanError(
            say("Start is empty; a clock time such as {clock} was expected.", clock=clock)
        )
    return start_minutes(typed, event.name, seen.night.clock(event.time_s))


class _Against(QWidget):
    """A against B as a table."""

    def __init__(self) -> None:
        super().__init__()
        columns = (Column(0, "left"), Column(1), Column(0), Column(1))
        self.table = Table(say("A against B"), columns, row_px=20, ruled=True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for part in (Gap(14), Rule(), Gap(8), self.table):
            layout.addWidget(part)
