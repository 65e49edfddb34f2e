"""A listing of starts through a night: what each would keep of every part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.forecast import Forecast
from core.judge import LIMITS, Limit, slack_by_limit
from core.plan import Bands, Part, Plan
from core.starts import Starts
from core.tones import LEAST_SHARE, Tones, frame_ways, tones_at

STEP_S = 60.0


@dataclass(frozen=True)
class GridStart:
    """One start of the listing; `time_s` is UTC seconds, `p_hold` its chance to hold, 0 to 1.

    `keepable_share` is for each part the share of the frames holding it, 0 to 1, in which
    its tone lies inside its band; None where no frame holds the part. For the sky that is
    the share in which no more of the frame burns than may. `mixed_light_share` is the share
    of the take with daylight and lamplight within two stops of each other.
    """

    time_s: float
    slack_stops: float
    limit: Limit | None
    p_hold: float
    keepable_share: dict[Part, float | None]
    mixed_light_share: float


def start_grid(plan: Plan, seen: Forecast) -> tuple[GridStart, ...]:
    """List the starts that a shoot's forecast judged, one a minute."""
    way = frame_ways(seen.outlook.path, seen.outlook.clip.frames)
    indices = minute_indices(seen.starts.time_s)
    return tuple(_grid_start(plan, seen, way, int(index)) for index in indices)


def minute_indices(time_s: FloatArray) -> NDArray[np.intp]:
    """Which of the starts judged lie nearest to every whole minute after the first one.

    `time_s` (starts,) are UTC seconds in even steps; the more frames a take has, the
    further apart they are.
    """
    minutes = np.arange(time_s[0], time_s[-1] + 1e-3, STEP_S)
    nearest = np.rint(np.interp(minutes, time_s, np.arange(len(time_s))))
    return np.unique(nearest).astype(np.intp)


def keepable_shares(tones: Tones, bands: Bands, highlight_stops: float) -> dict[Part, float | None]:
    """Share of the frames holding a part in which it is keepable, 0 to 1; None without any.

    By the limits that the frame is judged by: land may grow dark once it is night.
    """
    slack = slack_by_limit(tones, bands, highlight_stops)
    limits: dict[Part, tuple[Limit, ...]] = {
        "street": ("street_high", "street_low"),
        "land": ("land_high", "land_low"),
        "sky": ("sky_clip",),
    }
    held: dict[Part, FloatArray] = {
        "street": tones.street.frame_share,
        "land": tones.land.frame_share,
        "sky": tones.sky.frame_share,
    }
    return {
        part: _share(np.min([slack[name] for name in names], axis=0) >= 0.0, held[part])
        for part, names in limits.items()
    }


def _grid_start(plan: Plan, seen: Forecast, way: FloatArray, index: int) -> GridStart:
    starts, outlook = seen.starts, seen.outlook
    press_s = float(starts.time_s[index])
    highlight = plan.camera.highlight_stops
    tones = tones_at(
        press_s + outlook.shoot.interval_s * np.arange(len(way), dtype=np.float64),
        way, outlook.mid, outlook.light, outlook.framesky, plan.ground, plan.bands, highlight,
    )  # fmt: skip
    return GridStart(
        time_s=press_s,
        slack_stops=float(starts.slack_stops[index]),
        limit=_limit(starts, index),
        p_hold=float(starts.p_hold[index]),
        keepable_share=keepable_shares(tones, plan.bands, highlight),
        mixed_light_share=float(tones.mixed_light.mean()),
    )


def _limit(starts: Starts, index: int) -> Limit | None:
    code = int(starts.limit[index])
    return LIMITS[code] if code >= 0 else None


def _share(kept: NDArray[np.bool_], frame_share: FloatArray) -> float | None:
    held = frame_share >= LEAST_SHARE
    return float(kept[held].mean()) if held.any() else None
