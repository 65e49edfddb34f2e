"""The moon of a night in words: how full it is, and when it is up."""

from __future__ import annotations

from typing import Final

import numpy as np

from core.language import say, say_as
from core.night import Moment, Night
from core.words import clock_text, share_text

_NEW, _FULL = 0.02, 0.98
#: Altitude of the centre at which the upper limb is on the horizon through mean refraction,
#: with the moon's mean parallax already in the topocentric altitude.
_ON_HORIZON_DEG: Final = -0.83


def lit_share(elongation_deg: float) -> float:
    """Share of the moon's disc that is lit, by its angle from the sun (Meeus 1998, eq. 48.1)."""
    return float((1.0 - np.cos(np.radians(elongation_deg))) / 2.0)


def moon_words(night: Night, press_s: float) -> str:
    """Say how full the moon is and when it is up: 'Moon 63 % waxing, sets 23:12'."""
    return say("Moon {phase}, {when}", phase=_phase(night, press_s), when=_when(night, press_s))


def _phase(night: Night, press_s: float) -> str:
    now, later = night.moon_elongation_deg(np.array([press_s, press_s + 6 * 3600.0]))
    lit = lit_share(float(now))
    if lit <= _NEW:
        return say_as("moon", "new")
    if lit >= _FULL:
        return say_as("moon", "full")
    share = share_text(lit)
    return say("{share} waxing", share=share) if later > now else say("{share} waning", share=share)


def _when(night: Night, press_s: float) -> str:
    altitude, _ = night.moon(np.array([press_s]))
    first, last = _dark_s(night)
    rise, sets = (
        [m for m in night.moments if m.name == name and first <= m.time_s <= last]
        for name in ("moonrise", "moonset")
    )
    if altitude[0] > _ON_HORIZON_DEG:
        return _up(night, press_s, rise, sets)
    return _down(night, press_s, rise, sets)


def _dark_s(night: Night) -> tuple[float, float]:
    """From sunset to about sunrise: as long after solar midnight as the event is before it."""
    event, darkest = night.event.time_s, night.darkest_s
    if night.event.name not in ("sunset", "sunrise"):
        return night.start_s, night.end_s
    first, last = sorted((event, 2.0 * darkest - event))
    return first, last


def _up(night: Night, press_s: float, rise: list[Moment], sets: list[Moment]) -> str:
    leaves = next((m for m in sets if m.time_s > press_s), None)
    if leaves is not None:
        return say("sets {clock}", clock=_clock(night, leaves))
    came = next((m for m in reversed(rise) if m.time_s <= press_s), None)
    return (
        say("up since {clock}", clock=_clock(night, came))
        if came is not None
        else say("up all night")
    )


def _down(night: Night, press_s: float, rise: list[Moment], sets: list[Moment]) -> str:
    comes = next((m for m in rise if m.time_s > press_s), None)
    if comes is not None:
        return say("rises {clock}", clock=_clock(night, comes))
    left = next((m for m in reversed(sets) if m.time_s <= press_s), None)
    return (
        say("set {clock}", clock=_clock(night, left)) if left is not None else say("down all night")
    )


def _clock(night: Night, moment: Moment) -> str:
    return clock_text(night.clock(moment.time_s))
