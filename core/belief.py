"""What is unknown about a night's light: a normal belief, and how an observation narrows it.

Five figures are unknown. Two belong to the place and the camera and stay: `level`, by how
much daylight shows brighter than reckoned (reflectance, lens, sensor), and `lamps`, the same
for lamplight. Three belong to one night: `weather`, by how much daylight is up or down;
`haze`, how much thicker than typed it is, in its own sigmas; `sky`, how far the sky's level
in the direction of the picture departs from the model. All but `haze` are in stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from core.cloud import CLEAR_SIGMA_STOPS, ambient_sigma_stops
from core.exposure import FloatArray
from core.lamps import LAMP_SIGMA_STOPS
from core.plan import Part

Unknown = Literal["level", "weather", "haze", "lamps", "sky"]
UNKNOWNS: tuple[Unknown, ...] = get_args(Unknown)
#: What of a clear night's sigma stays from night to night: half its variance (our judgement).
LEVEL_SIGMA_STOPS = CLEAR_SIGMA_STOPS / np.sqrt(2.0)
#: 1-sigma of the sky's level by direction beside the ambient level, in stops: rms of the
#: measured sky (Koomen et al. 1952) about any one clear-sky model.
SKY_SIGMA_STOPS = 0.5

_LEVEL, _WEATHER, _HAZE, _LAMPS, _SKY = range(len(UNKNOWNS))
#: Readings further from what is held than so many sigmas, all taken together, are not
#: believed as they stand: they contradict each other, or the night is another than typed
#: (our judgement).
SURPRISE_SIGMAS = 3.0
#: A figure is known better when its sigma shrank to this share or less (our judgement).
NARROWED = 0.97
#: Below these sigmas a figure counts as known; it keeps the algebra regular.
_KNOWN_SIGMA = 1e-4
#: The street's tone bends with the lamps' share; it is straightened anew this often.
_ROUNDS = 40
_HALVINGS = 8
_SETTLED = 1e-10


@dataclass(frozen=True)
class Belief:
    """Mean and covariance of the unknowns, in the order of `UNKNOWNS`; hashable."""

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    def of(self, unknown: Unknown) -> float:
        """Mean of one unknown."""
        return self.mean[UNKNOWNS.index(unknown)]

    def sigma_of(self, unknown: Unknown) -> float:
        """1-sigma of one unknown."""
        at = UNKNOWNS.index(unknown)
        return float(np.sqrt(self.covariance[at][at]))

    def sigma_stops(self, **weights: ArrayLike) -> FloatArray:
        """1-sigma of a sum of unknowns, each by its weight; weights of one broadcast shape."""
        at = [UNKNOWNS.index(_unknown(name)) for name in weights]
        column = np.stack(np.broadcast_arrays(*(np.asarray(w, float) for w in weights.values())))
        inner = np.array(self.covariance)[np.ix_(at, at)]
        return np.asarray(np.sqrt(np.einsum("i...,ij,j...->...", column, inner, column)))


@dataclass(frozen=True)
class Observation:
    """A part's luminance as it was, and as the typed figures have it, in log2 cd/m².

    `land_log2` and `sky_log2` are under daylight and moonlight, `lamp_log2` lamplight alone,
    -inf for none. The slopes are what ground and sky gain for a haze one sigma thicker.
    """

    part: Part
    log2: float
    sigma_stops: float
    land_log2: float
    lamp_log2: float
    sky_log2: float
    ground_slope: float
    sky_slope: float


def typed_belief(cloud_okta: float) -> Belief:
    """Belief before anything was read: the typed figures, each with its sigma."""
    return belief_before(cloud_okta, {})


def belief_before(cloud_okta: float, kept: dict[Unknown, tuple[float, float]]) -> Belief:
    """Belief about a night of which nothing was read yet.

    Parameters
    ----------
    cloud_okta
        Eighths of the sky covered, 0 to 8.
    kept
        Mean and 1-sigma of what earlier takes taught for good.
    """
    ambient_variance = ambient_sigma_stops(cloud_okta) ** 2
    figures: dict[Unknown, tuple[float, float]] = {
        "level": (0.0, float(LEVEL_SIGMA_STOPS)),
        "weather": (0.0, float(np.sqrt(ambient_variance - LEVEL_SIGMA_STOPS**2))),
        "haze": (0.0, 1.0),
        "lamps": (0.0, LAMP_SIGMA_STOPS),
        "sky": (0.0, SKY_SIGMA_STOPS),
        **kept,
    }
    mean = np.array([figures[name][0] for name in UNKNOWNS])
    sigma = np.array([max(figures[name][1], _KNOWN_SIGMA) for name in UNKNOWNS])
    return _belief(mean, np.diag(sigma**2))


def after_reading(before: Belief, observations: Sequence[Observation]) -> Belief:
    """Belief after some observations: the damped Gauss-Newton step of a normal belief, repeated.

    Each observation is taken as normal with its own sigma, independent of the others
    (Gelb (ed.) 1974, Applied Optimal Estimation, section 6.1: the iterated extended filter).
    Where all together are further off than `SURPRISE_SIGMAS`, their sigmas are widened.
    """
    if not observations:
        return before
    noise = np.array([max(seen.sigma_stops, _KNOWN_SIGMA) for seen in observations]) ** 2
    after, misfit = _fit(before, observations, noise)
    surprise = float(np.sqrt(misfit / len(observations))) / SURPRISE_SIGMAS
    if surprise <= 1.0:
        return after
    # A night is not told more surely by readings that cannot all be right.
    return _fit(before, observations, noise * surprise**4)[0]


def surprise_sigmas(before: Belief, observations: Sequence[Observation]) -> float:
    """How far observations lie from what is held, in sigmas a reading; 0 for none."""
    if not observations:
        return 0.0
    noise = np.array([max(seen.sigma_stops, _KNOWN_SIGMA) for seen in observations]) ** 2
    return float(np.sqrt(_fit(before, observations, noise)[1] / len(observations)))


def _fit(
    before: Belief, observations: Sequence[Observation], variance: FloatArray
) -> tuple[Belief, float]:
    """The belief that fits observations of some variances best, and its misfit (chi squared)."""
    mean, covariance = np.array(before.mean), np.array(before.covariance)
    noise = np.diag(variance)
    read = np.array([seen.log2 for seen in observations])
    known, sharp = np.linalg.inv(covariance), np.linalg.inv(noise)

    def misfit(values: FloatArray) -> float:
        off, moved = read - _expected(observations, values)[0], values - mean
        return float(off @ sharp @ off + moved @ known @ moved)

    at, cost = mean, misfit(mean)
    for _ in range(_ROUNDS):
        expected, slope = _expected(observations, at)
        gain = np.linalg.solve(slope @ covariance @ slope.T + noise, slope @ covariance).T
        step = mean + gain @ (read - expected - slope @ (mean - at)) - at
        # A whole step may overshoot where the street's tone bends: it is halved until it helps.
        shares = 0.5 ** np.arange(_HALVINGS)
        costs = [misfit(at + share * step) for share in shares]
        best = int(np.argmin(costs))
        if costs[best] >= cost - _SETTLED:
            break
        at, cost = at + shares[best] * step, costs[best]
    _, slope = _expected(observations, at)
    gain = np.linalg.solve(slope @ covariance @ slope.T + noise, slope @ covariance).T
    left = np.eye(len(UNKNOWNS)) - gain @ slope
    # Joseph's form stays symmetric and positive where the short one loses both.
    return _belief(at, left @ covariance @ left.T + gain @ noise @ gain.T), cost


def narrowed(before: Belief, after: Belief) -> tuple[Unknown, ...]:
    """The unknowns that are known better after than before, by `NARROWED` or more."""
    return tuple(
        name for name in UNKNOWNS if after.sigma_of(name) <= NARROWED * before.sigma_of(name)
    )


def _expected(observations: Sequence[Observation], at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """What the observations should show with the unknowns at some values, and its slopes."""
    expected, slopes = [], []
    for seen in observations:
        slope = np.zeros(len(UNKNOWNS))
        if seen.part == "sky":
            slope[[_LEVEL, _WEATHER, _HAZE, _SKY]] = 1.0, 1.0, seen.sky_slope, 1.0
            expected.append(seen.sky_log2 + slope @ at)
        else:
            slope[[_LEVEL, _WEATHER, _HAZE]] = 1.0, 1.0, seen.ground_slope
            daylight = seen.land_log2 + slope @ at
            lamplight = seen.lamp_log2 + at[_LAMPS]
            if seen.part == "street" and np.isfinite(lamplight):
                together = np.logaddexp2(daylight, lamplight)
                slope = slope * 2.0 ** (daylight - together)
                slope[_LAMPS] = 2.0 ** (lamplight - together)
                daylight = together
            expected.append(daylight)
        slopes.append(slope)
    return np.array(expected), np.array(slopes)


def _belief(mean: FloatArray, covariance: FloatArray) -> Belief:
    rows = ((covariance + covariance.T) / 2.0).tolist()
    return Belief(tuple(mean.tolist()), tuple(tuple(row) for row in rows))


def _unknown(name: str) -> Unknown:
    return next(unknown for unknown in UNKNOWNS if unknown == name)
