"""Street lamps: when they switch and how they warm up."""

from __future__ import annotations

import datetime as dt
from typing import TypeVar, assert_never
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from core.ephemeris import DAY_S
from core.exposure import FloatArray
from core.night import HORIZON_DEG, Night
from core.place import local_time, utc_s
from core.plan import Lamps, Switching

_Float = TypeVar("_Float", np.float32, np.float64)

#: 1-sigma of a typed or tabled lamp luminance until a take has measured it, in stops.
LAMP_SIGMA_STOPS = 1.0


def lamp_hours(
    lamps: Lamps,
    night: Night,
    time_s: FloatArray,
    illuminance_lx: FloatArray,
    sun_altitude_deg: FloatArray,
) -> tuple[float, float] | None:
    """UTC seconds at which the lamps come on and go off in this night; None if they stay off.

    Lamps that burn already when the window opens, or still when it closes, get the
    window's own ends.

    Parameters
    ----------
    time_s, illuminance_lx, sun_altitude_deg
        A grid over the night's window, equal shapes.
    """
    switching = lamps.switching
    if lamps.luminance_cd_m2 == 0.0:
        return None
    match switching.kind:
        case "level":
            return _by_level(switching, time_s, illuminance_lx)
        case "clock":
            return _by_clock(switching, night.time_zone, time_s)
        case "offset":
            offset_s = switching.on_after_event_min * 60.0
            return _by_offset(offset_s, night.darkest_s, time_s, sun_altitude_deg)
        case _:
            assert_never(switching.kind)


def lamp_output(lamps: Lamps, hours: tuple[float, float] | None, time_s: FloatArray) -> FloatArray:
    """Share of their full light that the lamps give, 0 to 1, at each time.

    A straight ramp over the warm-up; they go off at once. Lamps that burned before the
    window opened are warm.

    Parameters
    ----------
    hours
        From `lamp_hours`.
    time_s
        The grid that the hours were found on.
    """
    if hours is None:
        return np.zeros_like(time_s)
    on_s = hours[0] if hours[0] > time_s[0] else -np.inf
    off_s = hours[1] if hours[1] < time_s[-1] else np.inf
    return warming(lamps, np.asarray(on_s), np.asarray(off_s), time_s)


def warming(
    lamps: Lamps, on_s: NDArray[_Float], off_s: NDArray[_Float], time_s: NDArray[_Float]
) -> NDArray[_Float]:
    """Share of their full light, 0 to 1, of lamps that come on and go off at some times.

    Parameters
    ----------
    on_s, off_s, time_s
        Seconds from one and the same instant, of shapes that go together; -inf for lamps that
        were on long before, inf for what never comes.
    """
    # Within a second is at once.
    warm_up_s = max(lamps.warm_up_min * 60.0, 1.0)
    output = np.clip((time_s - on_s) / warm_up_s, 0.0, 1.0)
    return np.where(time_s < off_s, output, 0.0) if off_s.min() <= time_s.max() else output


def crossing_s(time_s: FloatArray, value: FloatArray, level: float) -> FloatArray:
    """Times at which a sampled curve crosses a level, by straight lines between samples."""
    above = value > level
    at = np.flatnonzero(above[1:] != above[:-1])
    share = (level - value[at]) / (value[at + 1] - value[at])
    return time_s[at] + share * (time_s[at + 1] - time_s[at])


def _by_level(
    switching: Switching, time_s: FloatArray, illuminance_lx: FloatArray
) -> tuple[float, float] | None:
    """On at the first level below `on_lx`; off at the first above `off_lx` after the darkest.

    Where it never gets darker than `off_lx` the lamps go off at the darkest minute.
    """
    log_lx = np.log2(illuminance_lx)
    on, off = np.log2(switching.on_lx), np.log2(switching.off_lx)
    darkest = int(np.argmin(log_lx))
    if log_lx[darkest] > on:
        return None
    falling = crossing_s(time_s[: darkest + 1], log_lx[: darkest + 1], on)
    on_s = float(falling[0]) if falling.size else float(time_s[0])
    if log_lx[darkest] > off:
        return on_s, float(time_s[darkest])
    rising = crossing_s(time_s[darkest:], log_lx[darkest:], off)
    return on_s, float(rising[0]) if rising.size else float(time_s[-1])


def _by_clock(
    switching: Switching, time_zone: str, time_s: FloatArray
) -> tuple[float, float] | None:
    """The hours by the clock that fill most of the window."""
    first, last = float(time_s[0]), float(time_s[-1])
    on_before_s = _next_clock_s(switching.on_time, time_zone, first - DAY_S)
    hours = []
    for on_s in (on_before_s, _next_clock_s(switching.on_time, time_zone, on_before_s)):
        off_s = _next_clock_s(switching.off_time, time_zone, on_s)
        hours.append((max(on_s, first), min(off_s, last)))
    on_s, off_s = max(hours, key=lambda span: span[1] - span[0])
    return (on_s, off_s) if on_s < off_s else None


def _next_clock_s(clock: str, time_zone: str, after_s: float) -> float:
    """UTC seconds of the first time after `after_s` at which the place's clock shows this."""
    zone, wall = ZoneInfo(time_zone), dt.time.fromisoformat(clock)
    today = local_time(after_s, time_zone).date()
    days = (today + dt.timedelta(days=later) for later in range(3))
    times_s = (utc_s(dt.datetime.combine(day, wall, zone)) for day in days)
    return next(time_s for time_s in times_s if time_s > after_s)


def _by_offset(
    offset_s: float, darkest_s: float, time_s: FloatArray, sun_altitude_deg: FloatArray
) -> tuple[float, float] | None:
    """So long after sunset until as long before sunrise.

    A sun that is down already when the window opens, or still when it closes, leaves the
    window's own end.
    """
    if np.interp(darkest_s, time_s, sun_altitude_deg) >= HORIZON_DEG:
        return None
    crossings = crossing_s(time_s, sun_altitude_deg, HORIZON_DEG)
    sunsets, sunrises = crossings[crossings < darkest_s], crossings[crossings >= darkest_s]
    on_s = float(sunsets[-1]) + offset_s if sunsets.size else float(time_s[0])
    off_s = float(sunrises[0]) - offset_s if sunrises.size else float(time_s[-1])
    return (on_s, off_s) if on_s < off_s else None
