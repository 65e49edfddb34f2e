"""Several batteries: takes that hold, one after the other, with time to land and swap."""

from __future__ import annotations

import datetime as dt
import itertools
import re
from typing import Any

import numpy as np
import pytest

from core.edit import PlanError, checked, new_plan, with_values
from core.forecast import forecast, outlook
from core.memory import Memory
from core.plan import Plan
from core.preferences import Preferences
from core.series import LEAST_CHANCE, Series, SeriesTake, series
from core.seriestable import rows_of
from core.waysout import for_tonight
from tests.dusk import december_plan

LASTING: dict[str, Any] = {"craft__rated_min": 40.0}


def planned(plan: Plan, count: int, swap_min: float = 3.0, memory: Memory | None = None) -> Series:
    return series(plan, "A", count, swap_min, memory or Memory(), Preferences())


def check_take(take: SeriesTake) -> None:
    """A forecast run on the take's own plan shows its figures."""
    seen = forecast(checked(take.plan), "A", Memory())
    flight = seen.outlook.flight
    assert seen.outlook.press_s == pytest.approx(take.start_s, abs=1e-3)
    assert seen.outlook.take_off_s == pytest.approx(take.take_off_s, abs=1e-3)
    assert seen.outlook.last_frame_s == pytest.approx(take.last_frame_s, abs=1e-3)
    # The flight from take-off to the ground, leg by leg.
    minutes = sum(segment.minutes for segment in flight.segments)
    assert take.landing_s - take.take_off_s == pytest.approx(60.0 * minutes, abs=0.01)
    assert seen.outlook.judgement.slack_stops == take.slack_stops
    assert take.slack_stops >= 0.0
    assert seen.starts.chance_at(seen.outlook.press_s) == pytest.approx(take.p_hold, abs=1e-9)
    assert take.p_hold >= LEAST_CHANCE
    assert flight.margin_min == take.margin_min
    assert flight.fits
    assert seen.outlook.clip.write != "skips"
    assert seen.outlook.clip.frames == take.frames


def check_evening(found: Series) -> None:
    """Takes come in order, none before the one before has landed and the battery is swapped."""
    assert [take.number for take in found.takes] == list(range(1, len(found.takes) + 1))
    for one, next_one in itertools.pairwise(found.takes):
        assert next_one.take_off_s >= one.landing_s + 60.0 * found.swap_min - 1e-3
        assert next_one.start_s > next_one.take_off_s
        assert next_one.plan.shoots.A.visit == "repeat"
    assert (len(found.takes) < found.asked) == (found.reason is not None)


@pytest.mark.parametrize("swap_min", [1.0, 3.0, 6.0])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_takes_never_overlap_and_show_what_a_forecast_shows(count: int, swap_min: float) -> None:
    found = planned(december_plan(**LASTING), count, swap_min)
    assert found.takes
    check_evening(found)
    for take in found.takes:
        check_take(take)


def test_two_takes_of_one_evening_have_settings_of_their_own() -> None:
    found = planned(december_plan(**LASTING), 2)
    first, second = (take.shoot for take in found.takes)
    assert found.reason is None
    # Between the two the light falls by stops: the later one is exposed longer by stops.
    gathered = [
        np.log2(shoot.shutter_s * shoot.iso / shoot.f_number**2) - shoot.nd_stops
        for shoot in (first, second)
    ]
    assert gathered[1] > gathered[0] + 2.0


def test_the_first_is_set_up_for_the_first_time_and_the_others_are_stored() -> None:
    plan = december_plan(**LASTING, flight__set_up_first_min=5.0, flight__set_up_repeat_min=0.5)
    found = planned(plan, 2)
    before_min = [(take.start_s - take.take_off_s) / 60.0 for take in found.takes]
    assert before_min[0] - before_min[1] == pytest.approx(4.5)


def test_a_path_that_is_stored_already_needs_no_first_set_up() -> None:
    found = planned(december_plan(**LASTING, shoots__A__visit="repeat"), 2)
    before_s = [take.start_s - take.take_off_s for take in found.takes]
    assert before_s[0] == pytest.approx(before_s[1])


def test_a_single_take_is_about_as_good_as_the_best_single_row() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    seen = outlook(plan, "A", memory)
    rows = rows_of(plan, seen, for_tonight(Preferences(), seen))
    best = max(rows, key=lambda row: row.points)
    take = planned(plan, 1, memory=memory).takes[0]
    assert take.start_s == best.start_s
    # The table is read between its lines.
    assert take.p_hold == pytest.approx(best.p_hold, abs=0.05)


def test_late_no_take_is_listed_that_would_have_had_to_take_off_before_now() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    whole = planned(plan, 3, memory=memory)
    now_s = whole.takes[0].take_off_s + 420.0
    found = series(plan, "A", 3, 3.0, memory, Preferences(), now_s)
    assert found.earliest_s == now_s
    assert found.takes
    # The first is still taken, with no minute of the evening given away to a grid.
    assert now_s <= found.takes[0].take_off_s
    assert found.takes[0].start_s <= whole.takes[1].start_s
    check_evening(found)
    for take in found.takes:
        check_take(take)


def test_when_the_dusk_is_over_no_take_is_listed() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    seen = outlook(plan, "A", memory)
    now_s = seen.night.event.time_s + 3600.0 * 2.5
    found = series(plan, "A", 2, 3.0, memory, Preferences(), now_s)
    assert found.takes == ()
    assert found.reason is not None
    assert re.match(r"No take of this dusk pressed from 19:1\d on holds 2 times", found.reason)


def test_early_in_the_day_the_whole_evening_is_planned() -> None:
    plan, memory = december_plan(**LASTING), Memory()
    noon_s = outlook(plan, "A", memory).night.start_s
    found = series(plan, "A", 2, 3.0, memory, Preferences(), noon_s)
    assert found.takes == planned(plan, 2, memory=memory).takes


def test_a_long_swap_leaves_one_take_and_says_why() -> None:
    found = planned(december_plan(**LASTING), 2, 40.0)
    assert len(found.takes) == 1
    assert found.reason is not None
    assert found.reason.startswith("1 of 2 takes holds: presses that hold 2 times in 10")
    assert found.turnaround_min is not None
    assert found.turnaround_min > 40.0
    check_evening(found)


def test_the_chain_is_the_best_of_all_chains() -> None:
    # Every pair of rows tried in plain loops.
    from core.series import _likely, _longest

    plan, memory = december_plan(**LASTING), Memory()
    seen = outlook(plan, "A", memory)
    rows = _likely(rows_of(plan, seen, for_tonight(Preferences(), seen)))[::3]
    for turnaround_s in (200.0, 420.0):
        pairs = [
            (one.points + two.points, one, two)
            for one in rows
            for two in rows
            if two.start_s >= one.start_s + one.shooting_s + turnaround_s
        ]
        found = _longest(rows, rows, 2, turnaround_s)
        if not pairs:
            assert len(found) == 1
            continue
        assert sum(row.points for row in found) == pytest.approx(max(pair[0] for pair in pairs))


def test_nothing_holds_is_said_plainly() -> None:
    bands = {"bands__street__low_stops": 0.0, "bands__street__high_stops": 0.05}
    found = planned(december_plan(**LASTING, **bands), 2)
    assert found.takes == ()
    assert found.reason is not None
    assert found.reason.startswith("No take of this dusk holds 2 times in 10 or more")


def test_a_flight_that_cannot_be_flown_says_so() -> None:
    plan = december_plan(shoots__A__conditions__wind_10m_m_s=20.0)
    found = planned(plan, 2)
    assert found.takes == ()
    assert found.reason == outlook(plan, "A", Memory()).flight.error


@pytest.mark.parametrize(("count", "swap_min"), [(0, 3.0), (5, 3.0), (2, -1.0), (2, 121.0)])
def test_a_count_or_a_swap_out_of_range_is_refused(count: int, swap_min: float) -> None:
    with pytest.raises(PlanError, match="was expected"):
        planned(december_plan(), count, swap_min)


@pytest.mark.parametrize(
    ("latitude", "date", "twilight"),
    [(38.0, "2026-12-05", "dawn"), (64.0, "2026-06-05", "dusk"), (71.0, "2026-12-21", "dusk"),
     (71.0, "2026-06-21", "dawn")],
)  # fmt: skip
def test_other_nights_too(latitude: float, date: str, twilight: str) -> None:
    plan = new_plan("Anywhere", latitude, -22.0, dt.date.fromisoformat(date), "UTC")
    plan = with_values(plan, {"shoots.A.twilight": twilight, "craft.rated_min": 40.0})
    found = planned(plan, 3)
    check_evening(found)
    for take in found.takes:
        check_take(take)
