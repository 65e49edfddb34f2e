"""Every code that a pilot reads has a name."""

from __future__ import annotations

from typing import get_args

from core.forecast import forecast
from core.names import moment_text, part_text, segment_text, subject_text, twilight_text
from core.night import MomentName
from core.plan import PARTS, Twilight
from core.planfile import load
from tests.test_demo_sites import SITES


def test_every_code_of_night_and_picture_has_a_name() -> None:
    assert all(map(twilight_text, get_args(Twilight)))
    assert all(map(moment_text, get_args(MomentName)))
    assert all(map(part_text, PARTS))


def test_whatever_a_flight_and_its_picture_hold_has_a_name() -> None:
    for site in SITES:
        seen = forecast(load(site), "A")
        assert all(segment_text(segment.name) for segment in seen.outlook.flight.segments)
        assert all(subject_text(moving.name) for moving in seen.motion.moving)
