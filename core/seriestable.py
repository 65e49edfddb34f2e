"""What a path gives at every minute of a night with any settings: the rows a series is made of.

Found as `core.candidates` finds its own: on one table of the evening, to be judged exactly
before anything is told about them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.candidates import starts_tried_s
from core.chance import ChanceView, chances_of
from core.clip import most_frames
from core.costs import costs_of, turn_px_per_s
from core.exposure import FloatArray
from core.exposures import Exposures, Take, exposures_of
from core.outlook import Outlook
from core.plan import Plan
from core.preferences import Preferences
from core.ranking import gain_points
from core.scales import scale_of
from core.sights import (
    DOUBT_STOPS,
    exposed,
    gain_of,
    joined,
    rooms_of,
    sights_of,
    view_along,
)
from core.starts import starts_window_s
from core.tradeoff import LEAST_MARGIN_MIN
from core.wish import Wish

#: Longer intervals than so many times the longest wanted are not tried.
LONGEST_INTERVAL = 2.0
#: For each take so many exposures are tried at a start.
EXPOSURES_TRIED = 2


@dataclass(frozen=True)
class Row:
    """A take that may hold, its settings by their keys, and what it is worth.

    `start_s` is UTC seconds, `points` those of `core.ranking` less `core.costs`, `p_hold` by
    the table.
    """

    start_s: float
    shooting_s: float
    settings: tuple[tuple[str, float], ...]
    p_hold: float
    points: float


def rows_of(
    plan: Plan, seen: Outlook, wanted: Preferences, earliest_s: float | None = None
) -> list[Row]:
    """The best settings for each take at each minute of a shoot's night, where they may hold.

    Parameters
    ----------
    earliest_s
        No start lies before it, UTC seconds.
    """
    takes = _takes(plan, seen, wanted)
    starts_s = starts_tried_s(Wish(earliest_s=earliest_s), starts_window_s(seen.night, seen.light))
    if not (takes and starts_s.size):
        return []
    exposures = exposures_of(plan.camera)
    longest_s = max(take.shooting_s for take in takes)
    sights = sights_of(plan, seen, (starts_s[0], starts_s[-1] + longest_s))
    turns = [turn_px_per_s(seen.path, plan.camera, take) for take in takes]
    costs = costs_of(takes, exposures, plan.camera, wanted, turns)
    views = [view_along(sights, starts_s, take.shooting_s) for take in takes]
    pairs = [
        _pairs(plan, view, exposures.least_by_mid(cost), exposures.mids)
        for view, cost in zip(views, costs, strict=True)
    ]
    chance = _chances(plan, views, pairs, exposures.mids)
    rows, at = [], 0
    for take, view, pair, cost in zip(takes, views, pairs, costs, strict=True):
        mine = chance[at : at + len(pair)]
        at += len(pair)
        rows += _rows(take, view, pair, mine, cost, exposures, wanted)
    return rows


def _takes(plan: Plan, seen: Outlook, wanted: Preferences) -> list[Take]:
    """Takes of the clip wanted, the least accepted, half-way between, or what the battery gives."""
    most_min, rate = seen.flight.max_take_min or 0.0, seen.shoot.frame_rate_fps
    lengths_s = np.linspace(wanted.clip_least_s, wanted.clip_length_s, 3)
    takes = []
    for interval_s in scale_of(plan.camera, "interval_s"):
        if interval_s > LONGEST_INTERVAL * wanted.intervals_wanted_s[1]:
            continue
        given = most_frames(most_min, interval_s)
        with_margin = most_frames(most_min - LEAST_MARGIN_MIN, interval_s)
        wanted_frames = [round(float(s) * rate) for s in lengths_s]
        for frames in {min(n, most) for n in wanted_frames for most in (given, with_margin)}:
            left_min = most_min - (frames - 1) * interval_s / 60.0
            if frames >= 1 and frames / rate >= min(wanted.clip_least_s, lengths_s[-1]) - 1e-6:
                takes.append(Take(interval_s, frames, frames / rate, frames == given, left_min))
    return takes


def _pairs(
    plan: Plan, view: ChanceView, cheapest: FloatArray, mids: FloatArray
) -> NDArray[np.intp]:
    """Starts and exposures (pairs, 2) that may hold, the most promising few of each start."""
    most = np.where(np.isfinite(cheapest), rooms_of(view, plan).most_stops(mids), -np.inf)
    # More slack is a better chance, and a chance weighs more than what an exposure costs.
    worth = np.minimum(most, 1.0) * 10.0 - np.where(np.isfinite(cheapest), cheapest, 0.0)
    worth = np.where(most >= -DOUBT_STOPS, worth, -np.inf)
    best = np.argsort(-worth, axis=1, kind="stable")[:, :EXPOSURES_TRIED]
    start = np.repeat(np.arange(len(worth)), best.shape[1])
    pairs = np.column_stack([start, best.ravel()])
    return np.asarray(pairs[np.isfinite(worth[pairs[:, 0], pairs[:, 1]])])


def _chances(
    plan: Plan, views: list[ChanceView], pairs: list[NDArray[np.intp]], mids: FloatArray
) -> FloatArray:
    if not any(len(pair) for pair in pairs):
        return np.zeros(0)
    shown = [
        exposed(view, pair[:, 0], mids[pair[:, 1]]) for view, pair in zip(views, pairs, strict=True)
    ]
    return chances_of(joined(shown), 0.0, plan.bands, plan.camera.highlight_stops)


def _rows(
    take: Take,
    view: ChanceView,
    pairs: NDArray[np.intp],
    chance: FloatArray,
    costs: FloatArray,
    exposures: Exposures,
    wanted: Preferences,
) -> list[Row]:
    start, mid = pairs[:, 0], pairs[:, 1]
    gain = gain_of(view, start, exposures.mids[mid], chance, take)
    gained = gain_points(gain, Wish(preferences=wanted))
    cheapest = {
        at: int(np.where(exposures.mid_at == at, costs, np.inf).argmin())
        for at in set(mid.tolist())
    }
    return [
        Row(
            start_s=float(view.time_s[start[k]]),
            shooting_s=take.shooting_s,
            settings=_settings(take, exposures, cheapest[int(mid[k])]),
            p_hold=float(chance[k]),
            points=float(gained[k] - costs[cheapest[int(mid[k])]]),
        )
        for k in range(len(pairs))
    ]


def _settings(take: Take, exposures: Exposures, row: int) -> tuple[tuple[str, float], ...]:
    return (
        ("interval_s", take.interval_s),
        ("clip_length_s", take.clip_length_s),
        ("shutter_s", float(exposures.shutter_s[row])),
        ("iso", float(exposures.iso[row])),
        ("f_number", float(exposures.f_number[row])),
        ("nd_stops", float(exposures.nd_stops[row])),
    )
