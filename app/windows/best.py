"""Best settings: an aim, the ranked short list, the trade-off, and the filters to pack."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial
from typing import Final

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.background import Background
from app.preferred import keep_preferences, preferences
from app.store import Store
from app.theme import px
from app.widgets.buttons import Button
from app.widgets.roomy import open_at
from app.widgets.switch import Switch
from app.widgets.text import Refusal, Text
from app.widgets.tradecurve import TradeCurve
from app.widgets.typed_row import TypedRow
from app.windows.panes import LOOKING, NO_ANSWER, Pane, beside, emptied, heading, labelled
from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.language import say, say_as
from core.manner import Manner, manner
from core.memory import Memory
from core.night import Night
from core.packing import Packed, filters_to_pack, packed_text
from core.phrases import leading, within
from core.plan import Plan, ShootName
from core.preferences import preferences_from
from core.sentences import shown
from core.settings import Aim, Choice, Settings, Wish, apply_choice, settings_of
from core.takewords import clip_text, every_text, locked_texts
from core.tradeoff import trade_off
from core.words import (
    chance_text,
    clock_text,
    cut_down,
    iso_text,
    number_text,
    seconds_text,
    share_text,
    shutter_text,
    slack_text,
)  # fmt: skip

_AIMS: tuple[tuple[Aim, str], ...] = (
    ("surest", say("surest take")),
    ("longest", say("longest clip")),
    ("mixed_light", say("mixed light")),
    ("minute", say("a minute in it")),
)
_WANTED: tuple[tuple[str, str, str], ...] = (
    ("shutter_wanted_s", say("Shutter wanted"), "shutter_s"),
    ("shutter_accepted_s", say("Shortest accepted"), "shutter_s"),
    ("iso_wanted", say("ISO wanted"), "iso"),
    ("iso_accepted", say("Highest accepted"), "iso"),
    ("clip_length_s", say("Clip wanted"), "clip_length_s"),
    ("clip_least_s", say("Shortest accepted clip"), "clip_length_s"),
)

#: What refusals call them, at their head and within.
_CALLED: Final = {
    name: (label, within(label))
    for name, label in (
        *((name, label) for name, label, _ in _WANTED),
        ("intervals_wanted_s", say("The interval wanted")),
    )
}


@dataclass(frozen=True)
class _Asked:
    """A question to the search; hashable, so that an answer is known to belong to it."""

    plan: Plan
    name: ShootName
    wish: Wish
    written_in: Manner = field(default_factory=manner)


class BestWindow(Pane):
    """Searches behind the window and applies what the pilot takes, one undo each."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Best settings"), parent)
        self._memory = Memory(entries=24)
        self._search, self._packing = Background(self), Background(self)
        self._search.answered.connect(self._answer)
        self._search.failed.connect(lambda: self._tell(NO_ANSWER))
        self._packing.answered.connect(self._pack)
        self._packing.failed.connect(lambda: self.packed.show_text(NO_ANSWER))
        self._answered: _Asked | None = None
        self._wanted = preferences()
        self.choices: tuple[Choice, ...] = ()
        self.take_buttons: list[Button] = []
        open_at(self, 680, 760)

    def fill(self, column: QVBoxLayout) -> None:
        """The parts: the aim, the list, the trade-off, the filters, what is liked best."""
        self.choices, self.take_buttons, self._answered = (), [], None
        about = say(
            "Every shutter, ISO, aperture, filter and interval of this camera, for this aim."
        )
        column.addLayout(heading(say("What do you want?"), about))
        self.aim = Switch(say("Aim"), [text for _, text in _AIMS], size_px=13)
        self.aim.show_choice(0)
        self.aim.chosen.connect(lambda _place: self.refresh())
        column.addLayout(labelled(say("Aim"), self.aim))
        self.start = Switch(
            say("Start"), [say("the whole night"), say("the start as it is")], size_px=13
        )
        self.start.show_choice(0)
        self.start.chosen.connect(lambda _place: self.refresh())
        column.addLayout(labelled(say("Start"), self.start))
        self.minute = TypedRow(
            say("Minute"), self._lamps_min(), self._typed_minutes, self._minutes_text
        )
        self.minute.taken.connect(self.refresh)
        column.addWidget(self.minute)
        self.told = Text("", size_px=13, weight=600, wraps=True)
        column.addLayout(
            heading(say("The best of it"), say("Best first; each with what it costs."))
        )
        column.addWidget(self.told)
        self._list = QVBoxLayout()
        self._list.setSpacing(px(6))
        column.addLayout(self._list)
        about = say(
            "Press a point to take that interval and the longest clip that the battery "
            "gives, with no minute to spare: press on time and stop on time."
        )
        column.addLayout(heading(say("Interval against clip length"), about))
        self.curve = TradeCurve()
        self.curve.taken.connect(self.take_trade)
        column.addWidget(self.curve)
        column.addLayout(
            heading(say("Filters to pack"), say("For the good choices of the useful starts."))
        )
        self.pack_button = Button(say("Which filters does this night need?"))
        self.pack_button.clicked.connect(self.ask_filters)
        column.addLayout(beside(self.pack_button))
        self.packed = Text("", size_px=13, wraps=True)
        column.addWidget(self.packed)
        self._fill_wanted(column)

    def _fill_wanted(self, column: QVBoxLayout) -> None:
        about = say("The trade's habits to begin with; kept for all your places.")
        column.addLayout(heading(say("What you like best"), about))
        self._refusal = Refusal()
        self.wanted: dict[str, TypedRow] = {}
        first, last = self._wanted.intervals_wanted_s
        for name, label, value in (
            ("shortest", say("Interval wanted from"), first),
            ("longest", say_as("range", "to"), last),
        ):
            self._add_wanted(column, name, label, "interval_s", value)
        for name, label, key in _WANTED:
            self._add_wanted(column, name, label, key, getattr(self._wanted, name))
        column.addWidget(self._refusal)

    def _add_wanted(
        self, column: QVBoxLayout, name: str, label: str, key: str, value: float
    ) -> None:
        text = {"shutter_s": shutter_text, "iso": iso_text}.get(key, seconds_text)
        row = TypedRow(label, value, partial(_typed_amount, key), text)
        row.taken.connect(self._take_wanted)
        self.wanted[name] = row
        column.addWidget(row)

    @property
    def refusal(self) -> str:
        """What is wrong with the preferences that were typed last, if anything."""
        return self._refusal.sentence

    @property
    def searching(self) -> bool:
        """Whether an answer is on its way."""
        return self._search.asked is not None or self._packing.asked is not None

    def refresh(self) -> None:
        """Ask for the list anew where the question is another one."""
        plan, seen = self._plan, self._seen
        self.minute.setVisible(self._aim() == "minute")
        self.curve.show_trades(
            trade_off(plan, seen), seen.shoot.interval_s, seen.clip.clip_length_s
        )
        asked = self._question()
        if asked in (self._search.asked, self._answered):
            return
        self._packing.forget()
        self.packed.show_text("")
        self._tell(LOOKING)
        for button in self.take_buttons:
            button.setEnabled(False)
        # What stands there is no answer any more, even if the same is asked again meanwhile.
        self._answered = None
        self._search.ask(asked, partial(_settings, asked, self._memory))

    def forgotten(self) -> None:
        """Which filters to pack is asked again by hand; the list when the window comes up."""
        self.packed.show_text("")

    def ask_filters(self) -> None:
        """Ask which filters to pack."""
        asked = self._question()
        self.packed.show_text(LOOKING)
        self._packing.ask(asked, partial(_filters, asked, Memory()))

    def take(self, choice: Choice) -> None:
        """Give the active shoot a choice's start and settings."""
        plan = self._store.plan
        if plan is not None:
            self._store.begin_gesture()
            name = self._store.active
            self._store.take_searched(say("take the settings"), apply_choice(plan, name, choice))

    def take_trade(self, place: int) -> None:
        """Give the active shoot an interval and the longest clip that it gets."""
        trade, name = self.curve.trades[place], self._store.active
        self._store.begin_gesture()
        self._store.edit(
            say("trade interval against length"),
            {
                f"shoots.{name}.interval_s": trade.interval_s,
                f"shoots.{name}.clip_length_s": trade.clip_length_s,
            },
        )

    def _answer(self, asked: _Asked, found: Settings) -> None:
        if self._is_current(asked):
            self._answered = asked
            self._show(found)

    def _pack(self, asked: _Asked, packed: tuple[Packed, ...]) -> None:
        if self._is_current(asked):
            lines = [packed_text(self._seen.night, one) for one in packed]
            self.packed.show_text(
                "\n".join(lines) or say("None: the bare lens does for this night.")
            )

    def _is_current(self, asked: _Asked) -> bool:
        return self._store.plan is not None and asked == self._question()

    def _show(self, found: Settings) -> None:
        self.choices = found.choices
        self.take_buttons = []
        emptied(self._list)
        self._tell(found.reason or "")
        for place, choice in enumerate(found.choices, 1):
            self._list.addLayout(self._entry(place, choice))

    def _tell(self, words: str) -> None:
        self.told.show_text(words)
        self.told.setVisible(bool(words))

    def _entry(self, place: int, choice: Choice) -> QVBoxLayout:
        night, name = self._seen.night, self._store.active
        box = QVBoxLayout()
        box.setContentsMargins(0, px(6), 0, 0)
        box.setSpacing(px(1))
        words = settings_line(night, choice)
        take = Button(say("Take for {name}", name=name), height_px=26)
        take.setAccessibleName(
            say("Take number {number} for {name}: {choice}", number=place, name=name, choice=words)
        )
        take.clicked.connect(partial(self.take, choice))
        self.take_buttons.append(take)
        line = beside(take, above_px=0)
        line.insertWidget(0, Text(f"{place}", weight=700))
        line.insertWidget(1, Text(words, weight=600))
        box.addLayout(line)
        box.addWidget(Text(gives_line(choice), size_px=12, ink="ink2", wraps=True))
        costs = ". ".join(leading(cost) for cost in choice.costs)
        if costs:
            box.addWidget(Text(f"{costs}.", size_px=12, ink="ink2", wraps=True))
        return box

    def _take_wanted(self) -> None:
        """Keep what is liked best, if it can stand together, and look again."""
        values: dict[str, object] = {name: self.wanted[name].value for name, _, _ in _WANTED}
        ends = [self.wanted[name].value for name in ("shortest", "longest")]
        try:
            wanted = preferences_from({**values, "intervals_wanted_s": ends}, _CALLED)
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._refusal.tell("")
        self._wanted = wanted
        keep_preferences(wanted)
        self.refresh()

    def _question(self) -> _Asked:
        plan, seen = self._plan, self._seen
        locked = self._store.locked(self._store.active)
        here = seen.press_s if self.start.current == 1 or "start" in locked else None
        aim = self._aim()
        moment_s = None
        if aim == "minute":
            moment_s = seen.night.event.time_s + 60.0 * self.minute.value
        wish = Wish(
            aim=aim,
            earliest_s=here,
            latest_s=here,
            moment_s=moment_s,
            preferences=self._wanted,
            held=frozenset(key for key in locked if key != "start"),
        )
        return _Asked(plan, self._store.active, wish)

    def _aim(self) -> Aim:
        return _AIMS[self.aim.current][0]

    def _lamps_min(self) -> float:
        """Minutes after the event at which the lamps switch; a guess where they do not."""
        seen = self._seen
        light = seen.light
        time_s = light.lamps_on_s if seen.night.twilight == "dusk" else light.lamps_off_s
        return 15.0 if time_s is None else (time_s - seen.night.event.time_s) / 60.0


def settings_line(night: Night, choice: Choice) -> str:
    """Start and settings of a choice in one line."""
    start = clock_text(night.clock(choice.start_s), seconds=True)
    every, length = every_text(choice.interval_s), clip_text(choice.clip_length_s)
    return "  ".join((start, *locked_texts(choice), every, length))


def gives_line(choice: Choice) -> str:
    """What a choice gives: how sure, how much room, how much of the light is mixed."""
    return say(
        "holds {chance}, slack {slack}, mixed light {share}, shutter angle {angle}°, "
        "{margin} min of battery to spare",
        chance=chance_text(choice.p_hold),
        slack=slack_text(choice.slack_stops),
        share=share_text(choice.mixed_light_share),
        angle=number_text(choice.shutter_angle_deg, 0),
        margin=number_text(cut_down(choice.margin_min, 0.1), 1),
    )


def _settings(asked: _Asked, memory: Memory) -> Settings:
    return settings_of(asked.plan, asked.name, memory, asked.wish)


def _filters(asked: _Asked, memory: Memory) -> tuple[Packed, ...]:
    return filters_to_pack(asked.plan, asked.name, memory, asked.wish)


def _typed_amount(key: str, text: str) -> float:
    value = amount_of(key, plain_text(text))
    if value is None:
        raise PlanError(
            say("{typed} was not understood; a number was expected.", typed=shown(text))
        )
    return value
