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
from core.plan import Part
from core.review.curve import CONTRAST, CONTRAST_SIGMA, scene_stops
from core.review.daylit import FALL_SIGMA_STOPS
from core.review.flicker import Flicker, corner_loss, flicker_of
from core.review.lampsfound import LampsFound, lamps_found
from core.review.level import gains_stops, levelled_stops
from core.review.measure import BIN_STOPS
from core.review.parts import exceeded_stops, ground_parts, level_stops, lit_weights
from core.review.review import Reviewed, each_look
from core.tones import exceeded_by, lit_share, with_moon

#: 1-sigma of a part's tone at mid-grey that all frames share: grain of the ground, corners of
#: the lens, which pixels were taken for the part (our judgement).
LAND_SIGMA_STOPS, STREET_SIGMA_STOPS, SKY_SIGMA_STOPS = 0.1, 0.18, 0.3
#: Of ground with lamplight that does not stand out, so much at least counts as daylight; what
#: is taken away is known to this share.
_LEAST_DAYLIGHT, _UNSORTED_SHARE = 0.25, 0.4
#: How unsure in stops a street is that was told by the plan's lit share alone, beside the rest.
_LIT_SIGMA_STOPS = 0.3
#: The shoulder of the curve is known to this share beyond a stop above mid-grey.
_SHOULDER_SHARE = 0.2
#: Up to here a camera's curve is straight: above, its shoulder would pass for less contrast.
_STRAIGHT_STOPS = 1.0
#: Frames that must tell a part for it to be told at all.
LEAST_FRAMES = 3
#: Tones of the display beyond these are burnt or black, more or less.
_BRIGHTEST_STOPS, _DARKEST_STOPS = 1.7, -5.5
#: How many looks at the expected fall of the light a take is worth (our judgement).
_LOOKS = 6.0
_CONTRASTS = np.linspace(0.7, 1.5, 33)
#: Street is read where a pixel covers at most so many times the ground that it does at best:
#: from afar streets and roofs run into one.
_FINE_GROUND = 1.6


@dataclass(frozen=True)
class PartSeen:
    """A part's tone and its 1-sigma at each frame; NaN where it was not seen, or burnt."""

    stops: FloatArray
    sigma_stops: FloatArray


def mean_off(seen: PartSeen, expected: FloatArray) -> tuple[float, float] | None:
    """By how much a part departs from what was expected, and how unsure that is."""
    off = seen.stops - expected
    known = np.isfinite(off)
    if not known.any():
        return None
    weight = seen.sigma_stops[known] ** -2.0
    return float(weight @ off[known] / weight.sum()), float(seen.sigma_stops[known].min())


@dataclass(frozen=True)
class Estimate:
    """What a take's frames tell.

    `contrast` is the exponent of the camera's curve about mid-grey; `corner_loss_stops` what the
    lens loses in its corners. `lamps` is when they came on, where the take shows it, and
    `lamp_output` the share of their light that they gave in each frame. `level_stops` is the
    middle tone of each whole frame at the take's usual settings, `gain_stops` what levels it,
    `levelled_stops` what then is shown. `sky` is the tone that the share of the frame which may
    burn exceeds, as readings have it.
    """

    contrast: float
    contrast_sigma: float
    lamps: LampsFound | None
    lamp_output: FloatArray
    land: PartSeen
    street: PartSeen
    sky: PartSeen
    corner_loss_stops: float
    level_stops: FloatArray
    flicker: Flicker
    gain_stops: FloatArray
    levelled_stops: FloatArray

    def of(self, part: Part) -> PartSeen:
        """What was seen of a part."""
        return {"street": self.street, "land": self.land, "sky": self.sky}[part]


def estimate(reviewed: Reviewed) -> Estimate:
    """Work out what the frames of a take tell."""
    loss = corner_loss(reviewed)
    lit = lit_weights(reviewed.looks, lit_share(reviewed.plan.ground))
    lamps = lamps_found(reviewed)
    output = reviewed.tones.lamp_output if lamps is None else lamps.output(reviewed.tones.time_s)
    contrast, contrast_sigma = _contrast(reviewed, lit, output, loss)
    burning = lamps is not None or bool(output[0] >= 1.0)
    land, street = _parts(reviewed, lit, output, contrast, loss, burning=burning)
    sky = sky_stops(reviewed, contrast, loss)
    level = _levels(reviewed, contrast)
    flicker = flicker_of(reviewed, level, contrast, loss, output)
    gain = gains_stops(flicker.off_stops, reviewed.above_mid)
    return Estimate(
        contrast=contrast,
        contrast_sigma=contrast_sigma,
        lamps=lamps,
        lamp_output=output,
        land=_seen(*land, contrast, contrast_sigma),
        street=_seen(*street, contrast, contrast_sigma),
        sky=_seen(sky, SKY_SIGMA_STOPS, contrast, contrast_sigma),
        corner_loss_stops=loss,
        level_stops=level,
        flicker=flicker,
        gain_stops=gain,
        levelled_stops=_levels(reviewed, contrast, gain),
    )


_Stops = tuple[FloatArray, FloatArray]


def _parts(
    reviewed: Reviewed,
    lit: Sequence[FloatArray | None],
    output: FloatArray,
    contrast: float,
    loss: float,
    *,
    burning: bool,
) -> tuple[_Stops, _Stops]:
    """Tones of land and street with the 1-sigmas that all frames share."""
    land, street = _ground(reviewed, lit, contrast, loss)
    parted = np.isfinite(street) & _finely_seen(reviewed)
    street = np.where(parted, street, np.nan)
    if np.isfinite(street).sum() < LEAST_FRAMES:
        return _by_lamplight(reviewed, output, contrast, loss, burning=burning)
    # Ground with lamps that do not stand out, or run into what lies beside, is neither.
    land = np.where(~parted & (output > 0.0), np.nan, land)
    count = len(land)
    return (land, np.full(count, LAND_SIGMA_STOPS)), (street, np.full(count, STREET_SIGMA_STOPS))


def _by_lamplight(
    reviewed: Reviewed, output: FloatArray, contrast: float, loss: float, *, burning: bool
) -> tuple[_Stops, _Stops]:
    """Tones of land and street where the frames do not part them, and their 1-sigmas.

    Lamplight on the ground stays while daylight falls as expected: the two are told apart by
    least squares over the take, ground = a daylight + b lamps, each frame by its share. The
    street has the lamplight of all ground on the plan's lit share of it; it is not told where
    the lamps are not known to be `burning`.
    """
    unparted: list[FloatArray | None] = [None] * len(reviewed.looks)
    ground, _ = _ground(reviewed, unparted, contrast, loss)
    lit, known = lit_share(reviewed.plan.ground), np.isfinite(ground)
    street, sigma = np.full((2, len(ground)), np.nan)
    sigma[:] = LAND_SIGMA_STOPS
    if not (known & (output > 0.0)).any() or lit <= 0.0:
        return (ground, sigma), (street, sigma)
    terms = np.stack([np.exp2(reviewed.tones.land.stops), output], axis=1)[known]
    light = np.exp2(ground[known])
    (_, lamps), *_ = np.linalg.lstsq(terms / light[:, None], np.ones(len(light)), rcond=None)
    lamplight = max(float(lamps), 0.0) * output
    share = np.maximum(1.0 - lamplight / np.exp2(ground), _LEAST_DAYLIGHT)
    land = ground + np.log2(share)
    land_sigma = np.hypot(sigma, _UNSORTED_SHARE * -np.log2(share))
    # Lamps that were to come on, and are not seen to, may not have burned at all.
    found = known & (lamplight > 0.0) & burning
    street[found] = np.log2(np.exp2(land[found]) + lamplight[found] / lit)
    return (land, land_sigma), (street, sigma + _LIT_SIGMA_STOPS)


def _seen(
    stops: FloatArray, shared: FloatArray | float, contrast: float, contrast_sigma: float
) -> PartSeen:
    curve = contrast_sigma / contrast * np.abs(stops)
    shoulder = _SHOULDER_SHARE * np.maximum(stops - 1.0, 0.0)
    return PartSeen(stops, np.sqrt(shared**2 + curve**2 + shoulder**2))


def _contrast(
    reviewed: Reviewed, lit: Sequence[FloatArray | None], output: FloatArray, loss: float
) -> tuple[float, float]:
    """The contrast with which the land falls as the light is expected to, and its 1-sigma.

    By how much the land lies off is left open; only the steepness of its fall tells.
    """
    costs, fine = [], _finely_seen(reviewed)
    for contrast in _CONTRASTS:
        land, street = _ground(reviewed, lit, float(contrast), loss)
        off = land - reviewed.tones.land.stops
        told = (np.isfinite(street) & fine) | (output <= 0.0)
        off = off[np.isfinite(off) & told & (land - reviewed.above_mid < _STRAIGHT_STOPS)]
        fall = float(off.var()) / FALL_SIGMA_STOPS**2 * _LOOKS if len(off) > _LOOKS else 0.0
        costs.append(fall + ((contrast - CONTRAST) / CONTRAST_SIGMA) ** 2)
    likely = np.exp(-0.5 * (np.array(costs) - min(costs)))
    mean = float((likely * _CONTRASTS).sum() / likely.sum())
    spread = float((likely * (_CONTRASTS - mean) ** 2).sum() / likely.sum())
    return mean, float(np.sqrt(spread))


def _ground(
    reviewed: Reviewed, lit: Sequence[FloatArray | None], contrast: float, loss: float
) -> tuple[FloatArray, FloatArray]:
    stops = scene_stops(BIN_STOPS, reviewed.plan.camera.highlight_stops, contrast)
    land, street = ground_parts(reviewed.looks, lit, stops)
    lost = np.zeros(len(land))
    for k, look in each_look(reviewed):
        lost[k] = loss * look.ground_off_middle
    return land + reviewed.above_mid + lost, street + reviewed.above_mid + lost


def _finely_seen(reviewed: Reviewed) -> NDArray[np.bool_]:
    """Whether the ground low in the frame is seen about as finely as the take ever sees it."""
    poses = reviewed.poses
    below = np.radians(np.clip(-poses.pitch_deg, 3.0, 90.0))
    # A pixel's footprint: distance times distance over height.
    footprint = poses.up_m / np.sin(below) ** 2
    return np.asarray(footprint <= _FINE_GROUND * footprint.min())


def sky_stops(reviewed: Reviewed, contrast: float, loss: float) -> FloatArray:
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
            stops[k] = float(scene_stops(shown, highlight, contrast)) + loss * look.sky_off_middle
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
