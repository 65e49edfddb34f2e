"""When the lamps of a flown take came on, as its frames show it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.curve import scene_stops
from core.review.estimate import Estimate
from core.review.measure import BIN_STOPS
from core.review.parts import LEAST_PIXELS
from core.review.review import Reviewed, each_look
from core.tones import lit_share

#: The lamps' ramp must leave so little of what other tellings of the ground's contrast leave.
_BETTER = 0.6
#: Their light must be so strong, as a share of the daylight on the land when they come on.
_LEAST_LIGHT = 0.15
_STEP_S = 2.0
_LEAST_FRAMES = 10


@dataclass(frozen=True)
class LampsFound:
    """UTC seconds at which the lamps came on and gave half their light, with 1-sigma in seconds."""

    on_s: float
    half_s: float
    sigma_s: float


def lamps_found(reviewed: Reviewed, estimated: Estimate) -> LampsFound | None:
    """Find the lamps coming on in a take; None where its frames do not show it.

    The brightest of the ground over the rest of it, as a ratio of light, is the ground's own
    contrast until the lamps come on, and grows by lamplight over daylight from then on:
    r = c + a ramp(t) / daylight(t). The beginning of the ramp that leaves least is taken.
    """
    plan, tones = reviewed.plan, reviewed.tones
    ratio = _ratio(reviewed, estimated.contrast)
    known = np.isfinite(ratio)
    if known.sum() < _LEAST_FRAMES or lit_share(plan.ground) <= 0.0:
        return None
    time_s, ratio = tones.time_s[known], ratio[known]
    daylight = np.exp2(tones.land.stops[known] - tones.land.stops[known].max())
    warm_up_s = max(plan.ground.lamps.warm_up_min * 60.0, 1.0)

    def left(ramp: FloatArray) -> tuple[float, float, float]:
        terms = np.stack([np.ones_like(ratio), ramp / daylight], axis=1) / ratio[:, None]
        fit, *_ = np.linalg.lstsq(terms, np.ones(len(ratio)), rcond=None)
        return float(((terms @ fit - 1.0) ** 2).sum()), float(fit[1]), float(fit[0])

    first, last = float(time_s[0]), float(time_s[-1])
    begins = np.arange(first - warm_up_s / 2.0 + _STEP_S, last - warm_up_s / 2.0, _STEP_S)
    tries = [left(np.clip((time_s - on_s) / warm_up_s, 0.0, 1.0)) for on_s in begins]
    if not tries:
        return None
    costs = np.array([cost for cost, _, _ in tries])
    best = int(np.argmin(costs))
    others = min(left(np.zeros_like(ratio))[0], left(np.ones_like(ratio))[0])
    _, light, plain = tries[best]
    if costs[best] > _BETTER * others or light < _LEAST_LIGHT * max(plain, 0.1):
        return None
    on_s = float(begins[best])
    return LampsFound(on_s, on_s + warm_up_s / 2.0, _sigma_s(begins, costs, len(ratio)))


def _sigma_s(begins: FloatArray, costs: FloatArray, count: int) -> float:
    """1-sigma of the best beginning, by how steeply what is left grows about it."""
    variance = max(float(costs.min()) / max(count - 3, 1), 1e-9)
    likely = np.exp(-0.5 * (costs - costs.min()) / variance)
    mean = float((likely * begins).sum() / likely.sum())
    spread = float((likely * (begins - mean) ** 2).sum() / likely.sum())
    # What frames share, as their grain, does not average out.
    return float(max(np.sqrt(spread) * 2.0, _STEP_S))


def _ratio(reviewed: Reviewed, contrast: float) -> FloatArray:
    """Light of the brightest lit share of each frame's ground over that of the rest."""
    light = np.exp2(scene_stops(BIN_STOPS, reviewed.plan.camera.highlight_stops, contrast))
    share = lit_share(reviewed.plan.ground)
    out = np.full(len(reviewed.looks), np.nan)
    for k, look in each_look(reviewed):
        total = look.ground.sum()
        if total < LEAST_PIXELS:
            continue
        upto = np.concatenate([[0.0], np.cumsum(look.ground) / total])
        below = np.diff(np.minimum(upto, 1.0 - share))
        above = np.diff(np.maximum(upto, 1.0 - share))
        out[k] = (above @ light) / share * (1.0 - share) / max(float(below @ light), 1e-9)
    return out
