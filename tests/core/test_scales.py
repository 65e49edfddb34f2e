"""The steps that a setting can really take."""

from __future__ import annotations

from itertools import pairwise

import pytest

from core.edit import checked
from core.plan import Camera
from core.scales import (
    EXPOSURE_KEYS,
    FRAME_RATES_FPS,
    TAKE_KEYS,
    SettingKey,
    scale_of,
    with_setting,
    with_shoot,
)
from tests.dusk import december_plan


@pytest.mark.parametrize("key", [*EXPOSURE_KEYS, *TAKE_KEYS])
def test_steps_rise_and_each_can_be_set(key: SettingKey) -> None:
    plan = december_plan()
    scale = scale_of(plan.camera, key)
    assert all(a < b for a, b in pairwise(scale))
    for value in scale:
        shoot = with_setting(plan.shoots.A, key, value)
        assert shoot == checked(with_shoot(plan, "B", shoot)).shoots.B


def test_the_camera_has_its_own_scales() -> None:
    camera = Camera(isos=(400.0, 100.0, 400.0), nd_stops=(6.0, 0.0))
    assert scale_of(camera, "iso") == (100.0, 400.0)
    assert scale_of(camera, "nd_stops") == (0.0, 6.0)
    assert scale_of(camera, "frame_rate_fps") == FRAME_RATES_FPS


def test_one_shoot_changes_alone() -> None:
    plan = december_plan()
    changed = with_shoot(plan, "B", with_setting(plan.shoots.B, "iso", 800.0))
    assert changed.shoots.A == plan.shoots.A
    assert changed.shoots.B.iso == 800.0
    assert changed.place == plan.place
