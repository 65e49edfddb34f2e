"""Where an evening stands at a moment: what comes next, how long until then, what to do.

A pure function of the timetable, of what was done and of the clock, so nothing is missed
while nobody looks: whoever asks two minutes later gets what stands two minutes later.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from core.clocks import clock_cut
from core.fieldlog import FieldLog, as_seen
from core.forecast import outlook
from core.language import say
from core.memory import Memory
from core.plan import Plan, ShootName
from core.stepwords import BEFORE, STEP_LEADS, STEP_NAMES, StepKind
from core.timetable import Step, Timetable, expected_percent, timetable_of
from core.words import clock_text, cut_up, duration_text, number_text

Phase = Literal["ground", "air", "take", "home", "down"]

#: Shown in a list; arriving at the station and half way are said as what to do now.
_LISTED: Final[frozenset[StepKind]] = frozenset(STEP_NAMES) - {"at_station", "half_way"}
_LAMPS: Final[tuple[StepKind, StepKind]] = ("lamps_on", "lamps_off")
#: What is told of a step that was noted.
_NOTED: Final[dict[StepKind, str]] = {
    "lamps_on": say("seen {clock}"),
    "lamps_off": say("seen {clock}"),
    "take_off": say("took off {clock}"),
    "first_shutter": say("pressed {clock}"),
    "turn_home": say("broke off {clock}"),
    "on_ground": say("down {clock}"),
}
_DAY_S: Final = 86_400.0
#: So far from the evening nobody counts seconds.
_IN_DAYS_S: Final = 2.0 * _DAY_S


@dataclass(frozen=True)
class StepRow:
    """A step in the list: its clock, what it is called, and what was seen or is to be done."""

    kind: StepKind
    clock: str
    name: str
    note: str
    done: bool
    current: bool
    bound: bool


@dataclass(frozen=True)
class Site:
    """What a pilot on site is shown.

    Attributes
    ----------
    step, seconds
        What is counted down to and how long until then, negative once it has passed; None
        and 0 when the craft is down.
    lead, at, aside
        'First shutter in' or, once it has passed, 'First shutter, late by'; 'at 19:22:10';
        'good until 19:28' or the frame that the camera is at.
    share
        How much of the time since the step before has passed, 0 to 1.
    now, next
        What to do, and what to do when the countdown ends.
    stop_lead, past
        What stands above the latest stop; whether it has passed with the craft in the air.
    expected_percent
        What the gauge should show now; None where there is no flight.
    """

    table: Timetable
    phase: Phase
    step: Step | None
    seconds: float
    lead: str
    at: str
    aside: str
    share: float
    now: str
    next: str
    rows: tuple[StepRow, ...]
    stop_lead: str
    past: bool
    expected_percent: float | None

    @property
    def late(self) -> bool:
        """Whether what is counted to should have been done."""
        return self.step is not None and self.seconds < 0.0

    @property
    def countdown(self) -> str:
        """Minutes and seconds to the step, or past it: '2:06'; from two days on in days."""
        if abs(self.seconds) >= _IN_DAYS_S:
            return say("{days} d", days=number_text(abs(self.seconds) // _DAY_S))
        # What is still to come is shown until its very second, what is past from it on.
        return duration_text(cut_up(self.seconds) if self.seconds >= 0.0 else -self.seconds // 1)


def phase_of(table: Timetable, log: FieldLog, now_s: float) -> Phase:
    """Where the craft is, by what was noted."""
    if log.down_s is not None:
        return "down"
    if log.turned_s is not None:
        return "home"
    if log.pressed_s is not None:
        return "take" if now_s < table.seen.last_frame_s else "home"
    return "ground" if log.took_off_s is None else "air"


def evening_now(
    plan: Plan, name: ShootName, log: FieldLog, now_s: float, memory: Memory
) -> Timetable:
    """The evening as it really goes: as noted, and late on the ground as if it took off now."""
    planned = _table(plan, name, log, memory)
    off = planned.step("take_off")
    on_ground = log.took_off_s is None and log.pressed_s is None and log.down_s is None
    if off is None or not on_ground or now_s <= off.time_s:
        return planned
    late = _table(plan, name, FieldLog(took_off_s=now_s - now_s % 1.0), memory)
    return late.put_off(planned)


def _table(plan: Plan, name: ShootName, log: FieldLog, memory: Memory) -> Timetable:
    real = as_seen(plan, name, log, memory)
    return timetable_of(real, outlook(real, name, memory))


def site_of(table: Timetable, log: FieldLog, now_s: float, until_s: float | None) -> Site:
    """What is shown at a moment.

    Parameters
    ----------
    table
        The evening as it really goes, see `evening_now`.
    until_s
        The last good start, UTC seconds; None where there is none or it is not known yet.
    """
    phase = phase_of(table, log, now_s)
    take_off_s = table.seen.take_off_s or now_s
    step = _step(table, log, phase, now_s)
    seconds = 0.0 if step is None else step.time_s - now_s
    past = _past(table, phase, now_s)
    return Site(
        table=table,
        phase=phase,
        step=step,
        seconds=seconds,
        lead=_lead(table, log, step, seconds),
        at="" if step is None else say("at {clock}", clock=_clock(table, step)),
        aside=_aside(table, log, phase, now_s, until_s),
        share=_share(table, step, now_s),
        now=_now(table, log, phase, now_s, until_s),
        next="" if step is None or (phase == "ground" and _over(table, now_s)) else step.do,
        rows=tuple(_rows(table, log, phase, now_s, step)),
        stop_lead=_stop_lead(past, waits=_waits(table, phase, now_s)),
        past=past is not None,
        expected_percent=expected_percent(
            table.seen, min(now_s, take_off_s) if phase == "ground" else now_s
        ),
    )


def _step(table: Timetable, log: FieldLog, phase: Phase, now_s: float) -> Step | None:
    """What is counted down to: what waits for the pilot stays until it is done."""
    if phase == "down":
        return None
    if phase == "take":
        return table.step("last_frame")
    if phase == "home":
        turn = table.step("turn_home")
        broken_off = log.turned_s is not None
        waits = turn is not None and turn.time_s > now_s and not broken_off
        return turn if waits else table.step("land_by")
    awaited = table.step("take_off") if phase == "ground" else None
    awaited = awaited or table.step("first_shutter")
    lamps = [
        step
        for step in table.steps
        if step.kind in _LAMPS and step.time_s > now_s and log.lamps_s is None
    ]
    return min((*lamps, *((awaited,) if awaited else ())), key=lambda one: one.time_s, default=None)


def _clock(table: Timetable, step: Step) -> str:
    kept = step.kind in ("take_off", "latest_stop", "land_by")
    return _instant(table, step.time_s, kept=kept)


def _instant(table: Timetable, time_s: float, *, kept: bool = False) -> str:
    """The clock; cut down where something has to be done by then."""
    night = table.seen.night
    return clock_cut(night, time_s) if kept else clock_text(night.clock(time_s), seconds=True)


def _lead(table: Timetable, log: FieldLog, step: Step | None, seconds: float) -> str:
    if step is None:
        return say("Down at {clock}", clock=_instant(table, log.down_s or table.seen.last_frame_s))
    lead = STEP_LEADS[step.kind]
    return say("{lead}, late by", lead=lead) if seconds < 0.0 else say("{lead} in", lead=lead)


def _aside(
    table: Timetable, log: FieldLog, phase: Phase, now_s: float, until_s: float | None
) -> str:
    seen = table.seen
    if phase == "take" and log.pressed_s is not None:
        frame = 1 + int(max(0.0, now_s - log.pressed_s) // seen.shoot.interval_s)
        frames = seen.clip.frames
        return say("frame {number} of {frames}", number=min(frame, frames), frames=frames)
    if phase in ("home", "down") or until_s is None:
        return ""
    until = clock_text(seen.night.clock(until_s - until_s % 60.0))
    # Late on the ground the light may be lost before the press, which is put off meanwhile.
    press = table.step("first_shutter")
    earliest_s = now_s if press is None or phase != "ground" else max(now_s, press.time_s)
    return (
        say("good until {until}", until=until) if earliest_s <= until_s else say("good light past")
    )


def _share(table: Timetable, step: Step | None, now_s: float) -> float:
    if step is None:
        return 1.0
    earlier = [one.time_s for one in table.steps if one.time_s < min(step.time_s, now_s)]
    # With nothing before it the bar fills over the last half hour.
    since_s = max(earlier, default=step.time_s - 1800.0)
    return min(max((now_s - since_s) / max(step.time_s - since_s, 1.0), 0.0), 1.0)


def _now(table: Timetable, log: FieldLog, phase: Phase, now_s: float, until_s: float | None) -> str:
    """What to do: what the last step that was reached asks for."""
    if phase == "ground":
        return _now_on_ground(table, log, now_s, until_s)
    if phase == "take":
        half = table.step("half_way")
        passed = half is not None and half.time_s <= now_s
        if passed:
            return _do(table, "half_way")
        press = table.step("first_shutter")
        return "" if press is None else press.since
    if phase == "air":
        station = table.step("at_station")
        there = station is not None and station.time_s <= now_s
        return _do(table, "at_station" if there else "take_off")
    return _do(table, "turn_home" if phase == "home" else "on_ground")


def _now_on_ground(table: Timetable, log: FieldLog, now_s: float, until_s: float | None) -> str:
    off, press = table.step("take_off"), table.step("first_shutter")
    if _over(table, now_s):
        return say("This evening is over: plan another night.")
    if off is not None and off.time_s < now_s and press is not None:
        if until_s is not None and press.time_s > until_s:
            return say(
                "Too late for this light: press at {clock} at the earliest.",
                clock=_clock(table, press),
            )
        return say("Take off now: press at {clock} at the earliest.", clock=_clock(table, press))
    lamps = table.at(now_s)
    if log.lamps_s is None and lamps is not None and lamps.kind in _LAMPS:
        return lamps.do
    return BEFORE


def _over(table: Timetable, now_s: float) -> bool:
    """Whether it is too late even for a take-off now: no plan could hold it."""
    off, press = table.step("take_off"), table.step("first_shutter")
    return off is not None and off.time_s < now_s and press is not None and press.time_s < now_s


def _do(table: Timetable, kind: StepKind) -> str:
    step = table.step(kind)
    return "" if step is None else step.do


def _rows(
    table: Timetable, log: FieldLog, phase: Phase, now_s: float, current: Step | None
) -> Iterator[StepRow]:
    seen_words = _seen_words(table, log)
    for step in (*table.steps, *table.bounds):
        if step.kind in _LISTED:
            yield StepRow(
                kind=step.kind,
                clock=_clock(table, step),
                name=STEP_NAMES[step.kind],
                note=seen_words.get(step.kind, step.note),
                done=_done(step, log, phase, now_s),
                current=step is current,
                bound=step in table.bounds,
            )


def _seen_words(table: Timetable, log: FieldLog) -> dict[StepKind, str]:
    """What was noted of the steps, in the place of what to do."""
    noted: tuple[tuple[StepKind, float | None], ...] = (
        ("lamps_on", log.lamps_s),
        ("lamps_off", log.lamps_s),
        ("take_off", log.took_off_s),
        ("first_shutter", log.pressed_s),
        ("turn_home", log.turned_s),
        ("on_ground", log.down_s),
    )
    return {
        kind: _NOTED[kind].format(clock=_instant(table, time_s))
        for kind, time_s in noted
        if time_s is not None
    }


def _done(step: Step, log: FieldLog, phase: Phase, now_s: float) -> bool:
    passed, homeward = step.time_s <= now_s, phase in ("home", "down")
    turned = phase == "down" or log.turned_s is not None
    switched = passed or log.lamps_s is not None
    done: dict[StepKind, bool] = {
        "lamps_on": switched,
        "lamps_off": switched,
        "take_off": phase != "ground",
        "first_shutter": log.pressed_s is not None,
        "last_frame": log.pressed_s is not None and homeward and passed,
        "turn_home": homeward and (passed or turned),
        "on_ground": phase == "down",
    }
    return done.get(step.kind, False)


def _past(table: Timetable, phase: Phase, now_s: float) -> float | None:
    """Seconds since the latest stop while the craft is still in the air; None before."""
    stop = table.step("latest_stop")
    if stop is None or phase in ("ground", "down") or now_s <= stop.time_s:
        return None
    return now_s - stop.time_s


def _waits(table: Timetable, phase: Phase, now_s: float) -> bool:
    """Whether the craft should have taken off and still can."""
    off = table.step("take_off")
    late = phase == "ground" and off is not None and off.time_s < now_s
    return late and not _over(table, now_s)


def _stop_lead(past_s: float | None, *, waits: bool) -> str:
    if past_s is not None:
        return say("Fly home, {past} past", past=duration_text(past_s // 1))
    # Every second on the ground puts it off.
    return say("Last frame by, if off now") if waits else say("Last frame by")
