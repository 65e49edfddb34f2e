"""A plan of our own for practice takes."""

from __future__ import annotations

import datetime as dt

from core.edit import new_plan, with_values
from core.plan import Plan


def plan_of(frames: int = 4, pitch_deg: float = -40.0, **values: object) -> Plan:
    """A hover over a place without lamps, in light that suits its settings."""
    plan = new_plan("Skarvoy", 62.2, 5.6, dt.date(2026, 10, 10), elevation_m=4.0)
    hover = {"up_m": 80.0, "heading_deg": 77.0, "pitch_deg": pitch_deg}
    typed: dict[str, object] = {
        "path.stations": [hover],
        "shoots.A.clip_length_s": float(frames),
        "shoots.A.frame_rate_fps": 1.0,
        "shoots.A.start_after_event_min": 50.0,
        "camera.aspect": "4:3",
        "ground.lamps.luminance_cd_m2": 0.0,
    }
    return with_values(plan, typed | {key.replace("__", "."): v for key, v in values.items()})
