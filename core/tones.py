"""Tones of every frame of a take: stops from mid-grey for each part, and what burns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from core.clip import Clip, exact_third_stop_s
from core.exposure import FloatArray, mid_grey_cd_m2
from core.framesky import SKY_SHARES, Corner, FrameSky, Mixture, between, interpolate
from core.light import Light
from core.path import time_law
from core.plan import Bands, Camera, Ground, Path, Shoot
from core.readonly import read_only

_Float = TypeVar("_Float", np.float32, np.float64)

#: A part this small in the frame is not judged.
LEAST_SHARE = 0.01
#: Light is mixed where daylight and lamplight on the street are no further apart, in stops
#: (common practice, no source).
MIXED_STOPS = 2.0
#: 'High' sky is the tone that this share of the sky in the frame exceeds.
HIGH_SHARE = 0.02


@dataclass(frozen=True)
class PartTone:
    """A part's tone over the frames: stops from mid-grey, 1-sigma, share of the frame."""

    stops: FloatArray
    sigma_stops: FloatArray
    frame_share: FloatArray


@dataclass(frozen=True)
class SkyTone:
    """The sky in the frame: NaN where a frame holds none.

    `limit_stops` is the tone that the allowed share of the frame's area exceeds: the sky
    burns when it passes the highlight limit. It is NaN where the sky covers less than that.
    `burnt_share` is the share of the whole frame that is burnt sky, 0 to 1, never NaN.
    """

    mean_stops: FloatArray
    high_stops: FloatArray
    limit_stops: FloatArray
    sigma_stops: FloatArray
    frame_share: FloatArray
    burnt_share: FloatArray


@dataclass(frozen=True)
class Tones:
    """Tones of a take, arrays of one value a frame; times are UTC seconds.

    `mixed_light` is whether the frame holds street on which daylight and lamplight are
    within two stops of each other.
    """

    time_s: FloatArray
    way: FloatArray
    sun_altitude_deg: FloatArray
    sun_azimuth_deg: FloatArray
    illuminance_lx: FloatArray
    lamp_output: FloatArray
    street: PartTone
    land: PartTone
    sky: SkyTone
    clipped_share: FloatArray
    mixed_light: NDArray[np.bool_]


def mid_log2(shoot: Shoot) -> float:
    """Log2 of the luminance that the shoot's settings render as mid-grey."""
    shutter_s = exact_third_stop_s(shoot.shutter_s)
    mid = mid_grey_cd_m2(shoot.f_number, shutter_s, shoot.iso, shoot.nd_stops)
    return float(np.log2(mid))


def lit_share(ground: Ground) -> float:
    """Share of the ground that is lamplit, 0 to 1; 0 where there are no lamps."""
    return ground.lamps.lit_share if ground.lamps.luminance_cd_m2 > 0.0 else 0.0


def frame_ways(path: Path, frames: int) -> FloatArray:
    """Share of the way at each frame; a single frame stands at the start."""
    return time_law(path, np.linspace(0.0, 1.0, frames) if frames > 1 else np.zeros(1))


def tones_of(
    shoot: Shoot,
    press_s: float,
    clip: Clip,
    path: Path,
    light: Light,
    framesky: FrameSky,
    ground: Ground,
    bands: Bands,
    camera: Camera,
) -> Tones:
    """Tones of every frame of a take that starts at `press_s`.

    `path` is the path as flown: reversed already where the shoot reverses it.
    """
    time_s = press_s + shoot.interval_s * np.arange(clip.frames, dtype=float)
    way = frame_ways(path, clip.frames)
    return tones_at(
        time_s, way, mid_log2(shoot), light, framesky, ground, bands, camera.highlight_stops
    )


def tones_at(
    time_s: FloatArray,
    way: FloatArray,
    mid: float,
    light: Light,
    framesky: FrameSky,
    ground: Ground,
    bands: Bands,
    highlight_stops: float,
) -> Tones:
    """Tones at any times and shares of the way, arrays of one shape.

    Parameters
    ----------
    mid
        Log2 of the mid-grey luminance, see `mid_log2`.
    """
    sun_altitude = light.at("sun_altitude_deg", time_s)
    sun_azimuth = light.at("sun_azimuth_deg", time_s)
    corners = _corners(framesky, way, sun_altitude, sun_azimuth)
    sky_share = interpolate(framesky.sky_share, corners[0])
    mixture = Mixture.of(framesky.haze_slope_stops.shape, *corners)
    haze_slope = mixture.read(framesky.haze_slope_stops)
    rise = light.sky_rise_stops(haze_slope)
    exceeded = mixture.read(framesky.exceeded_log2) + rise[..., None]
    exceeded = with_moon(exceeded, light, time_s) - mid
    mean = with_moon(mixture.read(framesky.mean_log2) + rise, light, time_s) - mid
    sigma = light.belief.sigma_stops(level=1.0, weather=1.0, haze=haze_slope, sky=1.0)
    burnt = sky_share * burnt_share(exceeded, highlight_stops)
    sky = _sky_tone(mean, exceeded, sigma, sky_share, burnt, bands.sky.clip_area_share)
    land_share = (1.0 - sky_share) * (1.0 - lit_share(ground))
    street_share = (1.0 - sky_share) * lit_share(ground)
    land_log2, street_log2 = light.at("land_log2", time_s), light.at("street_log2", time_s)
    lamplight = np.exp2(street_log2) - np.exp2(land_log2)
    output = light.at("lamp_output", time_s)
    land = PartTone(land_log2 - mid, light.at("land_sigma_stops", time_s), land_share)
    street = PartTone(street_log2 - mid, light.at("street_sigma_stops", time_s), street_share)
    clipped = (
        burnt
        + np.where(land.stops > highlight_stops, land_share, 0.0)
        + np.where(street.stops > highlight_stops, street_share, 0.0)
    )
    return read_only(
        Tones(
            time_s=time_s,
            way=way,
            sun_altitude_deg=sun_altitude,
            sun_azimuth_deg=sun_azimuth % 360.0,
            illuminance_lx=light.at("illuminance_lx", time_s),
            lamp_output=output,
            street=street,
            land=land,
            sky=sky,
            clipped_share=clipped,
            mixed_light=(street_share >= LEAST_SHARE) & mixed_light(land_log2, lamplight),
        )
    )


def with_moon(sky_log2: NDArray[_Float], light: Light, time_s: FloatArray) -> NDArray[_Float]:
    """Log2 luminance of a sky of `sky_log2` with the moonlight of the time on it.

    Trailing axes of `sky_log2` beyond those of `time_s` are carried along.
    """
    added = light.at("sky_added_cd_m2", time_s).astype(sky_log2.dtype)
    added = added.reshape(added.shape + (1,) * (sky_log2.ndim - added.ndim))
    return np.log2(np.exp2(sky_log2) + added)


def exceeded_by(exceeded: FloatArray, share: FloatArray) -> FloatArray:
    """The tone that a share of the sky exceeds, from `exceeded` (…, SKY_SHARES).

    `share` has the shape of the leading axes; beyond 1 the whole sky counts.
    """
    at = between(SKY_SHARES, np.asarray(share))
    below = np.take_along_axis(exceeded, at.index[..., None], -1)[..., 0]
    above = np.take_along_axis(exceeded, at.index[..., None] + 1, -1)[..., 0]
    return below + at.share * (above - below)


def burnt_share(exceeded_stops: FloatArray, highlight_stops: float) -> FloatArray:
    """Share of the sky in the frame that passes the highlight limit, 0 to 1."""
    over = exceeded_stops > highlight_stops
    last = np.maximum(over.sum(axis=-1) - 1, 0)
    after = np.minimum(last + 1, len(SKY_SHARES) - 1)
    here = np.take_along_axis(exceeded_stops, last[..., None], -1)[..., 0]
    there = np.take_along_axis(exceeded_stops, after[..., None], -1)[..., 0]
    step = (here - highlight_stops) / np.maximum(here - there, 1e-9)
    share = SKY_SHARES[last] + np.clip(step, 0.0, 1.0) * (SKY_SHARES[after] - SKY_SHARES[last])
    return np.where(over[..., 0], share, 0.0)


def _corners(
    framesky: FrameSky, way: FloatArray, sun_altitude: FloatArray, sun_azimuth: FloatArray
) -> tuple[Corner, Corner, Corner]:
    return (
        between(framesky.way, way),
        between(framesky.sun_altitude_deg, sun_altitude),
        between(framesky.sun_azimuth_deg, sun_azimuth),
    )


def _sky_tone(
    mean: FloatArray,
    exceeded: FloatArray,
    sigma: FloatArray,
    sky_share: FloatArray,
    burnt: FloatArray,
    clip_area_share: float,
) -> SkyTone:
    seen = sky_share >= LEAST_SHARE
    reached = seen & (sky_share > clip_area_share)
    share = clip_area_share / np.maximum(sky_share, clip_area_share + 1e-9)
    high = exceeded_by(exceeded, np.full_like(sky_share, HIGH_SHARE))
    return SkyTone(
        mean_stops=np.where(seen, mean, np.nan),
        high_stops=np.where(seen, high, np.nan),
        limit_stops=np.where(reached, exceeded_by(exceeded, share), np.nan),
        sigma_stops=np.where(seen, sigma, np.nan),
        frame_share=sky_share,
        burnt_share=burnt,
    )


def mixed_light(land_log2: FloatArray, lamp_cd_m2: FloatArray) -> NDArray[np.bool_]:
    """Whether daylight (log2 cd/m²) and lamplight (cd/m²) lie within `MIXED_STOPS`."""
    lamp = np.log2(np.maximum(lamp_cd_m2, 1e-12))
    return np.asarray(np.abs(lamp - land_log2) <= MIXED_STOPS)
