"""The field window: what comes next, when to stop, and the few deeds of an evening.

The window shows `core.site` of the plan, of what was noted and of its clock, once a second
and whenever the plan changes: nothing is counted up, so a machine that slept shows what stands
when it wakes, and says what passed meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

import msgspec
from PySide6.QtCore import QEvent, QSize, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QKeySequence, QResizeEvent, QShortcut, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.background import Background
from app.field.board import board_of, is_tight
from app.field.checks import Checks
from app.field.choices import Choices
from app.field.deedrow import DeedRow
from app.field.deeds import NOTED
from app.field.dress import dress, step
from app.field.halves import NextHalf, StopHalf
from app.field.keptlog import KeptLog
from app.field.offer import better_start_s
from app.preferred import preferences
from app.remember import Last
from app.store import Store
from app.theme import px, scale_changes, text_scale
from app.widgets.buttons import Button
from app.widgets.text import Text
from app.windows.late import now_s
from app.windows.panes import LOOKING, NO_ANSWER
from core.checklist import checklist_of
from core.edit import PlanError, with_values
from core.fieldlog import FieldLog, as_seen, with_take_of
from core.findings import SEVERITIES, Finding
from core.lampsseen import with_lamps_seen_on
from core.language import say
from core.memory import Memory
from core.option import Option
from core.plan import Plan, ShootName
from core.preferences import Preferences
from core.rescue import Rescue, rescue
from core.site import Site, evening_now, site_of
from core.timetable import Timetable, good_until_s, missed_text
from core.words import chance_text, clock_text

#: So long a press of the strong button can be taken back.
UNDO_S: Final = 10.0
#: A tick that comes so much later than it should tells of sleep.
ASLEEP_S: Final = 5.0


@dataclass(frozen=True)
class _Asked:
    """What can still be done, asked; hashable, so that an answer is known to belong to it."""

    plan: Plan
    name: ShootName
    now_s: float
    airborne: bool
    wanted: Preferences


class FieldWindow(QWidget):
    """Large type for the site.

    Parameters
    ----------
    clock
        UTC seconds; a test moves its own.
    """

    def __init__(
        self, store: Store, parent: QWidget | None = None, clock: Callable[[], float] = now_s
    ) -> None:
        super().__init__(parent)
        self.setWindowFlag(self.windowType().Window, on=True)
        self.setWindowTitle(say("Field \N{EN DASH} Duskwright"))
        self._store, self._clock = store, clock
        self._memory = Memory(entries=24)
        #: Opens the window for readings at an instant, in UTC seconds.
        self.open_readings: Callable[[float], object] = lambda _now_s: None
        self._kept = KeptLog()
        self._back: tuple[FieldLog, float] | None = None
        self._offered_s: float | None = None
        self._seen_s: float | None = None
        self._table: Last[Timetable] = Last()
        self._behind = Background(self)
        self._behind.answered.connect(self._answer)
        self._behind.failed.connect(lambda: self.choices.show_told(NO_ANSWER))
        self._compose()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._on_the_second)
        store.changed.connect(self._follow)
        store.settled.connect(self._follow)
        scale_changes().changed.connect(self._rearrange)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        # Large text asks for more than some screens have.
        self.resize(QSize(px(1024), px(720)).boundedTo(self.screen().availableSize()))

    # ---- what it consists of ----

    def _compose(self) -> None:
        self.left, self.right = NextHalf(), StopHalf()
        self.choices, self.checks = Choices(), Checks()
        self.checks.ticked.connect(self._tick)
        self.choices.taken.connect(self._take_option)
        self.choices.left.connect(self._show_steps)
        self.left.pages.addWidget(self.choices)
        self.left.pages.addWidget(self.checks)
        self.told = Text("", size_px=17, weight=600, wraps=True)
        self.offer = Button("", height_px=44, size_px=17)
        self.offer.clicked.connect(self.take_offer)
        self.offer.hide()
        self.deeds = DeedRow()
        self.buttons = self.deeds.buttons
        for name, press in (
            ("strong", self.press_strong),
            ("late", self.press_late),
            ("lamps", self.press_lamps),
            ("reading", self.press_reading),
            ("abort", self.press_abort),
        ):
            self.buttons[name].clicked.connect(press)
        self._body = QVBoxLayout(self)
        self._lay_out()
        self._arrange()
        dim = QShortcut(QKeySequence("Ctrl+D"), self)
        dim.activated.connect(self.step_theme)
        leave = QShortcut(QKeySequence("Esc"), self)
        leave.activated.connect(self._show_steps)

    def _lay_out(self) -> None:
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QScrollArea.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        said = QHBoxLayout()
        said.setSpacing(px(12))
        said.addWidget(self.told, 1)
        said.addWidget(self.offer)
        # Text twice as large scrolls; the buttons never do.
        self._body.addWidget(self.area, 1)
        self._body.addLayout(said)
        self._body.addLayout(self.deeds)

    def _arrange(self) -> None:
        """Lay both halves out for the room and the text scale there are."""
        tight = is_tight(self.size())
        self._laid_out = tight, text_scale()
        side, below = (px(12), px(10)) if tight else (px(28), px(20))
        self._body.setContentsMargins(side, below if tight else px(14), side, below)
        self._body.setSpacing(px(4) if tight else px(8))
        self.deeds.show_low(low=tight)
        self.area.setWidget(board_of(self.left, self.right, tight=tight))
        self._keep_room_to_tell()
        self._follow()

    def _rearrange(self) -> None:
        if self._laid_out != (is_tight(self.size()), text_scale()):
            self._arrange()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the halves closer together where the room is short."""
        super().resizeEvent(event)
        self._rearrange()

    # ---- its theme ----

    def showEvent(self, event: QShowEvent) -> None:
        """Be up to date, and dim once the sun is down."""
        super().showEvent(event)
        seen = self._store.outlook(self._store.active)
        self._tell_if(dress(self, None if seen is None else seen.night, self._clock()))
        self._on_the_second()
        # Else Qt gives it to the first button that can be pressed, whichever that is.
        (self.buttons["strong"] if self.buttons["strong"].isEnabled() else self).setFocus()

    def step_theme(self) -> None:
        """Take the next theme for this window alone, and keep it."""
        self._tell_if(step(self))

    def changeEvent(self, event: QEvent) -> None:
        """Repaint everything in a new palette."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask for nothing any more; what passes while it is closed is nobody's sleep."""
        self._timer.stop()
        self._behind.forget()
        self._seen_s = None
        super().closeEvent(event)

    # ---- its clock ----

    def _on_the_second(self) -> None:
        if not self.isVisible():
            return
        self.tick()
        now = self._clock()
        self._timer.start(max(1, round(1000.0 * (1.0 - now % 1.0)) + 2))

    def tick(self) -> None:
        """Show what stands now, and what passed while nobody looked."""
        now = self._clock()
        site = self._site(now)
        if site is None:
            self._seen_s = None
            return
        since, self._seen_s = self._seen_s, now
        if since is not None and now - since > ASLEEP_S:
            self._tell_if(missed_text(site.table, since, now))
        self._show(site, now)

    def _follow(self) -> None:
        """Show what changed; the clock goes on by itself."""
        if self.isVisible():
            self.tick()

    # ---- what it shows ----

    def _site(self, now: float) -> Site | None:
        plan, name = self._store.plan, self._store.active
        if plan is None:
            self._tell(_NO_PLACE)
            return None
        if self.told.text() == _NO_PLACE:
            self._tell("")
        if self._kept.turn_to(plan, name):
            self._back = None
        table = self._table_at(plan, name, now)
        starts = self._store.starts(name)
        until_s = None if starts is None else good_until_s(starts, table.seen.press_s)
        return site_of(table, self.log, now, until_s)

    def _table_at(self, plan: Plan, name: ShootName, now: float) -> Timetable:
        """The evening as it goes; worked out anew only when something moved it."""
        seen = self._store.outlook(name)
        late = seen is not None and seen.take_off_s is not None and now > seen.take_off_s
        waits = late and not self.log.in_the_air
        return self._table.of(
            (plan,),
            (name, self.log, int(now) if waits else None),
            partial(evening_now, plan, name, self.log, now, self._memory),
        )

    def _show(self, site: Site, now: float) -> None:
        plan = self._store.plan
        if plan is None:
            return
        self.left.show_site(plan, site, now)
        self._show_checks(plan, site)
        self.right.show_site(plan, site, self._worst())
        self.deeds.show_site(site, self.log, take_back=self._can_take_back(now))
        self._show_offer(site)

    def _show_checks(self, plan: Plan, site: Site) -> None:
        """Show what to go through before take-off, in the place of the steps."""
        pages = self.left.pages
        checks = checklist_of(plan, site.table.seen) if site.phase == "ground" else ()
        self.checks.show_checks(checks, self.log.ticked)
        # Once it is late the clock comes first.
        at_hand = bool(checks) and not site.late
        if pages.currentWidget() is not self.choices:
            pages.setCurrentWidget(self.checks if at_hand else self.left.steps)
        if at_hand:
            self.left.aside.show_text(self.checks.left_words())

    def _tick(self, facts: tuple[str, ...]) -> None:
        self.note(ticked=facts)
        self.tick()

    def _worst(self) -> Finding | None:
        """The worst finding of the shoot that is more than a note."""
        mine = [f for f in self._store.findings or () if f.shoot == self._store.active]
        worst = min(mine, key=lambda one: SEVERITIES.index(one.severity), default=None)
        return None if worst is None or worst.severity == "note" else worst

    def _can_take_back(self, now: float) -> bool:
        return self._back is not None and now - self._back[1] < UNDO_S

    def _show_offer(self, site: Site) -> None:
        """Offer the best start where a reading, or the lamps, moved it away from the press."""
        starts = self._store.starts(self._store.active)
        better_s = None if starts is None else better_start_s(site, starts, self._clock())
        self._offered_s = better_s
        if starts is not None and better_s is not None:
            self.offer.show_text(
                say(
                    "Press at {clock}, holds {chance}",
                    clock=self._clock_text(better_s),
                    chance=chance_text(starts.chance_at(better_s) or 0.0),
                )
            )
        self.offer.setVisible(better_s is not None)

    def _clock_text(self, time_s: float) -> str:
        seen = self._store.outlook(self._store.active)
        return "" if seen is None else clock_text(seen.night.clock(time_s), seconds=True)

    def _tell_if(self, sentence: str) -> None:
        """Say something, and let what is said stand where there is nothing to say."""
        if sentence:
            self._tell(sentence)

    def _tell(self, sentence: str) -> None:
        self.told.show_text(sentence)
        self.told.setAccessibleName(sentence)
        self._keep_room_to_tell()

    def _keep_room_to_tell(self) -> None:
        """Keep a line for what may be said, so that nothing moves; no line where room is short."""
        self.told.setVisible(bool(self.told.text()) or not is_tight(self.size()))

    # ---- what was done ----

    @property
    def log(self) -> FieldLog:
        """What was done on this evening."""
        return self._kept.log

    def note(self, **done: object) -> None:
        """Note what was done, and keep it: the window may be closed and opened again."""
        self._kept.put(msgspec.structs.replace(self.log, **done))

    def press_strong(self) -> None:
        """Do what the strong button says: took off, pressed, landed, or take the last back."""
        now, site = self._clock(), self._site(self._clock())
        if site is None:
            return
        if self._can_take_back(now) and self._back is not None:
            self._kept.put(self._back[0])
            self._back = None
        elif site.phase == "down":
            self._back = self.log, now
            self._kept.put(FieldLog())
        elif site.phase != "take":
            self._back = self.log, now
            self.note(**{NOTED[site.phase]: now})
            if site.phase == "ground":
                self.note(unticked=tuple(check.fact for check in self.checks.open))
            if site.phase == "home":
                self._keep_take()
        self._tell("")
        self.area.verticalScrollBar().setValue(0)
        self.tick()

    def _keep_take(self) -> None:
        """Put what was flown among the plan's takes, with the log in words."""
        if self._store.plan is not None:
            kept = with_take_of(self._store.plan, self._store.active, self.log, self._memory)
            self._store.begin_gesture()
            self._store.replace(say("keep the take"), kept)

    def press_abort(self) -> None:
        """Break off: fly home from the air; on the ground the evening is over."""
        now, site = self._clock(), self._site(self._clock())
        if site is None:
            return
        self._back = self.log, now
        if site.phase == "ground":
            self.note(down_s=now)
        else:
            self.note(turned_s=now)
        self._tell("")
        self.tick()

    def press_lamps(self) -> None:
        """Note that the lamps just switched; in the evening the place's switch learns of it."""
        now, plan, name = self._clock(), self._store.plan, self._store.active
        site = self._site(now)
        if plan is None or site is None:
            return
        self.note(lamps_s=now)
        if site.table.seen.night.twilight == "dusk":
            try:
                told = with_lamps_seen_on(plan, name, now, self._memory)
            except PlanError as refusal:
                self._tell(str(refusal))
            else:
                self._store.begin_gesture()
                self._store.replace(say("lamps came on"), told)
                self._tell(
                    say(
                        "Lamps on at {clock}: the street counts from then.",
                        clock=self._clock_text(now),
                    )
                )
        self.tick()

    def press_reading(self) -> None:
        """Open the window for readings, at this minute."""
        if self._store.plan is not None:
            opened = self.open_readings(self._clock())
            if isinstance(opened, QWidget):
                # No bright window before eyes that are used to the dark.
                opened.setPalette(self.palette())

    def take_offer(self) -> None:
        """Move the press to the start that is offered."""
        seen = self._store.outlook(self._store.active)
        if self._offered_s is None or seen is None or self._store.plan is None:
            return
        minutes = (self._offered_s - seen.night.event.time_s) / 60.0
        key = f"shoots.{self._store.active}.start_after_event_min"
        self._store.begin_gesture()
        self._store.replace(
            say("press at another time"), with_values(self._store.plan, {key: minutes})
        )
        self._tell("")

    # ---- late ----

    def press_late(self) -> None:
        """Ask what can still be done from this second on."""
        plan, name, now = self._store.plan, self._store.active, self._clock()
        if plan is None:
            return
        real = as_seen(plan, name, self.log, self._memory)
        asked = _Asked(real, name, now, self.log.in_the_air, preferences())
        self.choices.show_told(LOOKING)
        self.left.pages.setCurrentWidget(self.choices)
        self._scroll_to(self.choices)
        self._behind.ask(asked, partial(_rescue, asked))

    @property
    def searching(self) -> bool:
        """Whether an answer is on its way."""
        return self._behind.asked is not None

    def _answer(self, _asked: _Asked, found: Rescue) -> None:
        self.choices.show_options(found.reason, found.options)
        self._scroll_to(self.choices)

    def _take_option(self, option: Option) -> None:
        self._store.begin_gesture()
        self._store.replace(say("what can still be done"), option.plan)
        self._show_steps()
        self._tell(option.sentence)
        self.tick()

    def _scroll_to(self, page: QWidget) -> None:
        """Bring what was asked for into view, where the room is too short for all."""
        bar = self.area.verticalScrollBar()
        viewport = self.area.viewport()
        bar.setValue(bar.value() + page.mapTo(viewport, viewport.rect().topLeft()).y())

    def _show_steps(self) -> None:
        self._behind.forget()
        self.area.verticalScrollBar().setValue(0)
        self.left.pages.setCurrentWidget(self.left.steps)
        self.tick()


_NO_PLACE: Final = say("There is no place yet: open a plan in the main window.")


def _rescue(asked: _Asked) -> Rescue:
    memory = Memory(entries=24)
    return rescue(asked.plan, asked.name, asked.now_s, memory, asked.wanted, asked.airborne)
