"""Readings of a night against its typed light: what is held about the night after them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import msgspec
import numpy as np

from core.belief import (
    UNKNOWNS,
    Belief,
    Observation,
    Unknown,
    belief_before,
)
from core.framesky import FrameSky, between, interpolate
from core.light import Light
from core.night import Night
from core.outlook import Outlook
from core.plan import Bands, Learned, Plan, Reading, Shoot
from core.tones import exceeded_by, mid_log2, with_moon

#: Lamps come on up to so many seconds before the minute that they are thought to (common
#: practice, no source).
LAMPS_DOUBT_S = 900.0
#: What a take teaches for good; the other unknowns belong to its night.
KEPT: tuple[Unknown, ...] = ("level", "lamps")


def readings_of_night(plan: Plan, night: Night) -> tuple[Reading, ...]:
    """The readings that were made on a night, on its twilight's side of solar midnight."""
    return tuple(reading for reading in plan.readings if _is_on(night, reading.time))


def learned_before(plan: Plan, night: Night) -> tuple[Learned, ...]:
    """What earlier nights taught for good, in the order of their takes.

    A night's own readings are read afresh instead, and what a later take taught rests on
    this one's already: either would count twice.
    """
    starts_s = {take.id: instant_s(take.start) for take in plan.takes}
    # What belongs to no take of the plan was known from the beginning.
    known = [(starts_s.get(item.take_id or "", -np.inf), item) for item in plan.learned]
    earlier = [
        (start_s, item)
        for start_s, item in known
        if item.name in KEPT_NAMES and start_s < _first_s(night)
    ]
    return tuple(item for _, item in sorted(earlier, key=lambda one: one[0]))


def _first_s(night: Night) -> float:
    """Where a night's own side of solar midnight begins."""
    return night.start_s if night.twilight == "dusk" else night.darkest_s


def learned_name(unknown: Unknown) -> str:
    """The name under which a plan keeps one of the unknowns."""
    return f"{unknown}_sigmas" if unknown == "haze" else f"{unknown}_stops"


KEPT_NAMES = tuple(learned_name(unknown) for unknown in KEPT)


def belief_at_hand(shoot: Shoot, learned: Iterable[Learned]) -> Belief:
    """What is held about a shoot's night before anything is read on it.

    Parameters
    ----------
    learned
        As `learned_before`; of two with one name the later counts.
    """
    kept = {
        unknown: (item.value, item.sigma)
        for item in learned
        for unknown in UNKNOWNS
        if item.name == learned_name(unknown)
    }
    return belief_before(shoot.conditions.cloud_okta, kept)


def observed(
    shoot: Shoot,
    typed: Light,
    framesky: FrameSky,
    bands: Bands,
    readings: Iterable[tuple[Reading, float]],
) -> list[Observation]:
    """The readings of a shoot's night that carry something.

    Parameters
    ----------
    typed
        The night's light with nothing read or learned yet.
    readings
        As `readings_of_night`, each with the log2 luminance of mid-grey at its settings.
    """
    seen = (observation(one, mid, shoot, typed, framesky, bands) for one, mid in readings)
    return [one for one in seen if one is not None]


def observation(
    reading: Reading, mid: float, shoot: Shoot, typed: Light, framesky: FrameSky, bands: Bands
) -> Observation | None:
    """A reading beside what the typed light has for its instant and its part.

    None for a reading that carries nothing: of a sky that the path does not see, or of the
    street shortly before the lamps are thought to come on, when they may burn already.

    Parameters
    ----------
    mid
        Log2 luminance of mid-grey at the reading's settings.
    """
    time_s = instant_s(reading.time)
    land, street = (float(typed.at(name, time_s)) for name in ("land_log2", "street_log2"))
    lamplight = 2.0**street - 2.0**land
    sky, slope = 0.0, 0.0
    if reading.part == "sky":
        seen = _sky(reading, shoot, typed, framesky, bands)
        if seen is None:
            return None
        sky, slope = seen
    if reading.part == "street" and lamps_may_burn(typed, time_s):
        return None
    return Observation(
        part=reading.part,
        log2=mid + reading.stops,
        sigma_stops=reading.sigma_stops,
        land_log2=land,
        lamp_log2=float(np.log2(lamplight)) if lamplight > 0.0 else -np.inf,
        sky_log2=sky,
        ground_slope=float(typed.at("haze_slope_stops", time_s)),
        sky_slope=slope,
    )


def lamps_may_burn(light: Light, time_s: float) -> bool:
    """Whether lamps that are thought to be dark still are about to come on at an instant."""
    on_s = light.lamps_on_s
    return on_s is not None and on_s - LAMPS_DOUBT_S < time_s <= on_s


def share_as_drawn(way: float, shoot: Shoot) -> float:
    """A share of the way as a shoot flies it, along the path as drawn; and the other way round."""
    return 1.0 - way if shoot.path_reversed else way


def expected_tone(reading: Reading, plan: Plan, seen: Outlook) -> tuple[float, float] | None:
    """The tone that a reading should show by an outlook, and its 1-sigma, in stops.

    None for a sky that the path does not see there.
    """
    mid = reading_mid_log2(reading, plan)
    light = seen.light
    if reading.part != "sky":
        names = (f"{reading.part}_log2", f"{reading.part}_sigma_stops")
        log2, sigma = (float(light.at(name, instant_s(reading.time))) for name in names)
        return log2 - mid, sigma
    found = _sky(reading, seen.shoot, light, seen.framesky, plan.bands)
    if found is None:
        return None
    log2, slope = found
    sigma = float(light.belief.sigma_stops(level=1.0, weather=1.0, haze=slope, sky=1.0))
    return log2 - mid + float(light.sky_rise_stops(np.array(slope))), sigma


def settings_of(reading: Reading, shoot: Shoot) -> Shoot:
    """A shoot with the settings at which a reading was made; what it leaves out stays."""
    typed = {
        name: getattr(reading, name)
        for name in ("shutter_s", "iso", "f_number", "nd_stops")
        if getattr(reading, name) is not None
    }
    return msgspec.structs.replace(shoot, **typed)


def reading_mid_log2(reading: Reading, plan: Plan) -> float:
    """Log2 luminance of mid-grey at a reading's settings."""
    return mid_log2(settings_of(reading, plan.shoots.A))


def instant_s(text: str) -> float:
    """UTC seconds of a time of the plan file, ISO 8601 with its offset."""
    return dt.datetime.fromisoformat(text).timestamp()


def _is_on(night: Night, time: str) -> bool:
    """Whether an instant lies on a night: weather and haze of the evening are not the morning's."""
    time_s = instant_s(time)
    if night.twilight == "dusk":
        return night.start_s <= time_s <= night.darkest_s
    return night.darkest_s <= time_s <= night.end_s


def _sky(
    reading: Reading, shoot: Shoot, typed: Light, framesky: FrameSky, bands: Bands
) -> tuple[float, float] | None:
    """Log2 luminance that the share which may burn exceeds, and its slope with haze.

    None where the frame there holds no more sky than may burn.
    """
    if reading.path_share is None:
        way = float(framesky.way[int(framesky.sky_share.argmax())])
    else:
        way = share_as_drawn(reading.path_share, shoot)
    when, where = np.array([instant_s(reading.time)]), np.array([way])
    corners = (
        between(framesky.way, where),
        between(framesky.sun_altitude_deg, typed.at("sun_altitude_deg", when)),
        between(framesky.sun_azimuth_deg, typed.at("sun_azimuth_deg", when)),
    )
    share = float(interpolate(framesky.sky_share, corners[0])[0])
    allowed = bands.sky.clip_area_share
    if share <= allowed:
        return None
    exceeded = with_moon(interpolate(framesky.exceeded_log2, *corners), typed, when)
    level = exceeded_by(exceeded, np.array([allowed / share]))
    return float(level[0]), float(interpolate(framesky.haze_slope_stops, *corners)[0])
