"""Late, early or in the air: what can still be done; and several batteries in one evening."""

from __future__ import annotations

import time
from dataclasses import dataclass
from functools import partial
from typing import Literal

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from app.background import Background
from app.preferred import preferences
from app.store import Store
from app.theme import px
from app.widgets.buttons import Button
from app.widgets.roomy import open_at
from app.widgets.switch import Switch
from app.widgets.text import Text
from app.widgets.typed_row import TypedRow
from app.windows.panes import LOOKING, NO_ANSWER, Pane, beside, emptied, heading, labelled
from core.language import say
from core.memory import Memory
from core.nowtime import asked_about_s, now_of
from core.option import Option
from core.plan import Plan, ShootName, Twilight
from core.preferences import Preferences
from core.rescue import Rescue, rescue
from core.rescuereport import option_figures
from core.series import Series, SeriesTake, series, swap_min_of
from core.seriesreport import take_figures, take_settings
from core.words import (
    clock_text,
    minutes_text,
)

_COUNTS = (2, 3, 4)
_CHANGED = say("The plan has changed since: look again.")
#: Landing, changing the battery and taking off again (common practice, no source).
_SWAP_MIN = 3.0
#: Where the clock is not in the night, this much after the planned press.
_LATE_S = 600.0
# A pilot reads the list and presses within so long; 'now' means as much.
_READING_S = 60.0
_TOO_LATE = say("The clock has moved on since: look again for what can still be done.")
_TICK_MS = 1000
_WHOLE_TWILIGHT: dict[Twilight, str] = {
    "dusk": say("For the whole dusk, as the clock is in another night."),
    "dawn": say("For the whole dawn, as the clock is in another night."),
}

#: What stands for 'now': the clock, what was typed, or a late take where the clock is in another
#: night, so that one may be tried out beforehand.
_Source = Literal["clock", "typed", "supposed"]
_NOTES: dict[_Source, str] = {
    "clock": say("by the clock"),
    "typed": say("as typed; empty it for the clock"),
    "supposed": say("clock in another night: planned press + 10 min"),
}


@dataclass(frozen=True)
class _Late:
    """What can still be done, asked; hashable, so that an answer is known to belong to it."""

    plan: Plan
    name: ShootName
    now_s: float
    source: _Source
    airborne: bool
    wanted: Preferences


@dataclass(frozen=True)
class _Several:
    """Several takes, asked."""

    plan: Plan
    name: ShootName
    count: int
    swap_min: float
    earliest_s: float | None
    source: _Source
    wanted: Preferences


class LateWindow(Pane):
    """Asks behind the window and applies what the pilot takes, one undo each."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Late, early, or one more battery"), parent)
        self._memory = Memory(entries=24)
        self._behind = Background(self)
        self._behind.answered.connect(self._answer)
        self._behind.failed.connect(lambda: self._clear(NO_ANSWER))
        self.options: tuple[Option, ...] = ()
        self.takes: tuple[SeriesTake, ...] = ()
        self.take_buttons: list[Button] = []
        # The last question with its answer.
        self._known: tuple[_Late | _Several, Rescue | Series] | None = None
        self.clock_ticks = QTimer(self)
        self.clock_ticks.timeout.connect(self._tick)
        self.clock_ticks.start(_TICK_MS)
        open_at(self, 680, 720)

    def fill(self, column: QVBoxLayout) -> None:
        """The parts: the clock now with what can be done, and several batteries."""
        self.options, self.takes, self.take_buttons = (), (), []
        about = say("For the active shoot. Nothing is listed that the battery does not bring home.")
        column.addLayout(heading(say("What can still be done?"), about))
        # What was typed; None, as an empty field gives it, is the clock.
        self.now = TypedRow(say("It is now"), None, self._typed_now, self._now_text)
        self.now.taken.connect(self._show_now)
        self.now.field.reset.connect(self._back_to_the_clock)
        self.now.field.restored.connect(self._show_now)
        column.addWidget(self.now)
        self._show_now()
        self.airborne = QCheckBox(say("at the first station, hovering"))
        self.airborne.setAccessibleName(
            say("The craft is in the air, hovering at the first station")
        )
        column.addLayout(labelled(say("In the air"), self.airborne))
        self.look_button = Button(say("What can still be done?"), strong=True)
        self.look_button.clicked.connect(self.look)
        column.addLayout(beside(self.look_button, above_px=10))
        self.told = Text("", weight=600, wraps=True)
        column.addWidget(self.told)
        self._list = QVBoxLayout()
        self._list.setSpacing(px(4))
        column.addLayout(self._list)
        about = say(
            "The path is set up for the first take, which takes off from now on, and "
            "flown again for the others."
        )
        column.addLayout(heading(say("Several batteries"), about))
        self.count = Switch(say("Batteries"), [str(count) for count in _COUNTS], size_px=13)
        self.count.show_choice(0)
        column.addLayout(labelled(say("Batteries"), self.count))
        self.swap = TypedRow(say("To change one"), _SWAP_MIN, swap_min_of, minutes_text)
        column.addWidget(self.swap)
        self.series_button = Button(say("Plan the takes"))
        self.series_button.clicked.connect(self.plan_takes)
        column.addLayout(beside(self.series_button))
        self.series_told = Text("", weight=600, wraps=True)
        column.addWidget(self.series_told)
        self._takes = QVBoxLayout()
        self._takes.setSpacing(px(4))
        column.addLayout(self._takes)

    @property
    def searching(self) -> bool:
        """Whether an answer is on its way."""
        return self._behind.asked is not None

    def refresh(self) -> None:
        """Show the last answer while it is one to the plan as it stands."""
        if self._known is None:
            return
        if not self._is_current(*self._known):
            self._clear(_CHANGED)
        elif not (self.options or self.takes):
            self._show(self._known[1])
        else:
            self._mark_taken()

    def forgotten(self) -> None:
        """What can still be done is asked again by hand: the clock has moved on."""
        self._clear("")

    def look(self) -> None:
        """Ask what can still be done from now on."""
        if not self.now.settle():
            return
        self._show_now()
        at_s, source = self._now()
        airborne = self.airborne.isChecked()
        asked = _Late(self._plan, self._store.active, at_s, source, airborne, preferences())
        self._clear(LOOKING)
        self._behind.ask(asked, partial(_rescue, asked, self._memory))

    def plan_takes(self) -> None:
        """Ask for several takes in this evening."""
        if not (self.now.settle() and self.swap.settle()):
            return
        self._show_now()
        at_s, source = self._now()
        asked = _Several(
            self._plan, self._store.active, _COUNTS[self.count.current], self.swap.value,
            None if source == "supposed" else at_s, source, preferences(),
        )  # fmt: skip
        self._clear("")
        self.series_told.show_text(LOOKING)
        self._behind.ask(asked, partial(_series, asked, self._memory))

    def do(self, option: Option) -> None:
        """Take what can still be done as the plan, if it still can."""
        asked = self._known[0] if self._known is not None else None
        if (
            isinstance(asked, _Late)
            and asked.source == "clock"
            and now_s() > _until_s(option, asked)
        ):
            self._clear(_TOO_LATE)
        else:
            self.take(option.plan, say("what can still be done"))

    def fly(self, take: SeriesTake) -> None:
        """Take one of several takes as the plan, if it can still take off."""
        asked = self._known[0] if self._known is not None else None
        by_the_clock = isinstance(asked, _Several) and asked.source == "clock"
        if by_the_clock and now_s() > take.take_off_s + _READING_S:
            # The others may still be flown.
            self.series_told.show_text(self._missed(take))
        else:
            self.take(take.plan, say("take number {number}", number=take.number))

    def take(self, plan: Plan, label: str) -> None:
        """Take what was chosen as the plan, if it is still the plan that was asked about."""
        if self._known is None or not self._is_current(*self._known):
            self._clear(_CHANGED)
            return
        self._store.begin_gesture()
        self._store.replace(label, plan)

    def _is_current(self, asked: _Late | _Several, answer: Rescue | Series) -> bool:
        """Whether an answer is one to the plan as it stands: asked about, or a take of it."""
        listed = [take.plan for take in answer.takes] if isinstance(answer, Series) else []
        return self._store.active == asked.name and self._plan in (asked.plan, *listed)

    def _answer(self, asked: _Late | _Several, answer: Rescue | Series) -> None:
        if self._store.plan is None:
            return
        if self._is_current(asked, answer):
            self._known = asked, answer
            self._show(answer)
        else:
            self._clear(_CHANGED)

    def _show(self, answer: Rescue | Series) -> None:
        if isinstance(answer, Rescue):
            self._show_options(answer)
        else:
            self._show_takes(answer)

    def _clear(self, told: str) -> None:
        self._known = None
        self.options, self.takes, self.take_buttons = (), (), []
        emptied(self._list)
        emptied(self._takes)
        self.told.show_text(told)
        self.series_told.show_text("")

    def _show_options(self, found: Rescue) -> None:
        self.options = found.options
        self.told.show_text(found.reason or "")
        for place, option in enumerate(found.options, 1):
            button = Button(say("Do this"), height_px=26)
            button.setAccessibleName(
                say("Do number {number}: {sentence}", number=place, sentence=option.sentence)
            )
            button.clicked.connect(partial(self.do, option))
            entry = _entry(f"{place}", option.sentence, option_figures(option), button)
            self._list.addLayout(entry)

    def _show_takes(self, found: Series) -> None:
        self.takes = found.takes
        self.series_told.show_text(f"{self._since(found)} {found.reason or ''}".strip())
        for take in found.takes:
            button = Button("", height_px=26)
            button.clicked.connect(partial(self.fly, take))
            self.take_buttons.append(button)
            entry = _entry(
                f"{take.number}",
                self._clocks(take),
                f"{take_settings(take)}; {take_figures(take)}",
                button,
            )
            self._takes.addLayout(entry)
        self._mark_taken()

    def _mark_taken(self) -> None:
        """Say of each listed take whether it is the shoot by now."""
        for button, take in zip(self.take_buttons, self.takes, strict=True):
            is_shoot = take.plan == self._plan
            button.show_text(
                say("Number {number} is the shoot", number=take.number)
                if is_shoot
                else say("Take number {number} as the shoot", number=take.number)
            )
            button.setEnabled(not is_shoot)

    def _since(self, found: Series) -> str:
        night = self._seen.night
        if found.earliest_s is None:
            return _WHOLE_TWILIGHT[night.twilight]
        return say(
            "From {clock} on.", clock=clock_text(night.clock(found.earliest_s), seconds=True)
        )

    def _missed(self, take: SeriesTake) -> str:
        off = clock_text(self._seen.night.clock(take.take_off_s), seconds=True)
        return say(
            "Take number {number} was to take off at {clock}, and the clock has moved on "
            "since: take a later one, or plan the takes again.",
            number=take.number,
            clock=off,
        )

    def _clocks(self, take: SeriesTake) -> str:
        night = self._seen.night
        off, press, last, down = (
            clock_text(night.clock(instant), seconds=True)
            for instant in (take.take_off_s, take.start_s, take.last_frame_s, take.landing_s)
        )
        return say(
            "Take off {off}, press {press}, last frame {last}, down {down}",
            off=off,
            press=press,
            last=last,
            down=down,
        )

    def _now(self) -> tuple[float, _Source]:
        """What counts as now, UTC seconds, and where it is from."""
        return self._clock() if self.now.value is None else (self.now.value, "typed")

    def _clock(self) -> tuple[float, _Source]:
        """The clock if the shoot's night is near, else some minutes after the press."""
        seen, here_s = self._seen, now_s()
        first_s, last_s = asked_about_s(seen.night)
        if first_s <= here_s <= last_s:
            return here_s, "clock"
        return seen.press_s + _LATE_S, "supposed"

    def _now_text(self, typed_s: float | None) -> str:
        shown_s = self._clock()[0] if typed_s is None else typed_s
        return clock_text(self._seen.night.clock(shown_s), seconds=True)

    def _typed_now(self, text: str) -> float | None:
        if not text.strip():
            return None
        return now_of(text, self._seen.night)

    def _show_now(self) -> None:
        self.now.put(self.now.value)
        self.now.note(_NOTES[self._now()[1]])

    def _back_to_the_clock(self) -> None:
        self.now.put(None)
        self._show_now()

    def _tick(self) -> None:
        """Let the clock run on in its field, unless a time is typed there."""
        field = self.now.field if self.isVisible() and self._store.plan is not None else None
        if field is not None and not (field.isModified() or field.refused):
            self._show_now()


def _until_s(option: Option, asked: _Late) -> float:
    """Until when an option can be begun as it was told: its take-off, or in the air its press."""
    off = option.start_s if asked.airborne and option.kind != "another_night" else option.take_off_s
    spare_s = 0.0 if option.latest_s is None else option.latest_s - option.start_s
    return off + max(spare_s, _READING_S)


def now_s() -> float:
    """The computer's clock, UTC seconds."""
    return time.time()


def _entry(number: str, sentence: str, figures: str, button: Button) -> QVBoxLayout:
    box = QVBoxLayout()
    box.setContentsMargins(0, px(6), 0, 0)
    box.setSpacing(px(1))
    box.addWidget(Text(f"{number}  {sentence}", weight=600, wraps=True))
    box.addWidget(Text(figures, size_px=12, ink="ink2", wraps=True))
    box.addLayout(beside(button, above_px=2))
    return box


def _rescue(asked: _Late, memory: Memory) -> Rescue:
    return rescue(asked.plan, asked.name, asked.now_s, memory, asked.wanted, asked.airborne)


def _series(asked: _Several, memory: Memory) -> Series:
    return series(
        asked.plan, asked.name, asked.count, asked.swap_min, memory, asked.wanted, asked.earliest_s
    )
