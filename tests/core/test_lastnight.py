"""From last night to tonight: what the pilot saw becomes what the place is known by."""

from __future__ import annotations

import datetime as dt
import math

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import truncnorm

from core.belief import Unknown
from core.edit import PlanError, with_values
from core.forecast import belief, outlook, starts
from core.lastnight import (
    Lesson,
    as_flown,
    flown_take,
    lesson_of,
    within,
    without_take,
)
from core.lessonwords import lesson_sentences
from core.memory import Memory
from core.moved import at_same_sun_s, moved, tonight_sentence
from core.night import night_of
from core.plan import Plan, Reading, Remark, TakeSummary
from tests.dusk import december_plan

MEMORY = Memory()
PLAN = december_plan()
SEEN = outlook(PLAN, "A", MEMORY)
TAKE = flown_take(PLAN, "A", "t1", SEEN.night.clock(SEEN.press_s))
NEXT_DAY = PLAN.shoots.A.date + dt.timedelta(days=1)


def lesson(*remarks: Remark, plan: Plan = PLAN) -> Lesson:
    return lesson_of(plan, TAKE, remarks, MEMORY)


def next_night(plan: Plan) -> Plan:
    return with_values(plan, {"shoots.A.date": NEXT_DAY})


def test_a_take_remembers_how_it_was_flown_whatever_the_sliders_do_later() -> None:
    moved_on = with_values(PLAN, {"shoots.A.shutter_s": 0.25, "shoots.A.date": NEXT_DAY})
    again = as_flown(moved_on, TAKE, MEMORY)
    assert again.mid == SEEN.mid
    assert again.press_s == pytest.approx(SEEN.press_s, abs=1e-3)
    assert again.tones.land.stops == pytest.approx(SEEN.tones.land.stops, abs=1e-6)


def test_an_end_too_dark_teaches_a_darker_place_and_an_earlier_start() -> None:
    # Expected tone there: about a stop above the land's low limit.
    taught = lesson(Remark("land", "dark", frame=100))
    assert taught.after.of("level") < -0.1
    told = moved(next_night(PLAN), next_night(taught.plan), "A", MEMORY)
    assert told.best_min is not None
    assert told.best_min < 0.0
    assert "earlier" in told.sentence


def test_a_sky_that_burnt_teaches_a_later_start() -> None:
    taught = lesson(Remark("sky", "over", frame=299, by_stops=1.0))
    told = moved(next_night(PLAN), next_night(taught.plan), "A", MEMORY)
    assert told.best_min is not None
    assert told.best_min > 0.0
    assert "later" in told.sentence


def test_what_stays_is_kept_apart_from_what_went_with_the_night() -> None:
    taught = lesson(
        Remark("sky", "over", frame=299, by_stops=1.0), Remark("street", "over", by_stops=0.5)
    )
    scopes = {item.name: item.scope for item in taught.plan.learned}
    assert scopes["level_stops"] == "place"
    assert scopes["lamps_stops"] == "place"
    assert scopes["weather_stops"] == "night"
    assert scopes["haze_sigmas"] == "night"
    here = outlook(taught.plan, "A", MEMORY).light.belief
    there = outlook(next_night(taught.plan), "A", MEMORY).light.belief
    assert there.of("lamps") == pytest.approx(taught.after.of("lamps"))
    assert there.of("weather") == 0.0
    assert here == taught.after


def test_said_again_replaces_what_was_said_before() -> None:
    once = lesson(Remark("land", "dark", frame=100))
    other = lesson(Remark("street", "fine"), plan=once.plan)
    straight = lesson(Remark("street", "fine"))
    assert other.plan == straight.plan
    assert without_take(once.plan, TAKE.id, MEMORY) == PLAN


def test_a_second_take_goes_on_from_what_the_first_taught() -> None:
    first = lesson(Remark("street", "over", by_stops=0.3))
    tonight = next_night(first.plan)
    seen = outlook(tonight, "A", MEMORY)
    take = flown_take(tonight, "A", "t2", seen.night.clock(seen.press_s))
    second = lesson_of(tonight, take, [Remark("street", "over", by_stops=0.3)], MEMORY)
    assert second.before.sigma_of("lamps") == pytest.approx(first.after.sigma_of("lamps"))
    assert second.after.sigma_of("lamps") < first.after.sigma_of("lamps")


def test_a_first_take_told_again_after_a_second_counts_once() -> None:
    over = [Remark("street", "over", by_stops=0.5)]
    first = lesson_of(PLAN, TAKE, over, MEMORY)
    tonight = next_night(first.plan)
    seen = outlook(tonight, "A", MEMORY)
    second_take = flown_take(tonight, "A", "t2", seen.night.clock(seen.press_s))
    second = lesson_of(tonight, second_take, over, MEMORY)
    again = lesson_of(second.plan, TAKE, over, MEMORY)
    assert again.after.of("lamps") == pytest.approx(first.after.of("lamps"))
    assert again.after.sigma_of("lamps") == pytest.approx(first.after.sigma_of("lamps"))
    # And what the second take taught still stands for the nights to come.
    third = with_values(again.plan, {"shoots.A.date": NEXT_DAY + dt.timedelta(days=1)})
    held = outlook(third, "A", MEMORY).light.belief
    assert held.sigma_of("lamps") == pytest.approx(second.after.sigma_of("lamps"))


def test_takes_teach_the_same_in_whatever_order_they_are_told_corrected_or_forgotten() -> None:
    over, dark = [Remark("street", "over", by_stops=0.5)], [Remark("land", "dark", frame=100)]
    tonight = next_night(PLAN)
    seen = outlook(tonight, "A", MEMORY)
    other = flown_take(tonight, "A", "t2", seen.night.clock(seen.press_s))
    in_turn = lesson_of(next_night(lesson(*over).plan), other, dark, MEMORY).plan
    turned = lesson_of(lesson_of(tonight, other, dark, MEMORY).plan, TAKE, over, MEMORY).plan
    assert sorted(turned.learned, key=str) == sorted(in_turn.learned, key=str)
    alone = lesson_of(tonight, other, dark, MEMORY).plan
    assert without_take(in_turn, TAKE.id, MEMORY) == alone


def test_good_readings_on_site_do_not_make_the_takes_lesson_vanish() -> None:
    minutes = (-20.0, -15.0, -10.0)
    stills = tuple(
        Reading(
            time=SEEN.night.clock(SEEN.press_s + 60.0 * minute).isoformat(),
            part="land",
            stops=float(np.interp(minute, [-30.0, 0.0], [3.0, 0.0])),
            sigma_stops=0.1,
        )
        for minute in minutes
    )
    remark = Remark("land", "dark", frame=100)
    read_first = lesson(remark, plan=msgspec.structs.replace(PLAN, readings=stills))
    alone = lesson(remark)
    kept = {item.name for item in read_first.plan.learned if item.scope == "place"}
    assert "level_stops" in kept
    # The next night holds what stays as surely as this one does, and surer than by the take.
    tomorrow, after_take_alone = (
        belief(next_night(one.plan), next_night(one.plan).shoots.A, MEMORY)
        for one in (read_first, alone)
    )
    assert tomorrow.of("level") == pytest.approx(read_first.after.of("level"), abs=1e-6)
    assert tomorrow.sigma_of("level") < after_take_alone.sigma_of("level")


def test_a_take_that_ran_at_the_same_time_is_replaced_and_named_and_its_notes_are_kept() -> None:
    noted = msgspec.structs.replace(TAKE, summary=TakeSummary(words="lamps seen 16:50"))
    plan = msgspec.structs.replace(PLAN, takes=(noted,))
    later = flown_take(PLAN, "A", "t2", SEEN.night.clock(SEEN.press_s + 480.0))
    told = lesson_of(plan, later, [Remark("land", "dark", frame=100)], MEMORY)
    assert [take.id for take in told.plan.takes] == ["t2"]
    assert told.plan.takes[0].summary.words == "lamps seen 16:50"
    pressed = SEEN.night.clock(SEEN.press_s).strftime("%H:%M")
    last = lesson_sentences(told)[-1]
    assert last.startswith(f"The take begun at {pressed}")
    assert last.endswith("is replaced; undo brings it back.")


def test_forgetting_an_earlier_take_leaves_what_a_later_one_says_alone() -> None:
    """'Fine' is no figure: what it says rests on what was known, and that may be taken back."""
    later = flown_take(next_night(PLAN), "A", "t2", SEEN.night.clock(SEEN.press_s + 86_400.0))
    fine = [Remark("street", "fine")]
    first = lesson(Remark("street", "over", frame=50, by_stops=1.5)).plan
    both = lesson_of(next_night(first), later, fine, MEMORY).plan
    without = without_take(both, "t1", MEMORY)
    alone = lesson_of(next_night(PLAN), later, fine, MEMORY).plan
    assert without.learned == alone.learned
    assert without.readings == alone.readings


def test_each_part_that_was_fine_is_read_after_the_one_before() -> None:
    both = lesson(Remark("street", "fine"), Remark("land", "fine"))
    street, land = both.plan.readings
    alone = lesson(Remark("land", "fine")).plan.readings[0]
    # The street's word has narrowed what the land's rests on.
    assert (street.part, land.part) == ("street", "land")
    assert (land.stops, land.sigma_stops) != (alone.stops, alone.sigma_stops)


def test_fine_moves_little_where_it_was_expected_to_be_fine() -> None:
    taught = lesson(Remark("street", "fine"), Remark("land", "fine"), Remark("sky", "fine"))
    names: tuple[Unknown, ...] = ("level", "weather")
    for name in names:
        assert abs(taught.after.of(name)) < 0.05
    assert taught.after.sigma_of("lamps") < taught.before.sigma_of("lamps")


@given(
    expected=st.floats(-4.0, 4.0),
    sigma=st.floats(0.2, 2.0),
    low=st.one_of(st.just(-math.inf), st.floats(-4.0, 0.0)),
    width=st.floats(1.0, 5.0),
)
def test_fine_says_what_a_figure_cut_off_at_its_limits_says(
    expected: float, sigma: float, low: float, width: float
) -> None:
    # Against scipy.stats.truncnorm: the reading brings the figure to its mean and sigma.
    high = (low if math.isfinite(low) else 0.0) + width
    cut = truncnorm((low - expected) / sigma, (high - expected) / sigma, expected, sigma)
    inside = cut.std() < 0.99 * sigma and abs(cut.mean() - expected) < 2.0 * sigma
    if not inside:
        return
    stops, noise = within(expected, sigma, low, high)
    if noise == pytest.approx(5.0):
        return  # the widest reading that there is
    weight = sigma**2 / (sigma**2 + noise**2)
    assert expected + weight * (stops - expected) == pytest.approx(cut.mean(), abs=2e-3)
    assert sigma * math.sqrt(1.0 - weight) == pytest.approx(cut.std(), rel=2e-3)


@pytest.mark.parametrize("minutes", [23.0, 25.0, 27.0])
def test_a_fine_land_is_judged_where_its_low_limit_holds(minutes: float) -> None:
    plan = with_values(PLAN, {"shoots.A.start_after_event_min": minutes})
    seen = outlook(plan, "A", MEMORY)
    limited = int(len(seen.tones.time_s) * plan.bands.land.low_share)
    expected = float(seen.tones.land.stops[limited - 1])
    assert expected > plan.bands.land.low_stops + 0.4
    take = flown_take(plan, "A", "t1", seen.night.clock(seen.press_s))
    taught = lesson_of(plan, take, [Remark("land", "fine")], MEMORY)
    moved = taught.after.of("level") + taught.after.of("weather")
    # What was expected to be fine, by a sigma or more, teaches next to nothing.
    assert 0.0 <= moved < 0.12
    (reading,) = taught.plan.readings
    assert reading.time.startswith(
        dt.datetime.fromtimestamp(seen.tones.time_s[limited - 1], dt.UTC).isoformat()[:16]
    )


def test_a_press_told_otherwise_is_the_same_take() -> None:
    once = lesson(Remark("street", "over", by_stops=0.5))
    later = flown_take(PLAN, "A", "t9", SEEN.night.clock(SEEN.press_s + 60.0))
    again = lesson_of(once.plan, later, [Remark("street", "over", by_stops=0.5)], MEMORY)
    assert [take.id for take in again.plan.takes] == ["t9"]
    assert again.after.sigma_of("lamps") == pytest.approx(once.after.sigma_of("lamps"), rel=0.05)


def test_fine_where_it_hardly_could_be_otherwise_is_taken_and_says_nothing() -> None:
    stops, noise = within(0.0, 0.3, -9.0, 9.0)
    assert noise == pytest.approx(5.0)
    assert stops == pytest.approx(0.0)
    wide = with_values(PLAN, {"bands.street.low_stops": -15.0, "bands.street.high_stops": 15.0})
    taught = lesson_of(wide, TAKE, [Remark("street", "fine")], MEMORY)
    assert taught.after.of("lamps") == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    ("remark", "words"),
    [
        (Remark("land", "dark", frame=300), "The take has 300 frames; frame 301 is not among them"),
        (Remark("sky", "over", frame=0), "Frame 1 shows too little sky"),
    ],
)
def test_a_remark_on_what_no_frame_shows_is_refused_in_one_sentence(
    remark: Remark, words: str
) -> None:
    with pytest.raises(PlanError, match=words):
        lesson(remark)


def test_the_same_sun_comes_at_another_minute_on_another_date() -> None:
    # Sunset moves; the sun's altitude 27 min after it is looked up on the other night.
    then = night_of(50.0, 10.0, "Europe/Berlin", dt.date(2026, 3, 10), "dusk")
    later = night_of(50.0, 10.0, "Europe/Berlin", dt.date(2026, 3, 17), "dusk")
    pressed_s = then.event.time_s + 27.0 * 60.0
    altitude = float(then.sun(pressed_s)[0])
    same_s = at_same_sun_s(altitude, later)
    assert same_s is not None
    assert float(later.sun(same_s)[0]) == pytest.approx(altitude, abs=0.002)
    # In mid-March at 50 N the sun sets about 11 min later after a week (common practice).
    assert (same_s - pressed_s - 7 * 86400.0) / 60.0 == pytest.approx(11.0, abs=1.0)


def test_a_sun_that_never_stands_there_is_said_so() -> None:
    summer = night_of(66.0, 20.0, "Europe/Stockholm", dt.date(2026, 6, 20), "dusk")
    assert at_same_sun_s(-6.0, summer) is None


def test_tonight_is_told_beside_the_take_in_minutes() -> None:
    taught = next_night(lesson(Remark("land", "dark", frame=100)).plan)
    told = tonight_sentence(taught, TAKE, "A", MEMORY)
    best = starts(taught, "A", MEMORY).best_s
    assert best is not None
    night = outlook(taught, "A", MEMORY).night
    assert night.clock(best).strftime("%H:%M") in told
    assert "sun at −5." in told


def test_learned_figures_survive_the_file() -> None:
    taught = lesson(Remark("land", "dark", frame=100)).plan
    again = msgspec.json.decode(msgspec.json.encode(taught), type=Plan)
    assert again == taught
