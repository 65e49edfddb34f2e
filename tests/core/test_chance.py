"""The chance that a start holds: starts said to hold with chance p hold p of the time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from scipy.stats.qmc import Sobol

from core.belief import UNKNOWNS
from core.chance import chances_of
from core.forecast import chance_view, outlook, starts
from core.framesky import between, interpolate
from core.judge import judge
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Plan
from core.starts import SURE
from core.tones import Tones, mid_log2
from tests.dusk import december_plan

NIGHTS = 1000
#: Tones read on site at the worked case's settings, fixing the land better than the lamps.
READ = [
    {"time": "2026-12-05T17:00:00+00:00", "part": "land", "stops": -0.4, "sigma_stops": 0.2},
    {"time": "2026-12-05T17:05:00+00:00", "part": "street", "stops": 1.1, "sigma_stops": 0.3},
]
PLANS: tuple[dict[str, object], ...] = (
    {},
    {"shoots__A__conditions__haze_aod": 0.3},
    {"shoots__A__conditions__cloud_okta": 5.0, "bands__excused_share": 0.0},
    {"shoots__A__path_reversed": True, "shoots__A__shutter_s": 0.5},
    {"ground__lamps__luminance_cd_m2": 0.0, "bands__land__low_share": 1.0},
    {"shoots__A__conditions__haze_aod": 0.06, "bands__excused_share": 0.15},
    {"readings": READ, "shoots__A__conditions__cloud_okta": 2.0},
)


def other_nights(seen: Outlook, seed: int) -> Iterator[Tones]:
    """The take under nights drawn from the stated uncertainties, frame by frame."""
    tones, draw = seen.tones, np.random.default_rng(seed)
    framesky = seen.framesky
    sky_slope = interpolate(
        framesky.haze_slope_stops,
        between(framesky.way, tones.way),
        between(framesky.sun_altitude_deg, tones.sun_altitude_deg),
        between(framesky.sun_azimuth_deg, seen.light.at("sun_azimuth_deg", tones.time_s)),
    )
    ground_slope = seen.light.at("haze_slope_stops", tones.time_s)
    lamps = np.maximum(np.exp2(tones.street.stops) - np.exp2(tones.land.stops), 0.0)
    covariance = np.array(seen.light.belief.covariance)
    nights = draw.multivariate_normal(np.zeros(len(UNKNOWNS)), covariance, NIGHTS)
    for level, weather, haze, off, error in nights:
        land = tones.land.stops + level + weather + haze * ground_slope
        street = np.log2(np.exp2(land) + lamps * 2.0**off)
        sky = tones.sky.limit_stops + level + weather + haze * sky_slope + error
        yield replace(
            tones,
            land=replace(tones.land, stops=land),
            street=replace(tones.street, stops=street),
            sky=replace(tones.sky, limit_stops=sky),
        )


def share_that_holds(plan: Plan, seen: Outlook, seed: int) -> float:
    """Share of the drawn nights in which every frame but the excused ones keeps its limits."""
    limit = plan.camera.highlight_stops
    held = [
        judge(tones, plan.bands, limit).slack_stops >= 0.0 for tones in other_nights(seen, seed)
    ]
    return float(np.mean(held))


def told_and_held() -> list[tuple[float, float]]:
    """Chance told and share held, for starts through the evenings of several plans."""
    pairs = []
    for number, values in enumerate(PLANS):
        memory = Memory()
        for minutes in (16.0, 21.0, 25.0, 28.0, 31.0):
            seed = 100 * number + int(minutes)
            plan = december_plan(**{"shoots__A__start_after_event_min": minutes, **values})
            seen = outlook(plan, "A", memory)
            told = starts(plan, "A", memory).chance_at(seen.press_s)
            assert told is not None
            pairs.append((told, share_that_holds(plan, seen, seed)))
    return pairs


@pytest.fixture(scope="module")
def pairs() -> list[tuple[float, float]]:
    return told_and_held()


def test_every_start_holds_as_often_as_is_said(pairs: list[tuple[float, float]]) -> None:
    # Three standard deviations of the drawn nights, and 0.03 for the few frames that are judged.
    for told, held in pairs:
        assert abs(told - held) <= 0.03 + 3.0 * np.sqrt(0.25 / NIGHTS)


@pytest.mark.parametrize("values", PLANS)
def test_the_few_even_draws_say_what_thousands_say(values: dict[str, object]) -> None:
    # Against scipy's scrambled Sobol points (Owen 1998), which are not the program's own.
    plan = december_plan(**values)
    view, mid = chance_view(plan, plan.shoots.A, Memory()), mid_log2(plan.shoots.A)
    few = chances_of(view, mid, plan.bands, plan.camera.highlight_stops)
    points = norm.ppf(Sobol(3, seed=7).random(2048)).T.astype(np.float32)
    many = chances_of(view, mid, plan.bands, plan.camera.highlight_stops, points)
    assert np.abs(few - many).max() < 0.015
    likely = many > 0.05
    assert not likely.any() or abs(float((few - many)[likely].mean())) < 0.005


def test_told_in_tenths_nights_hold_as_often_as_is_told(
    pairs: list[tuple[float, float]],
) -> None:
    told, held = np.array(pairs).T
    for low in np.arange(0.0, 1.0, 0.2):
        here = (told >= low) & (told < low + 0.2)
        if here.any():
            assert abs(float((told - held)[here].mean())) < 0.06


def test_on_the_whole_nothing_is_promised_that_is_not_kept(
    pairs: list[tuple[float, float]],
) -> None:
    told, held = np.array(pairs).T
    assert abs(float((told - held).mean())) < 0.02
    assert told.min() < 0.1
    assert told.max() > 0.5


def test_what_is_said_is_better_than_saying_the_mean_of_all(
    pairs: list[tuple[float, float]],
) -> None:
    # Brier 1950, Monthly Weather Review 78:1: mean of (told - outcome)^2; a forecaster who
    # always says the mean share gets the shares' own variance, plus the same noise.
    told, held = np.array(pairs).T
    brier = float(((told - held) ** 2 + held * (1.0 - held)).mean())
    always_the_mean = float(((held.mean() - held) ** 2 + held * (1.0 - held)).mean())
    assert brier < 0.75 * always_the_mean


def test_less_doubt_makes_a_good_start_surer() -> None:
    clear = starts(december_plan(), "A", Memory())
    cloudy = starts(december_plan(shoots__A__conditions__cloud_okta=3.0), "A", Memory())
    assert clear.p_hold.max() > 0.0
    wide = december_plan(bands__street__high_stops=6.0, bands__land__high_stops=6.0)
    assert starts(wide, "A", Memory()).p_hold.max() >= clear.p_hold.max() - 0.01
    assert np.all((cloudy.p_hold >= 0.0) & (cloudy.p_hold <= 1.0))


def test_sure_starts_are_those_with_a_chance_of_four_in_five() -> None:
    plan = december_plan(
        bands__street__high_stops=8.0,
        bands__land__high_stops=8.0,
        bands__land__low_share=0.0,
        bands__sky__clip_area_share=1.0,
    )
    found = starts(plan, "A", Memory())
    assert found.sure_s is not None
    inside = (found.time_s >= found.sure_s[0]) & (found.time_s <= found.sure_s[1])
    assert np.all(found.p_hold[inside] >= SURE)
    assert found.best_s is not None


def test_none_is_sure_where_nothing_holds() -> None:
    found = starts(december_plan(bands__street__high_stops=-3.0), "A", Memory())
    assert found.sure_s is None
