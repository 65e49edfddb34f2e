"""Light of one night at one place: illuminance, the luminance of each part, how sure.

Everything is sampled once on a grid over the night's window; what needs a value at a
frame's time reads between the samples in log luminance, where the curves are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from core.cloud import ambient_sigma_stops, cloud_factor
from core.exposure import FloatArray
from core.lamps import LAMP_SIGMA_STOPS, crossing_s, lamp_hours, lamp_output
from core.moonlight import moon_illuminance_lx
from core.night import HORIZON_DEG, Night
from core.place import skyline_altitude_deg
from core.plan import Conditions, Ground, Place
from core.readonly import read_only
from core.sky.daylight import horizontal_illuminance_lx

GRID_S = 10.0
#: 1-sigma of the typed haze, in doublings of the optical depth: a pilot tells clear from
#: hazy by eye, no better (our judgement).
HAZE_SIGMA_DOUBLINGS = 0.6
#: Centre to upper limb, with the mean refraction at the horizon.
_UPPER_LIMB_DEG = -HORIZON_DEG


class ClearSky(Protocol):
    """A clear sky at one haze and flight height."""

    def illuminance_ratio(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        """Ground illuminance over the one at the default haze."""
        ...

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        """Luminance in cd/m² toward a direction."""
        ...


@dataclass(frozen=True)
class Light:
    """Light over the night's window, arrays of one shape on a grid of `GRID_S`.

    `sky_factor` multiplies a clear sky's luminance (cloud), `sky_added_cd_m2` is added to
    it (moonlight). `lamp_output` runs 0 to 1. Sigmas are 1-sigma in stops. `lamps_on_s`,
    `lamps_off_s` and `local_sunset_s` are UTC seconds or None.
    """

    time_s: FloatArray
    sun_altitude_deg: FloatArray
    sun_azimuth_deg: FloatArray
    illuminance_lx: FloatArray
    sky_factor: float
    sky_added_cd_m2: FloatArray
    lamp_output: FloatArray
    land_log2: FloatArray
    street_log2: FloatArray
    land_sigma_stops: FloatArray
    street_sigma_stops: FloatArray
    lamps_on_s: float | None
    lamps_off_s: float | None
    local_sunset_s: float | None

    def at(self, name: str, time_s: ArrayLike) -> FloatArray:
        """One of the grid's arrays read at other times, by straight lines."""
        values: FloatArray = getattr(self, name)
        return np.asarray(np.interp(np.asarray(time_s, dtype=float), self.time_s, values))


def light_of(
    night: Night, place: Place, ground: Ground, conditions: Conditions, skies: tuple[ClearSky, ...]
) -> Light:
    """Light of a night under its conditions.

    Parameters
    ----------
    skies
        The clear sky at the expected haze, and at the haze one sigma below and above.
    """
    time_s = np.arange(night.start_s, night.end_s + GRID_S, GRID_S)
    sun_altitude, sun_azimuth = night.sun(time_s)
    cloud = cloud_factor(conditions.cloud_okta)
    moon_lx = _moon_lx(night, time_s) * cloud
    sun_lx = horizontal_illuminance_lx(sun_altitude) * skies[0].illuminance_ratio(sun_altitude)
    illuminance = sun_lx * cloud + moon_lx
    switched = lamp_hours(ground.lamps, night, time_s, illuminance, sun_altitude)
    output = lamp_output(ground.lamps, switched, time_s)
    land = ground.land_reflectance * illuminance / np.pi
    lamplight = ground.lamps.luminance_cd_m2 * output
    land_sigma = np.hypot(
        ambient_sigma_stops(conditions.cloud_okta), _haze_sigma_stops(skies, sun_altitude)
    )
    return read_only(
        Light(
            time_s=time_s,
            sun_altitude_deg=sun_altitude,
            # Without the step at north, so that a value between two samples makes sense.
            sun_azimuth_deg=np.degrees(np.unwrap(np.radians(sun_azimuth))),
            illuminance_lx=illuminance,
            sky_factor=cloud,
            # A moonlit sky is taken as even, as bright as a white ground under it.
            sky_added_cd_m2=moon_lx / np.pi,
            lamp_output=output,
            land_log2=np.log2(land),
            street_log2=np.log2(land + lamplight),
            land_sigma_stops=land_sigma,
            street_sigma_stops=_mixed_sigma_stops(land, land_sigma, lamplight),
            lamps_on_s=switched[0] if switched else None,
            lamps_off_s=switched[1] if switched else None,
            local_sunset_s=_local_event_s(night, place, time_s, sun_altitude, sun_azimuth),
        )
    )


def _moon_lx(night: Night, time_s: FloatArray) -> FloatArray:
    altitude, _ = night.moon(time_s)
    elongation = night.moon_elongation_deg(time_s)
    return moon_illuminance_lx(altitude, elongation, night.moon_parallax_deg)


def _haze_sigma_stops(skies: tuple[ClearSky, ...], sun_altitude_deg: FloatArray) -> FloatArray:
    """1-sigma of ground illuminance that the haze's own 1-sigma makes, in stops."""
    _, below, above = skies
    ratio = below.illuminance_ratio(sun_altitude_deg) / above.illuminance_ratio(sun_altitude_deg)
    return np.asarray(np.abs(np.log2(ratio)) / 2.0)


def _mixed_sigma_stops(
    land: FloatArray, land_sigma_stops: FloatArray, lamplight: FloatArray
) -> FloatArray:
    """1-sigma of daylight and lamplight together, each weighed by its share."""
    daylight_share = land / (land + lamplight)
    lamp_share = 1.0 - daylight_share
    return np.hypot(daylight_share * land_sigma_stops, lamp_share * LAMP_SIGMA_STOPS)


def _local_event_s(
    night: Night,
    place: Place,
    time_s: FloatArray,
    sun_altitude_deg: FloatArray,
    sun_azimuth_deg: FloatArray,
) -> float | None:
    """When the sun's upper limb leaves (dusk) or clears (dawn) the skyline of the place.

    None where the sun shines on the place all night, or not at all on that side of it.
    """
    ridge = skyline_altitude_deg(place.skyline, sun_azimuth_deg)
    height = sun_altitude_deg + _UPPER_LIMB_DEG - ridge
    if np.interp(night.darkest_s, time_s, height) >= 0.0:
        return None
    crossings = crossing_s(time_s, height, 0.0)
    # It may hide behind a summit and come out again: the crossing next to the dark counts.
    if night.twilight == "dusk":
        evening = crossings[crossings < night.darkest_s]
        return float(evening[-1]) if evening.size else None
    morning = crossings[crossings >= night.darkest_s]
    return float(morning[0]) if morning.size else None
