"""Good starts: every start of the night judged at once, on light alone.

A start is good when every frame of the take, but for the excused ones, keeps every part
within its limits. Street and land depend on the time only; the sky depends on the time
and on where along the path the frame stands. So the sky is read once for every frame
along the whole evening, and a start is a diagonal through that picture.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from core.chance import ChanceView, chances_between, chances_of
from core.exposure import FloatArray
from core.framesky import SKY_SHARES, Corner, FrameSky, between, interpolate
from core.judge import LIMITS, Limit, excused_frames, frames_with_land_limit, lamps_slack
from core.light import GRID_S as LIGHT_GRID_S
from core.light import Light
from core.night import Night
from core.plan import Bands
from core.readonly import read_only
from core.tones import LEAST_SHARE, with_moon

GRID_S = 5.0
#: A take of very many frames is judged at starts further apart, so that no more than
#: this many cells (frames × times) are held.
MOST_CELLS = 12_000_000
#: Cells worked on at once: they stay in the processor's nearest memory.
_NEAR_CELLS = 20_000
#: Times for which the sky is read at once.
_NEAR_TIMES = 64
#: Starts are looked for while the sun is between these altitudes, and a while beyond the
#: lower one: darker than that the light no longer changes.
HIGHEST_SUN_DEG, LOWEST_SUN_DEG = 6.0, -18.0
BEYOND_S = 1800.0
#: Where the sun stays above or below both, the hours next to solar midnight are judged.
DARKEST_S = 4.0 * 3600.0

#: A start is sure from this chance on; chances this near to each other are the same.
SURE = 0.8
SAME_CHANCE = 0.005

#: Starts whose slack is this close in stops are as good as each other: no pilot can tell them.
SAME_SLACK_STOPS = 0.001

Float32Array = NDArray[np.float32]


@dataclass(frozen=True)
class SkyDiagonals:
    """What a take sees from each start, before any setting of the exposure.

    `time_s` (starts,) are the starts, `offset` (frames,) each frame's time after its start
    in steps of theirs. `street_log2`, `land_log2` and `lamp_output` run on beyond the last
    start to its last frame. `sky_log2` (frames, starts) is the luminance that the allowed
    share of each frame exceeds (-inf where the sky covers less); `ground_share` (frames,)
    the share of the frame that is ground.
    """

    time_s: FloatArray
    offset: FloatArray
    street_log2: FloatArray
    land_log2: FloatArray
    lamp_output: FloatArray
    sky_log2: Float32Array
    ground_share: FloatArray


@dataclass(frozen=True)
class Starts:
    """Every start of the night with its slack in stops and the limit that binds.

    `earliest_s`, `latest_s` and `best_s` are UTC seconds: the first and the last of the
    starts listed, with none between that fails, round the best one; None where no start
    holds. The best is the good start with the highest chance to hold, ties by slack.
    `nearest_s` is the start with the most slack, good or not. `p_hold` is each start's
    chance, 0 to 1; `sure_s` the run of starts with a chance of `SURE` or more, None where
    there is none. `limit` holds indices into `core.judge.LIMITS`, -1 where nothing limits.
    """

    time_s: FloatArray
    slack_stops: FloatArray
    limit: NDArray[np.int8]
    p_hold: FloatArray
    earliest_s: float | None
    latest_s: float | None
    best_s: float | None
    nearest_s: float
    nearest_slack_stops: float
    sure_s: tuple[float, float] | None

    def chance_at(self, time_s: float) -> float | None:
        """The chance of a start to hold; None outside the starts judged, sample and all.

        The judged end on samples of the light, a little short of solar midnight itself.
        """
        if not self.time_s[0] - LIGHT_GRID_S <= time_s <= self.time_s[-1] + LIGHT_GRID_S:
            return None
        return float(np.interp(time_s, self.time_s, self.p_hold))

    def best_between_s(self, first_s: float, last_s: float) -> float | None:
        """The best start of a stretch by the rule for `best_s`; None where none of it holds."""
        there = (self.time_s >= first_s) & (self.time_s <= last_s) & (self.slack_stops >= 0.0)
        at = _best_of(there, self.slack_stops, self.p_hold)
        return None if at is None else float(self.time_s[at])

    def limit_at(self, time_s: float) -> Limit | None:
        """The limit that binds for the start nearest to a time."""
        code = int(self.limit[int(np.abs(self.time_s - time_s).argmin())])
        return LIMITS[code] if code >= 0 else None


@dataclass(frozen=True)
class _Ground:
    """How the ground is judged at one exposure, and in which frames: (frames,) of truths."""

    mid: float
    bands: Bands
    street_seen: NDArray[np.bool_]
    land_seen: NDArray[np.bool_]
    land_early: NDArray[np.bool_]


def starts_window_s(night: Night, light: Light) -> tuple[float, float]:
    """First and last start worth judging, in UTC seconds, on the twilight's side of midnight."""
    time_s, altitude = light.time_s, light.sun_altitude_deg
    dusk = night.twilight == "dusk"
    side = time_s <= night.darkest_s if dusk else time_s >= night.darkest_s
    judged = side & (altitude <= HIGHEST_SUN_DEG) & (altitude >= LOWEST_SUN_DEG)
    if not judged.any():
        judged = side & (np.abs(time_s - night.darkest_s) <= DARKEST_S)
        return float(time_s[judged][0]), float(time_s[judged][-1])
    first, last = float(time_s[judged][0]), float(time_s[judged][-1])
    # On samples of the light, so that straight lines between them are the same lines.
    if dusk:
        return first, min(last + BEYOND_S, float(time_s[side][-1]))
    return max(first - BEYOND_S, float(time_s[side][0])), last


def diagonals_of(
    night: Night,
    light: Light,
    framesky: FrameSky,
    way: FloatArray,
    interval_s: float,
    clip_area_share: float,
) -> SkyDiagonals:
    """Read street, land and sky for every start of the night and every frame.

    Parameters
    ----------
    way
        Share of the way at each frame, as flown.
    """
    starts, times, offset = _times_s(starts_window_s(night, light), light, len(way), interval_s)
    sky_share = interpolate(framesky.sky_share, between(framesky.way, way))
    seen = np.flatnonzero((sky_share >= LEAST_SHARE) & (sky_share > clip_area_share))
    sky = np.full((len(way), len(starts)), -np.inf, dtype=np.float32)
    if seen.size:
        rows = _limit_rows(framesky, way[seen], clip_area_share / sky_share[seen], light, times)
        for block in _blocks(seen.size, len(starts)):
            sky[seen[block]] = _shifted(rows[block], offset[seen[block]], len(starts))
    return read_only(
        SkyDiagonals(
            time_s=starts,
            offset=offset,
            street_log2=light.at("street_log2", times),
            land_log2=light.at("land_log2", times),
            lamp_output=light.at("lamp_output", times),
            sky_log2=sky,
            ground_share=1.0 - sky_share,
        )
    )


def starts_of(
    diagonals: SkyDiagonals,
    view: ChanceView,
    mid: float,
    bands: Bands,
    highlight_stops: float,
    lit_share: float,
) -> Starts:
    """Slack and chance of every start at one exposure.

    Parameters
    ----------
    view
        What the same take sees, for the chance.
    mid
        Log2 luminance of mid-grey at the settings, see `core.tones.mid_log2`.
    lit_share
        Share of the ground that is lamplit, see `core.tones.lit_share`.
    """
    slack, limit = slacks_of(diagonals, mid, bands, highlight_stops, lit_share)
    return with_chances(diagonals.time_s, slack, limit, view, mid, bands, highlight_stops)


def slacks_of(
    diagonals: SkyDiagonals, mid: float, bands: Bands, highlight_stops: float, lit_share: float
) -> tuple[FloatArray, NDArray[np.int8]]:
    """Slack of every start at one exposure, and the limit that binds as `Starts` has it."""
    ground = _ground(diagonals.ground_share, mid, bands, lit_share)
    slack = (highlight_stops + mid) - diagonals.sky_log2
    _lower_to_ground(slack, diagonals, ground)
    excused = excused_frames(len(slack), bands)
    # Not along the frames of a transposed copy: only the values are moved, which is faster.
    by_start = np.partition(slack, excused, axis=0)[excused]
    frame_at = np.argmax(slack == by_start, axis=0)
    limit = _binding(diagonals, frame_at, ground, highlight_stops)
    limit[~np.isfinite(by_start)] = -1
    return by_start.astype(np.float64), limit


def with_chances(
    time_s: FloatArray,
    slack_stops: FloatArray,
    limit: NDArray[np.int8],
    view: ChanceView,
    mid: float,
    bands: Bands,
    highlight_stops: float,
) -> Starts:
    """Starts whose slack is known, with their chances; beyond the view its ends count."""
    judged = chances_of(view, mid, bands, highlight_stops)
    chance = chances_between(time_s, view.time_s, judged)
    return read_only(_span(time_s, slack_stops, limit, chance))


def _times_s(
    window_s: tuple[float, float], light: Light, frames: int, interval_s: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Starts, times on to the last frame of the last start, each frame's steps after its start.

    The light's own grid ends with the night, and its last values stand for all later times.
    """
    first_s, last_s = window_s
    after_s = np.minimum(interval_s * np.arange(frames), light.time_s[-1] - first_s)
    cells = frames * (last_s - first_s + after_s[-1]) / GRID_S
    step_s = GRID_S * np.ceil(cells / MOST_CELLS)
    starts = np.arange(first_s, last_s + step_s, step_s)
    offset = after_s / step_s
    times = first_s + step_s * np.arange(len(starts) + int(offset[-1]) + 2)
    return starts, times, offset


def _limit_rows(
    framesky: FrameSky, way: FloatArray, share: FloatArray, light: Light, times: FloatArray
) -> Float32Array:
    """Log2 luminance that a share of each frame's sky exceeds, (frames, times)."""
    along = between(framesky.way, way)
    slope = interpolate(framesky.haze_slope_stops, along)
    suns = _at_shares(framesky, along, share) + light.sky_rise_stops(slope)
    flat = suns.reshape(len(way), -1).astype(np.float32)
    weights = _sun_weights(framesky, light, times)
    clear = np.empty((len(way), len(times)), dtype=np.float32)
    # The sun comes by few nodes in a while: most weights are nought.
    for first in range(0, len(times), _NEAR_TIMES):
        some = slice(first, first + _NEAR_TIMES)
        met = weights[:, some].any(axis=1)
        clear[:, some] = flat[:, met] @ weights[met, some]
    return with_moon(clear.T, light, times).T


def _at_shares(framesky: FrameSky, along: Corner, share: FloatArray) -> FloatArray:
    """What a share of each frame's sky exceeds at every sun, (frames, altitudes, azimuths).

    Of all shares only the two that a frame's own lies between are read.
    """
    table, at = framesky.exceeded_log2, between(SKY_SHARES, share)

    def read(row: NDArray[np.int64]) -> FloatArray:
        below, above = table[row, ..., at.index], table[row, ..., at.index + 1]
        return np.asarray(below + at.share[:, None, None] * (above - below))

    here = read(along.index)
    on = read(np.minimum(along.index + 1, len(framesky.way) - 1))
    return here + along.share[:, None, None] * (on - here)


def _sun_weights(framesky: FrameSky, light: Light, times: FloatArray) -> Float32Array:
    """Weights of the (sun altitude, sun azimuth) nodes at each time, (nodes, times)."""
    altitude = _node_weights(framesky.sun_altitude_deg, light.at("sun_altitude_deg", times))
    azimuth = _node_weights(framesky.sun_azimuth_deg, light.at("sun_azimuth_deg", times))
    weights = altitude[:, None] * azimuth
    return weights.reshape(-1, len(times)).astype(np.float32)


def _node_weights(nodes: FloatArray, values: FloatArray) -> FloatArray:
    """Share of each node in values read by straight lines between them, (nodes, values)."""
    at: Corner = between(nodes, values)
    distance = at.index + at.share - np.arange(len(nodes))[:, None]
    return np.maximum(1.0 - np.abs(distance), 0.0)


def _blocks(frames: int, starts: int) -> Iterator[slice]:
    """Runs of frames to work on at once: few where the starts are many, so that all stays near."""
    step = max(1, _NEAR_CELLS // starts)
    return (slice(first, first + step) for first in range(0, frames, step))


def _shifted(values: NDArray[np.floating], offset: FloatArray, count: int) -> NDArray[np.floating]:
    """`count` samples of a row each from `offset` grid steps on, by straight lines between them.

    Parameters
    ----------
    values
        (offsets, samples), or (samples,) for all.
    """
    whole = offset.astype(np.intp)
    share = (offset - whole).astype(values.dtype)[:, None]
    runs = sliding_window_view(values, count, axis=-1)
    at = (whole,) if values.ndim == 1 else (np.arange(len(whole)), whole)
    here: NDArray[np.floating] = runs[at]
    if not share.any():
        return here
    return np.asarray(here + share * (runs[*at[:-1], whole + 1] - here))


def _ground(ground_share: FloatArray, mid: float, bands: Bands, lit_share: float) -> _Ground:
    frames = len(ground_share)
    return _Ground(
        mid=mid,
        bands=bands,
        street_seen=ground_share * lit_share >= LEAST_SHARE,
        land_seen=ground_share * (1.0 - lit_share) >= LEAST_SHARE,
        land_early=np.arange(frames) < frames_with_land_limit(frames, bands),
    )


def _lower_to_ground(slack: Float32Array, diagonals: SkyDiagonals, ground: _Ground) -> None:
    """Lower the slack of the sky, (frames, starts), to that of the ground where it is less."""
    count = slack.shape[1]
    limits = _tone_limits(ground, diagonals.street_log2, diagonals.land_log2)
    shown = np.stack([ground.street_seen, ground.land_seen, ground.land_seen & ground.land_early])
    # Frames that show the same parts share one curve along the evening.
    for parts in np.unique(shown, axis=1).T:
        if not parts.any():
            continue
        row = np.min(limits[np.repeat(parts, (2, 1, 1))], axis=0).astype(np.float32)
        frames = np.flatnonzero((shown == parts[:, None]).all(axis=0))
        for block in _blocks(len(frames), count):
            some = frames[block]
            lowest = _shifted(row, diagonals.offset[some], count)
            if ground.bands.lamps_wanted and parts[0]:
                output = _shifted(diagonals.lamp_output, diagonals.offset[some], count)
                lowest = np.minimum(lowest, lamps_slack(output).astype(np.float32))
            slack[some] = np.minimum(slack[some], lowest)


def _tone_limits(ground: _Ground, street_log2: FloatArray, land_log2: FloatArray) -> FloatArray:
    """Slack to street_high, street_low, land_high and land_low, (4, times)."""
    street, land = street_log2 - ground.mid, land_log2 - ground.mid
    bands = ground.bands
    return np.stack(
        [
            bands.street.high_stops - street,
            street - bands.street.low_stops,
            bands.land.high_stops - land,
            land - bands.land.low_stops,
        ]
    )


def _binding(
    diagonals: SkyDiagonals, frame_at: NDArray[np.intp], ground: _Ground, highlight_stops: float
) -> NDArray[np.int8]:
    """Index into LIMITS of what binds at the deciding frame of each start."""
    starts = np.arange(len(frame_at))
    at = starts + diagonals.offset[frame_at]
    grid = np.arange(len(diagonals.land_log2))
    street, land, output = (
        np.interp(at, grid, values)
        for values in (diagonals.street_log2, diagonals.land_log2, diagonals.lamp_output)
    )
    table = np.full((len(LIMITS), len(at)), np.inf)
    table[:4] = _tone_limits(ground, street, land)
    table[:2, ~ground.street_seen[frame_at]] = np.inf
    table[2:4, ~ground.land_seen[frame_at]] = np.inf
    table[3, ~ground.land_early[frame_at]] = np.inf
    table[4] = highlight_stops + ground.mid - diagonals.sky_log2[frame_at, starts]
    if ground.bands.lamps_wanted:
        table[5] = np.where(ground.street_seen[frame_at], lamps_slack(output), np.inf)
    return np.asarray(table.argmin(axis=0), dtype=np.int8)


def _span(
    time_s: FloatArray, slack: FloatArray, limit: NDArray[np.int8], chance: FloatArray
) -> Starts:
    """The run of good starts around the best one, and the run of sure ones."""
    nearest = _middle_of_best(slack)
    good = slack >= 0.0
    earliest = latest = best = None
    at = _best_of(good, slack, chance)
    if at is not None:
        earliest, latest = _run(time_s, good, at)
        best = float(time_s[at])
    likeliest = int(chance.argmax())
    sure = chance[likeliest] >= SURE
    return Starts(
        time_s=time_s,
        slack_stops=slack,
        limit=limit,
        p_hold=chance,
        earliest_s=earliest,
        latest_s=latest,
        best_s=best,
        nearest_s=float(time_s[nearest]),
        nearest_slack_stops=float(slack[nearest]),
        sure_s=_run(time_s, chance >= SURE, likeliest) if sure else None,
    )


def _best_of(good: NDArray[np.bool_], slack: FloatArray, chance: FloatArray) -> int | None:
    """Index of the best of the good starts: the likeliest, of those the one with most slack."""
    if not good.any():
        return None
    likely = good & (chance >= chance[good].max() - SAME_CHANCE)
    return _middle_of_best(np.where(likely, slack, -np.inf))


def _run(time_s: FloatArray, holds: NDArray[np.bool_], at: int) -> tuple[float, float]:
    """First and last of the starts that hold without a gap around one that does."""
    first, last = _ends(holds, at)
    return float(time_s[first]), float(time_s[last])


def _ends(holds: NDArray[np.bool_], at: int) -> tuple[int, int]:
    """Ends of the run of true values around one of them."""
    before, after = np.flatnonzero(~holds[:at]), np.flatnonzero(~holds[at:])
    first = int(before[-1]) + 1 if before.size else 0
    last = at + int(after[0]) - 1 if after.size else len(holds) - 1
    return first, last


def _middle_of_best(slack: FloatArray) -> int:
    """Index of the most slack; the middle where a stretch shares it (a night that stays dark)."""
    first, last = _ends(slack >= slack.max() - SAME_SLACK_STOPS, int(slack.argmax()))
    return (first + last + 1) // 2
