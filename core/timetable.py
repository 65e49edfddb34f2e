"""The steps of an evening: when each comes, what to do then, and the two times to be kept.

The field window, the field card and the calendar all read this one thing. It holds for dusk
and dawn alike; every figure is that of an outlook.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from core.flight import Flight
from core.language import say
from core.option import last_good_s
from core.outlook import Outlook
from core.plan import Plan
from core.starts import Starts
from core.stepwords import COUNTED, STEP_NAMES, StepKind, step_words
from core.words import clock_text, cut_down, duration_text

#: Lamps that switch longer before the take-off than this are no step of the evening.
LAMPS_BEFORE_S: Final = 2.0 * 3600.0
#: What begins with the first of these after the take is the way home.
_HOMEWARD: Final = ("return climb", "home", "descent", "landing")
#: What is told when a sleep passed it, and how many of them by name.
_MISSED: Final[frozenset[StepKind]] = COUNTED | {"latest_stop"}
_NAMED: Final = 2


@dataclass(frozen=True)
class Step:
    """One thing to do.

    Attributes
    ----------
    kind
        Which one; `latest_stop` and `land_by` are times to be kept, not planned.
    time_s
        When, UTC seconds.
    charge_percent
        What the craft's gauge should show then, cut down to a whole percent; at the latest
        stop the charge to stop at, up to the next one. None on the ground before take-off
        and where the flight is not known.
    do
        What to do when it comes, one or two sentences.
    note
        The same in a few words, for a list.
    running
        What goes on once it has come; empty where that is what to do.
    """

    kind: StepKind
    time_s: float
    charge_percent: int | None
    do: str
    note: str
    running: str

    @property
    def since(self) -> str:
        """What is to be told from it on."""
        return self.running or self.do


@dataclass(frozen=True)
class Timetable:
    """A shoot's evening, or morning, step by step.

    `steps` are in the order of the clock, the latest stop and the time to be down by in
    `bounds`. `reason` says why there is no flight in it; None where there is one.
    """

    seen: Outlook
    steps: tuple[Step, ...]
    bounds: tuple[Step, ...]
    reason: str | None

    def step(self, kind: StepKind) -> Step | None:
        """The step of a kind, None where the evening has none."""
        return next((one for one in (*self.steps, *self.bounds) if one.kind == kind), None)

    def at(self, time_s: float) -> Step | None:
        """The last step that an instant has reached, None before the first."""
        return next((one for one in reversed(self.steps) if one.time_s <= time_s), None)

    def put_off(self, planned: Timetable) -> Timetable:
        """Return it with the take-off that was planned: by how much it is late still shows."""
        off = planned.step("take_off")
        steps = (off if off is not None and one.kind == "take_off" else one for one in self.steps)
        return replace(self, steps=tuple(sorted(steps, key=lambda one: one.time_s)))

    def between(self, after_s: float, until_s: float) -> tuple[Step, ...]:
        """The steps and bounds later than one instant and not later than another, in order."""
        every = sorted((*self.steps, *self.bounds), key=lambda step: step.time_s)
        return tuple(step for step in every if after_s < step.time_s <= until_s)


def timetable_of(plan: Plan, seen: Outlook) -> Timetable:
    """The steps of a shoot by its outlook.

    Parameters
    ----------
    plan
        The plan of the outlook.
    """
    words = step_words(plan, seen)

    def step(kind: StepKind, time_s: float) -> Step:
        return Step(kind, time_s, _charge_percent(seen, kind, time_s), *words[kind])

    return Timetable(
        seen=seen,
        steps=tuple(step(*one) for one in sorted(_times(seen), key=lambda one: one[1])),
        bounds=tuple(step(*one) for one in _bounds(seen)),
        reason=seen.flight.error,
    )


def expected_percent(seen: Outlook, time_s: float) -> float | None:
    """What the gauge should show at an instant, [%]; None where there is no flight.

    Level before the take-off and after the landing. An unknown gauge is taken for the kind
    that shows more.
    """
    if seen.take_off_s is None:
        return None
    minutes = (time_s - seen.take_off_s) / 60.0
    return float(seen.flight.gauge_at(np.array([minutes]))[0])


def good_until_s(starts: Starts, press_s: float) -> float | None:
    """Until when a press may be put off with its light still good, UTC seconds.

    The end of the run of good starts that a press lies in; of the best run, where it lies in
    none. None where no start of the night holds.
    """
    until_s = last_good_s(starts, press_s)
    return until_s if until_s is not None and until_s > press_s else starts.latest_s


def _times(seen: Outlook) -> Iterator[tuple[StepKind, float]]:
    yield from _lamps(seen)
    yield "first_shutter", seen.press_s
    if seen.clip.frames > 2:
        yield "half_way", seen.press_s + (seen.clip.frames // 2 - 1) * seen.shoot.interval_s
    yield "last_frame", seen.last_frame_s
    if seen.take_off_s is not None:
        yield "take_off", seen.take_off_s
        for kind, minutes in _flight_min(seen.flight):
            yield kind, seen.take_off_s + 60.0 * minutes


def _lamps(seen: Outlook) -> Iterator[tuple[StepKind, float]]:
    """The lamps' switching where it falls about the flight."""
    dusk = seen.night.twilight == "dusk"
    time_s = seen.light.lamps_on_s if dusk else seen.light.lamps_off_s
    first_s = (seen.take_off_s or seen.press_s) - LAMPS_BEFORE_S
    last_s = max(seen.land_by_s or seen.last_frame_s, seen.last_frame_s)
    if time_s is not None and first_s <= time_s <= last_s:
        yield ("lamps_on" if dusk else "lamps_off"), time_s


def _flight_min(flight: Flight) -> Iterator[tuple[StepKind, float]]:
    """Minutes from take-off of what the flight adds to the take."""
    starts = {segment.name: segment.starts_min for segment in flight.segments}
    at_station = starts.get("set-up", starts.get("wait"))
    if at_station is not None:
        yield "at_station", at_station
    yield "turn_home", min(starts[name] for name in _HOMEWARD if name in starts)
    last = flight.segments[-1]
    yield "on_ground", last.starts_min + last.minutes


def _bounds(seen: Outlook) -> Iterator[tuple[StepKind, float]]:
    if seen.latest_stop_s is not None:
        yield "latest_stop", seen.latest_stop_s
    if seen.land_by_s is not None:
        yield "land_by", seen.land_by_s


def _charge_percent(seen: Outlook, kind: StepKind, time_s: float) -> int | None:
    if kind == "latest_stop":
        return seen.flight.stop_at_percent
    # A lamp that switches on the ground says nothing of the battery, nor is a bound planned.
    on_ground = seen.take_off_s is None or time_s < seen.take_off_s
    if kind == "land_by" or on_ground:
        return None
    expected = expected_percent(seen, time_s)
    return None if expected is None else int(cut_down(expected))


def missed_text(table: Timetable, after_s: float, until_s: float) -> str:
    """What passed between two instants, UTC seconds, while this computer slept; empty for nothing.

    Of many steps the last ones are named: nobody reads them all before acting.
    """
    passed = [one for one in table.between(after_s, until_s) if one.kind in _MISSED]
    if not passed:
        return ""
    slept = duration_text(until_s - after_s)
    named = ", ".join(
        f"{STEP_NAMES[one.kind]} {clock_text(table.seen.night.clock(one.time_s), seconds=True)}"
        for one in passed[-_NAMED:]
    )
    if len(passed) <= _NAMED:
        return say("This computer slept {slept}. Passed since: {named}.", slept=slept, named=named)
    return say(
        "This computer slept {slept}. Passed since: {steps} steps, last of all {named}.",
        slept=slept,
        steps=len(passed),
        named=named,
    )
