"""Figures of the camera over several takes: told together, and only where they can be."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest

from core.edit import with_values
from core.memory import Memory
from core.plan import Learned
from core.review.faults import faults_of
from core.review.figures import with_taught, write_time_changed
from core.review.learn import Shown, shown_of
from core.review.review import Reviewed, review
from core.review.timeline import SettingChange
from core.review.words import verdict_sentences
from tests.practice.plans import plan_of
from tests.practice.take import write_take
from tests.practice.truth import Truth


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """A short take."""
    folder: Path = tmp_path_factory.mktemp("stills")
    plan = plan_of(6)
    write_take(folder, plan, Truth(), 3)
    return shown_of(review(plan, "A", folder, Memory(), processes=0))


def at_interval(shown: Shown, factor: float, taught: Learned | None = None) -> Reviewed:
    """The take at another interval than was planned, after what a take before it taught."""
    seen = shown.reviewed
    plan = seen.plan
    if taught is not None:
        plan = with_values(plan, {"camera.write_time_s": taught.value})
        plan = msgspec.structs.replace(plan, learned=(taught,))
    interval_s = factor * seen.seen.shoot.interval_s
    return replace(seen, plan=plan, timeline=replace(seen.timeline, interval_s=interval_s))


def learned(value: float, sigma: float) -> Learned:
    return Learned(name="write_time_s", value=value, sigma=sigma, unit="s", scope="camera")


def test_a_second_take_that_agrees_makes_the_write_time_surer(shown: Shown) -> None:
    first = write_time_changed(at_interval(shown, 1.2))
    assert first is not None
    one = first.figure
    again = write_time_changed(at_interval(shown, 1.2, learned(one.after, one.after_sigma)))
    assert again is not None
    assert again.figure.after == pytest.approx(one.after, abs=0.002)
    # The mean of two alike is surer by the root of two.
    assert again.figure.after_sigma == pytest.approx(one.after_sigma / np.sqrt(2.0))


def test_takes_count_by_how_sure_they_are_and_contradiction_stays_unsure(shown: Shown) -> None:
    plan = at_interval(shown, 1.0, learned(2.0, 0.2)).plan
    value, sigma = with_taught(plan, "write_time_s", 2.0, 2.1, 0.1)
    # Weights 25 and 100.
    assert (value, sigma) == pytest.approx((2.08, 125.0**-0.5))
    _, apart = with_taught(plan, "write_time_s", 2.0, 3.0, 0.1)
    assert apart == pytest.approx(125.0**-0.5 * 1.0 / np.hypot(0.2, 0.1))
    # A value that was typed since gives way to what is seen.
    assert with_taught(plan, "write_time_s", 1.0, 2.1, 0.1) == (2.1, 0.1)


def test_stills_at_the_interval_of_another_shoot_teach_no_write_time(shown: Shown) -> None:
    other = at_interval(shown, 2.5)
    assert write_time_changed(other) is None
    told = " ".join(verdict_sentences(replace(shown, reviewed=other), ()))
    assert "no write time is learned; see that the stills are of this shoot" in told


def test_a_zone_that_was_only_assumed_is_told(shown: Shown) -> None:
    zone = shown.reviewed.plan.place.time_zone
    told = f"it was taken to show the time of {zone}."
    assert told not in " ".join(verdict_sentences(shown, ()))
    timeline = replace(shown.reviewed.timeline, offset_told=False)
    assumed = replace(shown, reviewed=replace(shown.reviewed, timeline=timeline))
    assert told in " ".join(verdict_sentences(assumed, ()))


@pytest.mark.parametrize(
    ("name", "way_out"),
    [("orientation", "keep the camera as it was turned"), ("iso", "lock the exposure"),
     ("focal_equivalent_mm", "keep to one lens and zoom")],
)  # fmt: skip
def test_each_changed_setting_has_a_way_out_of_its_own(
    shown: Shown, name: str, way_out: str
) -> None:
    change = SettingChange(2, name, 1.0, 2.0)
    timeline = replace(shown.reviewed.timeline, changes=(change,))
    faults = faults_of(replace(shown, reviewed=replace(shown.reviewed, timeline=timeline)))
    (fault,) = (one for one in faults if one.name == "settings")
    assert fault.sentence.endswith(f"; {way_out}.")
