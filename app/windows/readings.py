"""Readings on site: a test still or a meter value, the minute of the lamps, what they move."""

from __future__ import annotations

import datetime as dt
from functools import partial

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.store import Store
from app.theme import px
from app.widgets.buttons import Button
from app.widgets.switch import Switch
from app.widgets.text import Refusal, Text
from app.widgets.typed_row import TypedRow
from app.windows.panes import Pane, beside, emptied, heading, labelled
from core.belief import SURPRISE_SIGMAS
from core.dates import short_date
from core.edit import PlanError
from core.forecast import belief, surprise
from core.lampsseen import with_lamps_seen_on
from core.language import say
from core.lastnight import with_readings
from core.lessonwords import belief_sentences
from core.memory import Memory
from core.moved import moved
from core.names import part_text
from core.parse import parse_value
from core.plan import PARTS, Part, Plan, Reading
from core.readings import expected_tone, reading_mid_log2, unread
from core.sentences import shown
from core.tonetyped import typed_tone_stops
from core.words import (
    clock_text,
    f_number_text,
    filter_text,
    iso_text,
    number_text,
    shutter_text,
    signed_text,
)  # fmt: skip

_SETTINGS = (
    ("shutter_s", say("Shutter"), shutter_text),
    ("iso", say("ISO"), iso_text),
    ("f_number", say("Aperture"), f_number_text),
    ("nd_stops", say("Filter"), filter_text),
)
_CONTRADICTED = say(
    "These readings cannot all be right, or the night is another than typed: look at "
    "their settings and the cloud, or remove one. Until then they count for little."
)
#: A still is made some minutes before the press (common practice, no source).
_BEFORE_MIN = 6.0


class ReadingsWindow(Pane):
    """Takes readings into the plan, one undo each, and says at once what they move."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Readings on site"), parent)
        self._memory = Memory(entries=12)
        self._told_of: Plan | None = None

    def fill(self, column: QVBoxLayout) -> None:
        """The parts: a reading, the lamps, what was read so far."""
        about = say(
            "A test still or a meter value some minutes before the take fixes most of "
            "what is unknown about the night."
        )
        column.addLayout(heading(say("A reading"), about))
        self.part = Switch(
            say("Part of the picture"), [part_text(part) for part in PARTS], size_px=13
        )
        self.part.show_choice(0)
        self.part.chosen.connect(lambda _place: self._expect())
        column.addLayout(labelled(say("Part"), self.part))
        seen = self._seen
        before = seen.shoot.start_after_event_min - _BEFORE_MIN
        self.time = TypedRow(say("Read at"), before, self._typed_minutes, self._minutes_text)
        self.time.taken.connect(self._expect)
        column.addWidget(self.time)
        self.settings: dict[str, TypedRow] = {}
        for name, label, text in _SETTINGS:
            row = TypedRow(label, getattr(seen.shoot, name), partial(_typed_number, name), text)
            row.taken.connect(self._expect)
            self.settings[name] = row
            column.addWidget(row)
        self.tone = TypedRow(say("Tone"), None, self._typed_tone, _tone_text)
        self.tone.field.setPlaceholderText(say("+0.7 or EV 3.5"))
        column.addWidget(self.tone)
        self.take_button = Button(say("Take the reading"), strong=True)
        self.take_button.clicked.connect(self.take)
        column.addLayout(beside(self.take_button, above_px=10))
        self._refusal = Refusal()
        column.addWidget(self._refusal)
        self.moves = Text("", weight=600, wraps=True)
        self.learned = Text("", size_px=12, ink="ink2", wraps=True)
        column.addWidget(self.moves)
        column.addWidget(self.learned)
        if self._seen.night.twilight == "dusk":
            self._fill_lamps(column)
        column.addLayout(
            heading(say("Read so far"), say("Readings of other nights stay in the plan."))
        )
        self._list = QVBoxLayout()
        self._list.setSpacing(px(2))
        column.addLayout(self._list)

    def _fill_lamps(self, column: QVBoxLayout) -> None:
        about = say(
            "The first glow says by which level, clock or minute the lamps are switched here."
        )
        column.addLayout(heading(say("The lamps just came on"), about))
        on_s = self._seen.light.lamps_on_s
        minutes = 15.0 if on_s is None else (on_s - self._seen.night.event.time_s) / 60.0
        self.lamps = TypedRow(
            say("First glow at"), minutes, self._typed_minutes, self._minutes_text
        )
        column.addWidget(self.lamps)
        self.lamps_button = Button(say("The lamps came on then"))
        self.lamps_button.clicked.connect(self.take_lamps)
        column.addLayout(beside(self.lamps_button))

    @property
    def refusal(self) -> str:
        """What is wrong with what was asked for last, if anything."""
        return self._refusal.sentence

    def refresh(self) -> None:
        """Show what is expected now and what was read so far."""
        self._expect()
        if self._plan != self._told_of:
            # Undone or changed since: what was said is no longer so.
            self.moves.show_text("")
            self.learned.show_text("")
        emptied(self._list)
        for reading in self._plan.readings:
            self._list.addLayout(self._line(reading))
        if not self._plan.readings:
            self._list.addWidget(Text(say("None yet."), size_px=12, ink="ink3"))

    def read_at(self, time_s: float) -> None:
        """Turn the reading to an instant, UTC seconds, ready for its tone to be typed."""
        self.time.put((time_s - self._seen.night.event.time_s) / 60.0)
        self._expect()
        self.tone.field.setFocus()

    def take(self) -> None:
        """Take the reading that stands in the fields, and say what it moves."""
        rows = (self.time, *self.settings.values(), self.tone)
        understood = [row.settle() for row in rows]
        if not all(understood):
            return
        if self.tone.value is None:
            self._refusal.tell(say("The tone is empty; type stops from mid-grey or a meter's EV."))
            return
        plan, reading = self._plan, self._reading(self.tone.value)
        if reading in plan.readings:
            # Twice the same still is no second witness.
            self._refusal.tell(
                say("This reading is in the plan; read another still for a second one.")
            )
            return
        self._replace(say("take a reading"), plan, (*plan.readings, reading))

    def take_lamps(self) -> None:
        """Take the minute of the lamps, and say what it moves."""
        if not self.lamps.settle():
            return
        plan, seen = self._plan, self._seen
        time_s = seen.night.event.time_s + 60.0 * self.lamps.value
        try:
            told = with_lamps_seen_on(plan, self._store.active, time_s, self._memory)
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._tell(plan, told)
        self._store.begin_gesture()
        self._store.replace(say("lamps came on"), told)

    def remove(self, reading: Reading) -> None:
        """Take a reading out of the plan."""
        plan = self._plan
        kept = tuple(one for one in plan.readings if one != reading)
        if kept == plan.readings:
            return
        self._replace(say("remove a reading"), plan, kept)

    def _replace(self, label: str, plan: Plan, readings: tuple[Reading, ...]) -> None:
        try:
            told = with_readings(plan, readings, self._memory)
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._tell(plan, told)
        self._store.begin_gesture()
        self._store.replace(label, told)

    def _tell(self, before: Plan, after: Plan) -> None:
        self._refusal.tell("")
        self._told_of = after
        name = self._store.active
        change = moved(before, after, name, self._memory)
        self.moves.show_text(f"{name}: {change.sentence}")
        held = [belief(plan, plan.shoot(name), self._memory) for plan in (before, after)]
        off = surprise(after, after.shoot(name), self._memory)
        contradicted = (_CONTRADICTED,) if off > SURPRISE_SIGMAS else ()
        self.learned.show_text(" ".join((*contradicted, *belief_sentences(*held))))

    def _expect(self) -> None:
        """Say beside the tone what is expected there and how sure that is."""
        seen, reading = self._seen, self._reading(0.0)
        expected = expected_tone(reading, self._plan, seen)
        why = unread(reading, seen.shoot, seen.typed, seen.framesky, self._plan.bands)
        if expected is None:
            self.tone.note(say("the path sees too little sky"))
        elif why == "lamps":
            due = clock_text(seen.night.clock(seen.typed.lamps_on_s or 0.0))
            self.tone.note(say("lamps are due at {clock}: say below when they came on", clock=due))
        else:
            stops, sigma = expected
            self.tone.note(
                say(
                    "expected {stops} ±{sigma} stops",
                    stops=signed_text(stops),
                    sigma=number_text(sigma, 1),
                )
            )

    def _line(self, reading: Reading) -> QVBoxLayout:
        seen = self._seen
        moment = dt.datetime.fromisoformat(reading.time).astimezone(seen.night.clock(0.0).tzinfo)
        words = say(
            "{date} {clock}  {part} {stops} stops",
            date=short_date(moment.date()),
            clock=clock_text(moment),
            part=part_text(reading.part),
            stops=signed_text(reading.stops),
        )
        box = QVBoxLayout()
        if reading.take_id is not None:
            # It goes with its take, and with what the take taught.
            text = say(
                "{reading}  (take {take}, forgotten under Last night)",
                reading=words,
                take=reading.take_id,
            )
            box.addLayout(beside(Text(text, size_px=12), above_px=0))
            return box
        remove = Button(say("Remove"), height_px=24)
        remove.setAccessibleName(say("Remove the reading of {reading}", reading=words))
        remove.clicked.connect(partial(self.remove, reading))
        box.addLayout(beside(Text(words, size_px=12), remove, above_px=0))
        return box

    def _reading(self, stops: float) -> Reading:
        time_s = self._seen.night.event.time_s + 60.0 * self.time.value
        part: Part = PARTS[self.part.current]
        settings = {name: row.value for name, row in self.settings.items()}
        time = self._seen.night.clock(round(time_s)).isoformat()
        return Reading(time=time, part=part, stops=stops, **settings)

    def _typed_tone(self, text: str) -> float:
        return typed_tone_stops(text, reading_mid_log2(self._reading(0.0), self._plan))


def _typed_number(name: str, text: str) -> float:
    value = parse_value(f"shoots.A.{name}", text)
    if not isinstance(value, (int, float)):
        raise PlanError(
            say("{typed} was not understood; a number was expected.", typed=shown(text))
        )
    return float(value)


def _tone_text(stops: float | None) -> str:
    return "" if stops is None else say("{stops} stops", stops=signed_text(stops, 2))
