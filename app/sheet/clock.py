"""The one clock of the sheet: which instants it shows and where they stand.

While both shoots lie on the same night, the axis is local time and its seconds are UTC
seconds. On two nights or two twilights it counts from each shoot's own event, so that the
two lie over each other at the sunset or sunrise.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar, overload

import numpy as np

from core.exposure import FloatArray
from core.language import say_as
from core.night import EventName
from core.outlook import Outlook
from core.plan import ShootName, Twilight

MINUTE_S = 60.0
SNAP_S = 2 * MINUTE_S
#: Room for words beside the flights, and before the event.
ROOM_S = 25 * MINUTE_S
BEFORE_EVENT_S = 2 * MINUTE_S
#: Stand-ins where a flight cannot be flown: the take still stands on the clock.
_BEFORE_PRESS_S, _AFTER_TAKE_S = 6 * MINUTE_S, 4 * MINUTE_S
#: Steps between ticks, in minutes, that a clock reads easily.
STEPS_MIN = (10, 20, 30, 60, 120, 180, 360)
#: A clock no longer than this, as of one take, has ticks every 5 min too.
_CLOSE_S, _CLOSE_STEPS_MIN = 30 * MINUTE_S, (5, *STEPS_MIN)
_NEAREST_TICKS = 12.0
_EVENT_NAMES: Final[dict[EventName, str]] = {
    "sunset": say_as("axis", "sunset"),
    "sunrise": say_as("axis", "sunrise"),
    "midnight": say_as("axis", "midnight"),
    "noon": say_as("axis", "noon"),
}

Instant = TypeVar("Instant", float, FloatArray)


@dataclass(frozen=True, slots=True)
class Stay:
    """What the axis must know of one shoot; times are UTC seconds."""

    date: dt.date
    twilight: Twilight
    event: EventName
    event_s: float
    first_s: float
    last_s: float

    @property
    def night(self) -> tuple[dt.date, Twilight]:
        """The night: its date and which twilight."""
        return self.date, self.twilight


def stay_of(outlook: Outlook) -> Stay:
    """A shoot's stay on the clock, from take-off to landing."""
    night, flight = outlook.night, outlook.flight
    first_s, last_s = outlook.take_off_s, outlook.last_frame_s + _AFTER_TAKE_S
    if first_s is None:
        first_s = outlook.press_s - _BEFORE_PRESS_S
    elif flight.home_min is not None:
        last_s = outlook.last_frame_s + flight.home_min * MINUTE_S
    event = night.event
    return Stay(night.date, night.twilight, event.name, event.time_s, first_s, last_s)


@dataclass(frozen=True, slots=True)
class Axis:
    """The stretch of time that the clock shows.

    `first_s` and `last_s` are seconds on the axis. `zero_a_s` and `zero_b_s` are the UTC
    seconds of its nought for each shoot: both 0 on one night, each one's event on two.
    `event` names what the minutes count from, None on local time.
    """

    first_s: float
    last_s: float
    zero_a_s: float = 0.0
    zero_b_s: float = 0.0
    event: str | None = None

    @property
    def two_nights(self) -> bool:
        """Whether the two shoots stand on clocks of their own."""
        return self.event is not None

    def zero_s(self, shoot: ShootName) -> float:
        """UTC seconds of the axis's nought for a shoot."""
        return self.zero_a_s if shoot == "A" else self.zero_b_s

    @overload
    def of(self, time_s: float, shoot: ShootName) -> float: ...
    @overload
    def of(self, time_s: FloatArray, shoot: ShootName) -> FloatArray: ...
    def of(self, time_s: float | FloatArray, shoot: ShootName) -> float | FloatArray:
        """Where a shoot's UTC seconds stand, in seconds on the axis."""
        return time_s - self.zero_s(shoot)

    def utc_s(self, axis_s: float, shoot: ShootName) -> float:
        """The UTC seconds of a place on the axis, by a shoot's own clock."""
        return axis_s + self.zero_s(shoot)


def axis_of(stays: Mapping[ShootName, Stay]) -> Axis:
    """The axis that shows both shoots.

    From just before the sunset or the first take-off, whichever is first, to some 25 min
    after the last landing, snapped outward to two minutes. At dawn the room for words lies
    on both sides, and the sunrise closes the axis.
    """
    a, b = stays["A"], stays["B"]
    if a.night == b.night:
        axis = Axis(0.0, 0.0)
    else:
        event = _EVENT_NAMES[a.event] if a.event == b.event else say_as("axis", "its event")
        axis = Axis(0.0, 0.0, a.event_s, b.event_s, event)
    first, last = zip(*(_reach(axis, name, stay) for name, stay in stays.items()), strict=True)
    return replace(
        axis,
        first_s=math.floor(min(first) / SNAP_S) * SNAP_S,
        last_s=math.ceil(max(last) / SNAP_S) * SNAP_S,
    )


def _reach(axis: Axis, name: ShootName, stay: Stay) -> tuple[float, float]:
    event_s, first_s, last_s = (
        axis.of(time_s, name) for time_s in (stay.event_s, stay.first_s, stay.last_s)
    )
    if stay.twilight == "dusk":
        return min(event_s - BEFORE_EVENT_S, first_s), last_s + ROOM_S
    return first_s - ROOM_S, max(event_s + BEFORE_EVENT_S, last_s + ROOM_S)


class ClockAxis:
    """The axis as it stands: it follows the plan, but lies still under a moving hand."""

    def __init__(self) -> None:
        self._axis: Axis | None = None
        self._held = False

    def hold(self) -> None:
        """Keep the axis where it is, as long as both takes stay on it."""
        self._held = True

    def release(self) -> None:
        """Let the next fit move it again."""
        self._held = False

    def fit(self, stays: Mapping[ShootName, Stay]) -> Axis:
        """The axis for these shoots."""
        fresh, axis = axis_of(stays), self._axis
        if axis is not None and self._held and _same_clock(axis, fresh):
            fresh = axis if _shows(axis, stays) else _both(axis, fresh)
        self._axis = fresh
        return fresh


def _same_clock(one: Axis, other: Axis) -> bool:
    return replace(one, first_s=0.0, last_s=0.0) == replace(other, first_s=0.0, last_s=0.0)


def _shows(axis: Axis, stays: Mapping[ShootName, Stay]) -> bool:
    return all(
        axis.first_s <= axis.of(stay.first_s, name) and axis.of(stay.last_s, name) <= axis.last_s
        for name, stay in stays.items()
    )


def _both(one: Axis, other: Axis) -> Axis:
    return replace(
        one, first_s=min(one.first_s, other.first_s), last_s=max(one.last_s, other.last_s)
    )


@dataclass(frozen=True, slots=True)
class Clock:
    """The one mapping of all tracks: an axis laid between two places, in logical pixels."""

    axis: Axis
    left: float
    right: float

    @property
    def width(self) -> float:
        """Width of the clock, in logical pixels."""
        return self.right - self.left

    def x(self, axis_s: Instant) -> Instant:
        """Where a second of the axis stands."""
        share = (axis_s - self.axis.first_s) / (self.axis.last_s - self.axis.first_s)
        return self.left + share * self.width

    def x_of(self, time_s: float, shoot: ShootName) -> float:
        """Where an instant of a shoot's night stands, from UTC seconds."""
        return self.x(self.axis.of(time_s, shoot))

    def axis_s(self, x: float) -> float:
        """The second of the axis at a place."""
        share = (x - self.left) / self.width
        return self.axis.first_s + share * (self.axis.last_s - self.axis.first_s)

    def utc_s(self, x: float, shoot: ShootName) -> float:
        """The UTC seconds at a place, by a shoot's own clock."""
        return self.axis.utc_s(self.axis_s(x), shoot)


@dataclass(frozen=True, slots=True)
class Ticks:
    """Ticks in seconds on the axis; `labelled_s` are some of `long_s`."""

    long_s: tuple[float, ...]
    short_s: tuple[float, ...]
    labelled_s: tuple[float, ...]


def ticks_of(clock: Clock, label_width: float, offset_s: float) -> Ticks:
    """Ticks of a clock: long every 10 min and short every 5, wider where the clock is long.

    Parameters
    ----------
    label_width
        Room that one label needs, with its gap, in logical pixels.
    offset_s
        Local time less UTC, so that ticks stand on whole minutes of the local clock; 0
        where the axis counts from an event.
    """
    length_s = clock.axis.last_s - clock.axis.first_s
    per_minute = clock.width * MINUTE_S / length_s
    steps = _CLOSE_STEPS_MIN if length_s <= _CLOSE_S else STEPS_MIN
    step_min = _step_min(per_minute, _NEAREST_TICKS, steps)
    label_min = max(step_min, _step_min(per_minute, label_width, steps))
    long_s = _multiples(clock.axis, step_min * MINUTE_S, offset_s)
    halves = _multiples(clock.axis, step_min * MINUTE_S / 2.0, offset_s)
    return Ticks(
        long_s=long_s,
        short_s=tuple(time_s for time_s in halves if time_s not in set(long_s)),
        labelled_s=_multiples(clock.axis, label_min * MINUTE_S, offset_s),
    )


def _step_min(per_minute: float, room: float, steps: Sequence[int]) -> int:
    return next((step for step in steps if step * per_minute >= room), steps[-1])


def _multiples(axis: Axis, step_s: float, offset_s: float) -> tuple[float, ...]:
    first = math.ceil((axis.first_s + offset_s) / step_s)
    last = math.floor((axis.last_s + offset_s) / step_s)
    return tuple(float(t) for t in np.arange(first, last + 1) * step_s - offset_s)
