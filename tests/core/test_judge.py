"""Judging a take: the nearest limit, the excused frames, the frames that fail."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.forecast import outlook
from core.judge import (
    LIMITS,
    excused_frames,
    frames_with_land_limit,
    judge,
    lamps_slack,
    raised_slack_stops,
)
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Bands, LandBand
from core.scales import EXPOSURE_KEYS, scale_of, with_setting, with_shoot
from core.tones import mid_log2
from tests.dusk import arrays_of, december_plan

MEMORY = Memory()


def seen(**values: Any) -> Outlook:
    return outlook(december_plan(**values), "A", MEMORY)


@pytest.mark.parametrize(
    ("frames", "share", "excused"),
    [(300, 0.05, 15), (300, 0.0, 0), (1, 0.5, 0), (19, 0.05, 0), (20, 0.05, 1), (10, 0.3, 3)],
)
def test_whole_frames_are_excused(frames: int, share: float, excused: int) -> None:
    assert excused_frames(frames, Bands(excused_share=share)) == excused


@pytest.mark.parametrize(
    ("frames", "share", "judged"), [(300, 0.4, 120), (1, 0.4, 1), (300, 0.0, 0), (7, 1.0, 7)]
)
def test_the_land_must_be_light_for_the_first_part_only(
    frames: int, share: float, judged: int
) -> None:
    assert frames_with_land_limit(frames, Bands(land=LandBand(low_share=share))) == judged


def test_lamps_count_from_half_their_light() -> None:
    slack = lamps_slack(np.array([0.0, 0.125, 0.25, 0.4999, 0.5, 1.0]))
    assert slack == pytest.approx([-6.0, -2.0, -1.0, -0.0003, np.inf, np.inf], abs=1e-4)


def test_too_early_the_land_burns_too_late_the_street_is_dark() -> None:
    early = seen(shoots__A__start_after_event_min=-10.0, path__timing="constant_middle").judgement
    assert early.slack_stops < -3.0
    assert early.limit in {"street_high", "land_high", "sky_clip"}
    dark = seen(
        shoots__A__start_after_event_min=90.0, ground__lamps__luminance_cd_m2=0.01
    ).judgement
    assert dark.slack_stops < -2.0
    assert dark.limit in {"street_low", "land_low"}


def test_without_lamps_the_street_is_not_judged() -> None:
    take = seen(shoots__A__start_after_event_min=60.0, ground__lamps__luminance_cd_m2=0.0).judgement
    assert not take.failing["street_low"].size
    assert take.failing["land_low"].size == 120


def test_a_wholly_lit_ground_holds_no_land() -> None:
    take = seen(shoots__A__start_after_event_min=60.0, ground__lamps__lit_share=1.0).judgement
    assert not take.failing["land_low"].size


def test_lamps_wanted() -> None:
    late = seen(bands__lamps_wanted=True, ground__lamps__switching__kind="offset",
                ground__lamps__switching__on_after_event_min=60.0).judgement  # fmt: skip
    assert late.limit == "lamps"
    assert late.slack_stops == -6.0
    assert not seen(bands__lamps_wanted=True).judgement.failing["lamps"].size


@settings(max_examples=20)
@given(st.floats(0.0, 60.0), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_excusing_more_frames_never_hurts(start: float, one: float, other: float) -> None:
    few, many = sorted((one, other))
    slacks = [
        seen(
            shoots__A__start_after_event_min=start, bands__excused_share=share
        ).judgement.slack_stops
        for share in (few, many)
    ]
    assert slacks[0] <= slacks[1]


@settings(max_examples=20)
@given(st.floats(0.0, 60.0))
def test_as_many_frames_fail_as_break_a_limit(start: float) -> None:
    view = seen(shoots__A__start_after_event_min=start, bands__excused_share=0.0)
    failing = set().union(*(view.judgement.failing[limit].tolist() for limit in LIMITS))
    assert (view.judgement.slack_stops < 0.0) == bool(failing)
    if failing:
        assert view.judgement.limit is not None
        assert view.judgement.frame in view.judgement.failing[view.judgement.limit]


@pytest.mark.parametrize("key", EXPOSURE_KEYS)
def test_a_raised_take_is_the_take_at_that_setting(key: Any) -> None:
    plan = december_plan(bands__excused_share=0.02)
    view = outlook(plan, "A", MEMORY)
    for value in scale_of(plan.camera, key)[::4]:
        shoot = with_setting(view.shoot, key, value)
        anew = outlook(with_shoot(plan, "A", shoot), "A", MEMORY)
        rise = view.mid - mid_log2(shoot)
        slack = raised_slack_stops(view.tones, plan.bands, plan.camera.highlight_stops, [rise])
        assert slack[0] == pytest.approx(anew.judgement.slack_stops, abs=1e-9)


def test_a_take_without_any_limit() -> None:
    view = seen(**{"bands.sky.clip_area_share": 1.0, "path.stations": [{"pitch_deg": 60.0}]})
    plan = december_plan()
    assert judge(view.tones, plan.bands, 3.26).limit is None
    assert view.judgement.slack_stops == np.inf


def test_results_cannot_be_changed() -> None:
    assert not any(array.flags.writeable for array in arrays_of(seen().judgement))
