"""The store: one plan, its forecast and its history, for one window.

Panels read the store and send it edits; they never talk to one another. An edit is
checked, becomes one step of undo and is forecast at once (`changed`). What takes longer,
every start of the night and the findings, follows in small steps between the turns of the
event loop (`settled`), for the latest plan only: another edit drops what is under way.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import msgspec
from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from core.edit import with_values
from core.findings import Finding
from core.forecast import forecast, known_starts, motion, outlook, starts, told_together
from core.holding import GoodValues, good_exposures
from core.memory import Memory
from core.motion import Motion
from core.outlook import Outlook
from core.plan import SHOOT_NAMES, Plan, Shoot, ShootName
from core.scales import SettingKey
from core.starts import Starts
from core.steps import starts_steps, take_steps

#: What a lock keeps: a setting with a scale, or the start.
LockKey = SettingKey | Literal["start"]
_UNDO_STEPS = 500
# The good ranges of interval and length ask for some seventy takes: only for a hand at rest.
_REST_MS = 80
# A turn of the event loop takes on another step of the slow half only within this time.
_TURN_S = 0.005


@dataclass(frozen=True)
class _Gesture:
    """One movement of the hand on the same fields of the plan."""

    number: int
    fields: frozenset[str]


class _Edit(QUndoCommand):
    """From one plan to another; edits of one gesture become one step."""

    def __init__(
        self, show: Callable[[Plan], None], label: str, before: Plan, after: Plan, gesture: _Gesture
    ) -> None:
        super().__init__(label)
        self._show = show
        self.before, self.after, self.gesture = before, after, gesture

    def id(self) -> int:
        """The kind of command that may be merged; there is one."""
        return 1

    def mergeWith(self, other: QUndoCommand) -> bool:
        """Take on what a later edit of the same gesture made."""
        if not isinstance(other, _Edit) or other.gesture != self.gesture:
            return False
        self.after = other.after
        # A slider that came back to where it was has changed nothing.
        self.setObsolete(self.before == self.after)
        return True

    def redo(self) -> None:
        """Show the plan as it became."""
        self._show(self.after)

    def undo(self) -> None:
        """Show the plan as it was."""
        self._show(self.before)


class Store(QObject):
    """One window's plan with its forecasts.

    Signals
    -------
    changed
        The plan, the active shoot or its outlooks are new.
    settled
        Starts, good ranges and findings have caught up with the plan.
    cursor_moved
        The reading position on the clock, UTC seconds or None.
    """

    changed = Signal()
    settled = Signal()
    cursor_moved = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.undo_stack = QUndoStack(self)
        self.undo_stack.setUndoLimit(_UNDO_STEPS)
        self._plan: Plan | None = None
        self._active: ShootName = "A"
        self._memory = Memory()
        self._outlooks: dict[ShootName, Outlook] = {}
        self._starts: dict[ShootName, Starts | None] = {}
        self._good: dict[ShootName, GoodValues] = {}
        self._findings: tuple[Finding, ...] | None = None
        self._cursor_s: float | None = None
        self._locked: dict[ShootName, frozenset[LockKey]] = {}
        self._searched: tuple[Plan, ShootName, Shoot] | None = None
        self._gesture = 0
        self._work: Iterator[None] | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._go_on)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._begin_takes)

    @property
    def plan(self) -> Plan | None:
        """The plan, or None while no place is chosen."""
        return self._plan

    @property
    def active(self) -> ShootName:
        """The shoot that the settings belong to."""
        return self._active

    @property
    def cursor_s(self) -> float | None:
        """Where the pilot points on the clock, UTC seconds."""
        return self._cursor_s

    @property
    def findings(self) -> tuple[Finding, ...] | None:
        """Findings of both shoots, worst first; None until they belong to this plan."""
        return self._findings

    def locked(self, name: ShootName) -> frozenset[LockKey]:
        """What of a shoot a search leaves alone."""
        return self._locked.get(name, frozenset())

    def lock(self, name: ShootName, key: LockKey, *, on: bool) -> None:
        """Have searches leave a setting of a shoot alone, or no longer."""
        before = self.locked(name)
        self._locked[name] = before | {key} if on else before - {key}
        if self._locked[name] != before:
            self.changed.emit()
            self.settled.emit()

    def before_search(self, name: ShootName) -> Shoot | None:
        """The shoot before a search changed it; None once anything else was edited."""
        if self._searched is None:
            return None
        plan, searched, shoot = self._searched
        return shoot if plan is self._plan and name == searched else None

    def take_searched(self, label: str, plan: Plan) -> None:
        """Take what a search found for the active shoot, as one undoable step."""
        if self._plan is not None:
            self._searched = plan, self._active, self._plan.shoot(self._active)
            self.replace(label, plan)

    def outlook(self, name: ShootName) -> Outlook | None:
        """A shoot's outlook, always of the plan as it stands; None without a plan."""
        return self._outlooks.get(name)

    def motion(self, name: ShootName) -> Motion | None:
        """What moves in a shoot's picture; None without a plan."""
        return None if self._plan is None else motion(self._plan, name, self._memory)

    def starts(self, name: ShootName) -> Starts | None:
        """Every start of a shoot's night; None until they belong to this plan."""
        return self._starts.get(name)

    def good(self, name: ShootName) -> GoodValues:
        """Where each setting holds with all else fixed; a key is missing until it is known."""
        return self._good.get(name, {})

    def open(self, plan: Plan | None) -> None:
        """Take another plan, with a fresh history."""
        self.undo_stack.clear()
        self._active, self._locked, self._searched = "A", {}, None
        self._show(plan)
        self.undo_stack.setClean()

    def write_anew(self) -> None:
        """Have everything reckoned and shown again: figures are written in another manner."""
        self._outlooks = {}
        self._show(self._plan)

    def begin_gesture(self) -> None:
        """Say that what follows is a new movement of the hand, and a new step of undo."""
        self._gesture += 1

    def edit(self, label: str, values: Mapping[str, object]) -> None:
        """Change the plan by dotted keys, as one undoable step named `label`.

        Raises
        ------
        core.edit.PlanError
            With one sentence, if a value cannot stand; the plan is as it was.
        """
        if self._plan is None:
            return
        self.replace(label, with_values(self._plan, values), frozenset(values))

    def replace(self, label: str, plan: Plan, fields: frozenset[str] = frozenset()) -> None:
        """Take a changed plan as one undoable step."""
        if self._plan is None or plan == self._plan:
            return
        gesture = _Gesture(self._gesture, fields)
        self.undo_stack.push(_Edit(self._show, label, self._plan, plan, gesture))

    def set_active(self, name: ShootName) -> None:
        """Turn the settings, night and conditions to the other shoot."""
        if name != self._active:
            self._active = name
            self.changed.emit()
            self.settled.emit()
            if self._findings is not None:
                self._rest.start()

    def set_cursor(self, time_s: float | None) -> None:
        """Point at an instant on the clock, UTC seconds, or at none."""
        if time_s != self._cursor_s:
            self._cursor_s = time_s
            self.cursor_moved.emit(time_s)

    def _show(self, plan: Plan | None) -> None:
        before, outlooks = (self._plan, self._outlooks) if self._outlooks else (None, {})
        self._plan = plan
        self._findings = None
        self._good = {}
        self._outlooks, self._starts = {}, {}
        if plan is not None:
            self._outlooks = {
                name: outlooks[name]
                if before is not None and _reads_the_same(before, plan, name)
                else outlook(plan, name, self._memory)
                for name in SHOOT_NAMES
            }
            # Moving a start asks for no new starts: what is remembered is current.
            self._starts = {name: known_starts(plan, name, self._memory) for name in SHOOT_NAMES}
        self._rest.stop()
        self._begin(self._settle(plan))
        self.changed.emit()

    def settle_now(self) -> None:
        """Catch up at once, for pictures and tests."""
        self._finish()
        if self._rest.isActive():
            self._rest.stop()
            self._begin_takes()
            self._finish()

    def _begin(self, work: Iterator[None]) -> None:
        """Take up work on the plan as it stands; what was under way is dropped."""
        self._work = work
        self._soon.start()

    def _go_on(self) -> None:
        """Take a few steps, and leave the others to the next turn of the event loop."""
        until_s = time.perf_counter() + _TURN_S
        work = self._work
        while work is not None and self._steps_on(work):
            if time.perf_counter() >= until_s:
                self._soon.start()
                return

    def _finish(self) -> None:
        self._soon.stop()
        while self._work is not None and self._steps_on(self._work):
            pass

    def _steps_on(self, work: Iterator[None]) -> bool:
        """Take one step; whether there may be another one of the same work."""
        for _ in work:
            return True
        if self._work is work:
            self._work = None
        return False

    def _settle(self, plan: Plan | None) -> Iterator[None]:
        if plan is not None:
            for name in SHOOT_NAMES:
                yield from starts_steps(plan, name, self._memory)
            each = []
            for name in SHOOT_NAMES:
                each.append(forecast(plan, name, self._memory).findings)
                yield
            good = {name: good_exposures(plan, self._outlooks[name]) for name in SHOOT_NAMES}
            self._starts = {name: starts(plan, name, self._memory) for name in SHOOT_NAMES}
            self._good, self._findings = {**good}, told_together(each)
            self._rest.start()
        else:
            self._findings = ()
        self.settled.emit()

    def _begin_takes(self) -> None:
        if self._plan is not None:
            self._begin(self._range_takes(self._plan, self._active))

    def _range_takes(self, plan: Plan, name: ShootName) -> Iterator[None]:
        takes = yield from take_steps(plan, name, self._memory)
        self._good[name] = {**self._good.get(name, {}), **takes}
        self.settled.emit()


def _reads_the_same(one: Plan, other: Plan, name: ShootName) -> bool:
    """Whether two plans differ in nothing that a shoot's outlook reads."""
    if one.shoot(name) != other.shoot(name):
        return False
    return msgspec.structs.replace(one, shoots=other.shoots) == other
