"""From what the frames show to what they tell: the parts' tones, the camera's curve, flicker.

Every tone is in stops from mid-grey at the take's usual settings: a frame taken at others is
brought to them first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.framesky import between, interpolate
from core.review.curve import CONTRAST, CONTRAST_SIGMA, scene_stops
from core.review.level import gains_stops, levelled_stops
from core.review.measure import BIN_STOPS
from core.review.parts import exceeded_stops, ground_parts, level_stops, lit_weights
from core.review.review import Reviewed, each_look
from core.review.smooth import smoothed
from core.tones import exceeded_by, lit_share, with_moon

#: 1-sigma of a part's tone at mid-grey that all frames share: grain of the ground, corners of
#: the lens, which pixels were taken for the part (our judgement).
LAND_SIGMA_STOPS, STREET_SIGMA_STOPS, SKY_SIGMA_STOPS = 0.15, 0.25, 0.3
#: Of ground with lamplight that does not stand out, so much at least counts as daylight; what
#: is taken away is known to this share.
_LEAST_DAYLIGHT, _UNSORTED_SHARE = 0.25, 0.4
#: How unsure in stops a street is that was told by the plan's lit share alone.
_LIT_SIGMA = 0.4
#: The shoulder of the curve is known to this share beyond a stop above mid-grey.
_SHOULDER_SHARE = 0.2
#: Tones of the display beyond these are burnt or black, more or less.
_BRIGHTEST_STOPS, _DARKEST_STOPS = 1.7, -5.5
#: By how much the expected fall of the light may be off along a take, and how many looks at
#: it a take is worth (our judgement).
_FALL_SIGMA_STOPS, _LOOKS = 0.15, 6.0
_CONTRASTS = np.linspace(0.7, 1.5, 33)
#: Street is read where a pixel covers at most so many times the ground that it does at best:
#: from afar streets and roofs run into one.
_FINE_GROUND = 1.6


@dataclass(frozen=True)
class PartSeen:
    """A part's tone and its 1-sigma at each frame; NaN where it was not seen, or burnt."""

    stops: FloatArray
    sigma_stops: FloatArray


@dataclass(frozen=True)
class Estimate:
    """What a take's frames tell.

    `contrast` is the exponent of the camera's curve about mid-grey. `level_stops` is the
    middle tone of each whole frame, `smooth_stops` the curve through it, and `flicker_stops`
    the rms of what is left; `gain_stops` levels each frame, `levelled_stops` and
    `flicker_after_stops` are what then is shown. `sky` is the tone that the share of the frame
    which may burn exceeds, as readings have it.
    """

    contrast: float
    contrast_sigma: float
    land: PartSeen
    street: PartSeen
    sky: PartSeen
    level_stops: FloatArray
    smooth_stops: FloatArray
    flicker_stops: float
    gain_stops: FloatArray
    levelled_stops: FloatArray
    flicker_after_stops: float


def estimate(reviewed: Reviewed) -> Estimate:
    """Work out what the frames of a take tell."""
    lit = lit_weights(reviewed.looks, lit_share(reviewed.plan.ground))
    contrast, contrast_sigma = _contrast(reviewed, lit)
    land, street = _ground(reviewed, lit, contrast)
    ground = land
    land, land_sigma = _without_lamplight(reviewed, ground, np.isfinite(street))
    street = np.where(_finely_seen(reviewed), street, np.nan)
    street_sigma = np.full(len(street), STREET_SIGMA_STOPS)
    if not np.isfinite(street).any():
        street, street_sigma = _from_lamplight(reviewed, ground, land), street_sigma + _LIT_SIGMA
    sky = sky_stops(reviewed, contrast)
    level, index = _levels(reviewed, contrast), _index(reviewed)
    smooth = smoothed(index, level)
    gain = gains_stops(level, smooth, reviewed.above_mid)
    levelled = _levels(reviewed, contrast, gain)
    return Estimate(
        contrast=contrast,
        contrast_sigma=contrast_sigma,
        land=_seen(land, land_sigma, contrast, contrast_sigma),
        street=_seen(street, street_sigma, contrast, contrast_sigma),
        sky=_seen(sky, SKY_SIGMA_STOPS, contrast, contrast_sigma),
        level_stops=level,
        smooth_stops=smooth,
        flicker_stops=_rms_off(level, smooth),
        gain_stops=gain,
        levelled_stops=levelled,
        flicker_after_stops=_rms_off(levelled, smoothed(index, levelled)),
    )


def _without_lamplight(
    reviewed: Reviewed, ground: FloatArray, apart: NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Tones of the land where street did not stand out of the ground, and their 1-sigmas.

    Lamplight on such ground stays while daylight falls as expected: the two are told apart
    by least squares over the take, ground = a daylight + b lamps, each frame by its share.
    """
    tones = reviewed.tones
    sigma = np.full(len(ground), LAND_SIGMA_STOPS)
    mixed = np.isfinite(ground) & ~apart & (tones.lamp_output > 0.0)
    whole = np.isfinite(ground) & ~apart
    if not mixed.any():
        return ground, sigma
    if apart.any():
        # Other frames tell land from street; these few would only blur it.
        return np.where(mixed, np.nan, ground), sigma
    light = np.exp2(ground[whole])
    terms = np.stack([np.exp2(tones.land.stops), tones.lamp_output], axis=1)[whole]
    (_, lamps), *_ = np.linalg.lstsq(terms / light[:, None], np.ones(len(light)), rcond=None)
    lamplight = max(float(lamps), 0.0) * tones.lamp_output[mixed]
    land = ground.copy()
    share = np.maximum(1.0 - lamplight / np.exp2(ground[mixed]), _LEAST_DAYLIGHT)
    land[mixed] = ground[mixed] + np.log2(share)
    sigma[mixed] = np.hypot(sigma[mixed], _UNSORTED_SHARE * -np.log2(share))
    return land, sigma


def _from_lamplight(reviewed: Reviewed, ground: FloatArray, land: FloatArray) -> FloatArray:
    """Tones of a street that never stands out: the ground's lamplight on the plan's lit share."""
    lamplight = np.exp2(ground) - np.exp2(land)
    lit = lit_share(reviewed.plan.ground)
    found = np.isfinite(lamplight) & (lamplight > 0.0) & (lit > 0.0)
    street = np.full(len(ground), np.nan)
    street[found] = np.log2(np.exp2(land[found]) + lamplight[found] / max(lit, 1e-9))
    return street


def _seen(
    stops: FloatArray, shared: FloatArray | float, contrast: float, contrast_sigma: float
) -> PartSeen:
    curve = contrast_sigma / contrast * np.abs(stops)
    shoulder = _SHOULDER_SHARE * np.maximum(stops - 1.0, 0.0)
    return PartSeen(stops, np.sqrt(shared**2 + curve**2 + shoulder**2))


def _contrast(reviewed: Reviewed, lit: Sequence[FloatArray | None]) -> tuple[float, float]:
    """The contrast with which the land falls as the light is expected to, and its 1-sigma.

    By how much the land lies off is left open; only the steepness of its fall tells.
    """
    costs = []
    for contrast in _CONTRASTS:
        land, street = _ground(reviewed, lit, float(contrast))
        off = land - reviewed.tones.land.stops
        off = off[np.isfinite(off) & (np.isfinite(street) | (reviewed.tones.lamp_output <= 0.0))]
        fall = float(off.var()) / _FALL_SIGMA_STOPS**2 * _LOOKS if len(off) > _LOOKS else 0.0
        costs.append(fall + ((contrast - CONTRAST) / CONTRAST_SIGMA) ** 2)
    likely = np.exp(-0.5 * (np.array(costs) - min(costs)))
    mean = float((likely * _CONTRASTS).sum() / likely.sum())
    spread = float((likely * (_CONTRASTS - mean) ** 2).sum() / likely.sum())
    return mean, float(np.sqrt(spread))


def _ground(
    reviewed: Reviewed, lit: Sequence[FloatArray | None], contrast: float
) -> tuple[FloatArray, FloatArray]:
    stops = scene_stops(BIN_STOPS, reviewed.plan.camera.highlight_stops, contrast)
    land, street = ground_parts(reviewed.looks, lit, stops)
    return land + reviewed.above_mid, street + reviewed.above_mid


def _finely_seen(reviewed: Reviewed) -> FloatArray:
    """Whether the ground low in the frame is seen about as finely as the take ever sees it."""
    poses = reviewed.poses
    below = np.radians(np.clip(-poses.pitch_deg, 3.0, 90.0))
    # A pixel's footprint: distance times distance over height.
    footprint = poses.up_m / np.sin(below) ** 2
    return np.asarray(footprint <= _FINE_GROUND * footprint.min())


def sky_stops(reviewed: Reviewed, contrast: float) -> FloatArray:
    """The tone of the sky that the share of the frame which may burn exceeds."""
    stops = np.full(len(reviewed.looks), np.nan)
    allowed = reviewed.plan.bands.sky.clip_area_share
    for k, look in each_look(reviewed):
        whole = float(reviewed.tones.sky.frame_share[k])
        if whole <= allowed or look.sky_pixels_share <= 0.0:
            continue
        # What lies beside the horizon was left out: it is the brightest.
        beside = max(whole - look.sky_pixels_share, 0.0)
        shown = exceeded_stops(look.sky, max(allowed - beside, 0.0) / look.sky_pixels_share)
        if _DARKEST_STOPS < shown < _BRIGHTEST_STOPS:
            highlight = reviewed.plan.camera.highlight_stops
            stops[k] = float(scene_stops(shown, highlight, contrast))
    return stops + reviewed.above_mid


def expected_sky_stops(reviewed: Reviewed, shares: FloatArray) -> FloatArray:
    """The tone that a share (frame,) of each frame's sky is expected to exceed."""
    light, framesky, tones = reviewed.seen.light, reviewed.seen.framesky, reviewed.tones
    corners = (
        between(framesky.way, tones.way),
        between(framesky.sun_altitude_deg, light.at("sun_altitude_deg", tones.time_s)),
        between(framesky.sun_azimuth_deg, light.at("sun_azimuth_deg", tones.time_s)),
    )
    rise = light.sky_rise_stops(interpolate(framesky.haze_slope_stops, *corners))
    exceeded = interpolate(framesky.exceeded_log2, *corners) + rise[..., None]
    exceeded = with_moon(exceeded, light, tones.time_s) - reviewed.mid
    return exceeded_by(exceeded, np.clip(shares, 0.0, 1.0))


def _index(reviewed: Reviewed) -> FloatArray:
    return np.array([frame.index for frame in reviewed.frames], dtype=float)


def _levels(
    reviewed: Reviewed, contrast: float, gain_stops: FloatArray | None = None
) -> FloatArray:
    """Middle tone of each frame at the take's usual settings; after a gain, as then shown."""
    highlight = reviewed.plan.camera.highlight_stops
    level = np.full(len(reviewed.looks), np.nan)
    for k, look in each_look(reviewed):
        gain = 0.0 if gain_stops is None else float(gain_stops[k])
        shown = levelled_stops(BIN_STOPS, gain, highlight, contrast)
        level[k] = level_stops(look.whole, scene_stops(shown, highlight, contrast))
    return level + reviewed.above_mid if gain_stops is None else level


def _rms_off(level: FloatArray, smooth: FloatArray) -> float:
    left = (level - smooth)[np.isfinite(level)]
    return float(np.sqrt(np.mean(left**2))) if left.size else float("nan")
