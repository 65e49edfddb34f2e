"""Plans for the tests of the sheet: an invented quay on a real latitude."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from core.edit import new_plan, with_values
from core.plan import Plan

OTHER_NIGHT = {"shoots.B.date": dt.date(2026, 10, 14)}
#: More wind than the craft may fly in, for A alone.
STORM = {"shoots.A.conditions.wind_10m_m_s": 16.0}
#: Settings for deep night in the middle of the dusk.
NOTHING_HOLDS = {"shoots.A.iso": 1600.0, "shoots.A.shutter_s": 8.0}


def quay(values: Mapping[str, object] | None = None) -> Plan:
    """A at 43 min after sunset, B at 31 min, on one October night."""
    plan = new_plan("Quay", 62.21, 5.64, dt.date(2026, 10, 10), "Europe/Oslo")
    plan = with_values(
        plan,
        {
            "camera.highlight_stops": 3.3,
            "flight.set_up_first_min": 2.0,
            "shoots.A.start_after_event_min": 43.2,
            "shoots.A.frame_rate_fps": 24.0,
            "shoots.A.clip_length_s": 8.0,
            "shoots.B.start_after_event_min": 31.0,
            "shoots.B.interval_s": 2.0,
            "shoots.B.shutter_s": 0.25,
            "shoots.B.iso": 400.0,
        },
    )
    return with_values(plan, values) if values else plan


def polar_day() -> Plan:
    """High summer far in the north: the sun does not set."""
    return new_plan("North", 78.2, 15.6, dt.date(2026, 6, 10), "Arctic/Longyearbyen")


def polar_night() -> Plan:
    """Midwinter far in the north: the sun does not rise."""
    return new_plan("North", 78.2, 15.6, dt.date(2026, 12, 20), "Arctic/Longyearbyen")
