"""Takes, exposures and starts worth judging exactly, found on one table of the evening."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.chance import STEP_S, ChanceView, chances_of
from core.exposure import FloatArray
from core.exposures import Exposures, Take
from core.outlook import Outlook
from core.plan import Plan
from core.ranking import gain_points, holds_moment
from core.sights import (
    DOUBT_STOPS,
    exposed,
    gain_of,
    joined,
    rooms_of,
    sights_of,
    view_along,
)
from core.wish import Wish

#: For each take and exposure so many starts are tried, so many in all for a take,
#: and so many in all.
STARTS_TRIED, TAKE_TRIED, TRIED = 3, 100, 500


@dataclass(frozen=True)
class Candidates:
    """The best start found for takes at exposures, one a row.

    `take_at` indexes the takes, `mid_at` the exposures' `mids`; `start_s` is UTC seconds,
    `gain` the points that the light gives there. `nearest` is (take, mid, start) of what lacks
    least, for when there is no row; None where nothing can be exposed at all.
    """

    take_at: NDArray[np.intp]
    mid_at: NDArray[np.intp]
    start_s: FloatArray
    gain: FloatArray
    nearest: tuple[int, int, float] | None


@dataclass(frozen=True)
class _Pairs:
    """Starts with exposures of one take: indices of both, points by the table, slack."""

    start_at: NDArray[np.intp]
    mid_at: NDArray[np.intp]
    points: FloatArray


def starts_tried_s(wish: Wish, window_s: tuple[float, float]) -> FloatArray:
    """Starts to be tried: the window's, a minute apart, within the bounds, and the bounds."""
    first_s, last_s = window_s
    grid = np.append(np.arange(first_s, last_s, STEP_S), last_s)
    earliest = -np.inf if wish.earliest_s is None else wish.earliest_s
    latest = np.inf if wish.latest_s is None else wish.latest_s
    bounds = [edge for edge in (earliest, latest) if first_s <= edge <= last_s]
    inside = grid[(grid >= earliest) & (grid <= latest)]
    return np.unique(np.concatenate([inside, bounds])) if earliest <= latest else grid[:0]


def candidates_of(
    plan: Plan,
    seen: Outlook,
    wish: Wish,
    takes: tuple[Take, ...],
    exposures: Exposures,
    cheapest: list[FloatArray],
    starts_s: FloatArray,
) -> Candidates:
    """Find the best start for each take at each exposure that is worth it.

    Parameters
    ----------
    cheapest
        For each take the least that each of the exposures' `mids` costs; infinite for those
        that the camera cannot take at that interval.
    starts_s
        UTC seconds, ascending, not empty.
    """
    longest_s = max(take.shooting_s for take in takes)
    sights = sights_of(plan, seen, (starts_s[0], starts_s[-1] + longest_s))
    views: list[ChanceView] = []
    tried: list[NDArray[np.float64]] = []
    lacks: tuple[float, tuple[int, int, float] | None] = (-np.inf, None)
    for at, take in enumerate(takes):
        view = view_along(sights, starts_s, take.shooting_s)
        held = holds_moment(starts_s, take.shooting_s, wish)
        pairs, (slack, start_at, mid_at) = _pairs(
            plan, wish, take, view, held, exposures, cheapest[at]
        )
        if slack > lacks[0]:
            lacks = (slack, (at, mid_at, float(starts_s[start_at])))
        views.append(exposed(view, pairs.start_at, exposures.mids[pairs.mid_at]))
        tried.append(
            np.column_stack([
                np.full(len(pairs.points), at), pairs.mid_at, starts_s[pairs.start_at],
                pairs.points,
            ])
        )  # fmt: skip
    table, view = np.concatenate(tried), joined(views)
    most = np.argsort(-table[:, 3], kind="stable")[:TRIED]
    return _judged(plan, wish, takes, table[most], _rows(view, most), cheapest, lacks[1])


def _pairs(
    plan: Plan,
    wish: Wish,
    take: Take,
    view: ChanceView,
    held: NDArray[np.bool_],
    exposures: Exposures,
    cheapest: FloatArray,
) -> tuple[_Pairs, tuple[float, int, int]]:
    """Starts and exposures that may hold, the best of them; and what lacks least."""
    rooms, mids = rooms_of(view, plan), exposures.mids
    most = np.where(held[:, None] & np.isfinite(cheapest), rooms.most_stops(mids), -np.inf)
    start_at, mid_at = np.unravel_index(int(most.argmax()), most.shape)
    nearest = (float(most.max()), int(start_at), int(mid_at))
    start, mid = np.nonzero(most >= -DOUBT_STOPS)
    holds = rooms.slack_stops(start, mids[mid]) >= -DOUBT_STOPS
    start, mid = start[holds], mid[holds]
    burns, darkens = rooms.brightest_stops[start], rooms.darkest_stops[start]
    chance = _below(burns + mids[mid]) + _below(darkens - mids[mid]) - 1.0
    gain = gain_of(view, start, mids[mid], np.maximum(chance, 0.0), take)
    points = gain_points(gain, wish) - cheapest[mid]
    best = _best(points, mid)
    return _Pairs(start[best], mid[best], points[best]), nearest


def _best(points: FloatArray, mid_at: NDArray[np.intp]) -> NDArray[np.intp]:
    """The best starts of each exposure, and of those the best in all, best first."""
    by_exposure = np.lexsort((-points, mid_at))
    mids = mid_at[by_exposure]
    rank = np.arange(len(mids)) - np.searchsorted(mids, mids)
    kept = by_exposure[rank < STARTS_TRIED]
    return kept[np.argsort(-points[kept], kind="stable")][:TAKE_TRIED]


def _judged(
    plan: Plan,
    wish: Wish,
    takes: tuple[Take, ...],
    table: FloatArray,
    view: ChanceView,
    cheapest: list[FloatArray],
    nearest: tuple[int, int, float] | None,
) -> Candidates:
    """Put the real chance in place of the estimate, and keep each pair's best start."""
    take_at, mid_at = table[:, 0].astype(np.intp), table[:, 1].astype(np.intp)
    if not len(table):
        return Candidates(take_at, mid_at, table[:, 2], table[:, 2], nearest)
    gains = np.empty(len(table))
    chance = chances_of(view, 0.0, plan.bands, plan.camera.highlight_stops)
    for at in np.unique(take_at):
        mine = np.flatnonzero(take_at == at)
        some = _rows(view, mine)
        every = np.arange(len(mine))
        gains[mine] = gain_points(gain_of(some, every, 0.0, chance[mine], takes[at]), wish)
    order = np.argsort(-gains, kind="stable")
    _, first = np.unique(take_at[order] * len(cheapest[0]) + mid_at[order], return_index=True)
    kept = order[first]
    return Candidates(take_at[kept], mid_at[kept], table[kept, 2], gains[kept], nearest)


def _rows(view: ChanceView, rows: NDArray[np.intp]) -> ChanceView:
    return exposed(view, rows, np.zeros(len(rows)))


def _below(stops: FloatArray) -> FloatArray:
    """Share of nights with less than so many sigmas, a sigma taken as a stop: the logistic."""
    return np.asarray(1.0 / (1.0 + np.exp(-1.702 * np.clip(stops, -30.0, 30.0))))
