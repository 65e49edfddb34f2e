"""When the lamps of a flown take came on, as its frames show it.

Lamplight is redder than the daylight that it joins. By how much the red of the same ground gained
over its blue since the key frame of its run tells the lamps from exposure, flicker, weather and
whatever else comes into the picture, which are in both. Daylight falls as expected; its own
colour, and what the camera's curve makes of it, drift slowly beside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.readings import LAMPS_DOUBT_S
from core.review.lamplight import redder_slope, redder_stops
from core.review.review import Reviewed, each_look
from core.tones import lit_share

_LEAST_FRAMES = 20
#: Longer takes are read as so many groups of frames that follow one another, at most.
_MOST_GROUPS = 80
#: Frames at either end: lamps that are at half of their light beyond are not told.
_EDGE = 2
#: How sure it must be that they come on between.
_SURE = 0.95
#: 1-sigma in stops of how red the ground of a frame is told to be.
_NOISE_STOPS = 0.005
#: The ground reddens or turns blue by so many stops, 1-sigma, while daylight falls by so many;
#: near the camera's shoulder faster, as tones bend by their light and not by its logarithm.
_DRIFT_STOPS, _DRIFT_OVER_STOPS, _SHOULDER = 0.35, 2.5, 0.5
#: Lamplight over daylight, as a factor's natural logarithm, 1-sigma: what all frames have in
#: common beside the level tried, what the ground of each run adds, and what comes and goes with
#: the tiles that are followed, over so many seconds.
_LEVEL_STEP, _RUN_SIGMA, _TILES_SIGMA, _TILES_S = 0.4, 0.2, 0.12, 36.0
#: Levels that are tried, in stops beside the plan's lamps, and how far off those may be, 1-sigma.
_LEVELS_STOPS, _LEVEL_SIGMA_STOPS = np.arange(-2.5, 2.6), 1.5
#: Steps of the instant: over the whole take, and about the best.
_COARSE_S, _FINE_S, _FINE_STEPS = 12.0, 3.0, 61
#: Instants this much less likely than the best, as a logarithm, do not count.
_UNLIKELY = 20.0
#: 1-sigma of the instant that no frame tells, in seconds; and, where the take ends before the
#: lamps are warm, as a share of the warm-up, which then is the plan's alone.
_LEAST_SIGMA_S, _UNSEEN_SHARE = 3.0, 0.05


@dataclass(frozen=True)
class LampsFound:
    """UTC seconds at which the lamps came on and gave half their light, with 1-sigma in seconds."""

    on_s: float
    half_s: float
    sigma_s: float

    def output(self, time_s: FloatArray) -> FloatArray:
        """Share of their light that the lamps give at instants: they warm up evenly."""
        warm_up_s = max(2.0 * (self.half_s - self.on_s), 1.0)
        return np.clip((time_s - self.on_s) / warm_up_s, 0.0, 1.0)


def lamps_found(reviewed: Reviewed) -> LampsFound | None:
    """Find the lamps coming on in a take; None where its frames do not show it.

    The instant of half their light is tried along the take, each way of warming up by its
    likelihood (`_log_likelihoods`) beside what the plan expects of it. That they came on before
    the take, or not before its end, is tried as well: what is told is surer than both.
    """
    ground, light = _ground(reviewed), reviewed.seen.light
    if ground is None or light.lamps_on_s is None or lit_share(reviewed.plan.ground) <= 0.0:
        return None
    warm_up_s = max(reviewed.plan.ground.lamps.warm_up_min * 60.0, 1.0)
    time_s = reviewed.tones.time_s
    expected_s = light.lamps_on_s + warm_up_s / 2.0
    margin = warm_up_s / 2.0
    half_s = np.arange(time_s[0] - margin, time_s[-1] + margin + _COARSE_S, _COARSE_S)
    likely = _log_likelihoods(ground, half_s, warm_up_s, (0.5,))
    log_chance = likely + _log_expected(half_s, expected_s)
    within = (half_s > time_s[_EDGE]) & (half_s < time_s[-1 - _EDGE])
    never = likely[[0, -1]] + _log_beyond(half_s, expected_s)
    best = max(float(log_chance.max()), float(never.max()))
    sure = np.exp(log_chance - best)
    if sure[within].sum() < _SURE * (sure.sum() + np.exp(never - best).sum()):
        return None
    near = half_s[log_chance > log_chance.max() - _UNLIKELY]
    span_s = near[-1] - near[0] + 2.0 * _COARSE_S
    half_s = near[0] - _COARSE_S + np.arange(0.0, span_s, max(_FINE_S, span_s / _FINE_STEPS))
    log_chance = _log_likelihoods(ground, half_s, warm_up_s, (0.0, 1.0))
    log_chance += _log_expected(half_s, expected_s)
    chance = np.exp(log_chance - log_chance.max())
    mean_s = float(chance @ half_s / chance.sum())
    spread_s = math.sqrt(float(chance @ (half_s - mean_s) ** 2 / chance.sum()))
    unseen_s = _UNSEEN_SHARE * warm_up_s if mean_s + margin > time_s[-1] else 0.0
    sigma_s = math.hypot(spread_s, _LEAST_SIGMA_S, unseen_s)
    return LampsFound(mean_s - margin, mean_s, sigma_s)


@dataclass(frozen=True)
class _Ground:
    """How the ground's red gained over its blue since the keys of its runs, group by group.

    `daylight` and `key_daylight` are stops above mid-grey that were expected of land without
    lamps; `level` is the lamplight over the brightest daylight by the plan.
    """

    redder: FloatArray
    time_s: FloatArray
    key_s: FloatArray
    daylight: FloatArray
    key_daylight: FloatArray
    brightest: float
    level: float


def _ground(reviewed: Reviewed) -> _Ground | None:
    """What the frames of a take show of its ground; None for too few that could be followed."""
    tones, lamps = reviewed.tones, reviewed.plan.ground.lamps
    rows = [
        (reviewed.keys[k], k, look.gained.redder_stops)
        for k, look in each_look(reviewed)
        if reviewed.keys[k] != k and np.isfinite(look.gained.redder_stops)
    ]
    if len(rows) < _LEAST_FRAMES:
        return None
    keys, frames = (np.array([row[column] for row in rows]) for column in (0, 1))
    redder = np.array([row[2] for row in rows])
    every = -(-len(rows) // _MOST_GROUPS)
    _, group = np.unique(np.stack([keys, (frames - keys) // every]), axis=1, return_inverse=True)
    group = group.ravel()

    def mean(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(group, values) / np.bincount(group))

    land = tones.land.stops
    brightest = float(land.max())
    full = math.log2(max(lamps.luminance_cd_m2, 1e-9)) - reviewed.mid - brightest
    return _Ground(
        redder=mean(redder),
        time_s=mean(tones.time_s[frames]),
        key_s=mean(tones.time_s[keys]),
        daylight=mean(land[frames]),
        key_daylight=mean(land[keys]),
        brightest=brightest,
        level=lit_share(reviewed.plan.ground) * 2.0**full,
    )


def _log_likelihoods(
    ground: _Ground, half_s: FloatArray, warm_up_s: float, shapes: tuple[float, ...]
) -> FloatArray:
    """Logarithm of the likelihood of each instant of half light, but for a constant.

    Normal errors about what lamplight of a level makes of the ground, with covariances for what
    drifts and for the lamps that one ground has more of than another. Levels, and the ways to warm
    up from evenly (0) to slowly, fast and slowly again (1), count alike.
    """
    run = ground.key_s[:, None] == ground.key_s[None, :]
    apart_s = np.abs(ground.time_s[:, None] - ground.time_s[None, :])
    lamps = _LEVEL_STEP**2 + run * (
        _RUN_SIGMA**2 + _TILES_SIGMA**2 * np.exp(-apart_s / _TILES_S)
    )  # fmt: skip
    slow = _drift(ground) + _NOISE_STOPS**2 * (np.eye(len(run)) + 1.0)
    total = np.full(len(half_s), -np.inf)
    for shape in shapes:
        here, key = (
            _warmth((time_s - half_s[:, None]) / warm_up_s + 0.5, shape)
            * np.exp2(ground.brightest - daylight)
            for time_s, daylight in (
                (ground.time_s, ground.daylight), (ground.key_s, ground.key_daylight),
            )
        )  # fmt: skip
        for stops in _LEVELS_STOPS:
            level = ground.level * 2.0**stops
            off = ground.redder - redder_stops(level * here) + redder_stops(level * key)
            slope = redder_slope(level * here) - redder_slope(level * key)
            root = np.linalg.cholesky(slow + slope[:, :, None] * slope[:, None, :] * lamps)
            scaled = np.linalg.solve(root, off[:, :, None])[:, :, 0]
            likely = -0.5 * (scaled**2).sum(axis=1)
            likely -= np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
            likely -= 0.5 * (stops / _LEVEL_SIGMA_STOPS) ** 2
            total = np.logaddexp(total, likely - math.log(len(shapes)))
    return total


def _warmth(share: FloatArray, shape: float) -> FloatArray:
    """Share of their light at a share of the warm-up; half of it at half, whatever the shape."""
    share = np.clip(share, 0.0, 1.0)
    return np.asarray((1.0 - shape) * share + shape * share**2 * (3.0 - 2.0 * share))


def _drift(ground: _Ground) -> FloatArray:
    """Covariance of the slow drift since the key frame: a Gaussian process over the daylight."""
    here, key = (
        stops + _SHOULDER * np.exp2(stops) for stops in (ground.daylight, ground.key_daylight)
    )

    def alike(one: FloatArray, other: FloatArray) -> FloatArray:
        away = (one[:, None] - other[None, :]) / _DRIFT_OVER_STOPS
        return np.asarray(_DRIFT_STOPS**2 * np.exp(-0.5 * away**2))

    return alike(here, here) - alike(here, key) - alike(key, here) + alike(key, key)


def _log_expected(half_s: FloatArray, expected_s: float) -> FloatArray:
    """Logarithm of how likely the plan holds each step of the instants to be, as they stand."""
    sigma_s = LAMPS_DOUBT_S / 3.0
    step_s = float(half_s[1] - half_s[0])
    density = -0.5 * ((half_s - expected_s) / sigma_s) ** 2
    return np.asarray(density + math.log(step_s / (sigma_s * math.sqrt(2.0 * math.pi))))


def _log_beyond(half_s: FloatArray, expected_s: float) -> FloatArray:
    """Logarithm of how likely the plan holds instants before the first and after the last."""
    before, after = (half_s[[0, -1]] - expected_s) * np.array([1.0, -1.0]) / (LAMPS_DOUBT_S / 3.0)
    tails = [0.5 * math.erfc(-side / math.sqrt(2.0)) for side in (float(before), float(after))]
    return np.log(np.maximum(tails, 1e-12))
