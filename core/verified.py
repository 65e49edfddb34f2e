"""Candidates judged exactly: the figures are those of the forecast with the choice applied."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.chance import STEP_S, chance_view_of, chances_between, chances_of
from core.exposure import FloatArray
from core.exposures import Take
from core.judge import Limit, judge
from core.outlook import Outlook
from core.plan import Plan
from core.ranking import Gain, gain_points
from core.sights import mixed_light_shares
from core.starts import starts_window_s
from core.tones import frame_ways, lit_share, tones_at
from core.wish import Wish


@dataclass(frozen=True)
class Verified:
    """A take at an exposure and a start; `gain` are the points that its light gives."""

    start_s: float
    slack_stops: float
    limit: Limit | None
    p_hold: float
    mixed_light_share: float
    gain: float


def verified(
    plan: Plan, seen: Outlook, wish: Wish, take: Take, mid: float, starts_s: FloatArray
) -> Verified:
    """The best of a few starts that are near to one another; one that holds before any other.

    Parameters
    ----------
    mid
        Log2 luminance of mid-grey at the exposure.
    starts_s
        UTC seconds, ascending, within the hours in which starts are judged.
    """
    chance, mixed = _chances(plan, seen, take, mid, starts_s)
    first = seen.light.at("street_log2", starts_s) - mid
    gain = Gain(chance, mixed, first, starts_s, take.clip_length_s, take.shooting_s)
    order = np.argsort(-gain_points(gain, wish), kind="stable")
    judged = None
    for at in order:
        judged = _judged(plan, seen, wish, take, mid, float(starts_s[at]), float(chance[at]))
        if judged.slack_stops >= 0.0:
            return judged
    most = max(range(len(starts_s)), key=lambda at: chance[at])
    return _judged(plan, seen, wish, take, mid, float(starts_s[most]), float(chance[most]))


def _chances(
    plan: Plan, seen: Outlook, take: Take, mid: float, starts_s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Chance and mixed-light share of starts, read between the minutes as the forecast does."""
    first_s, _ = starts_window_s(seen.night, seen.light)
    # The minutes round the starts, counted from the first that the forecast judges.
    before = np.floor((starts_s[0] - first_s) / STEP_S + 1e-6)
    after = np.ceil((starts_s[-1] - first_s) / STEP_S - 1e-6)
    view = chance_view_of(
        (first_s + STEP_S * before, first_s + STEP_S * after - STEP_S / 2.0),
        seen.light,
        seen.framesky,
        frame_ways(seen.path, take.frames),
        take.interval_s,
        plan.bands,
        lit_share(plan.ground),
    )
    chance = chances_of(view, mid, plan.bands, plan.camera.highlight_stops)
    mixed = mixed_light_shares(view)
    told = chances_between(starts_s, view.time_s, chance)
    return told, np.interp(starts_s, view.time_s, mixed)


def _judged(
    plan: Plan, seen: Outlook, wish: Wish, take: Take, mid: float, start_s: float, chance: float
) -> Verified:
    tones = tones_at(
        start_s + take.interval_s * np.arange(take.frames, dtype=float),
        frame_ways(seen.path, take.frames),
        mid,
        seen.light,
        seen.framesky,
        plan.ground,
        plan.bands,
        plan.camera.highlight_stops,
    )
    judgement = judge(tones, plan.bands, plan.camera.highlight_stops)
    mixed = float(tones.mixed_light.mean())
    gain = Gain(chance, mixed, tones.street.stops[0], start_s, take.clip_length_s, take.shooting_s)
    return Verified(
        start_s=start_s,
        slack_stops=judgement.slack_stops,
        limit=judgement.limit,
        p_hold=chance,
        mixed_light_share=mixed,
        gain=float(gain_points(gain, wish)),
    )
