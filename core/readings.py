"""Readings of a night against its typed light: what is held about the night after them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Literal

import msgspec
import numpy as np

from core.belief import (
    UNKNOWNS,
    Belief,
    Observation,
    Unknown,
    belief_before,
)
from core.exposure import FloatArray
from core.framesky import FrameSky, between, interpolate
from core.light import Light
from core.night import Night
from core.outlook import Outlook
from core.plan import Bands, Learned, Plan, Reading, Shoot
from core.tones import exceeded_by, mid_log2, with_moon

#: Lamps come on up to so many seconds before the minute that they are thought to (common
#: practice, no source).
LAMPS_DOUBT_S = 900.0
#: Why a reading carries nothing: the path sees too little sky there, or the lamps may burn.
Unread = Literal["sky", "lamps"]
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
    return [
        observation(one, mid, shoot, typed, framesky, bands)
        for one, mid in readings
        if unread(one, shoot, typed, framesky, bands) is None
    ]


def unread(
    reading: Reading, shoot: Shoot, typed: Light, framesky: FrameSky, bands: Bands
) -> Unread | None:
    """Why a reading carries nothing; None for one that carries something.

    The path sees no more sky there than may burn; or the street is read shortly before lamps
    that are thought to be dark still come on, when they may burn already.

    Parameters
    ----------
    typed
        As in `observed`: what was read before must not say what counts as read.
    """
    if reading.part == "sky" and _allowed_share(reading, shoot, framesky, bands) >= 1.0:
        return "sky"
    on_s, time_s = typed.lamps_on_s, instant_s(reading.time)
    if reading.part == "street" and on_s is not None and on_s - LAMPS_DOUBT_S < time_s <= on_s:
        return "lamps"
    return None


def observation(
    reading: Reading, mid: float, shoot: Shoot, typed: Light, framesky: FrameSky, bands: Bands
) -> Observation:
    """A reading that carries something, beside what the typed light has for its instant and part.

    Parameters
    ----------
    mid
        Log2 luminance of mid-grey at the reading's settings.
    """
    time_s = instant_s(reading.time)
    land, street = (2.0 ** float(typed.at(name, time_s)) for name in ("land_log2", "street_log2"))
    on_sky = float(typed.at("sky_added_cd_m2", time_s))
    # Moonlight lies on ground as it does on a white one, but for the ground's reflectance.
    moonlit = land * np.pi * on_sky / float(typed.at("illuminance_lx", time_s))
    of_sky = reading.part == "sky"
    sky, slope = _sky(reading, shoot, typed, framesky, bands) if of_sky else (0.0, 0.0)
    return Observation(
        part=reading.part,
        log2=mid + reading.stops,
        sigma_stops=reading.sigma_stops,
        land_log2=_log2(land - moonlit),
        lamp_log2=_log2(street - land),
        sky_log2=sky,
        ground_slope=float(typed.at("haze_slope_stops", time_s)),
        sky_slope=slope,
        moon_log2=_log2(on_sky if of_sky else moonlit),
    )


def _log2(luminance: float) -> float:
    """Log2 of a luminance in cd/m², -inf for none."""
    return float(np.log2(luminance)) if luminance > 0.0 else -np.inf


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
    if unread(reading, seen.shoot, seen.typed, seen.framesky, plan.bands) == "sky":
        return None
    log2, slope = _sky(reading, seen.shoot, light, seen.framesky, plan.bands)
    sigma = float(light.belief.sigma_stops(level=1.0, weather=1.0, haze=slope, sky=1.0))
    risen = np.array([log2 + float(light.sky_rise_stops(np.array(slope)))])
    return float(with_moon(risen, light, np.array([instant_s(reading.time)]))[0]) - mid, sigma


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


def _way(reading: Reading, shoot: Shoot, framesky: FrameSky) -> FloatArray:
    """Where along the way as flown a reading was made, an array of one."""
    if reading.path_share is None:
        return framesky.way[[int(framesky.sky_share.argmax())]]
    return np.array([share_as_drawn(reading.path_share, shoot)])


def _allowed_share(reading: Reading, shoot: Shoot, framesky: FrameSky, bands: Bands) -> float:
    """How much of the sky in the frame may burn; 1 or more where all of it may."""
    at = between(framesky.way, _way(reading, shoot, framesky))
    share = float(interpolate(framesky.sky_share, at)[0])
    return bands.sky.clip_area_share / share if share > 0.0 else np.inf


def _sky(
    reading: Reading, shoot: Shoot, light: Light, framesky: FrameSky, bands: Bands
) -> tuple[float, float]:
    """Log2 luminance that the share which may burn exceeds by twilight, and its slope with haze."""
    when = np.array([instant_s(reading.time)])
    corners = (
        between(framesky.way, _way(reading, shoot, framesky)),
        between(framesky.sun_altitude_deg, light.at("sun_altitude_deg", when)),
        between(framesky.sun_azimuth_deg, light.at("sun_azimuth_deg", when)),
    )
    allowed = np.array([_allowed_share(reading, shoot, framesky, bands)])
    level = exceeded_by(interpolate(framesky.exceeded_log2, *corners), allowed)
    return float(level[0]), float(interpolate(framesky.haze_slope_stops, *corners)[0])
