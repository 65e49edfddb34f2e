"""Interval against clip length at one battery, as a curve."""

from __future__ import annotations

from dataclasses import dataclass

from core.clip import keeps_up, most_frames
from core.outlook import Outlook
from core.plan import Camera, Plan
from core.scales import scale_of

#: Less battery margin than this is none to speak of (our judgement).
LEAST_MARGIN_MIN = 0.5


@dataclass(frozen=True, slots=True)
class IntervalTrade:
    """The longest take of one interval.

    `frames` is the most that the battery gives with the way home and the reserve kept, 0
    where it gives none; `clip_length_s` what they play to, `shooting_min` the minutes between
    the first and the last, `margin_min` what is left beside them. `longest_shutter_s` is the
    longest mark of the camera that fits beside the write time, None where none does.
    """

    interval_s: float
    frames: int
    clip_length_s: float
    shooting_min: float
    margin_min: float
    longest_shutter_s: float | None


def trade_off(plan: Plan, seen: Outlook) -> tuple[IntervalTrade, ...]:
    """The longest take for each interval of the camera, the shortest interval first.

    Empty where the flight cannot be flown at all.
    """
    max_take_min = seen.flight.max_take_min
    if max_take_min is None:
        return ()
    return tuple(
        _trade(plan.camera, interval_s, max_take_min, seen.shoot.frame_rate_fps)
        for interval_s in scale_of(plan.camera, "interval_s")
    )


def _trade(
    camera: Camera, interval_s: float, max_take_min: float, frame_rate_fps: float
) -> IntervalTrade:
    frames = most_frames(max_take_min, interval_s)
    shooting_min = max(frames - 1, 0) * interval_s / 60.0
    shutters = [s for s in scale_of(camera, "shutter_s") if keeps_up(s, interval_s, camera)]
    return IntervalTrade(
        interval_s=interval_s,
        frames=frames,
        clip_length_s=frames / frame_rate_fps,
        shooting_min=shooting_min,
        margin_min=max_take_min - shooting_min,
        longest_shutter_s=shutters[-1] if shutters else None,
    )
