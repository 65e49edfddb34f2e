"""Many nights at the settings of a shoot: worked out behind the window, shown, loaded, exported."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from threading import Event

import msgspec
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QBoxLayout, QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from app.background import Background, Progress
from app.nightwork import helped, nights_in_two, nights_standby
from app.shown.nights import (
    NightRow,
    SameSun,
    YearPicture,
    about_words,
    head_words,
    night_row,
    year_picture,
)
from app.standby import GONE, Standby
from app.store import Store
from app.theme import px, text_scale
from app.widgets.bar import Bar
from app.widgets.buttons import Button
from app.widgets.roomy import open_at
from app.widgets.switch import Switch
from app.widgets.text import Refusal, Text
from app.widgets.typed_row import TypedRow
from app.windows.nightstable import NightsTable
from app.windows.nightsyear import NightsYear
from app.windows.panes import NO_ANSWER, Pane
from core.clip import clip_of
from core.dates import date_text
from core.datetyped import typed_date
from core.edit import PlanError
from core.export.formats import check_new, write_to
from core.findings import CHECK_RULES
from core.ical import nights_calendar
from core.language import say, say_as, say_count
from core.manner import Manner, manner
from core.nights import NightSeen, night_changes, nights_between
from core.nightsreport import NIGHT_COLUMNS, night_rows
from core.plainvalues import as_csv
from core.plan import SHOOT_NAMES, Plan, ShootName, Shoots, Twilight

_TWILIGHTS: tuple[Twilight, ...] = ("dusk", "dawn")
#: Picture and table share the height; the column's own spare end gets next to nothing.
_SPREAD = 40
#: The nights are asked for once the plan was left alone for so long.
_REST_MS = 300
#: From this text scale on the buttons stand in two lines.
_LARGE_TEXT = 1.5
_ACROSS, _DOWN = QBoxLayout.Direction.LeftToRight, QBoxLayout.Direction.TopToBottom
_SAME_SUN = say("Same sun, another date")
_FOLLOW = say("The nights of this plan follow.")


@dataclass(frozen=True)
class _Asked:
    """What nights were asked for; hashable, so that an answer is known to belong to it.

    `plan` is without what no night of the list reads: the other shoot, and the shoot's own
    night and start.
    """

    plan: Plan
    name: ShootName
    first: dt.date
    last: dt.date
    twilight: Twilight
    written_in: Manner = field(default_factory=manner)


@dataclass(frozen=True)
class _Answer:
    """The nights with their lines and their picture; fewer nights where it was stopped."""

    seen: tuple[NightSeen, ...]
    rows: tuple[NightRow, ...]
    picture: YearPicture | None


class NightsWindow(Pane):
    """A table and a picture of any range of nights for the active shoot.

    What is shown always belongs to the plan as it stands: an edit that the nights read clears
    it and asks anew.
    """

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Nights"), parent)
        self._behind = Background(self)
        self._behind.answered.connect(self._take_answer)
        self._behind.failed.connect(self._fail)
        self._progress = Progress(self)
        self._progress.told.connect(self._tell_progress, Qt.ConnectionType.QueuedConnection)
        self._stop = Event()
        self._standby = nights_standby()
        self._stopped: Hashable = None
        self._shown: _Asked | None = None
        self._answer: _Answer | None = None
        self._said = _FOLLOW
        self._by_sun = False
        self._picked: dt.date | None = None
        self._wanted: tuple[dt.date, dt.date, Twilight] | None = None
        # A hand that drags a slider asks for no year at every step.
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._work_out_if_shown)
        store.changed.connect(self._drop_stale)
        open_at(self, 1280, 800)

    @property
    def nights(self) -> tuple[NightSeen, ...]:
        """The nights that are shown; none while they are worked out."""
        return self._answer.seen if self._answer is not None else ()

    @property
    def picked(self) -> NightSeen | None:
        """The night that is chosen."""
        return next((one for one in self.nights if one.night.date == self._picked), None)

    @property
    def refusal(self) -> str:
        """What could not be done last, if anything."""
        return self._refusal.sentence

    def subject(self) -> Hashable:
        """Always the same: dates typed here stay, whatever the plan becomes."""
        return "nights"

    def fill(self, column: QVBoxLayout) -> None:
        """The head, what is asked for, the picture, the table, the buttons."""
        self.told = Text(self._said, size_px=20, weight=700)
        self.about = Text("", size_px=13, ink="ink2", wraps=True)
        column.addWidget(self.told)
        column.addSpacing(px(2))
        column.addWidget(self.about)
        column.addLayout(self._asking())
        self._refusal = Refusal()
        column.addWidget(self._refusal)
        self.year, self.table = NightsYear(), NightsTable()
        for view in (self.year, self.table):
            view.chosen.connect(self._pick_place)
            view.wanted.connect(self._load_active)
        self.table.setMinimumHeight(px(180))
        column.addSpacing(px(6))
        column.addWidget(self.year, 5 * _SPREAD)
        column.addWidget(self.table, 3 * _SPREAD)
        column.addLayout(self._buttons())
        self._show_busy(busy=self._behind.asked is not None)

    def _asking(self) -> QHBoxLayout:
        """The range and the twilight: the year of the active shoot until others are chosen."""
        shoot = self._seen.shoot
        first, last = (dt.date(shoot.date.year, *day) for day in ((1, 1), (12, 31)))
        first, last, twilight = self._wanted or (first, last, shoot.twilight)
        self.first, self.last = (
            TypedRow(label, day, self._typed_date, date_text, label_px=36, field_px=130)
            for label, day in ((say("From"), first), (say_as("range", "to"), last))
        )
        self.twilight = Switch(say("Twilight"), [say("Dusk"), say("Dawn")])
        self.twilight.setFixedWidth(px(140))
        self.twilight.show_choice(_TWILIGHTS.index(twilight))
        self.bar = Bar(say("Nights worked out"))
        self.stop_button = Button(say("Stop"), height_px=26)
        self.again_button = Button(say("Work out the nights"), height_px=26)
        for row in (self.first, self.last):
            row.taken.connect(self.work_out)
        self.twilight.chosen.connect(lambda _place: self.work_out())
        self.stop_button.clicked.connect(self.stop)
        self.again_button.clicked.connect(self.work_out)
        line = QHBoxLayout()
        line.setContentsMargins(0, px(8), 0, 0)
        line.setSpacing(px(12))
        for widget in (self.twilight, self.first, self.last):
            line.addWidget(widget, 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self.bar, 1)
        line.addWidget(self.stop_button)
        line.addWidget(self.again_button)
        line.addStretch(1)
        return line

    def _buttons(self) -> QBoxLayout:
        self.load_buttons = {
            name: Button(say("Load into {name}", name=name)) for name in SHOOT_NAMES
        }
        for name, button in self.load_buttons.items():
            button.clicked.connect(partial(self.load, name))
        self.sun_button = Button(_SAME_SUN)
        self.sun_button.clicked.connect(self._turn_to_sun)
        self._ways = Text("", size_px=12, ink="ink2", wraps=True)
        self.csv_button, self.ics_button = (
            Button(say("Table as CSV…")),
            Button(say("Calendar file…")),
        )
        self.csv_button.clicked.connect(self.export_csv)
        self.ics_button.clicked.connect(self.export_calendar)
        loading, writing = QHBoxLayout(), QHBoxLayout()
        for button in (*self.load_buttons.values(), self.sun_button):
            loading.addWidget(button)
        writing.addWidget(self._ways, 1)
        writing.addWidget(self.csv_button)
        writing.addWidget(self.ics_button)
        large = text_scale() >= _LARGE_TEXT
        line = QBoxLayout(_DOWN if large else _ACROSS)
        line.setContentsMargins(0, px(10), 0, 0)
        for part, share in ((loading, 0), (writing, 1)):
            line.addLayout(part, share)
        if large:
            loading.addStretch(1)
        for spaced in (line, loading, writing):
            spaced.setSpacing(px(8))
        return line

    def refresh(self) -> None:
        """Show the nights of the plan as it stands, or ask for them."""
        self._drop_stale()
        if self._answer is not None:
            if self.year.picture is not self._answer.picture:
                self._show_answer(self._answer)
            self._show_loading()
        elif self._asked() not in (self._stopped, self._behind.asked):
            self._stand_by()
            self._rest.start()

    def work_out(self) -> None:
        """Ask for the nights."""
        self._rest.stop()
        self._stop.set()
        self._stopped = None
        try:
            asked = self._asked()
            count = nights_between(asked.first, asked.last)
        except PlanError as refusal:
            self._behind.forget()
            self._refusal.tell(str(refusal))
            self._show_nothing(say("No nights are shown."))
            return
        self._refusal.tell("")
        self._stop = Event()
        self._show_nothing(
            say_count("Working out {count} night …", "Working out {count} nights …", count)
        )
        self._show_busy(busy=True)
        told = partial(self._progress.told.emit, asked)
        self._behind.ask(
            asked, partial(_work_out, self._plan, asked, told, self._stop, self._standby)
        )

    def _stand_by(self) -> None:
        """Start the helper while the plan is left alone, so that it is there for the nights."""
        asked = self._asked()
        with suppress(PlanError, *GONE):
            if helped(nights_between(asked.first, asked.last)):
                self._standby.start()

    def _work_out_if_shown(self) -> None:
        if self.isVisible() and self._filled_for is not None and self._store.plan is not None:
            self.work_out()

    def stop(self) -> None:
        """Leave the nights that are under way."""
        self._rest.stop()
        self._stopped = self._asked()
        self._behind.forget()
        self._stop.set()
        self._show_nothing(say("Stopped; no nights are shown."))

    def load(self, name: ShootName) -> None:
        """Turn a shoot to the chosen night: at its best start if it has one, or by the same sun."""
        seen, sun = self.picked, self._same_sun()
        if seen is None:
            return
        start_s = None if sun is None else sun.start_s(seen)
        if sun is not None and start_s is None:
            self._refusal.tell(sun.missing(seen))
            return
        self._refusal.tell("")
        self._store.begin_gesture()
        label = say("load {date} into {name}", date=date_text(seen.night.date), name=name)
        self._store.edit(label, msgspec.to_builtins(night_changes(name, seen, start_s)))

    def _load_active(self) -> None:
        self.load(self._store.active)

    def _turn_to_sun(self) -> None:
        """Look for the sun of the planned start on other nights, or for best starts again."""
        self._by_sun = not self._by_sun
        self._refusal.tell("")
        self._show_loading()

    def _same_sun(self) -> SameSun | None:
        return SameSun.of(self._store.active, self._seen) if self._by_sun else None

    def export_csv(self) -> None:
        """Write the table into a file of the pilot's choice."""
        table = as_csv(NIGHT_COLUMNS, night_rows(self.nights))
        self._export(say("Export the nights as a table"), "csv", table.encode())

    def export_calendar(self) -> None:
        """Write the good starts into a calendar file of the pilot's choice."""
        name = self._store.active
        shooting_s = clip_of(self._plan.shoot(name), self._plan.camera).shooting_s
        made_s = dt.datetime.now(dt.UTC).timestamp()
        content = nights_calendar(self._plan, name, self.nights, shooting_s, made_s)
        self._export(say("Export the good starts as a calendar"), "ics", content)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Leave what is under way, and who stands by for more."""
        self._rest.stop()
        self._stop.set()
        self._standby.leave()
        self._stopped = None
        super().closeEvent(event)

    def _asked(self) -> _Asked:
        """What the plan as it stands and the fields ask for."""
        plan, name = self._plan, self._store.active
        shoot = msgspec.structs.replace(
            plan.shoot(name), date=dt.date(2000, 1, 1), twilight="dusk", start_after_event_min=0.0
        )
        plan = msgspec.structs.replace(plan, shoots=Shoots(A=shoot, B=shoot))
        self._wanted = self.first.value, self.last.value, _TWILIGHTS[self.twilight.current]
        return _Asked(plan, name, *self._wanted)

    def _drop_stale(self) -> None:
        """Take away, or leave, what does not belong to the plan and the fields any more."""
        if self._store.plan is None:
            self._stop.set()
            self._behind.forget()
            self._shown = self._answer = self._wanted = None
        elif self._filled_for is not None and self._stale():
            self._stop.set()
            self._behind.forget()
            self._show_nothing(_FOLLOW)

    def _stale(self) -> bool:
        asked = self._asked()
        return self._shown not in (None, asked) or self._behind.asked not in (None, asked)

    def _take_answer(self, asked: _Asked, answer: _Answer) -> None:
        if self._filled_for is not None and asked == self._asked():
            self._shown, self._answer = asked, answer
            self._show_answer(answer)

    def _show_answer(self, answer: _Answer) -> None:
        self._show_busy(busy=False)
        name, seen = self._store.active, answer.seen
        self.told.show_text(head_words(name, seen))
        self.table.show_rows(answer.rows)
        self.year.show_picture(answer.picture)
        self._show_loading()
        dates = [one.night.date for one in seen]
        mine = self._plan.shoot(name).date
        wanted = next((date for date in (self._picked, mine) if date in dates), dates[0])
        self._pick_place(dates.index(wanted))

    def _fail(self) -> None:
        if self._filled_for is not None:
            self._show_nothing(NO_ANSWER)

    def _tell_progress(self, asked: _Asked, done: int, count: int) -> None:
        if self._filled_for is not None and asked == self._behind.asked:
            self.bar.show_share(done / count)
            self.about.show_text(say("{done} of {count}", done=done, count=count))

    def _show_nothing(self, told: str) -> None:
        """Empty table and picture, and say why."""
        self._shown = self._answer = None
        self._said = told
        self.told.show_text(told)
        self.about.show_text("")
        self.table.show_rows(())
        self.year.show_picture(None)
        self._show_busy(busy=False)

    def _show_busy(self, *, busy: bool) -> None:
        self.bar.setVisible(busy)
        self.bar.show_share(0.0)
        self.stop_button.setVisible(busy)
        self.again_button.setVisible(not busy and self._answer is None)
        loading = (*self.load_buttons.values(), self.sun_button)
        for button in (*loading, self.csv_button, self.ics_button):
            button.setEnabled(self._answer is not None)

    def _pick_place(self, place: int) -> None:
        self._picked = self.nights[place].night.date
        self.year.choose(place)
        self.table.choose(place)

    def _show_loading(self) -> None:
        """Say what loads, into which shoot, and put the flags where shoots are."""
        name, sun = self._store.active, self._same_sun()
        about = about_words(self._plan, name, self.nights) if sun is None else sun.about()
        self.about.show_text(about)
        self.table.model_of_nights.note(None if sun is None else sun.words)
        self.sun_button.show_text(_SAME_SUN if sun is None else say("Best start of each night"))
        for each, button in self.load_buttons.items():
            button.show_text(
                say("Load into {name}", name=each)
                if sun is None
                else say("Load into {name}, same sun", name=each)
            )
            button.show_strong(strong=each == name)
        self._ways.show_text(
            say("Enter or a double-click loads into {name}. {rules}", name=name, rules=CHECK_RULES)
        )
        self._show_loaded()

    def _show_loaded(self) -> None:
        """Put the flags at the nights that shoots are on."""
        loaded: dict[int, tuple[ShootName, ...]] = {}
        for place, seen in enumerate(self.nights):
            night = (seen.night.date, seen.night.twilight)
            names = tuple(
                name
                for name in SHOOT_NAMES
                if (self._plan.shoot(name).date, self._plan.shoot(name).twilight) == night
            )
            if names:
                loaded[place] = names
        self.table.show_loaded(loaded)

    def _typed_date(self, text: str) -> dt.date:
        return typed_date(text, self._seen.shoot.date.year)

    def _export(self, title: str, ending: str, content: bytes) -> None:
        """Ask for a file and write it; what stands in the way is said in a sentence."""
        first, last = (seen.night.date.isoformat() for seen in (self.nights[0], self.nights[-1]))
        nights = say("nights {first} to {last}", first=first, last=last)
        suggested = f"{nights}.{ending}"
        chosen, _ = QFileDialog.getSaveFileName(self, title, suggested, f"*.{ending}")
        if not chosen:
            return
        path = Path(chosen)
        try:
            if not path.suffix:
                path = path.with_name(f"{path.name}.{ending}")
                # The dialog asked about the name without its end.
                check_new(path, say("choose it by its whole name to replace it"))
            write_to(path, content)
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._refusal.tell("")


def _work_out(
    plan: Plan, asked: _Asked, told: partial[None], stop: Event, standby: Standby
) -> _Answer:
    seen = nights_in_two(
        plan, asked.name, asked.first, asked.last, asked.twilight, told, stop.is_set, standby
    )
    rows = tuple(night_row(night) for night in seen)
    whole = seen and not stop.is_set()
    return _Answer(seen, rows, year_picture(plan, asked.name, seen) if whole else None)
