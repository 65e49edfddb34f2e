"""The stages together: what is computed again, what is remembered, what never fails."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import core.forecast
from core.clip import clip_of
from core.edit import PlanError, with_values
from core.forecast import forecast, known_starts, outlook, starts
from core.judge import LIMITS
from core.memory import Memory
from core.night import night_of
from core.plan import SHOOT_NAMES, Plan
from core.verdict import verdict_of
from tests.dusk import alike, arrays_of, december_plan, findings
from tests.strategies import plans

STAGES = ("night_of", "light_of", "framesky_of", "diagonals_of", "starts_of", "flight_energy")


@pytest.fixture
def runs(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each stage was computed."""
    counts: Counter[str] = Counter()

    def counted(name: str) -> Callable[..., Any]:
        stage = getattr(core.forecast, name)

        def run(*args: Any, **kwargs: Any) -> Any:
            counts[name] += 1
            return stage(*args, **kwargs)

        return run

    for name in STAGES:
        monkeypatch.setattr(core.forecast, name, counted(name))
    return counts


# What a change of each value may compute again; the rest is remembered.
CHANGES: dict[str, tuple[Any, set[str]]] = {
    "shoots.A.start_after_event_min": (31.0, set()),
    "shoots.A.shutter_s": (0.5, {"starts_of"}),
    "shoots.A.iso": (200.0, {"starts_of"}),
    "shoots.A.nd_stops": (3.0, {"starts_of"}),
    "shoots.A.f_number": (2.8, {"starts_of"}),
    "bands.excused_share": (0.0, {"starts_of"}),
    "camera.highlight_stops": (2.8, {"starts_of"}),
    "camera.write_time_s": (0.5, set()),
    "shoots.A.battery_start_percent": (95.0, set()),
    "craft.rated_min": (25.0, {"flight_energy"}),
    "shoots.A.interval_s": (4.0, {"starts_of", "diagonals_of"}),
    "shoots.A.clip_length_s": (8.0, {"starts_of", "diagonals_of"}),
    "path.timing": ("constant_middle", {"starts_of", "diagonals_of"}),
    "shoots.A.conditions.temperature_c": (3.0, {"flight_energy"}),
    "shoots.A.conditions.wind_10m_m_s": (4.0, {"flight_energy"}),
    "ground.land_reflectance": (0.2, {"starts_of", "diagonals_of", "light_of"}),
    "shoots.A.conditions.haze_aod": (0.2, set(STAGES) - {"night_of"}),
    "shoots.A.path_reversed": (True, set(STAGES) - {"night_of", "light_of"}),
    # The next evening's sun goes the same way, within a node of it.
    "shoots.A.date": ("2026-12-06", {"night_of", "light_of", "diagonals_of", "starts_of"}),
    "place.name": ("Three Weirs", set()),
    "shoots.B.iso": (200.0, set()),
}


@pytest.mark.parametrize("key", CHANGES)
def test_a_change_computes_no_more_than_it_touches(key: str, runs: Counter[str]) -> None:
    value, touched = CHANGES[key]
    plan, memory = december_plan(), Memory()
    forecast(plan, "A", memory)
    assert set(runs) == set(STAGES)
    runs.clear()
    forecast(with_values(plan, {key: value}), "A", memory)
    assert set(runs) == touched
    assert set(runs.values()) <= {1}


def test_a_change_and_back_computes_nothing(runs: Counter[str]) -> None:
    plan, memory = december_plan(), Memory()
    for name in SHOOT_NAMES:
        forecast(plan, name, memory)
    changed = with_values(plan, {"shoots.A.date": "2026-03-20", "shoots.A.interval_s": 5.0})
    forecast(changed, "A", memory)
    runs.clear()
    for name in SHOOT_NAMES:
        forecast(plan, name, memory)
    assert not runs


def test_both_shoots_of_one_evening_share_its_sky(runs: Counter[str]) -> None:
    memory = Memory()
    for name in SHOOT_NAMES:
        outlook(december_plan(), name, memory)
    assert runs["night_of"] == runs["light_of"] == runs["framesky_of"] == 1


def test_starts_are_known_only_once_they_are_computed() -> None:
    plan, memory = december_plan(), Memory()
    assert known_starts(plan, "A", memory) is None
    every = starts(plan, "A", memory)
    assert known_starts(plan, "A", memory) is every
    moved = with_values(plan, {"shoots.A.start_after_event_min": 3.0})
    assert known_starts(moved, "A", memory) is every


EDITS = st.lists(
    st.sampled_from(
        [
            {"shoots.A.start_after_event_min": 12.0},
            {"shoots.A.iso": 400.0},
            {"shoots.A.shutter_s": 0.5},
            {"shoots.A.interval_s": 5.0},
            {"shoots.A.clip_length_s": 4.0},
            {"shoots.A.twilight": "dawn"},
            {"shoots.A.twilight": "dusk"},
            {"shoots.A.date": "2026-06-21"},
            {"shoots.A.path_reversed": True},
            {"shoots.A.conditions.haze_aod": 0.3},
            {"shoots.A.conditions.cloud_okta": 6.0},
            {"place.latitude_deg": 66.0},
            {"place.skyline": [[240.0, 5.0]]},
            {"ground.lamps.lit_share": 1.0},
            {"ground.lamps.luminance_cd_m2": 0.0},
            {"bands.lamps_wanted": True},
            {"bands.sky.clip_area_share": 0.0},
            {"camera.focal_equivalent_mm": 50.0},
            {"camera.aspect": "4:3"},
            {"path.stations.0.pitch_deg": -5.0},
            {"path.timing": "constant_middle"},
            {"flight.set_up_first_min": 1.0},
            {"craft.state_of_health": 0.7},
        ]
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=10)
@given(EDITS)
def test_a_shared_memory_never_shows(edits: list[dict[str, Any]]) -> None:
    memory, plan = Memory(entries=2), december_plan()
    for edit in edits:
        plan = with_values(plan, edit)
        remembered = forecast(plan, "A", memory)
    assert alike(remembered, forecast(plan, "A"))


def test_results_cannot_be_changed() -> None:
    assert not any(array.flags.writeable for array in arrays_of(results(december_plan(), Memory())))


def test_the_evening_shows_the_real_sky() -> None:
    overcast = december_plan(
        shoots__A__conditions__cloud_okta=8.0, shoots__A__conditions__skyglow_cd_m2=0.0
    )
    seen = forecast(overcast, "A").outlook
    evening, light = seen.evening, seen.light
    # CIE overcast sky (Moon and Spencer 1942): L = L_z (1 + 2 sin 60°) / 3, E = 7 pi L_z / 9.
    zenith = light.at("illuminance_lx", evening.time_s) / (7.0 * np.pi / 9.0)
    expected = np.log2(zenith * (1.0 + 2.0 * np.sin(np.radians(60.0))) / 3.0)
    twilight = light.at("sun_altitude_deg", evening.time_s) > -8.0
    twilight &= evening.time_s < seen.night.darkest_s
    assert evening.sky_60_up_log2[twilight] == pytest.approx(expected[twilight], abs=0.02)
    assert np.all(np.isfinite(evening.street_log2))


def test_the_evening_of_a_path_without_sky() -> None:
    plan = december_plan(path__stations=[{"pitch_deg": -70.0}])
    assert np.isnan(forecast(plan, "A").outlook.evening.sky_log2).all()


def test_times_hang_together() -> None:
    seen = outlook(december_plan(), "A", Memory())
    assert seen.press_s - seen.night.event.time_s == pytest.approx(27.0 * 60.0)
    assert seen.last_frame_s - seen.press_s == pytest.approx(299 * 3.0)
    assert seen.take_off_s is not None
    assert seen.latest_stop_s is not None
    assert seen.land_by_s is not None
    assert seen.take_off_s < seen.press_s < seen.latest_stop_s < seen.land_by_s


def test_a_short_summer_night_sees_its_sun_past_midnight() -> None:
    plan = december_plan(
        place__latitude_deg=62.0,
        shoots__A__date="2026-06-21",
        shoots__A__start_after_event_min=100.0,
    )
    seen = outlook(plan, "A", Memory())
    night = seen.night
    last_azimuth = float(seen.light.at("sun_azimuth_deg", night.darkest_s + 1800.0))
    assert seen.framesky.sun_azimuth_deg[-1] >= last_azimuth


def results(plan: Plan, memory: Memory) -> tuple[object, ...]:
    """What was computed for a plan; the sky is the model that it was computed with."""
    whole = forecast(plan, "A", memory)
    parts = vars(whole.outlook).items()
    return (*(part for name, part in parts if name != "sky"), whole.starts)


def small(plan: Plan) -> bool:
    """Whether a plan's takes are of a length that anybody shoots."""
    return all(clip_of(plan.shoot(name), plan.camera).frames <= 1200 for name in SHOOT_NAMES)


DATES = st.dates(dt.date(1898, 1, 1), dt.date(2102, 12, 31))
BANNED = ("go", "no-go", "OK", "safe", "allowed", "error", "invalid", "warning", "please")


@settings(max_examples=20, suppress_health_check=list(HealthCheck))
@given(plan=plans().filter(small))
def test_no_plan_in_range_fails_anywhere_on_any_date(plan: Plan) -> None:
    memory = Memory()
    for name in SHOOT_NAMES:
        whole = forecast(plan, name, memory)
        seen = whole.outlook
        for array in (seen.tones.land.stops, seen.tones.street.stops, seen.tones.clipped_share):
            assert np.isfinite(array).all()
        assert seen.tones.clipped_share.max() <= 1.0 + 1e-9
        assert not np.isnan(whole.starts.slack_stops).any()
        assert seen.judgement.limit in {*LIMITS, None}
        assert verdict_of(seen, whole.findings, whole.starts).line
        for finding in whole.findings:
            words = set(finding.text.lower().replace(".", " ").replace(",", " ").split())
            assert words.isdisjoint(word.lower() for word in BANNED), finding.text
            assert "!" not in finding.text
            for remedy in finding.remedies:
                with_values(plan, dict(remedy.values))
    assert findings(plan, memory)


@settings(max_examples=40)
@given(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0), DATES, st.sampled_from(["dusk", "dawn"]))
def test_any_place_and_date_has_an_evening_or_a_reason(
    latitude: float, longitude: float, date: Any, twilight: Any
) -> None:
    plan = december_plan()
    values = {
        "place.latitude_deg": latitude,
        "place.longitude_deg": longitude,
        "shoots.A.date": date.isoformat(),
        "shoots.A.twilight": twilight,
        "shoots.A.clip_length_s": 1.0,
    }
    if not 1901 <= date.year <= 2099:
        with pytest.raises(PlanError):
            night_of(latitude, longitude, "UTC", date, twilight)
        return
    whole = forecast(with_values(plan, values), "A")
    assert whole.starts.time_s.size > 10
    assert (whole.outlook.night.reason is None) == (
        whole.outlook.night.event.name in {"sunset", "sunrise"}
    )
