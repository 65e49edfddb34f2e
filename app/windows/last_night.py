"""What the last take showed, in the words of the trade, and what it makes of tonight."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import msgspec
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.store import Store
from app.theme import px
from app.widgets.buttons import Button
from app.widgets.roomy import open_at
from app.widgets.switch import Switch
from app.widgets.text import Refusal, Text
from app.widgets.typed_row import TypedRow
from app.widgets.value_field import ValueField
from app.windows.panes import Pane, beside, emptied, heading
from core.amounts import amount_of, plain_text
from core.dates import date_text, short_date
from core.datetyped import typed_date
from core.edit import PlanError, checked, with_values
from core.forecast import outlook, starts
from core.language import say, say_as
from core.lastnight import flown_take, lesson_of, without_take
from core.lessonwords import lesson_sentences
from core.memory import Memory
from core.moved import tonight_sentence
from core.outlook import Outlook
from core.plan import FIRST_DATE, LAST_DATE, PARTS, Learned, Part, Plan, Remark, Showed, Take
from core.readings import instant_s
from core.sentences import shown
from core.starttime import parse_start, start_minutes
from core.words import clock_text

_SHOWED: tuple[tuple[str, Showed | None], ...] = (
    (say("not looked at"), None),
    (say("fine"), "fine"),
    (say_as("tone", "over"), "over"),
    (say("too dark"), "dark"),
)
_PART_WORDS: dict[Part, str] = {
    "street": say("Street and lamps"),
    "land": say("Land"),
    "sky": say("Sky"),
}


@dataclass
class _Said:
    """What stands in a row of remarks; it outlives the row, which is made anew at times."""

    choice: int = 0
    frame: str = "1"
    by: str = say("0 stops")


class RemarkRow(QWidget):
    """What one part showed: fine, over or too dark, at which frame and by how much."""

    def __init__(self, part: Part, said: _Said) -> None:
        super().__init__()
        self.part, self._said = part, said
        name = Text(_PART_WORDS[part], ink="ink2")
        # As wide as a typed row's label with the gap behind it, which is wider than this row's.
        name.setFixedWidth(px(152))
        self.showed = Switch(_PART_WORDS[part], [text for text, _ in _SHOWED], size_px=12)
        self.showed.show_choice(said.choice)
        self.showed.chosen.connect(self._choose)
        self.frame = self._field(say("frame"), said.frame, 46)
        self.by = self._field(say_as("stops", "by"), said.by, 64)
        for field in (self.frame, self.by):
            field.textChanged.connect(self._keep)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, px(2), 0, px(2))
        # All of it stands beside each other at 200 % text on 1280 pixels.
        line.setSpacing(px(6))
        for widget in (name, self.showed):
            line.addWidget(widget)
        for label, field in ((say("from frame"), self.frame), (say_as("stops", "by"), self.by)):
            line.addWidget(Text(label, size_px=12, ink="ink2", whole=True))
            line.addWidget(field)
        line.addStretch(1)
        self._enable()

    def _field(self, name: str, text: str, width_px: int) -> ValueField:
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        called = f"{_PART_WORDS[self.part]}: {name}"
        field = ValueField(called, width_px=width_px, align=left, size_px=13)
        field.setText(text)
        return field

    def _choose(self, choice: int) -> None:
        self._said.choice = choice
        self._enable()

    def _keep(self) -> None:
        self._said.frame, self._said.by = self.frame.text(), self.by.text()

    def _enable(self) -> None:
        on = _SHOWED[self.showed.current][1] in ("over", "dark")
        self.frame.setEnabled(on)
        self.by.setEnabled(on)

    def remark(self) -> Remark | None:
        """What is said of the part; None while nothing is.

        Raises
        ------
        PlanError
            With one sentence, when the frame or the stops cannot be understood.
        """
        showed = _SHOWED[self.showed.current][1]
        if showed is None:
            return None
        if showed == "fine":
            return Remark(self.part, showed)
        frame, by = plain_text(self.frame.text()), plain_text(self.by.text())
        if not frame.isdecimal() or not 1 <= len(frame) <= 6 or int(frame) < 1:
            raise PlanError(
                say(
                    "The frame {typed} was not understood; a frame of the take such as 210 "
                    "was expected.",
                    typed=shown(self.frame.text()),
                )
            )
        stops = amount_of("by_stops", by)
        if stops is None or not 0.0 <= stops <= 10.0:
            raise PlanError(
                say(
                    "{typed} was not understood; stops beyond the limit from 0 to 10 were "
                    "expected.",
                    typed=shown(self.by.text()),
                )
            )
        return Remark(self.part, showed, int(frame) - 1, stops)


class _Fields(NamedTuple):
    """The night and the press of a take, and the night to plan."""

    night: dt.date
    start_min: float
    tonight: dt.date


@dataclass(frozen=True)
class _Lesson:
    """A take, what is said of its lesson, and the takes and figures by which that is so."""

    take: Take
    words: str
    by: tuple[tuple[Take, ...], tuple[Learned, ...]]


class LastNightWindow(Pane):
    """Learns from a flown take and plans another night with it, one undo each."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Last night"), parent)
        self._memory = Memory(entries=12)
        # What was typed and told outlives the fields, which are made anew at another text scale.
        self._said: dict[Part, _Said] = {}
        self._typed_for: Hashable = None
        self._taught: _Lesson | None = None
        self._planned: tuple[Plan, str] | None = None
        open_at(self, 700, 620)

    def fill(self, column: QVBoxLayout) -> None:
        """The parts: the take, what it showed, what follows, the takes so far."""
        fields = self._typed()
        about = say("The settings are those of the active shoot; type when it was really pressed.")
        column.addLayout(heading(say("The take"), about))
        self.night = TypedRow(say("Night of"), fields.night, self._typed_night, date_text)
        self.start = TypedRow(say("Pressed at"), fields.start_min, self._typed_start, self._clock)
        column.addWidget(self.night)
        column.addWidget(self.start)
        about = say("Fine is for the whole take; frames count from 1; by 0 stops is just beyond.")
        column.addLayout(heading(say("What it showed"), about))
        self.remarks = {part: RemarkRow(part, self._said[part]) for part in PARTS}
        for row in self.remarks.values():
            column.addWidget(row)
        self.learn_button = Button(say("Learn from it"), strong=True)
        self.learn_button.clicked.connect(self.learn)
        column.addLayout(beside(self.learn_button, above_px=10))
        self._refusal = Refusal()
        column.addWidget(self._refusal)
        self.learned = Text("", weight=600, wraps=True)
        column.addWidget(self.learned)
        about = say(
            "What stays with the place is in every night from now on; weather and haze are not."
        )
        column.addLayout(heading(say("Tonight"), about))
        self.tonight = TypedRow(say("Night of"), fields.tonight, self._typed_night, date_text)
        column.addWidget(self.tonight)
        self.plan_button = Button(say("Plan this night at its best start"))
        self.plan_button.clicked.connect(self.plan_tonight)
        column.addLayout(beside(self.plan_button))
        self.told = Text("", weight=600, wraps=True)
        column.addWidget(self.told)
        column.addLayout(
            heading(say("Takes so far"), say("Forgetting a take forgets what it taught."))
        )
        self._list = QVBoxLayout()
        self._list.setSpacing(px(2))
        column.addLayout(self._list)

    @property
    def refusal(self) -> str:
        """What is wrong with what was asked for last, if anything."""
        return self._refusal.sentence

    def refresh(self) -> None:
        """Show the takes of the plan, and what was told as long as it is so."""
        plan = self._plan
        if self._taught and (plan.takes, plan.learned) != self._taught.by:
            # Undone, forgotten, or another take or reading taught since.
            self._taught = None
        if self._planned and plan != self._planned[0]:
            # Other settings, another air or another lesson move the best start.
            self._planned = None
        self.learned.show_text(self._taught.words if self._taught else "")
        self.told.show_text(self._planned[1] if self._planned else "")
        emptied(self._list)
        for take in self._plan.takes:
            self._list.addLayout(self._line(take))
        if not self._plan.takes:
            self._list.addWidget(Text(say("None yet."), size_px=12, ink="ink3"))

    def subject(self) -> Hashable:
        """The place and the shoot: another night is what is planned here."""
        return (self._plan.place.name, self._store.active)

    def _typed(self) -> _Fields:
        """What the fields of the take begin with: what stood in them, for the same shoot here.

        Remarks are kept for the other shoot too: it may be the one they speak of.
        """
        shoot, before, subject = self._seen.shoot, self._typed_for, self.subject()
        self._typed_for = subject
        if subject == before:
            return _Fields(self.night.value, self.start.value, self.tonight.value)
        if not isinstance(before, tuple) or before[0] != self._plan.place.name:
            self._said = {part: _Said() for part in PARTS}
            self._taught = None
        self._planned = None
        later = shoot.date + dt.timedelta(days=1)
        return _Fields(shoot.date, shoot.start_after_event_min, later)

    def learn(self) -> None:
        """Learn from what was said of the take."""
        if not (self.night.settle() and self.start.settle()):
            return
        try:
            said = [row.remark() for row in self.remarks.values()]
            flown, take = self._flown()
            remarks = [remark for remark in said if remark is not None]
            lesson = lesson_of(flown, take, remarks, self._memory)
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._refusal.tell("")
        plan = msgspec.structs.replace(lesson.plan, shoots=self._plan.shoots)
        words = " ".join(lesson_sentences(lesson))
        self._taught = _Lesson(lesson.take, words, (plan.takes, plan.learned))
        self._store.begin_gesture()
        self._store.replace(say("learn from a take"), plan)
        self.refresh()

    def plan_tonight(self) -> None:
        """Turn the active shoot to the night typed, at its best start."""
        if not self.tonight.settle():
            return
        name = self._store.active
        try:
            plan = with_values(self._plan, {f"shoots.{name}.date": self.tonight.value})
            found = starts(plan, name, self._memory)
            if found.best_s is not None:
                event_s = outlook(plan, name, self._memory).night.event.time_s
                minutes = (found.best_s - event_s) / 60.0
                plan = with_values(plan, {f"shoots.{name}.start_after_event_min": minutes})
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._refusal.tell("")
        flown = sorted(plan.takes, key=lambda take: instant_s(take.start))
        take = self._taught.take if self._taught else (flown[-1] if flown else None)
        if take is not None:
            self._planned = plan, tonight_sentence(plan, take, name, self._memory)
        self._store.begin_gesture()
        self._store.replace(say("plan the night"), plan)
        self.refresh()

    def forget(self, take_id: str) -> None:
        """Take a take and what it taught out of the plan."""
        self._store.begin_gesture()
        self._store.replace(say("forget a take"), without_take(self._plan, take_id, self._memory))

    def _flown(self) -> tuple[Plan, Take]:
        """The plan with the shoot as it was flown, and the take."""
        name = self._store.active
        values = {
            f"shoots.{name}.date": self.night.value,
            f"shoots.{name}.start_after_event_min": self.start.value,
        }
        plan = checked(with_values(self._plan, values))
        seen = outlook(plan, name, self._memory)
        pressed = seen.night.clock(round(seen.press_s))
        return plan, flown_take(plan, name, f"{pressed:%Y-%m-%d %H:%M}", pressed)

    def _line(self, take: Take) -> QHBoxLayout:
        moment = dt.datetime.fromisoformat(take.start)
        words = say(
            "{date} {clock}, shoot {shoot}",
            date=short_date(moment.date()),
            clock=clock_text(moment, seconds=True),
            shoot=take.shoot,
        )
        forget = Button(say("Forget"), height_px=24)
        forget.setAccessibleName(say("Forget the take of {take}", take=words))
        forget.clicked.connect(partial(self.forget, take.id))
        return beside(Text(words, size_px=12), forget, above_px=0)

    def _typed_night(self, text: str) -> dt.date:
        date = typed_date(text, self._seen.shoot.date.year)
        if not FIRST_DATE <= date <= LAST_DATE:
            raise PlanError(
                say(
                    "{typed} lies outside the years of the sun's formulas; a date from "
                    "{first} to {last} was expected.",
                    typed=shown(text),
                    first=FIRST_DATE.year,
                    last=LAST_DATE.year,
                )
            )
        return date

    def _typed_start(self, text: str) -> float:
        night = self._night().night
        return start_minutes(parse_start(text), night.event.name, night.clock(night.event.time_s))

    def _clock(self, minutes: float) -> str:
        night = self._night().night
        return clock_text(night.clock(night.event.time_s + 60.0 * minutes), seconds=True)

    def _night(self) -> Outlook:
        """The active shoot on the night of the take."""
        name = self._store.active
        plan = with_values(self._plan, {f"shoots.{name}.date": self.night.value})
        return outlook(plan, name, self._memory)
