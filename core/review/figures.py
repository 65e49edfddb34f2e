"""Figures of the camera and the lamps that a take teaches beside the night's light."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.clip import exact_third_stop_s
from core.edit import PlanError, get_value
from core.lampsseen import with_lamps_seen_on
from core.memory import Memory
from core.plan import Learned, Plan, Replaced
from core.review.curve import scene_stops
from core.review.estimate import Estimate, expected_sky_stops
from core.review.lampsfound import LampsFound
from core.review.parts import exceeded_stops
from core.review.review import Reviewed, each_look
from core.review.smooth import SIGMA_PER_MEDIAN
from core.scales import with_shoot

#: 1-sigma of a typed highlight limit: cameras clip from 2.8 to 3.4 stops (our judgement).
HIGHLIGHT_SIGMA_STOPS = 0.3
#: 1-sigma of where one take's sky shows it: the sky's own gradient departs from the model.
_SKY_TELLS_STOPS = 0.35
#: 1-sigma of a typed write time, and of one that a take shows, s.
WRITE_SIGMA_S, _WRITE_TELLS_S = 0.5, 0.1
#: A camera that takes this much longer than asked is held up by its storing.
_HELD_UP = 1.02
#: One that takes this much longer was asked for something else than the shoot: no figure of the
#: camera is read from that (our judgement).
MOST_HELD_UP = 1.5
#: Shares of the sky at which it is compared, and the tones of the display that can be.
_SHARES = np.linspace(0.05, 0.95, 19)
_READABLE_STOPS = 1.3
#: The sky is burnt in part where this share of it is, and not all.
_BURNT_SHARES = (0.05, 0.85)
_LEAST_FRAMES = 5

Scope = Literal["place", "camera", "craft", "night"]


@dataclass(frozen=True)
class Figure:
    """A figure before and after a take, with 1-sigmas; a sigma is None where none is known."""

    name: str
    before: float
    before_sigma: float | None
    after: float
    after_sigma: float
    unit: str
    scope: Scope

    @property
    def digits(self) -> int:
        """Decimals that it is told with: hundredths of a second and of the craft's power count."""
        return 2 if self.unit in ("s", "times") else 1


@dataclass(frozen=True)
class Changed:
    """A figure, and the typed value that it takes the place of."""

    figure: Figure
    replaced: Replaced


def highlight_changed(reviewed: Reviewed, estimated: Estimate) -> Changed | None:
    """Where the camera clips, from a sky that is burnt in part; None where none is.

    By how much each share of the sky departs from what was expected is read from frames in
    which it is not burnt; with that, what is expected at the edge of the burnt part is what
    just burns.
    """
    seen = _edges_stops(reviewed, estimated.contrast)
    if seen is None:
        return None
    plan = reviewed.plan
    before = plan.camera.highlight_stops
    before_sigma = sigma_at_hand(plan, "highlight_stops", HIGHLIGHT_SIGMA_STOPS)
    value, sigma = fused(before, before_sigma, *seen)
    return changed(
        "camera.highlight_stops", "highlight_stops", before, before_sigma,
        float(np.clip(value, 0.5, 8.0)), sigma, "stops", "camera",
    )  # fmt: skip


def write_time_changed(reviewed: Reviewed) -> Changed | None:
    """The time that the camera takes to store a still, where the take tells it.

    A camera that was slower than asked stores for what the interval leaves beside the
    exposure; one that kept up in less time than typed stores for that at most. An interval much
    longer than the shoot's is that of another shoot, and tells nothing.
    """
    plan, shoot = reviewed.plan, reviewed.seen.shoot
    left_s = reviewed.timeline.interval_s - exact_third_stop_s(shoot.shutter_s)
    before = plan.camera.write_time_s
    longer = reviewed.timeline.interval_s / shoot.interval_s
    held_up = longer > _HELD_UP
    if left_s <= 0.0 or longer > MOST_HELD_UP or not (held_up or before > left_s):
        return None
    before_sigma = sigma_at_hand(plan, "write_time_s", WRITE_SIGMA_S)
    value, sigma = with_taught(plan, "write_time_s", before, left_s, _WRITE_TELLS_S)
    return changed(
        "camera.write_time_s", "write_time_s", before, before_sigma,
        round(value, 3), sigma, "s", "camera",
    )  # fmt: skip


_SWITCHES = {
    "level": ("on_lx", "lx"),
    "offset": ("on_after_event_min", "min"),
}


def lamps_changed(reviewed: Reviewed, found: LampsFound, memory: Memory) -> Changed | None:
    """What switches the lamps, from the minute at which they came on; None where it cannot be."""
    plan, take = reviewed.plan, reviewed.take
    kind = plan.ground.lamps.switching.kind
    if kind not in _SWITCHES or take.flown is None:
        return None
    flown = with_shoot(plan, take.shoot, take.flown)
    name, unit = _SWITCHES[kind]
    key = f"ground.lamps.switching.{name}"

    def told(time_s: float) -> float:
        seen = with_lamps_seen_on(flown, take.shoot, time_s, memory)
        value = get_value(seen, key)
        return float(value) if isinstance(value, (int, float)) else float("nan")

    try:
        after = told(found.on_s)
        spread = abs(told(found.on_s + found.sigma_s) - told(found.on_s - found.sigma_s)) / 2.0
    except PlanError:
        return None
    before = getattr(plan.ground.lamps.switching, name)
    learned = f"lamps_{name}"
    value, sigma = with_taught(plan, learned, before, after, spread)
    return changed(
        key, learned, before, taught_sigma(plan, learned, before), value, sigma, unit, "place"
    )


def learned_of(changed: Changed, take_id: str) -> Learned:
    """A figure as the plan keeps it."""
    figure = changed.figure
    return Learned(
        name=figure.name,
        value=figure.after,
        sigma=figure.after_sigma,
        unit=figure.unit,
        scope=figure.scope,
        take_id=take_id,
    )


def changed(
    key: str,
    name: str,
    before: float,
    before_sigma: float | None,
    after: float,
    after_sigma: float,
    unit: str,
    scope: Scope,
) -> Changed:
    """A figure of the plan, by its key and the name under which it is learned, and its change."""
    figure = Figure(name, before, before_sigma, after, after_sigma, unit, scope)
    return Changed(figure, Replaced(key=key, before=before, after=after))


def sigma_at_hand(plan: Plan, name: str, typed: float) -> float:
    """1-sigma of what the plan holds: that of the last take that taught it, or of a typed one."""
    taught = [item.sigma for item in plan.learned if item.name == name]
    return taught[-1] if taught else typed


def taught_sigma(plan: Plan, name: str, value: float) -> float | None:
    """1-sigma of a figure as the takes before taught it; None where it was typed since."""
    last = next((item for item in reversed(plan.learned) if item.name == name), None)
    return last.sigma if last is not None and last.value == value else None


def with_taught(
    plan: Plan, name: str, before: float, told: float, told_sigma: float
) -> tuple[float, float]:
    """What a take tells of a figure, with what the takes before it taught.

    Tellings that contradict each other leave it as unsure as they are apart: the 1-sigma of
    their mean is widened by the Birge ratio (Birge 1932, Phys. Rev. 40:207). A typed value
    gives way to the first take.
    """
    sigma = taught_sigma(plan, name, before)
    if sigma is None or min(sigma, told_sigma) <= 0.0:
        return told, told_sigma
    value, narrow = fused(before, sigma, told, told_sigma)
    return value, narrow * max(1.0, abs(told - before) / float(np.hypot(sigma, told_sigma)))


def fused(one: float, one_sigma: float, two: float, two_sigma: float) -> tuple[float, float]:
    """Mean and 1-sigma of two normal tellings of one figure."""
    weights = np.array([one_sigma**-2.0, two_sigma**-2.0])
    return float(weights @ [one, two] / weights.sum()), float(weights.sum() ** -0.5)


def _edges_stops(reviewed: Reviewed, contrast: float) -> tuple[float, float] | None:
    """The tone expected at the edge of the burnt sky, corrected by the sky that is not."""
    off = _sky_off(reviewed, contrast)
    shares, frames = [], []
    for k, look in each_look(reviewed):
        whole = float(reviewed.tones.sky.frame_share[k])
        if whole > 0.02 and _BURNT_SHARES[0] < look.sky_burnt_share / whole < _BURNT_SHARES[1]:
            frames.append(k)
            # Beside the horizon, which is not looked at, it is burnt first.
            beside = max(whole - look.sky_pixels_share, 0.0)
            shares.append((look.sky_burnt_share + beside) / whole)
    if len(frames) < _LEAST_FRAMES or not np.isfinite(off).any():
        return None
    every = np.full(len(reviewed.looks), 0.5)
    every[frames] = shares
    expected = expected_sky_stops(reviewed, every)[frames] - reviewed.above_mid[frames]
    known = np.isfinite(off)
    edges = expected + np.interp(shares, _SHARES[known], off[known])
    spread = SIGMA_PER_MEDIAN * float(np.median(np.abs(edges - np.median(edges))))
    return float(np.median(edges)), float(np.hypot(_SKY_TELLS_STOPS, spread))


def _sky_off(reviewed: Reviewed, contrast: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """By how much each of `_SHARES` of the sky shows brighter than expected; NaN unseen."""
    highlight = reviewed.plan.camera.highlight_stops
    off = np.full((len(_SHARES), len(reviewed.looks)), np.nan)
    for row, share in enumerate(_SHARES):
        expected = expected_sky_stops(reviewed, np.full(len(reviewed.looks), share))
        for k, look in each_look(reviewed):
            whole = float(reviewed.tones.sky.frame_share[k])
            if look.sky_pixels_share < 0.02 or whole <= 0.0:
                continue
            beside = max(whole - look.sky_pixels_share, 0.0)
            here = (share * whole - beside) / look.sky_pixels_share
            shown = exceeded_stops(look.sky, here) if here > 0.0 else np.nan
            if shown < _READABLE_STOPS:
                tone = float(scene_stops(shown, highlight, contrast))
                off[row, k] = tone + reviewed.above_mid[k] - expected[k]
    seen = np.isfinite(off).sum(axis=1) >= _LEAST_FRAMES
    out = np.full(len(_SHARES), np.nan)
    out[seen] = np.nanmedian(off[seen], axis=1)
    return out
