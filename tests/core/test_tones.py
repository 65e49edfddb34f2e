"""Tones of the frames: stops of each part, what burns, what is mixed."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.forecast import outlook
from core.framesky import SKY_SHARES, framesky_of
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Path
from core.tones import LEAST_SHARE, Tones, burnt_share, exceeded_by, frame_ways, tones_of
from tests.dusk import arrays_of, december_plan, glowing_skies

MEMORY = Memory()
SETTINGS = settings(max_examples=15)


def seen(**values: Any) -> Outlook:
    return outlook(december_plan(**values), "A", MEMORY)


def glowing(highlight_stops: float) -> Tones:
    """Tones before sunset and before the lamps, under a sky with a glow; 8 % may burn."""
    view, plan = seen(shoots__A__start_after_event_min=-20.0), december_plan()
    camera = msgspec.structs.replace(plan.camera, highlight_stops=highlight_stops)
    sky = framesky_of(view.path, camera, (), glowing_skies(), (240.0, 255.0))
    return tones_of(
        view.shoot,
        view.press_s,
        view.clip,
        view.path,
        view.light,
        sky,
        plan.ground,
        plan.bands,
        camera,
    )


def test_a_value_of_every_frame_that_cannot_be_changed() -> None:
    tones = seen().tones
    assert len(tones.time_s) == 300
    assert all(len(array) == 300 for array in arrays_of(tones))
    assert not any(array.flags.writeable for array in arrays_of(tones))
    assert np.diff(tones.time_s) == pytest.approx(3.0)
    assert tones.time_s[0] == seen().press_s


def test_shares_of_the_frame_make_a_whole() -> None:
    tones = seen(ground__lamps__lit_share=0.3).tones
    whole = tones.sky.frame_share + tones.land.frame_share + tones.street.frame_share
    assert whole == pytest.approx(1.0)
    assert tones.street.frame_share[0] == pytest.approx(0.3)
    # From 50 degrees down there is no sky; at 8 degrees down a third of the frame is.
    assert np.isnan(tones.sky.mean_stops[0])
    assert tones.sky.frame_share[-1] == pytest.approx(0.327, abs=0.006)


def test_land_and_street_are_their_luminance_over_mid_grey() -> None:
    view = seen()
    tones = view.tones
    assert tones.land.stops + view.mid == pytest.approx(view.light.at("land_log2", tones.time_s))
    street = view.light.at("street_log2", tones.time_s)
    assert tones.street.stops + view.mid == pytest.approx(street)


@SETTINGS
@given(st.floats(10.0, 60.0), st.sampled_from([200.0, 400.0, 1600.0]))
def test_more_iso_brightens_everything(start: float, iso: float) -> None:
    base = seen(shoots__A__start_after_event_min=start)
    more = seen(shoots__A__start_after_event_min=start, shoots__A__iso=iso)
    rise = np.log2(iso / 100.0)
    assert more.tones.land.stops == pytest.approx(base.tones.land.stops + rise)
    assert more.tones.street.stops == pytest.approx(base.tones.street.stops + rise)
    assert more.tones.sky.high_stops == pytest.approx(base.tones.sky.high_stops + rise, nan_ok=True)
    assert np.all(more.tones.clipped_share >= base.tones.clipped_share)


@SETTINGS
@given(st.floats(-20.0, 60.0), st.floats(0.1, 8.0))
def test_more_filter_burns_less(start: float, nd_stops: float) -> None:
    base = seen(shoots__A__start_after_event_min=start)
    filtered = seen(shoots__A__start_after_event_min=start, shoots__A__nd_stops=nd_stops)
    assert np.all(filtered.tones.clipped_share <= base.tones.clipped_share + 1e-12)
    assert filtered.tones.land.stops == pytest.approx(base.tones.land.stops - nd_stops)


@SETTINGS
@given(st.floats(0.0, 60.0), st.floats(1.0, 30.0))
def test_later_at_dusk_is_darker_and_later_at_dawn_brighter(start: float, later: float) -> None:
    for twilight, sign in (("dusk", -1.0), ("dawn", 1.0)):
        at = {"shoots__A__twilight": twilight}
        begin = sign * -start
        early = seen(**at, shoots__A__start_after_event_min=begin)
        late = seen(**at, shoots__A__start_after_event_min=begin + later)
        assert np.all(sign * (late.tones.land.stops - early.tones.land.stops) > 0.0)


@SETTINGS
@given(st.floats(0.02, 0.5), st.floats(1.05, 1.9))
def test_lighter_land_is_brighter_by_its_reflectance(rho: float, more: float) -> None:
    dark, light = (seen(ground__land_reflectance=value) for value in (rho, rho * more))
    rise = light.tones.land.stops - dark.tones.land.stops
    assert rise == pytest.approx(np.full(300, np.log2(more)))


@SETTINGS
@given(st.floats(0.0, 8.0))
def test_cloud_darkens_the_sky_as_it_does_the_land(okta: float) -> None:
    # Far from towns: their light brightens cloud, and the night under it.
    far = {"shoots__A__conditions__skyglow_cd_m2": 0.0}
    clear, dull = seen(**far), seen(**far, shoots__A__conditions__cloud_okta=okta)
    assert np.all(dull.tones.land.stops <= clear.tones.land.stops + 1e-9)
    last = -1
    assert dull.tones.sky.mean_stops[last] <= clear.tones.sky.mean_stops[last] + 1e-9


def test_what_may_burn_is_counted_on_the_whole_frame() -> None:
    tones = glowing(3.26)
    reached = tones.sky.frame_share > 0.08
    assert np.array_equal(np.isnan(tones.sky.limit_stops), ~reached)
    # With the highlight limit at that very tone, just the allowed share of the frame burns.
    at_limit = glowing(float(tones.sky.limit_stops[-1]))
    assert at_limit.clipped_share[-1] == pytest.approx(0.08, abs=1e-6)


def test_the_burnt_sky_is_what_burns_beside_land_and_street() -> None:
    tones = glowing(0.5)
    ground = np.where(tones.land.stops > 0.5, tones.land.frame_share, 0.0)
    ground += np.where(tones.street.stops > 0.5, tones.street.frame_share, 0.0)
    assert ground.max() > 0.5
    assert tones.sky.burnt_share.max() > 0.1
    assert tones.sky.burnt_share + ground == pytest.approx(tones.clipped_share)
    assert np.all(tones.sky.burnt_share <= tones.sky.frame_share)


def test_nothing_may_burn() -> None:
    tones = seen(bands__sky__clip_area_share=0.0).tones
    judged = tones.sky.frame_share >= LEAST_SHARE
    assert np.array_equal(~np.isnan(tones.sky.limit_stops), judged)
    assert np.all(tones.sky.limit_stops[judged] >= tones.sky.high_stops[judged] - 1e-9)


@given(st.floats(-3.0, 3.0), st.floats(0.01, 4.0))
def test_burnt_share_undoes_the_exceeded_tone(level: float, spread: float) -> None:
    exceeded = (level - spread * SKY_SHARES)[None, :]
    share = burnt_share(exceeded, 0.0)
    if 0.0 < level < spread:
        assert share == pytest.approx(level / spread)
        assert exceeded_by(exceeded, share) == pytest.approx(0.0, abs=1e-9)
    else:
        assert share.tolist() == [1.0 if level > 0.0 else 0.0]


def test_light_is_mixed_while_day_and_lamps_are_within_two_stops() -> None:
    tones = seen(shoots__A__start_after_event_min=10.0, shoots__A__clip_length_s=40.0).tones
    day = np.exp2(tones.land.stops)
    lamp = np.exp2(tones.street.stops) - day
    within = (lamp > 0.0) & (lamp <= 4.0 * day) & (day <= 4.0 * lamp)
    assert np.array_equal(tones.mixed_light, within)
    assert within.any()
    assert not within.all()


def test_without_a_street_in_the_frame_no_light_is_mixed() -> None:
    assert not seen(ground__lamps__lit_share=0.0).tones.mixed_light.any()
    assert seen(ground__lamps__lit_share=0.3).tones.mixed_light.any()


def test_the_sky_is_less_sure_than_the_land() -> None:
    tones = seen().tones
    with_sky = ~np.isnan(tones.sky.mean_stops)
    assert np.all(tones.sky.sigma_stops[with_sky] > tones.land.sigma_stops[with_sky])


def test_flown_backwards_the_sky_comes_first() -> None:
    ahead, back = seen(), seen(shoots__A__path_reversed=True)
    assert back.tones.sky.frame_share == pytest.approx(ahead.tones.sky.frame_share[::-1], abs=1e-9)
    assert np.array_equal(back.tones.land.stops, ahead.tones.land.stops)


def test_a_single_frame_stands_at_the_start() -> None:
    assert frame_ways(Path(), 1).tolist() == [0.0]
    assert len(seen(shoots__A__clip_length_s=0.1, shoots__A__frame_rate_fps=1.0).tones.time_s) == 1
