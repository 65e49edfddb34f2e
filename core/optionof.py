"""One option with every figure of it: those of the forecast of the plan with it applied."""

from __future__ import annotations

import math
from dataclasses import replace

from core.costs import INTERVAL_POINTS, ISO_POINTS, SHORT_CLIP_POINTS, SHUTTER_POINTS
from core.forecast import outlook, starts
from core.option import CHANGED_KEYS, Changes, Kind, Option, changes_of, kept_frames, last_good_s
from core.outlook import Outlook
from core.plan import Plan, Shoot
from core.preferences import Preferences
from core.ranking import Gain, gain_points
from core.rescuewords import sentence_of
from core.standpoint import Standpoint
from core.wish import Wish

#: Points for each setting that has to be changed on site: a change in a hurry is a trap (our
#: judgement). What it is changed by costs as in `core.costs`, counted from what was planned.
CHANGE_POINTS = 1.0


def option_of(
    kind: Kind, before: Plan, plan: Plan, here: Standpoint, wanted: Preferences
) -> Option | None:
    """Judge a plan as an option; None where it cannot be flown, brought home or stored.

    Parameters
    ----------
    before
        The plan as it was, for what changes.
    """
    seen = outlook(plan, here.name, here.memory)
    flight = seen.flight
    # A camera that skips shots takes another clip than the one that was judged.
    if not flight.fits or seen.clip.write == "skips":
        return None
    if seen.take_off_s is None or flight.margin_min is None:
        return None
    every = starts(plan, here.name, here.memory)
    p_hold = every.chance_at(seen.press_s)
    holds = seen.judgement.slack_stops >= 0.0
    latest_s = last_good_s(every, seen.press_s) if holds else None
    in_the_air = here.took_off_s is not None and kind != "another_night"
    if latest_s is not None and in_the_air:
        latest_s = min(latest_s, seen.press_s + 60.0 * flight.margin_min)
    kept = kept_frames(plan, seen)
    changes = changes_of(before, plan, here.name)
    if kind == "settings" and _settings_in(changes) == {"clip_length_s"}:
        kind = "shorten"
    until_s = seen.press_s if in_the_air else seen.take_off_s
    option = Option(
        kind=kind,
        plan=plan,
        changes=changes,
        date=seen.shoot.date,
        start_s=seen.press_s,
        take_off_s=seen.take_off_s,
        wait_min=max((until_s - here.now_s) / 60.0, 0.0),
        holds=holds,
        latest_s=latest_s,
        slack_stops=seen.judgement.slack_stops,
        limit=seen.judgement.limit,
        p_hold=p_hold,
        kept_share=float(kept.mean()),
        mixed_light_share=float(seen.tones.mixed_light.mean()),
        frames=seen.clip.frames,
        clip_length_s=seen.clip.clip_length_s,
        margin_min=flight.margin_min,
        points=_points(before.shoot(here.name), seen, p_hold or 0.0, wanted, changes),
        sentence="",
    )
    return replace(option, sentence=sentence_of(option, seen, in_the_air=in_the_air))


def _settings_in(changes: Changes) -> set[str]:
    return {key.rpartition(".")[2] for key, _ in changes} & set(CHANGED_KEYS)


def _points(
    before: Shoot, seen: Outlook, p_hold: float, wanted: Preferences, changes: Changes
) -> float:
    clip, shoot = seen.clip, seen.shoot
    gain = Gain(
        p_hold, float(seen.tones.mixed_light.mean()), float(seen.tones.street.stops[0]),
        seen.press_s, clip.clip_length_s, clip.shooting_s,
    )  # fmt: skip
    return (
        float(gain_points(gain, Wish(preferences=wanted)))
        - SHORT_CLIP_POINTS * max(wanted.clip_length_s - clip.clip_length_s, 0.0)
        - ISO_POINTS * max(math.log2(shoot.iso / before.iso), 0.0)
        - SHUTTER_POINTS * abs(math.log2(shoot.shutter_s / before.shutter_s))
        - INTERVAL_POINTS * abs(math.log2(shoot.interval_s / before.interval_s))
        - CHANGE_POINTS * len(_settings_in(changes) - {"clip_length_s"})
    )
