"""What the search for settings costs, beside a search that asks the forecast about each mix."""

from __future__ import annotations

import time

import numpy as np
import pytest

from app.resources import demo_sites
from core.edit import with_values
from core.exposures import exposures_of, takes_of
from core.forecast import outlook, starts
from core.memory import Memory
from core.plan import Plan
from core.planfile import load
from core.settings import AIMS, Wish, apply_choice, settings_of
from core.tones import mid_log2
from tests.bench.conftest import Measure
from tests.core.test_starts import PlainJudge

#: Milliseconds of CPU that a search of a whole night may take, FrameSky warm.
BUDGET_MS = 100.0
PLANS = {path.stem: path for path in demo_sites()[:3]}


def _moved(plan: Plan) -> list[Plan]:
    """The plan with a battery that differs, so that takes are new and the light is not."""
    charges = [100.0 - 0.5 * k for k in range(10)]
    return [with_values(plan, {"shoots.A.battery_start_percent": c}) for c in charges]


@pytest.mark.parametrize("site", PLANS)
def test_settings_of_a_whole_night(measure: Measure, site: str) -> None:
    plans, memory = _moved(load(PLANS[site])), Memory()
    outlook(plans[0], "A", memory)
    measure(
        f"settings of a night, {site}",
        "search",
        lambda k: settings_of(plans[k % 10], "A", memory, Wish()),
        10,
    )


@pytest.mark.parametrize("aim", AIMS)
def test_settings_for_an_aim(measure: Measure, aim: str) -> None:
    plans, memory = _moved(load(PLANS["corvane_harbour"])), Memory()
    moment_s = outlook(plans[0], "A", memory).light.lamps_on_s
    wish = Wish(aim=next(one for one in AIMS if one == aim), moment_s=moment_s)
    measure(
        f"settings, aim {aim}",
        "search",
        lambda k: settings_of(plans[k % 10], "A", memory, wish),
        10,
    )


def test_settings_for_one_start(measure: Measure) -> None:
    plans, memory = _moved(load(PLANS["corvane_harbour"])), Memory()
    press_s = outlook(plans[0], "A", memory).press_s
    wish = Wish(earliest_s=press_s, latest_s=press_s)
    step = lambda k: settings_of(plans[k % 10], "A", memory, wish)  # noqa: E731
    measure("settings for one start", "search", step, 10)


def test_against_asking_the_forecast_about_each_mix() -> None:
    """A ratio, printed: every start of each take and exposure by the forecast, one by one."""
    plan, memory = load(PLANS["corvane_harbour"]), Memory()
    seen = outlook(plan, "A", memory)
    begin = time.thread_time()
    found = settings_of(plan, "A", memory, Wish())
    search_s = time.thread_time() - begin
    begin = time.thread_time()
    asked = [starts(apply_choice(plan, "A", choice), "A", memory) for choice in found.choices]
    one_s = (time.thread_time() - begin) / len(asked)
    most_min = seen.flight.max_take_min or 0.0
    takes = takes_of(plan.camera, Wish().preferences, most_min, seen.shoot.frame_rate_fps)
    mixes = len(takes) * len(exposures_of(plan.camera).mids)
    ratio = mixes * one_s / search_s
    print(
        f"\nsettings: {1000.0 * search_s:.0f} ms CPU, {1000.0 * search_s / BUDGET_MS:.2f} of "
        f"{BUDGET_MS:.0f} ms; {mixes} takes and exposures one by one are {ratio:.0f} times that"
    )
    assert any(mid_log2(apply_choice(plan, "A", one).shoots.A) != seen.mid for one in found.choices)
    assert asked


def test_every_start_against_the_plain_judge() -> None:
    """A ratio, printed: the starts of a night with chances, against plain loops over frames."""
    plan, memory = load(PLANS["corvane_harbour"]), Memory()
    starts(plan, "A", memory)
    again = with_values(plan, {"shoots.A.iso": 200.0})
    begin = time.thread_time()
    found = starts(again, "A", memory)
    starts_s = time.thread_time() - begin
    judge, some = PlainJudge(again), found.time_s[:: len(found.time_s) // 20]
    begin = time.thread_time()
    told = [judge.start(float(time_s), memory)[0] for time_s in some]
    plain_s = (time.thread_time() - begin) / len(some) * len(found.time_s)
    print(
        f"\n{len(found.time_s)} starts: {1000.0 * starts_s:.0f} ms CPU with their chances;"
        f" the plain judge takes {plain_s:.1f} s without, {plain_s / starts_s:.0f} times that"
    )
    slack = found.slack_stops[:: len(found.time_s) // 20]
    assert slack == pytest.approx(np.array(told), abs=0.02)
    assert starts_s < plain_s
