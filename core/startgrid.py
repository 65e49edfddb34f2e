"""A listing of starts through a night: what each would keep of every part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.forecast import Forecast
from core.judge import LIMITS, Limit
from core.plan import Bands, Part, Plan
from core.starts import GRID_S, Starts
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
    every = round(STEP_S / GRID_S)
    way = frame_ways(seen.outlook.path, seen.outlook.clip.frames)
    return tuple(
        _grid_start(plan, seen, way, index) for index in range(0, len(seen.starts.time_s), every)
    )


def keepable_shares(tones: Tones, bands: Bands, highlight_stops: float) -> dict[Part, float | None]:
    """Share of the frames holding a part in which it is keepable, 0 to 1; None without any."""
    street, land, sky = tones.street, tones.land, tones.sky
    return {
        "street": _share(
            _between(street.stops, bands.street.low_stops, bands.street.high_stops),
            street.frame_share,
        ),
        "land": _share(
            _between(land.stops, bands.land.low_stops, bands.land.high_stops), land.frame_share
        ),
        # NaN where the sky covers less than may burn: such a frame is kept.
        "sky": _share(~(sky.limit_stops > highlight_stops), sky.frame_share),
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


def _between(stops: FloatArray, low: float, high: float) -> NDArray[np.bool_]:
    return (stops >= low) & (stops <= high)


def _share(kept: NDArray[np.bool_], frame_share: FloatArray) -> float | None:
    held = frame_share >= LEAST_SHARE
    return float(kept[held].mean()) if held.any() else None
