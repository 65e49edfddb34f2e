"""Many nights side by side on the clock: where each stands, and how dark the land is by then."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.forecast import camera_height_m
from core.memory import Memory
from core.nights import NightSeen, clock_moves_s
from core.plan import Plan, ShootName
from core.readonly import read_only
from core.skies import skies_of
from core.tones import mid_log2

#: The clock about the events and starts that are shown, and its whole steps, in hours.
_ROOM_H, _WHOLE_H = 1.0, 2.0
#: The land's tone is looked at so often.
TONE_STEP_H = 0.25
_SUNLESS = ("midnight", "noon")


@dataclass(frozen=True)
class YearTones:
    """How bright the land is over the clock of many nights, by sun and sky alone.

    `clock_h` (instants,) are hours of the clock after the midnight that begins each date,
    below 0 and above 24 on the dates beside it. `land_stops` (nights, instants) are stops
    from mid-grey.
    """

    clock_h: FloatArray
    land_stops: FloatArray


@dataclass(frozen=True)
class ClockChange:
    """Between which nights the clocks change: before the night at `index`; hours forward."""

    index: int
    forward_h: float


def clock_hours(seen: NightSeen, time_s: float) -> float:
    """Hours that the place's clock shows at an instant after the midnight that begins the date."""
    moment = seen.night.clock(time_s).replace(tzinfo=None)
    return (moment - dt.datetime.combine(seen.night.date, dt.time())).total_seconds() / 3600.0


def has_event(seen: NightSeen) -> bool:
    """Whether the sun really sets or rises in a night."""
    return seen.night.event.name not in _SUNLESS


def clock_range_h(seen: Sequence[NightSeen]) -> tuple[float, float]:
    """First and last hour of a clock on which all events and starts of some nights stand."""
    hours: list[float] = []
    for night in seen:
        instants = (night.earliest_s, night.latest_s)
        hours += [clock_hours(night, at_s) for at_s in instants if at_s is not None]
        if has_event(night):
            hours.append(clock_hours(night, night.night.event.time_s))
    if not hours:
        hours = [clock_hours(night, night.nearest_s) for night in seen]
    first = np.floor((min(hours) - _ROOM_H) / _WHOLE_H)
    last = np.ceil((max(hours) + _ROOM_H) / _WHOLE_H)
    return float(first * _WHOLE_H), float(last * _WHOLE_H)


def year_tones(plan: Plan, name: ShootName, seen: Sequence[NightSeen]) -> YearTones:
    """The land's tone at a shoot's settings over the clock of some nights; one at least."""
    shoot = plan.shoot(name)
    first_h, last_h = clock_range_h(seen)
    clock_h = np.linspace(first_h, last_h, round((last_h - first_h) / TONE_STEP_H) + 1)
    altitude = np.array([night.night.sun(_instants_s(night, clock_h))[0] for night in seen])
    sky = skies_of(shoot.conditions, camera_height_m(plan), Memory()).typed
    land = np.log2(plan.ground.land_reflectance * sky.ground_lx(altitude) / np.pi)
    return read_only(YearTones(clock_h, land - mid_log2(shoot)))


def clock_changes(seen: Sequence[NightSeen]) -> tuple[ClockChange, ...]:
    """Where the clocks change within some nights that follow one another."""
    moved = (clock_moves_s(night.night.date, night.night.time_zone) for night in seen)
    # The clocks change in the small hours: before the dusk of the date, and mostly its dawn.
    return tuple(
        ClockChange(index, by_s / 3600.0) for index, by_s in enumerate(moved) if by_s != 0.0
    )


def runs(
    seen: Sequence[NightSeen], holds: Callable[[NightSeen], bool]
) -> tuple[tuple[int, int], ...]:
    """First and last index of each run of nights of which something holds."""
    found: list[tuple[int, int]] = []
    for index, night in enumerate(seen):
        if not holds(night):
            continue
        if found and found[-1][1] == index - 1:
            found[-1] = found[-1][0], index
        else:
            found.append((index, index))
    return tuple(found)


def _instants_s(seen: NightSeen, clock_h: FloatArray) -> FloatArray:
    """When the clock shows some hours, by its state at the night's event."""
    event_s = seen.night.event.time_s
    return event_s + 3600.0 * (clock_h - clock_hours(seen, event_s))
