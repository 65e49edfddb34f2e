"""A night without its moments, and its light only where a take may lie: for many at once."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import msgspec
import numpy as np

from core.belief import Belief
from core.ephemeris import DAY_S, Track, transit_s
from core.exposure import FloatArray
from core.forecast import AZIMUTH_STEP_DEG, PAST_MIDNIGHT_S
from core.lamps import lamp_hours, lamp_output
from core.light import GRID_S, MOON_STEP, Light, light_of
from core.memory import Memory
from core.night import HORIZON_DEG, Event, Night, night_of, no_event_reason, stand_in
from core.place import utc_s
from core.plan import Ground, Place, Plan, Shoot, Twilight
from core.readonly import read_only
from core.skies import Skies
from core.starts import BEYOND_S, DARKEST_S, HIGHEST_SUN_DEG, LOWEST_SUN_DEG

#: Samples of the light between two of the scan, which finds where a night is worth reading.
SCAN = 12
#: A sun that turns this near to the horizon is left to the exact search for its event.
GRAZING_DEG = 0.1
#: Suns whose azimuths the sky is traced for, as the forecast has it.
TRACED_SUN_DEG = 13.0
#: Days that share one track of sun and moon: it keeps the moon to 1e-5 deg of the night's own.
WEEK_DAYS = 7
_TRACK_MARGIN_S = 2.5 * DAY_S
_SECANT_STEPS = 4


@dataclass(frozen=True)
class Scan:
    """The sun through a night's window, every so many samples of its light's grid."""

    time_s: FloatArray
    altitude_deg: FloatArray
    azimuth_deg: FloatArray


def week_track(place: Place, date: dt.date, memory: Memory) -> Track:
    """Sun and moon over the week that a date lies in, and the nights beside it."""
    week = date.toordinal() // WEEK_DAYS
    where = (place.latitude_deg, place.longitude_deg)

    def track() -> Track:
        first = dt.datetime.combine(dt.date.fromordinal(WEEK_DAYS * week), dt.time(12), dt.UTC)
        first_s = utc_s(first)
        last_s = first_s + (WEEK_DAYS - 1) * DAY_S
        return Track(*where, first_s - _TRACK_MARGIN_S, last_s + _TRACK_MARGIN_S)

    return memory.recall("week track", (*where, week), track)


def quick_night(
    place: Place, date: dt.date, twilight: Twilight, memory: Memory
) -> tuple[Night, Scan]:
    """The night of a date as `core.night.night_of` finds it, without moments.

    Where the sun but grazes the horizon it is that night itself.
    """
    latitude, longitude, zone = place.latitude_deg, place.longitude_deg, place.time_zone
    midday = dt.datetime.combine(date, dt.time(12), tzinfo=ZoneInfo(zone))
    noon_s = transit_s(utc_s(midday), longitude)
    other_s = noon_s + (DAY_S if twilight == "dusk" else -DAY_S)
    start_s, end_s = sorted((noon_s, transit_s(other_s, longitude)))
    track = week_track(place, date, memory)
    scan = _scan(track, start_s, end_s)
    if _grazes(scan):
        return night_of(latitude, longitude, zone, date, twilight), scan
    darkest_s = transit_s(0.5 * (start_s + end_s), longitude, 180.0)
    event = _event(track, scan, twilight) or stand_in(track, noon_s, darkest_s)
    night = Night(
        latitude_deg=latitude,
        longitude_deg=longitude,
        date=date,
        twilight=twilight,
        time_zone=zone,
        event=event,
        reason=no_event_reason(event, date, twilight, zone),
        moments=(),
        start_s=start_s,
        darkest_s=darkest_s,
        end_s=end_s,
        moon_parallax_deg=float(track.moon_parallax_deg(np.asarray(darkest_s))),
        _track=track,
    )
    return night, scan


def quick_light(
    night: Night,
    scan: Scan,
    plan: Plan,
    shoot: Shoot,
    skies: Skies,
    belief: Belief,
    shooting_s: float,
) -> Light:
    """The night's light on the forecast's own grid, from its first start to its last frame."""
    first, last = _judged_window_s(night, scan)
    last = min(last + shooting_s, night.end_s)
    # On samples at which the forecast looks at the moon.
    moon_s = MOON_STEP * GRID_S
    first_s = night.start_s + moon_s * np.floor((first - night.start_s) / moon_s)
    last_s = night.start_s + moon_s * np.ceil((last - night.start_s) / moon_s)
    # Half a step less, so that the grid ends on its own last sample.
    window = replace(night, start_s=float(first_s), end_s=float(last_s - 0.5 * GRID_S))
    lamps = msgspec.structs.replace(plan.ground.lamps, luminance_cd_m2=0.0)
    unlit = msgspec.structs.replace(plan.ground, lamps=lamps)
    light = light_of(window, plan.place, unlit, shoot.conditions, skies, belief)
    return _lit(night, scan, light, plan.ground, skies)


def twilight_azimuths_deg(night: Night, scan: Scan, light: Light) -> tuple[float, ...]:
    """Sun azimuths that the forecast traces the sky for, in the turn of the light's own."""
    time_s = np.arange(night.start_s, night.end_s + GRID_S, GRID_S)
    after_s = time_s - night.darkest_s
    side = (after_s if night.twilight == "dusk" else -after_s) <= PAST_MIDNIGHT_S
    altitude = np.interp(time_s, scan.time_s, scan.altitude_deg)
    near = side & (np.abs(altitude) <= TRACED_SUN_DEG)
    chosen_s = time_s[near if near.any() else side]
    azimuth = np.interp(chosen_s, scan.time_s, scan.azimuth_deg)
    turned = np.interp(light.time_s[0], scan.time_s, scan.azimuth_deg) - light.sun_azimuth_deg[0]
    azimuth = azimuth - 360.0 * np.round(turned / 360.0)
    first = np.floor(azimuth.min() / AZIMUTH_STEP_DEG)
    last = np.ceil(azimuth.max() / AZIMUTH_STEP_DEG)
    return tuple(float(AZIMUTH_STEP_DEG * k) for k in np.arange(first, last + 1))


def _scan(track: Track, start_s: float, end_s: float) -> Scan:
    time_s = np.arange(start_s, end_s + SCAN * GRID_S, SCAN * GRID_S)
    altitude, azimuth = track.sun(time_s)
    return Scan(time_s, altitude, np.degrees(np.unwrap(np.radians(azimuth))))


def _grazes(scan: Scan) -> bool:
    """Whether the sun turns so near to the horizon that only an exact search finds its event."""
    above = scan.altitude_deg - HORIZON_DEG
    return min(abs(float(above.min())), abs(float(above.max()))) < GRAZING_DEG


def _event(track: Track, scan: Scan, twilight: Twilight) -> Event | None:
    """First sunset or last sunrise of the window; None where there is none."""
    above = scan.altitude_deg - HORIZON_DEG
    up = above >= 0.0
    passed = np.flatnonzero((up[:-1] & ~up[1:]) if twilight == "dusk" else (~up[:-1] & up[1:]))
    if not passed.size:
        return None
    at = int(passed[0] if twilight == "dusk" else passed[-1])
    pair, heights = scan.time_s[at : at + 2], above[at : at + 2]
    for _ in range(_SECANT_STEPS):
        slope = (heights[1] - heights[0]) / (pair[1] - pair[0])
        new_s = pair[1] - heights[1] / slope
        if abs(new_s - pair[1]) < 1e-3:
            break
        height = float(track.sun(np.array([new_s]))[0][0]) - HORIZON_DEG
        pair, heights = np.array([pair[1], new_s]), np.array([heights[1], height])
    return Event("sunset" if twilight == "dusk" else "sunrise", float(new_s))


def _judged_window_s(night: Night, scan: Scan) -> tuple[float, float]:
    """Where the forecast looks for starts, two steps of the scan more at each end."""
    dusk, step = night.twilight == "dusk", 2.0 * SCAN * GRID_S
    time_s = scan.time_s
    side = time_s <= night.darkest_s + step if dusk else time_s >= night.darkest_s - step
    high, low = HIGHEST_SUN_DEG + 0.6, LOWEST_SUN_DEG - 0.6
    judged = side & (scan.altitude_deg <= high) & (scan.altitude_deg >= low)
    if not judged.any():
        judged = side & (np.abs(time_s - night.darkest_s) <= DARKEST_S + step)
    first, last = float(time_s[judged][0]) - step, float(time_s[judged][-1]) + step
    if dusk:
        last = min(last + BEYOND_S, night.darkest_s + step)
    else:
        first = max(first - BEYOND_S, night.darkest_s - step)
    return max(first, night.start_s), min(last, night.end_s)


def _lit(night: Night, scan: Scan, light: Light, ground: Ground, skies: Skies) -> Light:
    """The light with the lamps in it, which switch by the whole night."""
    before, after = scan.time_s < light.time_s[0], scan.time_s > light.time_s[-1]

    def whole(coarse: FloatArray, fine: FloatArray) -> FloatArray:
        return np.concatenate([coarse[before], fine, coarse[after]])

    daylight = skies.typed.ground_lx(scan.altitude_deg)
    time_s = whole(scan.time_s, light.time_s)
    hours = lamp_hours(
        ground.lamps,
        night,
        time_s,
        whole(daylight, light.illuminance_lx),
        whole(scan.altitude_deg, light.sun_altitude_deg),
    )
    output = lamp_output(ground.lamps, hours, time_s)[before.sum() :][: len(light.time_s)]
    lamplight = ground.lamps.luminance_cd_m2 * output * 2.0 ** light.belief.of("lamps")
    street = np.log2(np.exp2(light.land_log2) + lamplight)
    return read_only(replace(light, lamps=ground.lamps, lamp_output=output, street_log2=street))
