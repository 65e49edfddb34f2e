"""Whole evenings on site, second by second on a test clock."""

from __future__ import annotations

import msgspec
import pytest

from app.resources import demo_sites
from core.edit import with_values
from core.fieldlog import FieldLog, as_seen
from core.forecast import outlook, starts
from core.memory import Memory
from core.plan import Plan
from core.planfile import load
from core.site import Site, evening_now, site_of
from core.stepwords import StepKind
from core.timetable import Timetable, good_until_s, missed_text, timetable_of

SITES = {site.stem: site for site in demo_sites()}


class Evening:
    """A pilot with a plan, a clock and a log."""

    def __init__(self, stem: str) -> None:
        self.plan: Plan = load(SITES[stem])
        self.memory = Memory()
        self.log = FieldLog()
        self.planned = self.table
        self.until_s = good_until_s(starts(self.plan, "A", self.memory), self.planned.seen.press_s)

    @property
    def table(self) -> Timetable:
        real = as_seen(self.plan, "A", self.log, self.memory)
        return timetable_of(real, outlook(real, "A", self.memory))

    def note(self, **done: float) -> None:
        self.log = msgspec.structs.replace(self.log, **done)

    def at(self, now_s: float) -> Site:
        table = evening_now(self.plan, "A", self.log, now_s, self.memory)
        return site_of(table, self.log, now_s, self.until_s)

    def time(self, kind: StepKind) -> float:
        step = self.table.step(kind)
        assert step is not None
        return step.time_s


def done(site: Site) -> set[str]:
    return {row.kind for row in site.rows if row.done}


@pytest.mark.parametrize("stem", sorted(SITES))
def test_an_evening_on_time(stem: str) -> None:
    evening = Evening(stem)
    off_s, press_s = evening.time("take_off"), evening.time("first_shutter")
    site = evening.at(off_s - 60.0)
    assert site.phase == "ground"
    if site.step is not None and site.step.kind == "take_off":
        assert (site.lead, site.countdown) == ("Take off in", "1:00")
    evening.note(took_off_s=off_s)
    site = evening.at(press_s - 26.0)
    assert site.phase == "air"
    assert site.step is not None
    if site.step.kind == "first_shutter":
        assert (site.lead, site.countdown) == ("First shutter in", "0:26")
    assert site.now.startswith("Frame station 1")
    assert "take_off" in done(site)
    evening.note(pressed_s=press_s)
    site = evening.at(press_s + 90.0)
    assert site.lead == "Last frame in"
    interval_s = site.table.seen.shoot.interval_s
    assert site.aside == f"frame {1 + int(90 // interval_s)} of {site.table.seen.clip.frames}"
    assert site.next == "Stop the take. Let the last still be stored."
    site = evening.at(evening.time("last_frame") + 1.0)
    assert (site.phase, site.lead) == ("home", "Turn home in")
    assert "fly home" in site.now.lower() or "come down" in site.now.lower()
    site = evening.at(evening.time("turn_home") + 1.0)
    assert site.lead == "Land by in"
    evening.note(down_s=evening.time("on_ground"))
    site = evening.at(evening.time("on_ground") + 100.0)
    assert (site.phase, site.step) == ("down", None)
    assert site.lead.startswith("Down at ")
    assert done(site) >= {"take_off", "first_shutter", "last_frame", "turn_home", "on_ground"}


def test_dawn_counts_to_the_press_though_the_lamps_still_burn() -> None:
    evening = Evening("lanternshell_bay")
    assert evening.planned.seen.night.twilight == "dawn"
    site = evening.at(evening.time("take_off") - 600.0)
    assert site.step is not None
    assert site.step.kind == "take_off"
    assert "lamps" not in {row.kind.partition("_")[0] for row in site.rows}


def test_late_on_the_ground_the_take_off_stays_and_says_by_how_much() -> None:
    evening = Evening("corvane_harbour")
    off_s = evening.time("take_off")
    assert evening.until_s is not None
    site = evening.at(off_s + 50.4)
    assert (site.lead, site.countdown, site.late) == ("Take off, late by", "0:50", True)
    assert evening.planned.seen.press_s + 50.0 < evening.until_s
    assert site.aside.startswith("good until ")
    assert not site.aside.endswith("past")
    assert site.now.startswith("Take off now: press at ")
    # Later, the craft cannot be there before the light is lost.
    site = evening.at(off_s + 250.4)
    assert (site.lead, site.countdown, site.late) == ("Take off, late by", "4:10", True)
    assert site.aside == "good light past"
    assert site.now.startswith("Too late for this light: press at ")
    # What follows is told as if it took off this second.
    press_s = evening.planned.seen.press_s
    assert site.table.seen.press_s == pytest.approx(press_s + 250.0, abs=1.0)
    assert site.stop_lead == "Last frame by, if off now"
    assert site.expected_percent == pytest.approx(100.0)
    assert evening.until_s is not None
    assert evening.at(evening.until_s + 1.0).aside == "good light past"
    # Taken off late, the press is put off until the craft is there, and so is what follows.
    stop_s = evening.time("latest_stop")
    evening.note(took_off_s=off_s + 250.0)
    assert evening.time("first_shutter") == pytest.approx(
        evening.planned.seen.press_s + 250.0, abs=0.01
    )
    assert evening.time("latest_stop") == pytest.approx(stop_s + 250.0, abs=0.01)


def test_midnight_is_a_second_like_any_other() -> None:
    evening = Evening("corvane_harbour")
    seen = evening.planned.seen
    day_began = seen.night.clock(seen.press_s).replace(hour=0, minute=0, second=0)
    midnight_s = day_began.replace(microsecond=0).timestamp() + 86_400.0
    to_press_min = (midnight_s - 30.0 - seen.night.event.time_s) / 60.0
    evening.plan = with_values(evening.plan, {"shoots.A.start_after_event_min": to_press_min})
    evening.note(took_off_s=evening.time("take_off"))
    before, after = evening.at(midnight_s - 31.0), evening.at(midnight_s + 1.0)
    assert (before.lead, before.countdown, before.at) == ("First shutter in", "0:01", "at 23:59:30")
    assert (after.lead, after.countdown) == ("First shutter, late by", "0:31")
    evening.note(pressed_s=midnight_s - 30.0)
    clocks = {row.kind: row.clock for row in evening.at(midnight_s + 1.0).rows}
    assert clocks["last_frame"] == "00:09:27"
    order = [row.kind for row in evening.at(midnight_s + 1.0).rows if not row.bound]
    assert order.index("first_shutter") < order.index("last_frame") < order.index("on_ground")


def test_far_from_the_evening_days_are_counted_and_nothing_is_to_be_done_any_more() -> None:
    evening = Evening("corvane_harbour")
    day_s = 86_400.0
    assert evening.at(evening.time("lamps_on") - 40.5 * day_s).countdown == "40 d"
    assert evening.at(evening.time("lamps_on") - 1.5 * day_s).countdown == "36:00:00"
    site = evening.at(evening.time("take_off") + 3.5 * day_s)
    assert (site.lead, site.countdown) == ("Take off, late by", "3 d")
    assert site.now == "This evening is over: plan another night."
    assert site.next == ""
    # No take-off now could be planned: the stop is that of the evening.
    assert site.stop_lead == "Last frame by"
    assert site.aside == "good light past"


def test_a_press_that_is_overdue_stays_until_it_is_done() -> None:
    evening = Evening("corvane_harbour")
    evening.note(took_off_s=evening.time("take_off"))
    press_s, stop_s = evening.time("first_shutter"), evening.time("latest_stop")
    site = evening.at(press_s + 61.5)
    assert (site.lead, site.countdown) == ("First shutter, late by", "1:01")
    evening.note(pressed_s=press_s + 61.5)
    site = evening.at(press_s + 61.5)
    assert site.aside.startswith("frame 1 of ")
    # The minute of hover comes off the margin: the stop does not move.
    assert evening.time("latest_stop") == pytest.approx(stop_s, abs=0.01)


def test_lamps_early_are_noted_and_no_longer_counted_to() -> None:
    evening = Evening("corvane_harbour")
    lamps_s = evening.time("lamps_on")
    site = evening.at(lamps_s - 300.0)
    assert site.lead == "Lamps on in"
    evening.note(lamps_s=lamps_s - 300.0)
    site = evening.at(lamps_s - 299.0)
    assert site.lead == "Take off in"
    row = next(row for row in site.rows if row.kind == "lamps_on")
    assert row.done
    assert row.note.startswith("seen ")


def test_an_abort_turns_home_at_once_and_keeps_what_was_done() -> None:
    evening = Evening("corvane_harbour")
    evening.note(took_off_s=evening.time("take_off"))
    press_s = evening.time("first_shutter")
    evening.note(pressed_s=press_s)
    evening.note(turned_s=press_s + 100.0)
    site = evening.at(press_s + 101.0)
    assert (site.phase, site.lead) == ("home", "Land by in")
    assert site.now.lower().startswith(("fly home", "climb to"))
    assert {"take_off", "first_shutter", "turn_home"} <= done(site)
    assert "last_frame" not in done(site)


def test_past_the_latest_stop_it_says_to_fly_home_and_how_long_ago() -> None:
    evening = Evening("corvane_harbour")
    stop_s = evening.time("latest_stop")
    assert not evening.at(stop_s + 20.0).past  # it never left the ground
    evening.note(took_off_s=evening.time("take_off"))
    site = evening.at(evening.time("latest_stop"))
    assert (site.stop_lead, site.past) == ("Last frame by", False)
    site = evening.at(evening.time("latest_stop") + 20.5)
    assert (site.stop_lead, site.past) == ("Fly home, 0:20 past", True)
    evening.note(down_s=evening.time("latest_stop") + 60.0)
    assert not evening.at(evening.time("latest_stop") + 90.0).past


def test_what_a_sleep_of_two_minutes_skipped_is_still_told() -> None:
    evening = Evening("corvane_harbour")
    evening.note(took_off_s=evening.time("take_off"))
    press_s = evening.time("first_shutter")
    before, after = evening.at(press_s - 50.0), evening.at(press_s + 70.0)
    assert before.countdown == "0:50"
    assert (after.lead, after.countdown) == ("First shutter, late by", "1:10")
    missed = after.table.between(press_s - 50.0, press_s + 70.0)
    assert [step.kind for step in missed] == ["first_shutter"]
    told = missed_text(after.table, press_s - 50.0, press_s + 70.0)
    assert told.startswith("This computer slept 2:00. Passed since: first shutter ")
    assert missed_text(after.table, press_s + 1.0, press_s + 70.0) == ""


def test_of_a_long_sleep_the_last_steps_are_named() -> None:
    evening = Evening("corvane_harbour")
    table = evening.table
    last = table.bounds[-1].time_s
    told = missed_text(table, table.steps[0].time_s - 60.0, last + 60.0)
    assert "Passed since: 7 steps, last of all last frame by " in told
    assert told.count(",") == 2
    assert "half way" not in told


def test_every_second_of_an_evening_has_its_countdown() -> None:
    evening = Evening("marrow_bend")
    off_s = evening.time("take_off")
    for second in range(20):
        site = evening.at(off_s - 10.0 + second)
        expected = abs(10 - second)
        assert site.countdown == f"0:{expected:02d}"
        assert site.late == (second > 10)
        assert 0.0 <= site.share <= 1.0


def test_an_expected_charge_falls_once_in_the_air_and_is_full_before() -> None:
    evening = Evening("marrow_bend")
    off_s = evening.time("take_off")
    assert evening.at(off_s - 500.0).expected_percent == pytest.approx(100.0)
    evening.note(took_off_s=off_s)
    charges = [evening.at(off_s + 60.0 * minute).expected_percent or 0.0 for minute in range(10)]
    assert charges == sorted(charges, reverse=True)
    assert charges[-1] < 80.0
