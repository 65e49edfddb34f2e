"""When the lamps of a flown take came on, as its frames show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.readings import LAMPS_DOUBT_S
from core.review.curve import scene_stops
from core.review.measure import BIN_STOPS, DIM_SHARE
from core.review.parts import mean_stops
from core.review.review import Reviewed, each_look
from core.tones import lit_share

#: The lamps' ramp must leave so little of what the ground leaves without lamps, and so little of
#: what it leaves with lamps that burn all along.
_BETTER, _BETTER_THAN_LIT = 0.6, 0.5
_STEP_S = 3.0
_LEAST_FRAMES = 20
#: Frames at either end, and how many stops dimmer than expected lamps may be to be lamps.
_EDGE, _DIMMEST_STOPS = 2, 3.0
#: The ground's own tone, and what the curve of the camera leaves, bend along the take like this.
_BENDS = 2
#: 1-sigma of the instant beside what the frames' noise leaves: ground that comes into the
#: picture while the lamps warm up looks like lamps (from practice takes).
_SHARED_SIGMA_S = 20.0
#: The same where the take ends before they are warm.
_CUT_SIGMA_S = 40.0


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


def lamps_found(reviewed: Reviewed, lit: Sequence[FloatArray | None]) -> LampsFound | None:
    """Find the lamps coming on in a take; None where its frames do not show it.

    The light of all ground over that of its darker part, which lamps hardly reach, changes
    slowly with what comes into the picture, and by lamplight over daylight once the lamps are
    on: a quadratic of time + a ramp(t) / daylight(t). The beginning of the ramp that leaves
    least is taken. Flicker, weather and the camera's exposure are in both and cancel.

    Parameters
    ----------
    lit
        From `core.review.parts.lit_weights`.
    """
    plan, tones = reviewed.plan, reviewed.tones
    ground = _over_dim(reviewed)
    known = np.isfinite(ground)
    if known.sum() < _LEAST_FRAMES or lit_share(plan.ground) <= 0.0:
        return None
    time_s, expected = tones.time_s[known], tones.land.stops[known]
    seen, daylight = ground[known], np.exp2(expected - expected.max())
    warm_up_s = max(plan.ground.lamps.warm_up_min * 60.0, 1.0)
    first, last = float(time_s[0]), float(time_s[-1])
    along = 2.0 * (time_s - first) / (last - first) - 1.0
    slow = [along**power for power in range(_BENDS + 1)]

    least = lit_share(plan.ground) * 2.0 ** float(np.max(tones.street.stops - expected.max()))
    least *= 2.0**-_DIMMEST_STOPS

    def left(*lamps: FloatArray) -> float:
        """What is left of the ground's light, frame by frame in its own measure, squared."""
        terms = np.stack([*slow, *lamps], axis=1) / seen[:, None]
        fit, *_ = np.linalg.lstsq(terms, np.ones(len(seen)), rcond=None)
        # Lamps that darken the ground, or hardly light it, are none.
        return float(((terms @ fit - 1.0) ** 2).sum()) if not lamps or fit[-1] > least else np.inf

    # Half of the warm-up lies within the take, or it does not show it.
    half = warm_up_s / 2.0
    begins = np.arange(float(time_s[_EDGE]) - half, float(time_s[-_EDGE]) - half, _STEP_S)
    costs = np.array([
        left(np.clip((time_s - on_s) / warm_up_s, 0.0, 1.0) / daylight) for on_s in begins
    ])  # fmt: skip
    if not costs.size:
        return None
    best = int(np.argmin(costs))
    if not costs[best] < min(_BETTER * left(), _BETTER_THAN_LIT * left(1.0 / daylight)):
        return None
    on_s = float(begins[best])
    before = np.flatnonzero(tones.time_s < on_s)
    lit_before = any(lit[int(k)] is not None for k in before)
    expected_s = reviewed.seen.light.lamps_on_s
    if lit_before or expected_s is None or abs(on_s - expected_s) > LAMPS_DOUBT_S / 2.0:
        return None
    shared_s = _SHARED_SIGMA_S if on_s + warm_up_s < last else _CUT_SIGMA_S
    return LampsFound(on_s, on_s + half, _sigma_s(begins, costs, len(seen), shared_s))


def _sigma_s(begins: FloatArray, costs: FloatArray, count: int, shared_s: float) -> float:
    """1-sigma of the best beginning, by how steeply what is left grows about it."""
    variance = max(float(costs.min()) / max(count - _BENDS - 2, 1), 1e-9)
    likely = np.exp(-0.5 * (costs - costs.min()) / variance)
    mean = float((likely * begins).sum() / likely.sum())
    spread = float((likely * (begins - mean) ** 2).sum() / likely.sum())
    return float(np.hypot(np.sqrt(spread), shared_s))


def _over_dim(reviewed: Reviewed) -> FloatArray:
    """Light of each frame's ground over that of its darker part; NaN where it was not seen.

    Told by the same ground from each frame to its key, as other ground has other lamps.
    """
    highlight = reviewed.plan.camera.highlight_stops
    stops, out = scene_stops(BIN_STOPS, highlight), np.full(len(reviewed.looks), np.nan)
    for k, look in each_look(reviewed):
        key = reviewed.keys[k]
        told = out[: key + 1][np.isfinite(out[: key + 1])]
        if key != k and told.size:
            # A key that was not followed itself stands for the last frame that was.
            out[k] = told[-1] + look.over_dim_stops
        elif not np.isfinite(out).any():
            counts = look.ground.astype(float)
            upto = np.minimum(np.cumsum(counts), DIM_SHARE * counts.sum())
            dim = np.diff(upto, prepend=0.0)
            out[k] = mean_stops(counts, stops) - mean_stops(dim, stops)
    return np.asarray(np.exp2(out))
