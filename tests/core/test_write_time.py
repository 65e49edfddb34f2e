"""What the camera needs for a still is never told as less than it is."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from core.clip import exact_third_stop_s
from core.edit import new_plan, with_values
from core.forecast import forecast


@pytest.mark.parametrize("write_time_s", [0.95, 1.04, 1.05, 1.949, 1.95, 1.951, 1.96])
@pytest.mark.parametrize("interval_s", [1.8, 2.0, 3.0])
def test_the_time_needed_is_cut_up(write_time_s: float, interval_s: float) -> None:
    plan = with_values(
        new_plan("Quay", 44.05, 1.33, dt.date(2026, 10, 17)),
        {
            "camera.write_time_s": write_time_s,
            "shoots.A.shutter_s": 1.0,
            "shoots.A.interval_s": interval_s,
        },
    )
    needed_s = exact_third_stop_s(1.0) + write_time_s
    told = [one for one in forecast(plan, "A").findings if one.code.startswith("write_")]
    assert told or interval_s - needed_s > 0.1
    for finding in told:
        found = re.search(r"need ([\d.]+) s", finding.fact)
        assert found is not None
        assert needed_s - 1e-9 <= float(found[1]) < needed_s + 0.1
        if finding.severity == "stop":
            assert float(found[1]) > interval_s
