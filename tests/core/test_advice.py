"""What the findings say, and that each remedy mends what it stands beside."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest

from core.advice.battery import battery_findings
from core.advice.light import light_findings
from core.edit import with_values
from core.findings import SEVERITIES, Finding
from core.flightenergy import Caution
from core.forecast import Forecast, forecast, outlook
from core.judge import LIMITS
from core.lightwords import LIMIT_WORDS, frames_text
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.planfile import load
from core.words import shortage_text, spare_text
from tests.dusk import december_plan, findings, instant_s

SITES = Path(__file__).parents[2] / "demo_sites"
LASTING = {"craft__rated_min": 45.0, "flight__set_up_first_min": 0.5}


def found(plan: Plan) -> dict[str, Finding]:
    """Findings of shoot A by their codes."""
    return {finding.code: finding for finding in forecast(plan, "A").findings}


def tried(changed: Plan, name: ShootName) -> Outlook:
    return outlook(changed, name, Memory())


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


def test_sky_burns_by_its_own_share_of_the_frame() -> None:
    # In the sun before sunset everything burns, and the sky is a third of the last frame.
    plan = december_plan(shoots__A__start_after_event_min=-30.0)
    tones = outlook(plan, "A", Memory()).tones
    assert tones.clipped_share.max() == pytest.approx(1.0)
    share = math.ceil(100.0 * tones.sky.frame_share.max())
    assert 30 < share < 40
    assert found(plan)["sky_clip"].fact == f"Sky burns {share} % of the frame."


def test_a_burnt_share_over_its_limit_is_not_told_as_the_limit() -> None:
    plan = december_plan(shoots__A__start_after_event_min=-30.0)
    whole = forecast(plan, "A")
    tones = whole.outlook.tones
    sky = replace(tones.sky, burnt_share=np.full_like(tones.time_s, 0.083))
    seen = replace(whole.outlook, tones=replace(tones, sky=sky))
    told = {f.code: f.fact for f in light_findings(plan, seen, whole.starts, None, tried)}
    assert told["sky_clip"] == "Sky burns 9 % of the frame."


def with_span(plan: Plan, seconds: tuple[float, float]) -> Forecast:
    """The forecast with a span of so many seconds after a whole minute."""
    whole = forecast(plan, "A")
    minute_s = whole.outlook.night.event.time_s // 60.0 * 60.0
    first, last = (minute_s + second for second in seconds)
    return replace(whole, starts=replace(whole.starts, earliest_s=first, latest_s=last))


@pytest.mark.parametrize("seconds", [(29.0, 331.0), (31.0, 329.0), (1.0, 359.0), (5.0, 45.0)])
def test_spans_in_findings_hold_only_starts_that_hold(seconds: tuple[float, float]) -> None:
    plan = december_plan(shoots__A__clip_length_s=16.0, shoots__A__start_after_event_min=60.0)
    whole = with_span(plan, seconds)
    seen, starts = whole.outlook, whole.starts
    turned = replace(starts, nearest_slack_stops=9.0)
    said = [f for f in battery_findings(plan, seen, starts, tried) if f.code == "battery"]
    light = light_findings(plan, seen, starts, turned, tried)
    said += [f for f in light if f.code == "order_of_framing"]
    assert len(said) == 2
    assert starts.earliest_s is not None
    assert starts.latest_s is not None
    for finding in said:
        span = re.search(r"from (\d\d:\d\d[:\d]*) to (\d\d:\d\d[:\d]*)\.", finding.text)
        assert span is not None
        first, last = (
            instant_s(seen.night, clock, near_s=starts.earliest_s) for clock in span.groups()
        )
        assert starts.earliest_s - 1e-3 <= first < last <= starts.latest_s + 1e-3


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
    assert finding.fact == "No start of this dusk keeps the light."
    assert re.fullmatch(
        r"The nearest, 1\d:\d\d:\d\d, falls \d\.\d stops? short because the street burns\.",
        finding.rest,
    )
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


def test_land_that_no_frame_holds_does_not_go_dark() -> None:
    plan = december_plan(
        **LASTING, shoots__A__start_after_event_min=29.0, ground__lamps__lit_share=1.0
    )
    assert "land_dark_later" not in found(plan)


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
    assert [remedy.label for remedy in finding.remedies] == [
        "Shutter 0.3 s, ISO 200",
        "Interval 3 s",
    ]
    for index in range(2):
        assert "write_time" not in found(mended(plan, finding, index))


def test_a_pairing_that_only_just_fits_is_unproven() -> None:
    finding = found(december_plan(camera__write_time_s=1.8))["write_unproven"]
    assert finding.severity == "warn"
    assert finding.fact == "Shutter and write time need 2.8 s, the interval is 3 s."


def test_time_that_is_missing_shows() -> None:
    # 0.315 s and 1.72 s are 2.035 s: with one digit both sides would read 2 s. Cut up.
    plan = december_plan(
        camera__write_time_s=1.72, shoots__A__interval_s=2.0, shoots__A__shutter_s=0.315
    )
    assert "need 2.04 s, the interval is 2 s" in found(plan)["write_time"].fact


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
    # So short a take sees more of the bright sky: another shutter goes with it.
    assert finding.remedies[0].label == f"{seen.flight.max_frames} frames, Shutter 0.8 s"
    assert "battery" not in found(mended(plan, finding))
    if len(finding.remedies) > 1:
        assert "battery" not in found(mended(plan, finding, 1))


# ---- remedies bring no other problem ----


def stops(plan: Plan, memory: Memory) -> set[tuple[str, str]]:
    """Shoot and code of every problem."""
    return {(f.shoot, f.code) for f in findings(plan, memory) if f.severity == "stop"}


MISHAPS: dict[str, dict[str, Any]] = {
    "a long shutter": {"shoots.A.shutter_s": 4.0},
    "a shutter between": {"shoots.A.shutter_s": 2.7},
    "bitter cold": {
        "shoots.A.conditions.temperature_c": -20.0, "shoots.A.battery_start_percent": 75.0,
    },
    "cold and not full": {
        "shoots.A.conditions.temperature_c": -20.0, "shoots.A.battery_start_percent": 88.0,
    },
    "half a battery": {"shoots.A.battery_start_percent": 62.0},
    "a long clip": {"shoots.A.clip_length_s": 20.0},
    "too early": {"shoots.A.start_after_event_min": 9.0},
    "too late and too long": {
        "shoots.A.start_after_event_min": 45.0, "shoots.A.clip_length_s": 14.0,
    },
    "gusts up high": {
        "shoots.A.conditions.gust_10m_m_s": 9.0, "flight.return_height_m": 10.0,
    },
}  # fmt: skip


@pytest.mark.parametrize("site", ["corvane_harbour", "porto_carimba"])
@pytest.mark.parametrize("mishap", MISHAPS)
def test_no_remedy_brings_another_problem(site: str, mishap: str) -> None:
    plan = with_values(load(SITES / f"{site}.duskplan"), MISHAPS[mishap])
    memory = Memory()
    before = stops(plan, memory)
    for finding in findings(plan, memory):
        for remedy in finding.remedies:
            after = stops(with_values(plan, dict(remedy.values)), memory)
            assert after <= before, remedy.label
            if finding.severity == "stop":
                assert (finding.shoot, finding.code) not in after, remedy.label


def labels(finding: Finding) -> list[str]:
    return [remedy.label for remedy in finding.remedies]


def test_a_longer_interval_is_not_offered_where_the_battery_would_end() -> None:
    site = load(SITES / "corvane_harbour.duskplan")
    finding = found(with_values(site, {"shoots.A.shutter_s": 4.0}))["write_time"]
    assert labels(finding) == ["Shutter 1.3 s"]


def test_a_few_frames_are_no_clip() -> None:
    plan = december_plan(craft__rated_min=14.5)
    finding = found(plan)["battery"]
    frames = outlook(plan, "A", Memory()).flight.max_frames
    assert frames is not None
    assert 0 < frames < 50
    assert not any("frames" in label for label in labels(finding))
    assert "This take does not fit this battery: shorten set-up" in finding.text


def test_a_full_battery_is_offered_where_the_charge_is_missing() -> None:
    plan = december_plan(**LASTING, shoots__A__battery_start_percent=60.0)
    finding = found(plan)["battery"]
    assert labels(finding)[0] == "Start charge 100 %"
    assert not {f.code for f in found(mended(plan, finding)).values() if f.severity == "stop"}
    empty = december_plan(**LASTING, shoots__A__battery_start_percent=30.0)
    assert labels(found(empty)["flight"]) == ["Start charge 100 %"]
    full = december_plan(shoots__A__clip_length_s=16.0)
    assert not any("charge" in label for label in labels(found(full)["battery"]))


def test_the_path_is_reversed_with_the_start_that_holds_that_way() -> None:
    # Into the glow at once and out of it: nothing holds until it is flown the other way.
    plan = december_plan(**LASTING, shoots__A__path_reversed=True)
    finding = found(plan)["order_of_framing"]
    assert labels(finding)[0].startswith("Reverse the path, start at 17:")
    assert not {f.code for f in found(mended(plan, finding)).values() if f.severity == "stop"}


@pytest.mark.parametrize(
    ("gust", "height", "button"), [(6.7, 60.0, True), (6.7, 80.0, False), (12.0, 60.0, False)]
)
def test_gusts_are_told_with_the_height_below_which_they_stay_under(
    gust: float, height: float, button: bool
) -> None:
    plan = december_plan(
        **LASTING, shoots__A__conditions__gust_10m_m_s=gust, flight__return_height_m=height
    )
    finding = found(plan)["gust_over_limit"]
    # The power law of Kaltschmitt et al. (2007), p. 55: 6.7 (h / 10)^0.27 = 10.7 at 56.6 m.
    under = 10.0 * (plan.craft.wind_limit_m_s / gust) ** (1.0 / 0.27)
    if under < 10.0:
        assert finding.rest == "Fly on a calmer night."
    else:
        assert finding.rest.startswith(f"Below {math.floor(under)} m they stay under it: fly lower")
    assert bool(finding.remedies) == (button and under >= height)


def test_lowered_stations_end_the_caution_and_stay_above_the_return_height() -> None:
    plan = december_plan(
        **LASTING, shoots__A__conditions__gust_10m_m_s=6.3, flight__return_height_m=40.0
    )
    finding = found(plan)["gust_over_limit"]
    (label,) = labels(finding)
    better = mended(plan, finding)
    height = math.floor(10.0 * (10.7 / 6.3) ** (1.0 / 0.27))
    assert label == f"Stations at {height} m or lower"
    assert {station.up_m for station in better.path.stations} == {float(height)}
    assert "gust_over_limit" not in found(better)


def test_a_wind_too_strong_to_hold_is_told_with_the_height_that_would_do() -> None:
    plan = december_plan(shoots__A__conditions__wind_10m_m_s=7.0)
    height = math.floor(10.0 * (10.7 / 7.0) ** (1.0 / 0.27))
    rest = found(plan)["flight"].rest
    assert rest == f"Below {height} m it is under it: fly lower, or on a calmer night."


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


CAUTIONS: dict[Caution, dict[str, Any]] = {
    "gust_over_limit": {"shoots__A__conditions__gust_10m_m_s": 9.0},
    "return_wind_over_limit": {
        "flight__return_height_m": 400.0, "flight__back_speed_m_s": 20.0,
        "shoots__A__conditions__wind_10m_m_s": 4.5,
    },
    "return_fails_in_gusts": {
        "flight__return_height_m": 160.0, "flight__back_speed_m_s": 8.0,
        "shoots__A__conditions__wind_from_deg": 135.0,
    },
    "below_freezing": {"shoots__A__conditions__temperature_c": -4.0},
    "outside_battery_range": {"shoots__A__conditions__temperature_c": -20.0},
    "aged_battery": {"craft__state_of_health": 0.7},
    "beyond_sight_guide": {"path__stations": [{"east_m": 160.0, "pitch_deg": -8.0}]},
    "start_charge_reads_high": {
        "shoots__A__conditions__temperature_c": 5.0, "shoots__A__battery_start_percent": 80.0,
    },
    "auto_return_binds": {"craft__auto_return_percent": 60.0},
    "landing_near_reserve": {"flight__wait_min": 8.5},
}  # fmt: skip


def caution(code: Caution, **changes: Any) -> tuple[Finding, Outlook]:
    """The finding of a caution's plan with further changes, and what it was said of."""
    whole = forecast(december_plan(**(LASTING | CAUTIONS[code] | changes)), "A")
    return next(f for f in whole.findings if f.code == code), whole.outlook


def test_every_caution_has_its_case() -> None:
    assert set(CAUTIONS) == set(get_args(Caution))


@pytest.mark.parametrize("code", get_args(Caution))
def test_cautions_of_the_flight(code: Caution) -> None:
    without = found(december_plan(**LASTING))
    finding, _ = caution(code)
    assert code not in without
    assert finding.severity == ("note" if code == "auto_return_binds" else "warn")
    assert finding.fact.endswith(".")
    assert finding.rest.endswith(".")
    assert not re.search(
        r"\b(go|no-go|ok|safe|allowed|error|invalid|warning|please)\b|!",
        finding.text,
        re.IGNORECASE,
    )


def test_a_gust_just_over_the_limit_does_not_read_as_the_limit() -> None:
    # 10.45 m/s at the camera, by the power law: 80 m over land after sunset.
    gust = 10.45 / 8.0**0.27
    finding, _ = caution(
        "gust_over_limit",
        shoots__A__conditions__gust_10m_m_s=gust,
        craft__wind_limit_m_s=10.4,
        path__stations=[{"up_m": 80.0}],
    )
    assert finding.fact == "Gusts reach 10.5 m/s at 80 m, above this craft's 10.4 m/s."


def test_gusts_are_named_at_the_height_they_belong_to() -> None:
    # Gusts of 1.4 times 3 m/s: 8.9 m/s by the power law at 160 m, 7.4 m/s at 80 m.
    finding, seen = caution("return_fails_in_gusts", path__stations=[
        {"east_m": -85.0, "north_m": 85.0, "up_m": 80.0, "heading_deg": 250.0},
    ])  # fmt: skip
    at_return = 1.4 * 3.0 * 16.0**0.27
    assert seen.flight.gust_at_return_m_s == pytest.approx(at_return)
    assert finding.fact == (
        f"In gusts of {math.ceil(10.0 * at_return) / 10.0:.1f} m/s at the return height of 160 m "
        "the craft comes to a stand on its way home."
    )


def test_wind_at_the_return_height_is_told_with_its_height() -> None:
    finding, _ = caution("return_wind_over_limit")
    # 4.5 x 40^0.27 = 12.184 m/s, cut up.
    assert "reaches 12.2 m/s at the return height of 400 m" in finding.fact


def test_what_the_cold_leaves_of_a_partly_charged_pack() -> None:
    # At 5 degC 86 of 100 can be drawn: 80 - 14 = 66 of 86 is 76.7 %.
    finding, _ = caution("start_charge_reads_high")
    assert finding.text == (
        "Of the 80 % on the gauge at take-off this cold may leave 76 %. "
        "The figures count with 76 %. Take off with a full battery."
    )


def test_rules_are_a_reminder_in_every_plan() -> None:
    note = found(december_plan())["rules"]
    assert note.severity == "note"
    # Sunset at 16:40 UT, the sun at -6 deg 29.2 min later.
    assert note.fact == "Night by many rules begins 17:09, with the sun 6° down."
    assert note.rest == "Check the local rules and your licence."


@pytest.mark.parametrize(
    ("latitude", "date", "words"),
    [
        (
            70.0,
            "2026-06-21",
            "The sun does not reach 6° below the horizon: by many rules night does not come",
        ),
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
