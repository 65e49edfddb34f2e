"""What shines in the frames of a take, taken from its tones: daylight, lamps, sky, discs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.framesky import between, interpolate
from core.moonlight import moon_illuminance_lx
from core.outlook import Outlook
from core.path import Poses, poses_along
from core.plan import Plan
from core.preview.discs import Disc, apparent_altitude_deg, moon_disc, sun_disc, transmitted_rgb
from core.preview.heavens import Heavens, heavens_of, unit_luminance, visibility_km
from core.preview.view import Pixels
from core.tones import lit_share

#: Linear Rec.709 of a 3000 K lamp under daylight balance, luminance 1: the Planckian
#: radiator's x = 0.4369, y = 0.4041 (CIE 15:2004) through the matrix of IEC 61966-2-1.
LAMP_RGB = np.array((1.7699, 0.8445, 0.2722))
#: A disc lower than this is down, refraction and radius counted in; geometric degrees.
_DISC_DOWN_DEG = -1.0
_OVERCAST_OKTA = 8.0


@dataclass(frozen=True)
class Scene:
    """The light of some frames; arrays run over the frames first.

    `daylight` and `lamplight` (n, 3) are linear Rec.709 in cd/m²: the land under the sky,
    and what the lamps add on the streets. `lit_share` is the streets' share of the ground.
    """

    skyline: tuple[tuple[float, float], ...]
    lit_share: float
    visibility_km: float
    poses: Poses
    sun_azimuth_deg: FloatArray
    heavens: Heavens
    daylight: Pixels
    lamplight: Pixels
    discs: tuple[tuple[Disc, ...], ...]


def scene_of(plan: Plan, seen: Outlook, indices: NDArray[np.int64]) -> Scene:
    """Gather the light of frames of a shoot; see `linear_frames` for the parameters."""
    tones, air = seen.tones, seen.shoot.conditions
    sun_altitude = tones.sun_altitude_deg[indices]
    land = 2.0 ** (tones.land.stops[indices] + seen.mid)
    street = 2.0 ** (tones.street.stops[indices] + seen.mid)
    moonlight = seen.light.at("sky_added_cd_m2", tones.time_s[indices])
    heavens = heavens_of(seen.sky, sun_altitude, moonlight, land, _sky_rise_stops(seen, indices))
    return Scene(
        skyline=plan.place.skyline,
        lit_share=lit_share(plan.ground),
        visibility_km=air.visibility_km or visibility_km(air.haze_aod),
        poses=poses_along(seen.path, tones.way[indices]),
        sun_azimuth_deg=tones.sun_azimuth_deg[indices],
        heavens=heavens,
        daylight=_daylight(seen, indices, heavens, land),
        lamplight=((street - land)[:, None] * LAMP_RGB).astype(np.float32),
        discs=_discs(seen, indices),
    )


def _sky_rise_stops(seen: Outlook, indices: NDArray[np.int64]) -> FloatArray:
    """How far the sky of each frame is held to lie above its typed luminance."""
    tones, framesky = seen.tones, seen.framesky
    slope = interpolate(
        framesky.haze_slope_stops,
        between(framesky.way, tones.way[indices]),
        between(framesky.sun_altitude_deg, tones.sun_altitude_deg[indices]),
        between(framesky.sun_azimuth_deg, seen.light.at("sun_azimuth_deg", tones.time_s[indices])),
    )
    return seen.light.sky_rise_stops(slope)


def _daylight(
    seen: Outlook, indices: NDArray[np.int64], heavens: Heavens, land: FloatArray
) -> Pixels:
    """The land's luminance in the colour of what lights it: the sky, and a risen sun."""
    haze = seen.shoot.conditions.haze_aod
    altitude, lux = seen.tones.sun_altitude_deg[indices], seen.tones.illuminance_lx[indices]
    # What is more than skylight comes from the sun's disc: none of it behind a ridge.
    held = np.exp2(seen.light.daylight_rise_stops(seen.tones.time_s[indices]))
    sky_lx = seen.sky.ground_lx(altitude) * (1.0 - seen.sky.direct_share(altitude)) * held
    sun_share = np.where(altitude > _DISC_DOWN_DEG, np.maximum(1.0 - sky_lx / lux, 0.0), 0.0)
    rgb = (1.0 - sun_share)[:, None] * heavens.light
    for k in np.flatnonzero(sun_share):
        apparent = apparent_altitude_deg(float(altitude[k]))
        rgb[k] += sun_share[k] * unit_luminance(transmitted_rgb(haze, apparent))
    return (land[:, None] * rgb).astype(np.float32)


def _discs(seen: Outlook, indices: NDArray[np.int64]) -> tuple[tuple[Disc, ...], ...]:
    """Sun and moon of each frame, as far as they are up and cloud lets them through."""
    time_s = seen.tones.time_s[indices]
    moon_altitude, moon_azimuth = seen.night.moon(time_s)
    elongation = seen.night.moon_elongation_deg(time_s)
    lux = moon_illuminance_lx(moon_altitude, elongation, seen.night.moon_parallax_deg)
    air, discs = seen.shoot.conditions, []
    if air.cloud_okta >= _OVERCAST_OKTA:
        return ((),) * len(indices)
    open_share = 1.0 - air.cloud_okta / _OVERCAST_OKTA
    for k, index in enumerate(indices):
        sun = float(seen.tones.sun_altitude_deg[index]), float(seen.tones.sun_azimuth_deg[index])
        here = [sun_disc(*sun, air.haze_aod)] if sun[0] > _DISC_DOWN_DEG else []
        if moon_altitude[k] > _DISC_DOWN_DEG:
            place = float(moon_altitude[k]), float(moon_azimuth[k])
            here.append(moon_disc(place, float(elongation[k]), float(lux[k]), sun, air.haze_aod))
        discs.append(tuple(replace(disc, rgb=open_share * disc.rgb) for disc in here))
    return tuple(discs)
