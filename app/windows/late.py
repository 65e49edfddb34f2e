"""Late, early or in the air: what can still be done; and several batteries in one evening."""

from __future__ import annotations

import time
from dataclasses import dataclass
from functools import partial

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from app.background import Background
from app.preferred import preferences
from app.store import Store
from app.theme import px
from app.widgets.buttons import Button
from app.widgets.switch import Switch
from app.widgets.text import Text
from app.widgets.typed_row import TypedRow
from app.windows.panes import LOOKING, NO_ANSWER, Pane, beside, emptied, heading, labelled
from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.memory import Memory
from core.nowtime import asked_about_s, now_of
from core.option import Option
from core.plan import Plan, ShootName
from core.preferences import Preferences
from core.rescue import Rescue, rescue
from core.sentences import shown
from core.series import LONGEST_SWAP_MIN, Series, SeriesTake, series
from core.words import (
    chance_text,
    clock_text,
    cut_down,
    f_number_text,
    filter_text,
    iso_text,
    kept_text,
    minutes_text,
    number_text,
    seconds_text,
    shutter_text,
    slack_text,
)

_COUNTS = (2, 3, 4)
_CHANGED = "The plan has changed since: look again."
#: Landing, changing the battery and taking off again (common practice, no source).
_SWAP_MIN = 3.0
#: Where the clock is not in the night, this much after the planned press.
_LATE_S = 600.0
# A pilot reads the list and presses within so long; 'now' means as much.
_READING_S = 60.0
_TOO_LATE = "The clock has moved on since: look again for what can still be done."


@dataclass(frozen=True)
class _Late:
    """What can still be done, asked; hashable, so that an answer is known to belong to it."""

    plan: Plan
    name: ShootName
    now_s: float
    by_the_clock: bool
    airborne: bool
    wanted: Preferences


@dataclass(frozen=True)
class _Several:
    """Several takes, asked."""

    plan: Plan
    name: ShootName
    count: int
    swap_min: float
    wanted: Preferences


class LateWindow(Pane):
    """Asks behind the window and applies what the pilot takes, one undo each."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, "Late, early, or one more battery", parent)
        self._memory = Memory(entries=24)
        self._behind = Background(self)
        self._behind.answered.connect(self._answer)
        self._behind.failed.connect(lambda: self._clear(NO_ANSWER))
        self.options: tuple[Option, ...] = ()
        self.takes: tuple[SeriesTake, ...] = ()
        # The last question with its answer, and whether the pilot typed the time of it.
        self._known: tuple[_Late | _Several, Rescue | Series] | None = None
        self._typed = False
        self.resize(px(680), px(720))

    def fill(self, column: QVBoxLayout) -> None:
        """The parts: the clock now with what can be done, and several batteries."""
        self.options, self.takes, self._typed = (), (), False
        about = "For the active shoot. Nothing is listed that the battery does not bring home."
        column.addLayout(heading("What can still be done?", about))
        self.now = TypedRow("It is now", self._now_s(), self._typed_now, self._clock)
        self.now.taken.connect(self._note_typed)
        column.addWidget(self.now)
        self.airborne = QCheckBox("at the first station, hovering")
        self.airborne.setAccessibleName("The craft is in the air, hovering at the first station")
        column.addLayout(labelled("In the air", self.airborne))
        self.look_button = Button("What can still be done?", strong=True)
        self.look_button.clicked.connect(self.look)
        column.addLayout(beside(self.look_button, above_px=10))
        self.told = Text("", weight=600, wraps=True)
        column.addWidget(self.told)
        self._list = QVBoxLayout()
        self._list.setSpacing(px(4))
        column.addLayout(self._list)
        about = "The path is set up for the first take and flown again for the others."
        column.addLayout(heading("Several batteries", about))
        self.count = Switch("Batteries", [str(count) for count in _COUNTS], size_px=13)
        self.count.show_choice(0)
        column.addLayout(labelled("Batteries", self.count))
        self.swap = TypedRow("To change one", _SWAP_MIN, _typed_swap, minutes_text)
        column.addWidget(self.swap)
        self.series_button = Button("Plan the takes")
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
        asked, answer = self._known
        if not self._is_current(asked):
            self._clear(_CHANGED)
        elif not (self.options or self.takes):
            self._show(answer)

    def forgotten(self) -> None:
        """What can still be done is asked again by hand: the clock has moved on."""
        self._clear("")

    def look(self) -> None:
        """Ask what can still be done from now on."""
        if not self._typed and not self.now.field.isModified():
            self.now.put(self._now_s())
        if not self.now.settle():
            return
        plan, name = self._plan, self._store.active
        airborne = self.airborne.isChecked()
        asked = _Late(plan, name, self.now.value, not self._typed, airborne, preferences())
        self._clear(LOOKING)
        self._behind.ask(asked, partial(_rescue, asked, self._memory))

    def plan_takes(self) -> None:
        """Ask for several takes in this evening."""
        if not self.swap.settle():
            return
        plan = self._plan
        count = _COUNTS[self.count.current]
        asked = _Several(plan, self._store.active, count, self.swap.value, preferences())
        self._clear("")
        self.series_told.show_text(LOOKING)
        self._behind.ask(asked, partial(_series, asked, self._memory))

    def do(self, option: Option) -> None:
        """Take what can still be done as the plan, if it still can."""
        asked = self._known[0] if self._known is not None else None
        if isinstance(asked, _Late) and asked.by_the_clock and now_s() > _until_s(option, asked):
            self._clear(_TOO_LATE)
        else:
            self.take(option.plan, "what can still be done")

    def take(self, plan: Plan, label: str) -> None:
        """Take what was chosen as the plan, if it is still the plan that was asked about."""
        if self._known is None or not self._is_current(self._known[0]):
            self._clear(_CHANGED)
            return
        self._store.begin_gesture()
        self._store.replace(label, plan)

    def _note_typed(self) -> None:
        self._typed = True

    def _is_current(self, asked: _Late | _Several) -> bool:
        return (asked.plan, asked.name) == (self._plan, self._store.active)

    def _answer(self, asked: _Late | _Several, answer: Rescue | Series) -> None:
        if self._store.plan is None:
            return
        if self._is_current(asked):
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
        self.options, self.takes = (), ()
        emptied(self._list)
        emptied(self._takes)
        self.told.show_text(told)
        self.series_told.show_text("")

    def _show_options(self, found: Rescue) -> None:
        self.options = found.options
        self.told.show_text(found.reason or "")
        for place, option in enumerate(found.options, 1):
            button = Button("Do this", height_px=26)
            button.setAccessibleName(f"Do number {place}: {option.sentence}")
            button.clicked.connect(partial(self.do, option))
            entry = _entry(f"{place}", option.sentence, _option_line(option), button)
            self._list.addLayout(entry)

    def _show_takes(self, found: Series) -> None:
        self.takes = found.takes
        self.series_told.show_text(found.reason or "")
        for take in found.takes:
            button = Button(f"Take number {take.number} as the shoot", height_px=26)
            button.clicked.connect(partial(self.take, take.plan, f"take number {take.number}"))
            entry = _entry(f"{take.number}", self._clocks(take), _take_line(take), button)
            self._takes.addLayout(entry)

    def _clocks(self, take: SeriesTake) -> str:
        night = self._seen.night
        off, press, last, down = (
            clock_text(night.clock(instant), seconds=True)
            for instant in (take.take_off_s, take.start_s, take.last_frame_s, take.landing_s)
        )
        return f"Take off {off}, press {press}, last frame {last}, down {down}"

    def _now_s(self) -> float:
        """The clock if the shoot's night is near, else some minutes after the press."""
        seen, here_s = self._seen, now_s()
        first_s, last_s = asked_about_s(seen.night)
        inside = first_s <= here_s <= last_s
        return here_s if inside else seen.press_s + _LATE_S

    def _typed_now(self, text: str) -> float:
        return now_of(text, self._seen.night)

    def _clock(self, now_s: float) -> str:
        return clock_text(self._seen.night.clock(now_s), seconds=True)


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


def _option_line(option: Option) -> str:
    chance = "" if option.p_hold is None else f"holds {chance_text(option.p_hold)}, "
    return (
        f"{chance}slack {slack_text(option.slack_stops)}, {kept_text(option.kept_share)} of the"
        f" frames kept, {number_text(option.clip_length_s, 1)} s of clip,"
        f" {number_text(cut_down(option.margin_min, 0.1), 1)} min of battery to spare"
    )


def _take_line(take: SeriesTake) -> str:
    shoot = take.shoot
    return (
        f"{shutter_text(shoot.shutter_s)}, {iso_text(shoot.iso)}, {f_number_text(shoot.f_number)},"
        f" {filter_text(shoot.nd_stops)}, every {seconds_text(shoot.interval_s)},"
        f" {number_text(take.clip_length_s, 1)} s of clip;"
        f" holds {chance_text(take.p_hold)}, slack {slack_text(take.slack_stops)},"
        f" {number_text(cut_down(take.margin_min, 0.1), 1)} min of battery to spare"
    )


def _rescue(asked: _Late, memory: Memory) -> Rescue:
    return rescue(asked.plan, asked.name, asked.now_s, memory, asked.wanted, asked.airborne)


def _series(asked: _Several, memory: Memory) -> Series:
    return series(asked.plan, asked.name, asked.count, asked.swap_min, memory, asked.wanted)


def _typed_swap(text: str) -> float:
    minutes = amount_of("swap_min", plain_text(text))
    if minutes is None or not 0.0 <= minutes <= LONGEST_SWAP_MIN:
        most = number_text(LONGEST_SWAP_MIN)
        raise PlanError(f"{shown(text)} was not understood; 0 to {most} minutes were expected.")
    return minutes
