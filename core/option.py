"""One thing that can still be done: a take at a start with settings, and what it keeps."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.judge import Limit, slack_by_limit
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.starts import Starts

Kind = Literal["as_planned", "press_now", "wait", "settings", "shorten", "reverse", "another_night"]

#: Dotted keys with new values.
Changes = tuple[tuple[str, object], ...]

#: What of a shoot an option may change, besides its start.
CHANGED_KEYS = (
    "interval_s", "shutter_s", "iso", "f_number", "nd_stops", "clip_length_s", "path_reversed",
)  # fmt: skip


@dataclass(frozen=True)
class Option:
    """A take that the battery brings home; every figure is that of the forecast of `plan`.

    Attributes
    ----------
    kind
        What is done about it.
    plan
        The plan with it applied.
    changes
        Dotted keys whose values differ from the plan as it was, with the new ones.
    date, start_s, take_off_s
        The night it belongs to; UTC seconds. In the air the take-off lies in the past.
    wait_min
        Minutes from now to the take-off; in the air to the press.
    holds
        Whether every frame but the excused ones keeps every part within its limits.
    latest_s
        Until when the press may be put off with all else as it is, None where it does not
        hold.
    kept_share
        Share of the frames with every part within its limits, 0 to 1.
    p_hold
        Chance that it holds; None outside the hours in which starts are judged.
    margin_min
        Minutes of battery to spare beside the way home and the reserve.
    points
        Rank it among what holds, see `core.rescue`.
    sentence
        For the pilot: what to do, until when, what it loses.
    """

    kind: Kind
    plan: Plan
    changes: Changes
    date: dt.date
    start_s: float
    take_off_s: float
    wait_min: float
    holds: bool
    latest_s: float | None
    slack_stops: float
    limit: Limit | None
    p_hold: float | None
    kept_share: float
    mixed_light_share: float
    frames: int
    clip_length_s: float
    margin_min: float
    points: float
    sentence: str


def changes_of(before: Plan, after: Plan, name: ShootName) -> Changes:
    """Dotted keys of a shoot and its flight that differ between two plans, with new values."""
    was, now = before.shoot(name), after.shoot(name)
    keys = ("date", "start_after_event_min", *CHANGED_KEYS, "visit")
    changed: list[tuple[str, object]] = [
        (f"shoots.{name}.{key}", getattr(now, key))
        for key in keys
        if getattr(was, key) != getattr(now, key)
    ]
    if before.flight.wait_min != after.flight.wait_min:
        changed.append(("flight.wait_min", after.flight.wait_min))
    return tuple(changed)


def kept_frames(plan: Plan, seen: Outlook) -> NDArray[np.bool_]:
    """Whether each frame of a take keeps every part within its limits, (frames,)."""
    by_limit = slack_by_limit(seen.tones, plan.bands, plan.camera.highlight_stops)
    return np.asarray(np.min(np.stack(list(by_limit.values())), axis=0) >= 0.0)


def last_good_s(every: Starts, press_s: float) -> float | None:
    """The last start that holds with none between it and the press that fails."""
    if not every.time_s[0] <= press_s <= every.time_s[-1]:
        return None
    later = np.flatnonzero(every.time_s >= press_s)
    failing = np.flatnonzero(every.slack_stops[later] < 0.0)
    if failing.size == 0:
        return float(every.time_s[-1])
    return float(every.time_s[later[failing[0] - 1]]) if failing[0] > 0 else press_s
