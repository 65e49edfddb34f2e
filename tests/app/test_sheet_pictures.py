"""What the tracks say and show, before anything is painted."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from app.sheet.chargelabels import place_words, scale_of
from app.sheet.clock import Axis, Clock, axis_of, stay_of
from app.sheet.clockpicture import both_clocks, clock_picture, cursor_text, moments_of, tick_text
from app.sheet.flight import error_place
from app.sheet.flightpicture import (
    charge_picture,
    flight_picture,
    landing_words,
    margin_words,
    reserve_words,
)
from app.sheet.pictures import View, edges_of, same
from app.sheet.slackpicture import (
    good_words,
    scale_of_slack,
    slack_picture,
    start_words,
    sure_words,
)
from app.sheet.toneground import HIGHEST_STOPS, LOWEST_STOPS
from app.sheet.tonelabels import words_of
from app.sheet.tonepicture import TonePainting, limits_of, shade_of
from app.theme import load_fonts, set_text_scale
from app.widgets.stamp import text_width
from core.battery import Gauge
from core.forecast import outlook, starts
from core.memory import Memory
from core.plan import SHOOT_NAMES, Plan, ShootName
from core.words import clock_text
from tests.app.sheetplans import NOTHING_HOLDS, OTHER_NIGHT, STORM, polar_day, polar_night, quay

MEMORY = Memory(entries=40)


def view_of(plan: Plan, active: ShootName = "A") -> tuple[View, Axis]:
    outlooks = {name: outlook(plan, name, MEMORY) for name in SHOOT_NAMES}
    view = View(plan, active, outlooks, starts(plan, active, MEMORY))
    return view, axis_of({name: stay_of(one) for name, one in outlooks.items()})


def test_flags_carry_the_clock_of_the_press() -> None:
    view, axis = view_of(quay())
    takes = TonePainting().picture(view, axis).takes
    pressed = view.outlook.night.clock(view.outlook.press_s)
    nearest = pressed + dt.timedelta(microseconds=500_000)
    assert takes[1].flag == f"A {nearest:%H:%M:%S}"
    assert takes[0].flag.startswith("B 19:1")


def test_on_two_nights_flags_carry_the_date() -> None:
    view, axis = view_of(quay(OTHER_NIGHT))
    flags = [take.flag for take in TonePainting().picture(view, axis).takes]
    assert flags[0].startswith("B Wed 14 Oct  18:5")
    assert flags[1].startswith("A Sat 10 Oct  19:2")


def test_a_part_is_inked_only_while_it_is_in_the_frame() -> None:
    view, axis = view_of(quay())
    take = TonePainting().picture(view, axis).takes[1]
    sky = next(line for line in take.lines if line.part == "sky")
    limit = view.outlook.tones.sky.limit_stops
    seen_s = view.outlook.tones.time_s[np.isfinite(limit)]
    (run,) = sky.runs
    assert sky.axis_s[run][0] == seen_s[0]
    assert sky.axis_s[run][-1] == seen_s[-1]
    assert sky.at(take.first_s) is None


def test_thin_curves_are_the_evening_at_the_active_settings() -> None:
    for active in SHOOT_NAMES:
        view, axis = view_of(quay(), active)
        land = next(one for one in TonePainting().picture(view, axis).evening if one.part == "land")
        at_s = float(land.axis_s[20])
        light = view.outlook.light
        assert land.stops[20] == pytest.approx(
            float(light.at("land_log2", at_s)) - view.outlook.mid, abs=1e-9
        )


def test_without_lamps_the_band_is_the_lands_and_there_is_no_street() -> None:
    plan = quay({"ground.lamps.luminance_cd_m2": 0.0})
    view, axis = view_of(plan)
    assert limits_of(plan).words == "land keepable −3 to +2"
    assert {line.part for line in TonePainting().picture(view, axis).evening} == {"land", "sky"}


def test_limits_in_words() -> None:
    limits = limits_of(quay())
    assert limits.words == "street keepable −2 to +2.2"
    assert limits.burnt_words == "burnt above +3.3"


def test_the_shade_darkens_with_the_evening() -> None:
    view, axis = view_of(quay())
    darkness = shade_of(view.outlook, axis).darkness
    assert list(darkness) == sorted(darkness)
    assert 0.0 <= darkness[0] < 0.2
    assert darkness[-1] > darkness[0] + 0.3


def test_a_failing_stretch_covers_the_frames_that_fail() -> None:
    view, axis = view_of(quay(NOTHING_HOLDS))
    take = TonePainting().picture(view, axis).takes[1]
    assert take.failing_words
    failing = np.unique(np.concatenate(list(view.outlook.judgement.failing.values())))
    first_s, last_s = take.failing_s[0][0], take.failing_s[-1][1]
    times = view.outlook.tones.time_s
    assert abs(first_s - times[failing[0]]) <= view.outlook.shoot.interval_s
    assert abs(last_s - times[failing[-1]]) <= view.outlook.shoot.interval_s


def test_the_burnt_share_beside_the_take_is_that_of_the_sky() -> None:
    view, axis = view_of(polar_day())
    seen = view.outlook
    take = TonePainting().picture(view, axis).takes[1]
    assert seen.judgement.limit == "sky_clip"
    percent = int(take.failing_words.removeprefix("sky burns ").split()[0])
    # The ground burns as well: the sky is a part of what is lost, cut up to the percent.
    assert 0.0 <= percent - 100.0 * seen.tones.sky.burnt_share.max() < 1.0
    assert seen.tones.clipped_share.max() == 1.0


def test_excused_frames_draw_no_alarm() -> None:
    view, axis = view_of(quay())
    good = replace(view.outlook.judgement, slack_stops=0.1)
    outlooks = {**view.outlooks, "A": replace(view.outlook, judgement=good)}
    take = TonePainting().picture(replace(view, outlooks=outlooks), axis).takes[1]
    assert take.failing_s == ()


def test_good_starts_are_told_inward_to_the_minute() -> None:
    view, _ = view_of(quay())
    found, night = view.starts, view.outlook.night
    assert found is not None
    assert found.earliest_s is not None
    assert found.latest_s is not None
    words = good_words(night, found)[0]
    first, last = words.removeprefix("good ").split(" to ")
    assert night.clock(found.earliest_s).strftime("%H:%M:%S") <= f"{first}:00"
    assert f"{last}:00" <= night.clock(found.latest_s).strftime("%H:%M:%S")


def test_a_span_shorter_than_a_minute_is_told_to_the_second() -> None:
    view, _ = view_of(quay())
    assert view.starts is not None
    start_s = dt.datetime(2026, 10, 10, 17, 20, 8, tzinfo=dt.UTC).timestamp()
    short = replace(view.starts, earliest_s=start_s, latest_s=start_s + 31.0)
    assert good_words(view.outlook.night, short)[0] == "good 19:20:08 to 19:20:39"
    one = replace(view.starts, earliest_s=start_s, latest_s=start_s)
    assert good_words(view.outlook.night, one)[0] == "good at 19:20:08"


def test_nothing_holds_names_the_nearest_start_and_what_it_lacks() -> None:
    view, axis = view_of(quay(NOTHING_HOLDS))
    picture = slack_picture(view, axis)
    assert picture is not None
    assert picture.span_s is None
    assert picture.good_words[0].startswith("nearest ")
    assert picture.good_words[0].endswith(" stops short")
    assert picture.earlier_words == picture.later_words == ""
    assert view.starts is not None
    nearly = replace(view.starts, nearest_slack_stops=-0.11)
    assert good_words(view.outlook.night, nearly)[0].endswith(", 0.2 stop short")


def test_the_chosen_starts_slack_is_cut_down() -> None:
    view, _ = view_of(quay())
    assert view.starts is not None
    judged = replace(view.outlook.judgement, slack_stops=0.78, limit="street_high")
    words = start_words(replace(view.outlook, judgement=judged), view.starts)[0]
    assert re.fullmatch(r"A holds (\d times|once|less than once) in 10, \+0\.7 stop", words)
    judged = replace(judged, slack_stops=-0.01)
    assert start_words(replace(view.outlook, judgement=judged), view.starts)[0].endswith(
        "−0.1 stop"
    )


def test_sure_starts_are_told_to_the_minute_or_that_there_are_none() -> None:
    view, _ = view_of(quay())
    assert view.starts is not None
    noon = view.outlook.night.event.time_s // 60.0 * 60.0
    sure = replace(view.starts, sure_s=(noon + 1.0, noon + 301.0))
    first, last = (
        clock_text(view.outlook.night.clock(noon + minutes * 60.0)) for minutes in (1, 5)
    )
    assert sure_words(view.outlook.night, sure) == f"sure {first} to {last}"
    none = replace(view.starts, sure_s=None, p_hold=np.full_like(view.starts.p_hold, 0.79))
    assert sure_words(view.outlook.night, none) == "none is sure (best 7 in 10)"


def test_no_starts_no_picture() -> None:
    view, axis = view_of(quay())
    assert slack_picture(replace(view, starts=None), axis) is None


@pytest.mark.parametrize(
    ("most", "scale"), [(0.3, 1.0), (1.0, 1.0), (1.01, 1.5), (2.7, 3.0), (-2.0, 1.0)]
)
def test_scale_of_the_slack(most: float, scale: float) -> None:
    assert scale_of_slack(most) == scale


def test_moments_stand_in_time_order_with_the_lamps() -> None:
    view, axis = view_of(quay())
    words = [one.words for one in moments_of(view.outlook, axis)]
    assert words == ["sunset", "lamps on", "sun −6°"]
    assert clock_picture(view, axis).second_line == "CEST, UTC+2"


def test_minutes_from_the_event_on_two_nights() -> None:
    view, axis = view_of(quay(OTHER_NIGHT))
    night = view.outlook.night
    assert clock_picture(view, axis).second_line == "min from sunset"
    assert [tick_text(night, axis, 60.0 * m) for m in (-20, 0, 40)] == ["−20", "0", "+40"]
    assert cursor_text(night, axis, 52 * 60.0) == "+52:00"
    clocks = dict(both_clocks(view, axis, 0.0))
    assert clocks["A"].startswith("18:39")
    assert clocks["B"].startswith("18:2")


def test_a_zone_behind_utc_has_a_real_minus() -> None:
    plan = quay({"place.time_zone": "America/Bogota"})
    view, axis = view_of(plan)
    assert clock_picture(view, axis).second_line == "UTC−5"


def test_polar_day_and_night_name_what_stands_in() -> None:
    for plan, name in ((polar_day(), "solar midnight"), (polar_night(), "solar noon")):
        view, axis = view_of(plan)
        assert name in [one.words for one in moments_of(view.outlook, axis)]
        assert slack_picture(view, axis) is not None


def test_the_flight_stands_round_its_take() -> None:
    view, axis = view_of(quay())
    picture = flight_picture(view, "A", axis)
    assert picture.first_s < picture.take_s[0] < picture.take_s[1] < picture.last_s
    assert all(picture.first_s < one < picture.last_s for one in picture.legs_s)
    assert picture.take_words == ("take 9:33", "9:33")
    assert picture.take_off_words[0].startswith("take-off 19:1")
    assert picture.down_words[0].endswith(" min")
    assert edges_of(view, axis)[1].first_s == picture.take_s[0]


@pytest.mark.parametrize("length_s", [16.0, 24.0, 40.0])
def test_a_battery_that_is_empty_before_the_craft_is_down_is_told(length_s: float) -> None:
    view, axis = view_of(quay({"shoots.A.clip_length_s": length_s}))
    seen = view.outlook
    picture = flight_picture(view, "A", axis)
    assert seen.take_off_s is not None
    assert picture.empty_s is not None
    assert picture.first_s < picture.empty_s < picture.last_s
    empty_min = (picture.empty_s - picture.first_s) / 60.0
    assert float(seen.flight.charge_at(np.array(empty_min))) == pytest.approx(0.0, abs=1e-6)
    # Nothing says when it is down: it is not known how.
    clock = seen.night.clock(seen.take_off_s + 60.0 * empty_min)
    assert picture.down_words == (f"empty {clock:%H:%M}, before it is down", f"empty {clock:%H:%M}")
    assert f"empty {clock:%H:%M}" in picture.description


def test_a_battery_that_lasts_is_never_called_empty() -> None:
    view, axis = view_of(quay())
    for name in SHOOT_NAMES:
        assert view.outlooks[name].flight.segments[-1].charge_after_percent > 0.0
        assert flight_picture(view, name, axis).empty_s is None


def test_a_flight_that_cannot_be_flown_says_why() -> None:
    view, axis = view_of(quay(STORM))
    picture = flight_picture(view, "A", axis)
    assert picture.error == view.outlook.flight.error
    assert picture.error.endswith(".")
    assert charge_picture(view, axis) is None


def test_the_charge_line_meets_the_stop_line_at_the_latest_last_frame() -> None:
    for length_s in (6.0, 8.0, 14.0):
        view, axis = view_of(quay({"shoots.A.clip_length_s": length_s}))
        picture = charge_picture(view, axis)
        assert picture is not None
        assert view.outlook.latest_stop_s is not None
        foot_s = view.outlook.latest_stop_s
        whole_s = np.concatenate((picture.flown_s, picture.beyond_s))
        whole = np.concatenate((picture.flown_percent, picture.beyond_percent))
        at = np.argmin(np.abs(whole_s - foot_s))
        assert whole_s[at] == pytest.approx(foot_s)
        assert whole[at] == pytest.approx(picture.stop_percent)
        assert picture.short is (length_s == 14.0)
        assert picture.flown_percent[0] == 100.0
        assert np.all(np.diff(picture.flown_percent) <= 0.0)


def test_battery_figures_go_to_the_unlucky_side() -> None:
    assert margin_words(1.69) == "1.6 min to spare"
    assert margin_words(0.04) == "0.0 min to spare"
    assert margin_words(-1.31) == "1.4 min short"
    view, axis = view_of(quay())
    flight, picture = view.outlook.flight, charge_picture(view, axis)
    assert picture is not None
    assert flight.stop_at_exact_percent is not None
    assert float(picture.head.percent.split()[0]) >= flight.stop_at_exact_percent
    latest = view.outlook.night.clock(view.outlook.latest_stop_s or 0.0)
    assert picture.head.clock + picture.head.seconds == f"{latest:%H:%M:%S}"


def test_a_gauge_that_reads_high_is_told_beside_the_true_charge() -> None:
    view, _ = view_of(quay())
    flight = replace(view.outlook.flight, gauge=Gauge("unknown", 0.9), start_percent=100.0)
    # 100 − 0.9 · 75 and 100 − 0.9 · 68.5: the model of core.battery, worked by hand.
    assert reserve_words(flight, 25.0) == "reserve 25 %, shown as 33 %, never planned"
    assert landing_words(flight, 31.5) == "lands with 31 %, shown as 39 %"
    even = replace(flight, gauge=Gauge("compensated", 0.9))
    assert reserve_words(even, 25.0) == "reserve 25 %, never planned"
    assert landing_words(even, 31.5) == "lands with 31 %"


def test_same_looks_into_arrays() -> None:
    view, axis = view_of(quay())
    one, other = TonePainting().picture(view, axis), TonePainting().picture(view, axis)
    assert same(one, other)
    moved, _ = view_of(quay({"shoots.A.start_after_event_min": 43.25}))
    assert not same(one, TonePainting().picture(moved, axis))


@pytest.mark.parametrize(
    "values", [{}, OTHER_NIGHT, NOTHING_HOLDS, {"shoots.B.start_after_event_min": 43.2}]
)
@pytest.mark.parametrize("width", [380.0, 634.0, 920.0])
def test_words_of_the_plot_never_overlap(
    qapp: object, values: Mapping[str, object], width: float
) -> None:
    assert qapp
    view, axis = view_of(quay(values))
    clock = Clock(axis, 112.0, 112.0 + width)
    picture, limits = TonePainting().picture(view, axis), limits_of(view.plan)
    for cursor_s in (None, *np.linspace(axis.first_s, axis.last_s, 12)):
        words = words_of(picture, limits, clock, 224.0, cursor_s)
        boxes = [word.box for word in words]
        for at, box in enumerate(boxes):
            assert clock.left <= box.x
            assert box.right <= clock.right
            assert not any(box.overlaps(other) for other in boxes[at + 1 :])


@pytest.mark.parametrize("width", [380.0, 634.0, 920.0])
def test_tones_above_the_plot_are_told_at_its_upper_edge(qapp: object, width: float) -> None:
    assert qapp
    view, axis = view_of(polar_day())
    clock = Clock(axis, 112.0, 112.0 + width)
    picture, height = TonePainting().picture(view, axis), 224.0
    words = words_of(picture, limits_of(view.plan), clock, height, None)
    found = {word.of: word for word in words if word.kind == "beyond"}
    lines = {line.part: line for line in picture.takes[1].lines}
    assert set(found) == set(lines) == {"street", "land", "sky"}
    for part, line in lines.items():
        highest = float(np.nanmax(line.stops))
        assert highest > HIGHEST_STOPS
        assert found[part].text == f"{part} +{highest:.1f} over"
        assert found[part].box.bottom < height / 2.0


def test_tones_below_the_plot_are_told_at_its_lower_edge(qapp: object) -> None:
    assert qapp
    view, axis = view_of(quay({"shoots.A.start_after_event_min": 75.0}))
    clock = Clock(axis, 112.0, 746.0)
    picture = TonePainting().picture(view, axis)
    words = words_of(picture, limits_of(view.plan), clock, 224.0, None)
    land = next(line for line in picture.takes[1].lines if line.part == "land")
    lowest = float(np.nanmin(land.stops))
    assert float(np.nanmax(land.stops)) < LOWEST_STOPS
    said = [word for word in words if word.kind == "beyond"]
    assert f"land \N{MINUS SIGN}{-lowest:.1f} under" in [word.text for word in said]
    assert all(word.box.y > 112.0 for word in said if word.text.endswith("under"))


def test_what_stands_within_the_plot_needs_no_mark_at_its_edge(qapp: object) -> None:
    assert qapp
    view, axis = view_of(quay())
    clock = Clock(axis, 112.0, 746.0)
    words = words_of(TonePainting().picture(view, axis), limits_of(view.plan), clock, 224.0, None)
    assert [word.text for word in words if word.kind == "beyond"] == []


def test_words_of_the_charge_never_overlap(qapp: object) -> None:
    assert qapp
    for length_s in (5.0, 8.0, 14.0):
        view, axis = view_of(quay({"shoots.A.clip_length_s": length_s}))
        picture = charge_picture(view, axis)
        assert picture is not None
        placed = place_words(picture, Clock(axis, 112.0, 746.0), 104.0)
        boxes = [one.box for one in placed.values()]
        assert {"margin", "stop"} <= set(placed)
        for at, box in enumerate(boxes):
            assert not any(box.overlaps(other) for other in boxes[at + 1 :])


def test_the_line_of_the_reserve_does_not_strike_out_the_landing(qapp: object) -> None:
    assert qapp
    view, axis = view_of(quay({"shoots.A.clip_length_s": 9.5}))
    picture = charge_picture(view, axis)
    assert picture is not None
    placed = place_words(picture, Clock(axis, 112.0, 746.0), 104.0)
    reserve = scale_of(104.0).y(picture.reserve_percent)
    assert placed["landing"].box.bottom <= reserve


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("width", [300.0, 536.0, 636.0, 1040.0])
@pytest.mark.parametrize("start_min", [5.0, 43.2, 80.0])
def test_a_flight_that_cannot_be_flown_is_told_in_one_whole_line(
    qapp: QApplication, scale: float, width: float, start_min: float
) -> None:
    """Beside its take, inside the plot and inside the row; never in a cut line."""
    load_fonts()
    set_text_scale(qapp, scale)
    view, axis = view_of(quay(STORM | {"shoots.A.start_after_event_min": start_min}))
    picture = flight_picture(view, "A", axis)
    clock = Clock(axis, 112.0 * scale, 112.0 * scale + width)
    text, box = error_place(picture, clock, 27.0 * scale)
    letters = text_width(text, (12, 600)) if text else 0
    set_text_scale(qapp, 1.0)
    assert text in (*picture.error_words, "")
    assert box.width >= letters + 14.0 * scale  # the mark before it
    assert clock.left <= box.x <= box.right <= clock.right
    assert 0.0 <= box.y <= box.bottom <= 27.0 * scale
    take = [clock.x(at) for at in picture.take_s]
    assert box.right <= take[0] or box.x >= take[1]
    if width >= 500.0 * scale:
        assert text


def test_what_is_said_in_the_row_is_the_fact_or_where_to_read_it() -> None:
    view, axis = view_of(quay(STORM))
    picture = flight_picture(view, "A", axis)
    fact, *shorter = picture.error_words
    assert picture.error.startswith(fact)
    assert shorter == ["cannot be flown, see the findings", "cannot be flown"]
