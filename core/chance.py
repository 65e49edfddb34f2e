"""The chance that a start holds, from what is unknown about the night.

What is unknown is normal and the same for the whole take (`core.belief`): the weather and
the haze (which moves ground and sky by different amounts), with both the minute at which a
light level switches the lamps, the lamps' luminance, the sky model's own error by direction,
and the place's own level. All but the last are drawn, the same draws for every start and
setting, so that the figure does not flicker under the hand. For each draw the level may lie
anywhere between the lowest and the highest at which no limit is broken, and the chance of
that is exact.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from core.belief import UNKNOWNS, Unknown
from core.exposure import FloatArray
from core.framesky import SKY_SHARES, FrameSky, Mixture, between, interpolate
from core.judge import excused_frames, frames_with_land_limit
from core.lamps import warming
from core.light import Light
from core.plan import Bands
from core.readonly import read_only
from core.tones import LEAST_SHARE, with_moon

#: Starts and frames judged for the chance: it changes slowly from one to the next.
STEP_S = 60.0
MOST_FRAMES = 40
FEWEST_FRAMES = 26
DRAWS = 96

_DEVIATIONS = np.linspace(-6.0, 6.0, 1201)
_SHARES = np.array([NormalDist().cdf(x) for x in _DEVIATIONS])
# What lies beyond is never drawn: never and always have a deviation too.
_SHARES[[0, -1]] = 0.0, 1.0
#: Of ten thousands of such lattices the one that errs least against thousands of draws.
_GENERATORS = np.array([1, 59, 41, 13])
#: Starts worked on at once: they stay in the processor's nearest memory.
_NEAR_STARTS = 16
#: What of a view is one a start; frames have their own.
_BY_START = (
    "time_s", "frame_s", "land_log2", "lamp_cd_m2", "lamp_output", "ground_slope", "sky_log2",
    "sky_slope",
)  # fmt: skip
#: What a draw is of, in this order; the place's level is summed exactly.
_DRAWN: tuple[Unknown, ...] = ("haze", "lamps", "sky", "weather")
#: Variance below which the level counts as known.
_KNOWN_VARIANCE = 1e-8

Float32Array = NDArray[np.float32]


@dataclass(frozen=True)
class ChanceView:
    """What some frames of a take see from some starts, (starts, frames) in log2 cd/m².

    `time_s` (starts,) and `frame_s` are UTC seconds. `lamp_cd_m2` (starts,) is what the lamps
    give once they are warm, `lamp_output` the share of it, 0 to 1. `ground_slope`,
    `sky_slope` are what ground and sky gain, in stops, when the haze is one sigma thicker.
    `sky_log2` is -inf where the sky covers less than may burn. `way` (frames,) is the share
    of the way at each frame, `sky_share` that of its area which is sky. `street`, `land`,
    `early` (frames,) say which parts a frame shows and whether the land's low limit holds for
    it. `excused` of the frames may fail. `light` is that of the whole night.
    """

    time_s: FloatArray
    frame_s: FloatArray
    land_log2: FloatArray
    lamp_cd_m2: FloatArray
    lamp_output: FloatArray
    ground_slope: FloatArray
    sky_log2: FloatArray
    sky_slope: FloatArray
    way: FloatArray
    sky_share: FloatArray
    street: NDArray[np.bool_]
    land: NDArray[np.bool_]
    early: NDArray[np.bool_]
    excused: int
    light: Light

    @property
    def lamplight_cd_m2(self) -> FloatArray:
        """What the lamps add to the street, (starts, frames)."""
        return self.lamp_cd_m2[:, None] * self.lamp_output

    def rows(self, starts: slice) -> ChanceView:
        """The view from some of the starts."""
        return replace(self, **{name: getattr(self, name)[starts] for name in _BY_START})


def chance_view_of(
    window_s: tuple[float, float],
    light: Light,
    framesky: FrameSky,
    way: FloatArray,
    interval_s: float,
    bands: Bands,
    lit_share: float,
) -> ChanceView:
    """Read street, land and sky for starts of the night and frames of the take.

    Parameters
    ----------
    window_s
        First and last start, UTC seconds.
    way
        Share of the way at each frame of the take, as flown.
    lit_share
        Share of the ground that is lamplit, see `core.tones.lit_share`.
    """
    view = ground_view_of(window_s, light, framesky, way, interval_s, bands, lit_share)
    return read_only(with_sky(view, framesky, bands))


def ground_view_of(
    window_s: tuple[float, float],
    light: Light,
    framesky: FrameSky,
    way: FloatArray,
    interval_s: float,
    bands: Bands,
    lit_share: float,
) -> ChanceView:
    """What `chance_view_of` reads, without sky and haze: as if all the sky were dark."""
    count = len(way)
    early = frames_with_land_limit(count, bands)
    frames, excused = judged_frames(count, early, excused_frames(count, bands))
    starts = np.arange(window_s[0], window_s[1] + STEP_S, STEP_S)
    time_s = starts[:, None] + interval_s * frames
    sky_share = interpolate(framesky.sky_share, between(framesky.way, way[frames]))
    nothing = np.zeros_like(time_s)
    return ChanceView(
        time_s=starts,
        frame_s=time_s,
        land_log2=light.at("land_log2", time_s),
        lamp_cd_m2=np.full_like(starts, light.warm_lamps_cd_m2),
        lamp_output=light.at("lamp_output", time_s),
        ground_slope=nothing,
        sky_log2=np.full_like(time_s, -np.inf),
        sky_slope=nothing,
        way=way[frames],
        sky_share=sky_share,
        street=(1.0 - sky_share) * lit_share >= LEAST_SHARE,
        land=(1.0 - sky_share) * (1.0 - lit_share) >= LEAST_SHARE,
        early=frames < early,
        excused=excused,
        light=light,
    )


def with_sky(view: ChanceView, framesky: FrameSky, bands: Bands) -> ChanceView:
    """A view of the ground with the sky that its frames see, and what haze does to both."""
    sky_log2, sky_slope = _sky(view, framesky, bands)
    ground_slope = view.light.at("haze_slope_stops", view.frame_s)
    return replace(view, ground_slope=ground_slope, sky_log2=sky_log2, sky_slope=sky_slope)


def judged_frames(count: int, early: int, excused: int) -> tuple[NDArray[np.int64], int]:
    """Few frames that stand for a take of many, and how many of them may fail.

    The frames with the land's low limit and those without are each shared out evenly, so
    that the edge between them, where a take often fails first, stays where it is. Where
    some may fail each frame stands for the middle of its stretch, and so many are taken that
    the worst one judged has the same rank among them as in the whole take.

    Parameters
    ----------
    early
        First frames of the take in which the land must not be too dark.
    excused
        Frames of the whole take that may fail.
    """
    if count <= MOST_FRAMES:
        return np.arange(count), excused
    sizes = np.arange(FEWEST_FRAMES, MOST_FRAMES + 1)
    rank = (excused + 0.5) * sizes / count - 0.5
    size = int(sizes[np.abs(rank - rank.round()).argmin()]) if excused else MOST_FRAMES
    share = round(size * early / count)
    parts = ((0, early, share), (early, count, size - share))
    frames = [_evenly(*part, ends=excused == 0) for part in parts if part[1] > part[0]]
    return np.concatenate(frames), round(max((excused + 0.5) * size / count - 0.5, 0.0))


def _evenly(first: int, end: int, size: int, *, ends: bool) -> NDArray[np.int64]:
    """Frames from `first` up to `end`, with both ends or in the middle of even stretches."""
    size = min(max(size, 1), end - first)
    if ends and size > 1:
        at = np.linspace(first, end - 1, size)
    else:
        at = first + (np.arange(size) + 0.5) * (end - first) / size - 0.5
    return np.unique(np.floor(at + 0.5).astype(np.int64))


def chances_of(
    view: ChanceView,
    mid: float,
    bands: Bands,
    highlight_stops: float,
    draws: Float32Array | None = None,
) -> FloatArray:
    """Chance of each of the view's starts to hold, 0 to 1.

    Parameters
    ----------
    mid
        Log2 luminance of mid-grey at the settings, see `core.tones.mid_log2`.
    draws
        Independent normal figures, (4, draws); the program's own even ones if left out.
    """
    nights = _nights(view.light, _draws(DRAWS) if draws is None else draws)
    firsts = range(0, len(view.time_s), _NEAR_STARTS)
    blocks = (slice(first, first + _NEAR_STARTS) for first in firsts)
    told = [_chances(view.rows(block), nights, mid, bands, highlight_stops) for block in blocks]
    return np.concatenate(told)


def chances_between(time_s: FloatArray, judged_s: FloatArray, chance: FloatArray) -> FloatArray:
    """Chances of starts at other times than those judged, 0 to 1.

    Light falls evenly from minute to minute, and with it the room to the limits counted in
    sigmas; the chance, a share of a normal distribution, bends with it.
    """
    deviation = np.interp(chance, _SHARES, _DEVIATIONS)
    return _below(np.interp(time_s, judged_s, deviation))


@dataclass(frozen=True)
class _Nights:
    """Drawn nights, arrays of (nights,): how far the unknowns lie from their means.

    `level_stops` is where the place's level is then to be expected, `level_sigma_stops` its
    1-sigma. `switched_s` is when a light level turns the lamps on and off, in UTC seconds; None
    where something else switches them.
    """

    haze: Float32Array
    lamps: Float32Array
    sky: Float32Array
    weather: Float32Array
    level_stops: Float32Array
    level_sigma_stops: np.float32
    switched_s: tuple[FloatArray, FloatArray] | None


def _nights(light: Light, normal: NDArray[np.floating]) -> _Nights:
    """Draw nights by independent normal figures, (`_DRAWN`, nights)."""
    covariance = np.array(light.belief.covariance)
    at, level = [UNKNOWNS.index(name) for name in _DRAWN], UNKNOWNS.index("level")
    inner, across = covariance[np.ix_(at, at)], covariance[at, level]
    follows = np.linalg.solve(inner, across)
    variance = max(covariance[level, level] - across @ follows, _KNOWN_VARIANCE)
    drawn = np.linalg.cholesky(inner) @ normal
    haze, lamps, sky, weather = drawn.astype(np.float32)
    by_level = light.lamps.switching.kind == "level"
    return _Nights(
        haze,
        lamps,
        sky,
        weather,
        (follows @ drawn).astype(np.float32),
        np.float32(np.sqrt(variance)),
        light.switched_s(weather, haze) if by_level else None,
    )


def _chances(
    view: ChanceView, nights: _Nights, mid: float, bands: Bands, highlight_stops: float
) -> FloatArray:
    # Axes: starts, nights, frames.
    hazier = nights.haze[:, None] * view.ground_slope.astype(np.float32)[:, None, :]
    highest, lowest = _ground_room(view, mid, bands, _lamp_output(view, nights), nights.lamps)
    sky = (highlight_stops + mid - view.sky_log2).astype(np.float32)[:, None, :]
    sky_hazier = nights.haze[:, None] * view.sky_slope.astype(np.float32)[:, None, :]
    highest = np.minimum(highest - hazier, sky - (sky_hazier + nights.sky[:, None]))
    lowest = lowest - hazier
    # A frame that no level suits fails once, not both above and below.
    hopeless = highest < lowest
    highest[hopeless] = lowest[hopeless] = -np.inf
    most = _least_few(highest, view.excused)
    least = -_least_few(-lowest, view.excused)
    # Axes: starts, nights, frames excused.
    off, sigma = (nights.level_stops + nights.weather)[:, None], nights.level_sigma_stops
    inside = _chance_between(_below((least - off) / sigma), _below((most - off) / sigma))
    return np.asarray(inside.mean(axis=1))


def _lamp_output(view: ChanceView, nights: _Nights) -> Float32Array:
    """Share of their full light that the lamps give, (starts, nights, frames).

    Under a clock or the sun it is the same in all nights, whose axis is then of length one.
    """
    if nights.switched_s is None:
        return view.lamp_output.astype(np.float32)[:, None, :]
    first_s = view.time_s[0]
    on_s, off_s = ((at_s - first_s).astype(np.float32)[:, None] for at_s in nights.switched_s)
    frame_s = (view.frame_s - first_s).astype(np.float32)[:, None, :]
    return warming(view.light.lamps, on_s, off_s, frame_s)


def _sky(view: ChanceView, framesky: FrameSky, bands: Bands) -> tuple[FloatArray, FloatArray]:
    """Luminance that the allowed share of each frame exceeds, and its slope with haze."""
    light, time_s, sky_share = view.light, view.frame_s, view.sky_share
    mixture = Mixture.of(
        framesky.haze_slope_stops.shape,
        between(framesky.way, view.way),
        between(framesky.sun_altitude_deg, light.at("sun_altitude_deg", time_s)),
        between(framesky.sun_azimuth_deg, light.at("sun_azimuth_deg", time_s)),
    )
    allowed = bands.sky.clip_area_share
    reached = (sky_share >= LEAST_SHARE) & (sky_share > allowed)
    share = allowed / np.where(reached, sky_share, 1.0)
    slope = mixture.read(framesky.haze_slope_stops)
    # Of all shares of the sky only the two that a frame's own lies between.
    at = between(SKY_SHARES, share)
    typed = mixture.read(framesky.exceeded_log2, at.index[:, None] + np.array([0, 1]))
    exceeded = with_moon(typed + light.sky_rise_stops(slope)[..., None], light, time_s)
    level = exceeded[..., 0] + at.share * (exceeded[..., 1] - exceeded[..., 0])
    return np.where(reached, level, -np.inf), slope


def _ground_room(
    view: ChanceView,
    mid: float,
    bands: Bands,
    lamp_output: Float32Array,
    lamp_stops: Float32Array,
) -> tuple[Float32Array, Float32Array]:
    """Highest and lowest rise of daylight that the ground allows, in stops.

    Parameters
    ----------
    lamp_output
        (starts, draws, frames), see `_lamp_output`.
    lamp_stops
        How far the lamps' luminance is off, (draws,).
    """
    street, land = bands.street, bands.land
    full = (view.lamp_cd_m2 * 2.0**-mid).astype(np.float32)[:, None] * np.exp2(lamp_stops)
    lamplight = full[..., None] * lamp_output
    # Daylight's own tone at which each part, seen alone, would stand on its limit; linear.
    street_high = _where(view.street, 2.0**street.high_stops, np.inf)
    street_low = _where(view.street, 2.0**street.low_stops, 0.0)
    land_high = _where(view.land, 2.0**land.high_stops, np.inf)
    land_low = _where(view.land & view.early, 2.0**land.low_stops, 0.0)
    highest = np.minimum(street_high - lamplight, land_high)
    lowest = np.maximum(street_low - lamplight, land_low)
    if bands.lamps_wanted:
        highest = np.where((lamp_output < 0.5) & view.street, np.float32(0.0), highest)
    daylight = (view.land_log2 - mid).astype(np.float32)[:, None, :]
    return _log2(highest) - daylight, _log2(lowest) - daylight


def _where(shown: NDArray[np.bool_], limit: float, otherwise: float) -> Float32Array:
    return np.where(shown, limit, otherwise).astype(np.float32)


def _log2(tone: Float32Array) -> Float32Array:
    """Log2 of linear tones; -inf from nought down."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log2(np.maximum(tone, np.float32(0.0))))


def _least_few(room: Float32Array, excused: int) -> Float32Array:
    """The least room over the frames, the last axis, with 0, 1 … `excused` of them left out."""
    if excused == 0:
        return np.asarray(room.min(axis=-1, keepdims=True))
    few = np.partition(room, excused, axis=-1)[..., : excused + 1]
    # The last of them is in its place; a single one before it is too.
    return np.asarray(few if excused == 1 else np.sort(few, axis=-1))


def _chance_between(least: FloatArray, most: FloatArray) -> FloatArray:
    """Share of ambient levels at which no more frames fail than may, over the last axis.

    A frame fails above its highest or below its lowest level. With k frames let off above
    and the rest below, the levels between hold; each k adds what lies beyond the k before.

    Parameters
    ----------
    least, most
        Shares of the levels below the bounds with 0, 1 … frames let off.
    """
    floor = least[..., ::-1]
    before = np.concatenate([np.zeros_like(most[..., :1]), most[..., :-1]], axis=-1)
    return np.asarray(np.maximum(most - np.maximum(floor, before), 0.0).sum(axis=-1))


def _below(deviation: NDArray[np.floating]) -> FloatArray:
    """Share of a normal distribution below so many sigmas."""
    return np.asarray(np.interp(deviation, _DEVIATIONS, _SHARES, left=0.0, right=1.0))


def _draws(count: int) -> Float32Array:
    """Evenly spread draws of independent normal figures, (`_DRAWN`, count).

    A lattice of rank 1 (Korobov 1959; Sloan and Joe 1994, Lattice Methods for Multiple
    Integration, chapter 4; chapter from memory) fills the cube more evenly than chance does;
    its half-step shift keeps every coordinate's mean at nought. Each coordinate goes through
    the normal distribution's inverse.
    """
    cube = (_GENERATORS[:, None] * np.arange(count) % count + 0.5) / count
    return np.interp(cube, _SHARES, _DEVIATIONS).astype(np.float32)
