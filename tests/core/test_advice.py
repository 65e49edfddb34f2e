"""What the findings say, and that each remedy mends what it stands beside."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest

from core.advice.battery import shortage_text, spare_text
from core.advice.light import LIMIT_WORDS, frames_text
from core.edit import with_values
from core.findings import SEVERITIES, Finding
from core.forecast import findings, forecast, outlook
from core.judge import LIMITS
from core.memory import Memory
from core.plan import Plan
from tests.dusk import december_plan

LASTING = {"craft__rated_min": 45.0, "flight__set_up_first_min": 0.5}


def found(plan: Plan) -> dict[str, Finding]:
    """Findings of shoot A by their codes."""
    return {finding.code: finding for finding in forecast(plan, "A").findings}


def mended(plan: Plan, finding: Finding, index: int = 0) -> Plan:
    return with_values(plan, dict(finding.remedies[index].values))


def test_a_good_shoot_has_no_problem() -> None:
    assert not [f for f in found(december_plan(**LASTING)).values() if f.severity == "stop"]


def test_the_worst_comes_first() -> None:
    plan = december_plan(
        shoots__A__start_after_event_min=5.0, shoots__A__conditions__gust_10m_m_s=14.0
    )
    order = [SEVERITIES.index(f.severity) for f in forecast(plan, "A").findings]
    assert order == sorted(order)
    assert {0, 1, 2} == set(order)


def test_every_limit_has_its_words() -> None:
    assert set(LIMIT_WORDS) == set(LIMITS)


@pytest.mark.parametrize(
    ("frames", "words"),
    [
        (range(300), "in every frame"), (range(34), "up to frame 34"),
        (range(179, 300), "from frame 180 on"), (range(10, 20), "from frame 11 to 20"),
        (range(1), "up to frame 1"), (range(299, 300), "from frame 300 on"),
        (range(10, 11), "in frame 11"),
    ],
)  # fmt: skip
def test_which_frames(frames: range, words: str) -> None:
    assert frames_text(np.array(frames), 300) == words


def test_too_early_burns_and_the_best_start_mends_it() -> None:
    plan = december_plan(**LASTING, shoots__A__start_after_event_min=8.0)
    problem = next(f for f in forecast(plan, "A").findings if f.severity == "stop")
    assert problem.code in {"street_high", "land_high", "sky_clip"}
    assert problem.remedies[0].label.startswith("Start A at ")
    better = mended(plan, problem)
    assert outlook(better, "A", Memory()).judgement.slack_stops >= 0.0
    assert not [f for f in found(better).values() if f.severity == "stop"]


def test_a_setting_mends_it_too() -> None:
    plan = december_plan(**LASTING, shoots__A__start_after_event_min=32.5)
    problem = next(f for f in forecast(plan, "A").findings if f.severity == "stop")
    assert problem.code.endswith("_low")
    label = problem.remedies[1].label
    assert label.startswith(("Shutter", "ISO"))
    assert outlook(mended(plan, problem, 1), "A", Memory()).judgement.slack_stops >= 0.0


def test_only_one_setting_changes_and_by_the_least() -> None:
    plan = december_plan(**LASTING, shoots__A__start_after_event_min=32.5)
    problem = next(f for f in forecast(plan, "A").findings if f.severity == "stop")
    ((key, _value),) = problem.remedies[1].values
    assert key in {"shoots.A.iso", "shoots.A.shutter_s"}
    seen, better = (outlook(p, "A", Memory()) for p in (plan, mended(plan, problem, 1)))
    assert 0.0 < seen.mid - better.mid <= 2.0


def test_no_start_holds_and_the_nearest_is_named() -> None:
    plan = december_plan(bands__street__low_stops=0.0, bands__street__high_stops=-1.0)
    finding = found(plan)["no_start"]
    assert finding.severity == "stop"
    assert "lacks" in finding.text
    assert not any("Start" in r.label for f in found(plan).values() for r in f.remedies)


def test_excused_frames_are_a_note() -> None:
    # One frame in twenty may fail; at the edge of the span some do.
    plan = december_plan(**LASTING, bands__excused_share=0.2)
    latest = forecast(plan, "A").starts.latest_s
    assert latest is not None
    minutes = (latest - outlook(plan, "A", Memory()).night.event.time_s) / 60.0
    at_edge = with_values(plan, {"shoots.A.start_after_event_min": minutes})
    excused = [f for f in found(at_edge).values() if f.code.startswith("excused_")]
    assert excused
    assert all(f.severity == "note" and f.text.endswith("So few are excused.") for f in excused)


def test_land_may_go_dark_after_its_limit() -> None:
    plan = december_plan(**LASTING, shoots__A__start_after_event_min=29.0)
    note = found(plan)["land_dark_later"]
    assert note.severity == "note"
    assert note.fact.startswith("Land goes dark from frame ")
    assert int(note.fact.rstrip(".").split()[-1]) > 120


def test_lamps_that_are_wanted_and_not_on() -> None:
    plan = december_plan(bands__lamps_wanted=True, shoots__A__start_after_event_min=0.0)
    assert found(plan)["lamps"].text == "The lamps are not on. Up to frame 300." or (
        found(plan)["lamps"].fact == "The lamps are not on."
    )


def test_a_camera_that_cannot_keep_up() -> None:
    plan = december_plan(**LASTING, shoots__A__interval_s=2.0)
    finding = found(plan)["write_time"]
    assert finding.severity == "stop"
    assert finding.fact == "Shutter and write time need 2.7 s, the interval is 2 s."
    assert [remedy.label for remedy in finding.remedies] == ["Shutter 0.3 s", "Interval 3 s"]
    for index in range(2):
        assert "write_time" not in found(mended(plan, finding, index))


def test_a_pairing_that_only_just_fits_is_unproven() -> None:
    finding = found(december_plan(camera__write_time_s=1.8))["write_unproven"]
    assert finding.severity == "warn"
    assert finding.fact == "Shutter and write time need 2.8 s, the interval is 3 s."


def test_time_that_is_missing_shows() -> None:
    # 0.315 s and 1.72 s are 2.035 s: with one digit both sides would read 2 s.
    plan = december_plan(
        camera__write_time_s=1.72, shoots__A__interval_s=2.0, shoots__A__shutter_s=0.315
    )
    assert "need 2.03 s, the interval is 2 s" in found(plan)["write_time"].fact


def test_a_battery_that_ends_first() -> None:
    plan = december_plan(shoots__A__clip_length_s=16.0)
    finding = found(plan)["battery"]
    seen = outlook(plan, "A", Memory())
    assert finding.severity == "stop"
    assert seen.flight.margin_min is not None
    assert finding.fact == (
        f"The battery ends {shortage_text(seen.flight.margin_min)} min before the last frame."
    )
    assert f"{seen.flight.max_frames} of 400 frames fit" in finding.text
    assert finding.remedies[0].label == f"{seen.flight.max_frames} frames"
    assert "battery" not in found(mended(plan, finding))
    if len(finding.remedies) > 1:
        assert "battery" not in found(mended(plan, finding, 1))


def test_battery_minutes_are_rounded_to_the_unlucky_side() -> None:
    assert shortage_text(-1.01) == "1.1"
    assert shortage_text(-1.1) == "1.1"
    assert spare_text(1.79) == "1.7"
    assert spare_text(1.7) == "1.7"


def test_a_return_that_cannot_be_flown_names_the_wind() -> None:
    plan = december_plan(shoots__A__conditions__wind_10m_m_s=18.0)
    finding = found(plan)["flight"]
    assert finding.severity == "stop"
    assert "wind" in finding.text.lower()
    assert "battery" not in found(plan)


def caution_plans() -> dict[str, dict[str, Any]]:
    return {
        "gust_over_limit": {"shoots__A__conditions__gust_10m_m_s": 9.0},
        "below_freezing": {"shoots__A__conditions__temperature_c": -4.0},
        "outside_battery_range": {"shoots__A__conditions__temperature_c": -20.0},
        "aged_battery": {"craft__state_of_health": 0.7},
        "beyond_sight_guide": {"path__stations": [{"east_m": 160.0, "pitch_deg": -8.0}]},
        "auto_return_binds": {"craft__auto_return_percent": 60.0},
    }


@pytest.mark.parametrize("code", caution_plans())
def test_cautions_of_the_flight(code: str) -> None:
    without = found(december_plan(**LASTING))
    finding = found(december_plan(**(LASTING | caution_plans()[code])))[code]
    assert code not in without
    assert finding.severity == ("note" if code == "auto_return_binds" else "warn")
    assert finding.fact.endswith(".")
    assert finding.rest.endswith(".")


def test_rules_are_a_reminder_in_every_plan() -> None:
    note = found(december_plan())["rules"]
    assert note.severity == "note"
    # Sunset at 16:40 UT, the sun at -6 deg 29.2 min later.
    assert note.fact == "Night by many rules begins 17:09, with the sun 6° down."
    assert note.rest == "Check the local rules and your licence."


@pytest.mark.parametrize(
    ("latitude", "date", "words"),
    [
        (70.0, "2026-06-21", "The sun does not reach 6° below the horizon."),
        (80.0, "2026-12-21", "stays more than 6° below the horizon"),
        (70.0, "2026-12-21", "begins"),
    ],
)
def test_rules_where_the_sun_does_not_set_or_rise(latitude: float, date: str, words: str) -> None:
    plan = december_plan(place__latitude_deg=latitude, shoots__A__date=date)
    codes = found(plan)
    assert words in codes["rules"].fact
    assert codes["no_event"].severity == "note"


def test_dawn_ends_the_night() -> None:
    note = found(december_plan(shoots__A__twilight="dawn"))["rules"]
    assert " ends 0" in note.fact


def test_notes_that_both_shoots_share_are_said_once() -> None:
    plan = december_plan()
    every = findings(plan, Memory())
    assert [f.code for f in every].count("rules") == 1


def test_problems_and_cautions_belong_to_each_shoot() -> None:
    gusty = {"shoots.A.conditions.gust_10m_m_s": 9.0, "shoots.B.conditions.gust_10m_m_s": 9.0}
    every = findings(with_values(december_plan(), gusty), Memory())
    assert {f.shoot for f in every if f.code == "gust_over_limit"} == {"A", "B"}


def test_the_date_of_the_worked_case() -> None:
    assert december_plan().shoots.A.date == dt.date(2026, 12, 5)
