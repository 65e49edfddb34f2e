"""Span and best start of one of many nights: looked for roughly, then judged as the forecast does.

The ground alone, read at a few frames from a start a minute, tells which starts can hold at
all; the sky is looked at for those, and what is left is judged frame by frame by the
forecast's own functions.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np

from core.chance import ChanceView, ground_view_of, with_sky
from core.exposure import FloatArray
from core.framesky import FrameSky, between
from core.light import Light
from core.night import Night
from core.plan import Plan
from core.sights import rooms_of
from core.starts import Starts, diagonals_of, slacks_of, starts_window_s, with_chances
from core.tones import lit_share

#: The rough view is off by less: it skips frames, and starts between two minutes.
DOUBT_STOPS = 0.3
#: Takes of more frames than this are judged at coarser starts by the forecast.
MOST_FRAMES = 4000


def quick_starts(
    night: Night,
    light: Light,
    framesky: FrameSky,
    plan: Plan,
    way: FloatArray,
    interval_s: float,
    mid: float,
) -> Starts:
    """The starts of a night that may hold, or that come nearest to it, as `starts_of` has them.

    Chances are told of those that hold.

    Parameters
    ----------
    way
        Share of the way at each frame, as flown; at most `MOST_FRAMES`.
    mid
        Log2 luminance of mid-grey, see `core.tones.mid_log2`.
    """
    lit = lit_share(plan.ground)
    view, first, last = _hopeful_view(night, light, framesky, plan, way, interval_s, mid)
    part_s = float(view.time_s[first]), float(view.time_s[last])
    part_s = part_s[0], min(part_s[1], starts_window_s(night, light)[1])
    shooting_s = interval_s * (len(way) - 1)
    some_night, some_light = _only(night, light, part_s, shooting_s)
    some_sky = _suns_of(framesky, some_light)
    share = plan.bands.sky.clip_area_share
    seen = diagonals_of(some_night, some_light, some_sky, way, interval_s, share)
    kept = int(np.searchsorted(seen.time_s, part_s[1] + 1e-3, side="right"))
    if night.twilight == "dawn":
        seen = replace(seen, time_s=seen.time_s[:kept], sky_log2=seen.sky_log2[:, :kept])
    highlight = plan.camera.highlight_stops
    slack, limit = slacks_of(seen, mid, plan.bands, highlight, lit)
    told = view.rows(_rows_about(view.time_s, seen.time_s[slack >= 0.0]))
    return with_chances(seen.time_s, slack, limit, told, mid, plan.bands, highlight)


def _rows_about(judged_s: FloatArray, good_s: FloatArray) -> slice:
    """The rows that the chances of good starts are read between; any one where none is good."""
    if not good_s.size:
        return slice(0, 1)
    first, last = np.searchsorted(judged_s, (good_s[0], good_s[-1]))
    return slice(max(int(first) - 1, 0), int(last) + 1)


def _hopeful_view(
    night: Night,
    light: Light,
    framesky: FrameSky,
    plan: Plan,
    way: FloatArray,
    interval_s: float,
    mid: float,
) -> tuple[ChanceView, int, int]:
    """A view of the starts that the ground allows, and which of its rows can hold.

    The sky only takes from what the ground leaves: where no start holds there, all are looked
    at whose ground leaves as much as the best of them keeps.
    """
    window_s, lit = starts_window_s(night, light), lit_share(plan.ground)
    ground = ground_view_of(window_s, light, framesky, way, interval_s, plan.bands, lit)
    on_ground = _slack_stops(ground, plan, mid)

    def seen_from(least: float) -> tuple[ChanceView, FloatArray]:
        first, last = _ends_from(on_ground, least)
        view = with_sky(ground.rows(slice(first, last + 1)), framesky, plan.bands)
        return view, _slack_stops(view, plan, mid)

    view, slack = seen_from(min(0.0, float(on_ground.max())))
    if slack.max() < 0.0:
        view, slack = seen_from(float(slack.max()))
    return view, *_ends_from(slack, min(0.0, float(slack.max())))


def _slack_stops(view: ChanceView, plan: Plan, mid: float) -> FloatArray:
    """The slack of each start of a view."""
    every = np.arange(len(view.time_s))
    return rooms_of(view, plan).slack_stops(every, np.full(len(every), mid))


def _ends_from(slack: FloatArray, least: float) -> tuple[int, int]:
    """First and last row that may have so much slack, and one more on either side.

    What fails beside the span shows where it ends.
    """
    rows = np.flatnonzero(slack >= least - DOUBT_STOPS)
    return max(int(rows[0]) - 1, 0), min(int(rows[-1]) + 1, len(slack) - 1)


def _only(
    night: Night, light: Light, starts_s: tuple[float, float], shooting_s: float
) -> tuple[Night, Light]:
    """A night and its light cut so that the forecast judges these starts, and few others.

    At dusk the starts judged end with the light side of midnight; at dawn they run on.
    """
    first = int(np.searchsorted(light.time_s, starts_s[0] - 1e-3))
    end = int(np.searchsorted(light.time_s, starts_s[1] + shooting_s, side="right")) + 2
    columns: dict[str, Any] = {
        one.name: value[first:end]
        for one in fields(light)
        if isinstance(value := getattr(light, one.name), np.ndarray)
    }
    darkest_s = starts_s[1] if night.twilight == "dusk" else night.darkest_s
    return replace(night, darkest_s=darkest_s), replace(light, **columns)


def _suns_of(framesky: FrameSky, light: Light) -> FrameSky:
    """The sky for the suns of some light: all that is read between its nodes stays the same."""
    suns = _nodes(framesky.sun_altitude_deg, light.sun_altitude_deg)
    sides = _nodes(framesky.sun_azimuth_deg, light.sun_azimuth_deg)
    return replace(
        framesky,
        sun_altitude_deg=framesky.sun_altitude_deg[suns],
        sun_azimuth_deg=framesky.sun_azimuth_deg[sides],
        mean_log2=framesky.mean_log2[:, suns, sides],
        exceeded_log2=framesky.exceeded_log2[:, suns, sides],
        haze_slope_stops=framesky.haze_slope_stops[:, suns, sides],
    )


def _nodes(nodes: FloatArray, values: FloatArray) -> slice:
    """The nodes that values are read between, two at least where there are two."""
    at = between(nodes, np.array([values.min(), values.max()])).index
    return slice(int(at[0]), int(at[1]) + 2)
