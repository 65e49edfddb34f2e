"""Light of one night at one place: illuminance, the luminance of each part, how sure.

Everything is sampled once on a grid over the night's window; what needs a value at a
frame's time reads between the samples in log luminance, where the curves are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.belief import Belief, typed_belief
from core.cloud import cloud_factor
from core.exposure import FloatArray
from core.lamps import crossing_s, lamp_hours, lamp_output
from core.moonlight import RISEN_DEG, moon_illuminance_lx
from core.night import HORIZON_DEG, Night
from core.place import skyline_altitude_deg
from core.plan import Conditions, Ground, Lamps, Place
from core.readonly import read_only
from core.skies import Skies
from core.sky.sky import Sky

_Float = TypeVar("_Float", np.float32, np.float64)

GRID_S = 10.0
#: The moon is looked at on so few of the samples.
MOON_STEP = 6
#: Centre to upper limb, with the mean refraction at the horizon.
_UPPER_LIMB_DEG = -HORIZON_DEG
_SUN_RADIUS_DEG = 16.0 / 60.0
#: Light that counts as none at all, in lx: keeps logarithms finite.
_LEAST_LX = 1e-9


@dataclass(frozen=True)
class Light:
    """Light over the night's window, arrays of one shape on a grid of `GRID_S`.

    `sky_added_cd_m2` is what the moon adds to the sky. `lamp_output` runs 0 to 1.
    `haze_slope_stops` is what the ground gains when the haze is one sigma thicker than typed.
    `belief` is what is held about the night; its means are in every
    figure here. `lamps` are those whose light is on the street. `lamps_on_s`, `lamps_off_s`
    and `local_sunset_s` are UTC seconds; None where there is no such instant in the window:
    lamps that burn already when it opens do not come on.
    """

    time_s: FloatArray
    sun_altitude_deg: FloatArray
    sun_azimuth_deg: FloatArray
    illuminance_lx: FloatArray
    sky_added_cd_m2: FloatArray
    lamp_output: FloatArray
    land_log2: FloatArray
    street_log2: FloatArray
    haze_slope_stops: FloatArray
    belief: Belief
    lamps: Lamps
    lamps_on_s: float | None
    lamps_off_s: float | None
    local_sunset_s: float | None

    @cached_property
    def land_sigma_stops(self) -> FloatArray:
        """1-sigma of the land's tone; many nights never ask."""
        sigma = self.belief.sigma_stops(level=1.0, weather=1.0, haze=self.haze_slope_stops)
        return read_only(sigma)

    @cached_property
    def street_sigma_stops(self) -> FloatArray:
        """1-sigma of the street's tone, by the share of it that is daylight."""
        by_day = np.exp2(self.land_log2 - self.street_log2)
        haze = by_day * self.haze_slope_stops
        weights = {"level": by_day, "weather": by_day, "haze": haze, "lamps": 1.0 - by_day}
        return read_only(self.belief.sigma_stops(**weights))

    def at(self, name: str, time_s: ArrayLike) -> FloatArray:
        """One of the grid's arrays read at other times, by straight lines."""
        values: FloatArray = getattr(self, name)
        return np.asarray(np.interp(np.asarray(time_s, dtype=float), self.time_s, values))

    def daylight_rise_stops(self, time_s: ArrayLike) -> FloatArray:
        """How far daylight is held to lie above its typed illuminance, in stops."""
        haze = self.belief.of("haze") * self.at("haze_slope_stops", time_s)
        return self.belief.of("weather") + haze

    def sky_rise_stops(self, haze_slope_stops: NDArray[_Float]) -> NDArray[_Float]:
        """How far the sky lies above its typed luminance, by its slope with haze."""
        even = self.belief.of("level") + self.belief.of("weather") + self.belief.of("sky")
        return haze_slope_stops * haze_slope_stops.dtype.type(
            self.belief.of("haze")
        ) + haze_slope_stops.dtype.type(even)

    @property
    def warm_lamps_cd_m2(self) -> float:
        """What the lamps are held to add to the street once they are warm."""
        return float(self.lamps.luminance_cd_m2 * 2.0 ** self.belief.of("lamps"))

    def switched_s(
        self, weather_stops: NDArray[_Float], haze_sigmas: NDArray[_Float]
    ) -> tuple[FloatArray, FloatArray]:
        """When lamps switched by level come on and go off in nights that depart from this one.

        UTC seconds: -inf for lamps that burn before the window opens, inf for what does not
        come in it. By the rules of `core.lamps.lamp_hours`.

        Parameters
        ----------
        weather_stops, haze_sigmas
            How far weather and haze lie from the means that are in every figure here, (nights,).
        """
        darkest = int(self.illuminance_lx.argmin())
        evening, morning = slice(None, darkest + 1), slice(darkest, None)
        switching = self.lamps.switching
        # Up to each time, the most by which daylight may be up for the lamps to be on by then;
        # and the least with which they are off again.
        on_rise = np.maximum.accumulate(self._room_stops(switching.on_lx)[evening])
        off_rise = np.minimum.accumulate(self._room_stops(switching.off_lx)[morning])

        def rise_at(switch_s: float) -> FloatArray:
            slope = float(self.at("haze_slope_stops", switch_s))
            return np.asarray(weather_stops + haze_sigmas * slope, dtype=float)

        time_s, by_night_s = self.time_s[evening], self.time_s[morning]
        rise = rise_at(float(np.interp(0.0, on_rise, time_s)))
        on_s = np.interp(rise, on_rise, time_s, left=-np.inf, right=np.inf)
        rise = rise_at(float(np.interp(0.0, -off_rise, by_night_s)))
        off_s = np.interp(-rise, -off_rise, by_night_s, right=np.inf)
        return on_s, off_s

    def _room_stops(self, level_lx: float) -> FloatArray:
        """By how much daylight may be up for ground under it and the moon to reach a level."""
        moon_lx = np.pi * self.sky_added_cd_m2
        left = np.maximum(level_lx - moon_lx, _LEAST_LX)
        return np.log2(left / np.maximum(self.illuminance_lx - moon_lx, _LEAST_LX))


def light_of(
    night: Night,
    place: Place,
    ground: Ground,
    conditions: Conditions,
    skies: Skies,
    belief: Belief | None = None,
) -> Light:
    """Light of a night under its conditions and skies.

    Parameters
    ----------
    belief
        What is held about the night; the typed figures alone where it is left out.
    """
    belief = belief or typed_belief(conditions.cloud_okta)
    time_s = np.arange(night.start_s, night.end_s + GRID_S, GRID_S)
    sun_altitude, sun_azimuth = night.sun(time_s)
    ridge = skyline_altitude_deg(place.skyline, sun_azimuth)
    moon_lx = _moon_lx(night, time_s) * cloud_factor(conditions.cloud_okta)
    haze_slope = _haze_slope_stops(skies, sun_altitude)
    # Weather and haze change the light itself and with it the minute of the lamps; the
    # place's own level only how bright its ground shows.
    weather = np.exp2(belief.of("weather") + belief.of("haze") * haze_slope)
    illuminance = _sunlit_lx(skies.typed, sun_altitude, ridge) * weather + moon_lx
    switched = lamp_hours(ground.lamps, night, time_s, illuminance, sun_altitude)
    output = lamp_output(ground.lamps, switched, time_s)
    on_s, off_s = _instants_s(switched, time_s)
    land = ground.land_reflectance * illuminance / np.pi * 2.0 ** belief.of("level")
    lamplight = ground.lamps.luminance_cd_m2 * output * 2.0 ** belief.of("lamps")
    return read_only(
        Light(
            time_s=time_s,
            sun_altitude_deg=sun_altitude,
            # Without the step at north, so that a value between two samples makes sense.
            sun_azimuth_deg=np.degrees(np.unwrap(np.radians(sun_azimuth))),
            illuminance_lx=illuminance,
            # A moonlit sky is taken as even, as bright as a white ground under it.
            sky_added_cd_m2=moon_lx / np.pi,
            lamp_output=output,
            land_log2=np.log2(land),
            street_log2=np.log2(land + lamplight),
            haze_slope_stops=haze_slope,
            belief=belief,
            lamps=ground.lamps,
            lamps_on_s=on_s,
            lamps_off_s=off_s,
            local_sunset_s=_local_event_s(night, time_s, sun_altitude - ridge),
        )
    )


def _moon_lx(night: Night, time_s: FloatArray) -> FloatArray:
    """The moon's light; between samples a minute apart its way is straight to 2e-4 deg."""
    sampled_s = np.append(time_s[::MOON_STEP], time_s[-1])
    height = night.moon(sampled_s)[0]
    if height.max() < RISEN_DEG:
        return np.zeros_like(time_s)
    altitude, elongation = (
        np.interp(time_s, sampled_s, values)
        for values in (height, night.moon_elongation_deg(sampled_s))
    )
    return moon_illuminance_lx(altitude, elongation, night.moon_parallax_deg)


def _sunlit_lx(sky: Sky, sun_altitude_deg: FloatArray, ridge_deg: FloatArray) -> FloatArray:
    """Illuminance by sun and sky; behind a ridge the sun's own share is missing."""
    whole = sky.ground_lx(sun_altitude_deg)
    # Where the flat horizon is the skyline, the sky model knows of it.
    disc_above = np.clip((sun_altitude_deg - ridge_deg) / (2.0 * _SUN_RADIUS_DEG) + 0.5, 0.0, 1.0)
    hidden = np.where(ridge_deg > 0.0, 1.0 - disc_above, 0.0)
    return np.asarray(whole * (1.0 - hidden * sky.direct_share(sun_altitude_deg)))


def _instants_s(
    hours: tuple[float, float] | None, time_s: FloatArray
) -> tuple[float | None, float | None]:
    """When the lamps come on and go off; the window's own ends are no such instants."""
    if hours is None:
        return None, None
    return (
        hours[0] if hours[0] > time_s[0] else None,
        hours[1] if hours[1] < time_s[-1] else None,
    )


def _haze_slope_stops(skies: Skies, sun_altitude_deg: FloatArray) -> FloatArray:
    """Gain of ground illuminance for a haze one sigma thicker than typed, in stops."""
    thinner, thicker = (sky.ground_lx(sun_altitude_deg) for sky in (skies.thinner, skies.thicker))
    return np.asarray(np.log2(thicker / thinner) / skies.sigmas_apart)


def _local_event_s(night: Night, time_s: FloatArray, above_ridge_deg: FloatArray) -> float | None:
    """When the sun's upper limb leaves (dusk) or clears (dawn) the skyline of the place.

    None where the sun shines on the place all night, or not at all on that side of it.
    """
    height = above_ridge_deg + _UPPER_LIMB_DEG
    if np.interp(night.darkest_s, time_s, height) >= 0.0:
        return None
    crossings = crossing_s(time_s, height, 0.0)
    # It may hide behind a summit and come out again: the crossing next to the dark counts.
    if night.twilight == "dusk":
        evening = crossings[crossings < night.darkest_s]
        return float(evening[-1]) if evening.size else None
    morning = crossings[crossings >= night.darkest_s]
    return float(morning[0]) if morning.size else None
