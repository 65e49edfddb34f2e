"""Many nights: event, best start, span, chance, decay, moon and what to look out for, of each.

Every figure is that of the single forecast of its night. What nights share is worked out once:
the sky along the path by azimuth of the sun, the flight, the settings; of each night only
those starts are judged that can hold.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal
from zoneinfo import ZoneInfo

import msgspec
import numpy as np

from core.belief import typed_belief
from core.clip import clip_of
from core.dates import spelt_date
from core.edit import PlanError
from core.exposure import FloatArray
from core.flight import flight_energy, plan_flight
from core.forecast import camera_height_m, flight_route, outlook, starts
from core.judge import Limit
from core.language import say
from core.light import Light
from core.lightwords import no_span_reason
from core.memory import Memory
from core.night import Night
from core.nightquick import quick_light, quick_night, twilight_azimuths_deg
from core.nightsky import YearSky, tabled
from core.nightspan import MOST_FRAMES, quick_starts
from core.path import reversed_path
from core.plan import FIRST_DATE, LAST_DATE, Plan, Shoot, ShootName, Twilight
from core.readings import belief_at_hand, learned_before, readings_of_night
from core.scales import with_shoot
from core.skies import Skies, skies_of
from core.starts import Starts
from core.tones import frame_ways, mid_log2

MOST_NIGHTS = 366
#: The decay is read over so long about the best start; the light reaches as far beyond it.
DECAY_S = 300.0
#: A moon less lit than this is no caution: half lit it gives an eighth of the full moon's light
#: (Explanatory Supplement 1992, ch. 9, L2 at 90 deg of phase).
LIT_MOON_SHARE = 0.5
#: Room beyond the last frame of the last start, so that every sample lies inside the light.
_SPARE_S = 60.0

#: What to look out for in a night. Weather is none of it: it is typed for one night, and a
#: shoot takes it along to every other.
Flag = Literal[
    "no_start", "battery", "moon", "no_event", "no_civil_end", "past_midnight", "clock_change"
]
#: The sun this far down ends civil twilight, by which many rules bound the night.
_CIVIL_DEG = -6.0


@dataclass(frozen=True)
class NightSeen:
    """One of many nights; times are UTC seconds.

    `best_s`, `earliest_s`, `latest_s` and `p_hold` are None where no start holds; then
    `reason` says why. `slack_stops` and `limit` are those of the best start, or else of the
    nearest one, `nearest_s`. `max_frames` is what the battery gives, `clip_length_s` what they
    play to; None where the craft cannot fly it. `decay_stops_per_min` is how fast the land
    grows dark about that start, negative where it grows light. `moon_share` is the lit share
    of the moon's disc, 0 to 1, `moon_up` whether it stands above the horizon during the take.
    `utc_offset_s` is the clock's at the event.
    """

    night: Night
    best_s: float | None
    earliest_s: float | None
    latest_s: float | None
    nearest_s: float
    slack_stops: float
    limit: Limit | None
    p_hold: float | None
    reason: str | None
    max_frames: int | None
    clip_length_s: float | None
    decay_stops_per_min: float
    moon_share: float
    moon_up: bool
    flags: tuple[Flag, ...]
    utc_offset_s: float


@dataclass(frozen=True)
class _Shared:
    """What all nights of a plan and a shoot have in common."""

    plan: Plan
    name: ShootName
    shoot: Shoot
    memory: Memory
    skies: Skies
    sky: YearSky
    way: FloatArray
    mid: float
    shooting_s: float
    frames: int
    max_frames: int | None


def nights_between(first: dt.date, last: dt.date) -> int:
    """How many nights a range of dates holds; PlanError where it cannot be answered."""
    count = (last - first).days + 1
    if count < 1:
        raise PlanError(
            say(
                "The nights end on {last}, before they begin on {first}; swap the dates.",
                last=last,
                first=first,
            )
        )
    if count > MOST_NIGHTS:
        raise PlanError(
            say(
                "From {first} to {last} are {count} nights; ask for {most_nights} at most, a year.",
                first=first,
                last=last,
                count=count,
                most_nights=MOST_NIGHTS,
            )
        )
    for date in (first, last):
        if not FIRST_DATE <= date <= LAST_DATE:
            raise PlanError(
                say(
                    "The date {date} lies outside the years the sun is computed for; give "
                    "dates from {first_date} to {last_date}.",
                    date=spelt_date(date),
                    first_date=spelt_date(FIRST_DATE),
                    last_date=spelt_date(LAST_DATE),
                )
            )
    return count


def night_judge(
    plan: Plan, name: ShootName, twilight: Twilight, memory: Memory | None = None
) -> Callable[[dt.date], NightSeen]:
    """What judges the nights of a plan and a shoot, one date at a time, in any order."""
    shared = _shared(plan, name, memory or Memory())
    return lambda date: _seen(shared, date, twilight)


def plan_of_night(plan: Plan, name: ShootName, date: dt.date, twilight: Twilight) -> Plan:
    """The plan with a shoot moved to another night, its start as far from the event as it was."""
    moved = msgspec.structs.replace(plan.shoot(name), date=date, twilight=twilight)
    return with_shoot(plan, name, moved)


def night_changes(
    name: ShootName, seen: NightSeen, start_s: float | None = None
) -> dict[str, object]:
    """New values by their dotted keys that load a night into a shoot.

    Parameters
    ----------
    start_s
        The start, UTC seconds; the night's best where it is left out. A night without one
        leaves the start as far from the event as it was.
    """
    changes: dict[str, object] = {
        f"shoots.{name}.date": seen.night.date,
        f"shoots.{name}.twilight": seen.night.twilight,
    }
    start_s = seen.best_s if start_s is None else start_s
    if start_s is not None:
        minutes = (start_s - seen.night.event.time_s) / 60.0
        changes[f"shoots.{name}.start_after_event_min"] = minutes
    return changes


def clock_moves_s(date: dt.date, time_zone: str) -> float:
    """By how many seconds the clocks of a place go forward on a date; mostly 0."""
    zone = ZoneInfo(time_zone)
    ends = (dt.datetime.combine(date + dt.timedelta(days=k), dt.time(), zone) for k in (0, 1))
    today, tomorrow = (_offset_s(end) for end in ends)
    return tomorrow - today


def _shared(plan: Plan, name: ShootName, memory: Memory) -> _Shared:
    shoot = plan.shoot(name)
    path = reversed_path(plan.path) if shoot.path_reversed else plan.path
    clip = clip_of(shoot, plan.camera)
    skies = tabled(skies_of(shoot.conditions, camera_height_m(plan), memory))
    key = (path, plan.camera, plan.place.skyline, shoot.conditions)
    return _Shared(
        plan=plan,
        name=name,
        shoot=shoot,
        memory=memory,
        skies=skies,
        sky=memory.recall("year sky", key, lambda: YearSky(path, plan, skies)),
        way=frame_ways(path, clip.frames),
        mid=mid_log2(shoot),
        shooting_s=clip.shooting_s,
        frames=clip.frames,
        max_frames=_max_frames(plan, shoot),
    )


def _max_frames(plan: Plan, shoot: Shoot) -> int | None:
    """What the battery gives on any night with this air: the flight does not know the date."""
    path = reversed_path(plan.path) if shoot.path_reversed else plan.path
    flight, first = plan.flight, shoot.visit == "first"
    energy = flight_energy(
        plan.craft,
        flight,
        flight_route(path),
        shoot.conditions,
        plan.place.elevation_m,
        flight.set_up_first_min if first else flight.set_up_repeat_min,
    )
    frames = clip_of(shoot, plan.camera).frames
    return plan_flight(energy, frames, shoot.interval_s, shoot.battery_start_percent).max_frames


def _seen(shared: _Shared, date: dt.date, twilight: Twilight) -> NightSeen:
    night, light, found = _judged(shared, date, twilight)
    start_s = found.nearest_s if found.best_s is None else found.best_s
    at = int(np.abs(found.time_s - start_s).argmin())
    take_s = np.linspace(start_s, start_s + shared.shooting_s, 9)
    moon_up = bool((night.moon(take_s)[0] > 0.0).any())
    moon_share = _lit_share(night, float(take_s[len(take_s) // 2]))
    before, after = light.at("land_log2", start_s + 0.5 * DECAY_S * np.array((-1.0, 1.0)))
    frames, rate_fps = shared.max_frames, shared.shoot.frame_rate_fps
    return NightSeen(
        night=night,
        best_s=found.best_s,
        earliest_s=found.earliest_s,
        latest_s=found.latest_s,
        nearest_s=found.nearest_s,
        slack_stops=float(found.slack_stops[at]),
        limit=found.limit_at(start_s),
        p_hold=None if found.best_s is None else float(found.p_hold[at]),
        reason=no_span_reason(night, found),
        max_frames=frames,
        clip_length_s=None if frames is None else frames / rate_fps,
        decay_stops_per_min=float(before - after) / (DECAY_S / 60.0),
        moon_share=moon_share,
        moon_up=moon_up,
        flags=_flags(shared, night, found, moonlit=moon_up and moon_share >= LIT_MOON_SHARE),
        utc_offset_s=_offset_s(night.clock(night.event.time_s)),
    )


def _judged(shared: _Shared, date: dt.date, twilight: Twilight) -> tuple[Night, Light, Starts]:
    plan, shoot = shared.plan, shared.shoot
    night, scan = quick_night(plan.place, date, twilight, shared.memory)
    if len(shared.way) > MOST_FRAMES or readings_of_night(plan, night):
        # A night that was read on site, or a huge take, is rare enough to be forecast whole.
        moved = plan_of_night(plan, shared.name, date, twilight)
        seen = outlook(moved, shared.name, shared.memory)
        return seen.night, seen.light, starts(moved, shared.name, shared.memory)
    typed = typed_belief(shoot.conditions.cloud_okta)
    room_s = shared.shooting_s + _SPARE_S
    light = quick_light(night, scan, plan, shoot, shared.skies, typed, room_s)
    sky = shared.sky.at(twilight_azimuths_deg(night, scan, light))
    if plan.learned:
        belief = belief_at_hand(shoot, learned_before(plan, night))
        light = quick_light(night, scan, plan, shoot, shared.skies, belief, room_s)
    found = quick_starts(night, light, sky, plan, shared.way, shoot.interval_s, shared.mid)
    return night, light, found


def _lit_share(night: Night, time_s: float) -> float:
    """Lit share of the moon's disc: Meeus 1998, eq. 48.1, the sun as good as infinitely far."""
    elongation = float(night.moon_elongation_deg(time_s))
    return (1.0 - float(np.cos(np.radians(elongation)))) / 2.0


def _flags(shared: _Shared, night: Night, found: Starts, *, moonlit: bool) -> tuple[Flag, ...]:
    lasts = shared.max_frames is not None and shared.max_frames >= shared.frames
    sunless = night.event.name not in ("sunset", "sunrise")
    darkest_deg = float(night.sun(night.darkest_s)[0])
    holds: dict[Flag, bool] = {
        "no_start": found.best_s is None,
        "battery": not lasts,
        "moon": moonlit,
        "no_event": sunless,
        "no_civil_end": darkest_deg > _CIVIL_DEG,
        "past_midnight": _past_midnight(night, found, shared.shooting_s),
        "clock_change": clock_moves_s(night.date, night.time_zone) != 0.0,
    }
    return tuple(flag for flag, flagged in holds.items() if flagged)


def _past_midnight(night: Night, found: Starts, shooting_s: float) -> bool:
    """Whether a take from a good start begins or ends on another date than the night's."""
    if found.earliest_s is None or found.latest_s is None:
        return False
    ends = (night.clock(found.earliest_s), night.clock(found.latest_s + shooting_s))
    return any(end.date() != night.date for end in ends)


def _offset_s(moment: dt.datetime) -> float:
    return (moment.utcoffset() or dt.timedelta()).total_seconds()
