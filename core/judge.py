"""Judging a take by its tones: how far every frame is from the nearest limit, in stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.plan import Bands
from core.readonly import read_only
from core.tones import LEAST_SHARE, Tones

Limit = Literal["street_high", "street_low", "land_high", "land_low", "sky_clip", "lamps"]
LIMITS: tuple[Limit, ...] = (
    "street_high",
    "street_low",
    "land_high",
    "land_low",
    "sky_clip",
    "lamps",
)
#: Slack that lamps count for before they give half their light: below any real shortage.
LAMPS_FLOOR_STOPS = -6.0
# What a rise of every tone by one stop takes from (-) or adds to (+) the slack of a limit.
_RISE = {
    "street_high": -1.0,
    "street_low": 1.0,
    "land_high": -1.0,
    "land_low": 1.0,
    "sky_clip": -1.0,
    "lamps": 0.0,
}


@dataclass(frozen=True)
class Judgement:
    """How a take keeps the light.

    `slack_stops` is the distance to the nearest limit, the excused frames left out;
    `limit` is that limit and `frame` (from 0) where it binds. `failing` holds for each
    limit the frames, from 0, that break it.
    """

    slack_stops: float
    limit: Limit | None
    frame: int
    failing: dict[Limit, NDArray[np.int64]]


def excused_frames(frames: int, bands: Bands) -> int:
    """Frames of a take that may fail."""
    return int(np.floor(bands.excused_share * frames + 1e-9))


def frames_with_land_limit(frames: int, bands: Bands) -> int:
    """First frames of a take in which the land must not be too dark."""
    return int(np.ceil(bands.land.low_share * frames - 1e-9))


def lamps_slack(lamp_output: NDArray[np.floating]) -> FloatArray:
    """Slack of 'lamps wanted': none needed from half their light on, missing stops before."""
    missing = np.log2(np.maximum(2.0 * lamp_output, 2.0**LAMPS_FLOOR_STOPS))
    return np.where(lamp_output >= 0.5, np.inf, missing)


def slack_by_limit(tones: Tones, bands: Bands, highlight_stops: float) -> dict[Limit, FloatArray]:
    """Stops to each limit for every frame; +inf where a limit does not apply."""
    count = len(tones.time_s)
    street_seen = tones.street.frame_share >= LEAST_SHARE
    land_seen = tones.land.frame_share >= LEAST_SHARE
    early = np.arange(count) < frames_with_land_limit(count, bands)
    sky = highlight_stops - tones.sky.limit_stops
    wanted = bands.lamps_wanted & street_seen
    return {
        "street_high": np.where(street_seen, bands.street.high_stops - tones.street.stops, np.inf),
        "street_low": np.where(street_seen, tones.street.stops - bands.street.low_stops, np.inf),
        "land_high": np.where(land_seen, bands.land.high_stops - tones.land.stops, np.inf),
        "land_low": np.where(land_seen & early, tones.land.stops - bands.land.low_stops, np.inf),
        "sky_clip": np.where(np.isnan(sky), np.inf, sky),
        "lamps": np.where(wanted, lamps_slack(tones.lamp_output), np.inf),
    }


def judge(tones: Tones, bands: Bands, highlight_stops: float) -> Judgement:
    """Judge every frame of a take; the worst `excused_share` of them are let off."""
    by_limit = slack_by_limit(tones, bands, highlight_stops)
    table = np.stack([by_limit[limit] for limit in LIMITS])
    worst = table.min(axis=0)
    excused = excused_frames(len(worst), bands)
    frame = int(np.argsort(worst, kind="stable")[excused])
    slack = float(worst[frame])
    limit = LIMITS[int(table[:, frame].argmin())] if np.isfinite(slack) else None
    failing: dict[Limit, NDArray[np.int64]] = {
        name: np.flatnonzero(by_limit[name] < 0.0) for name in LIMITS
    }
    return read_only(Judgement(slack, limit, frame, failing))


def raised_slack_stops(
    tones: Tones, bands: Bands, highlight_stops: float, rises_stops: Sequence[float]
) -> FloatArray:
    """Slack of the take with every tone raised by each of `rises_stops`."""
    by_limit = slack_by_limit(tones, bands, highlight_stops)
    table = np.stack([by_limit[limit] for limit in LIMITS])
    rise = np.array([_RISE[limit] for limit in LIMITS])[:, None]
    excused = excused_frames(table.shape[1], bands)
    worst = (np.min(table + rise * stops, axis=0) for stops in rises_stops)
    return np.array([np.partition(row, excused)[excused] for row in worst])
