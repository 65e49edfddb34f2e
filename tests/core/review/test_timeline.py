"""The comb of a take: order, interval, missing frames, strangers, clocks."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edit import PlanError
from core.review.exif import Exif
from core.review.stills import Still
from core.review.timeline import Timeline, timeline_of

NOON_S = 1_796_472_000.0


def still(name: str, clock_s: float | None, **exif: object) -> Still:
    return Still(name, 4000, 3000, Exif(clock_s=clock_s, camera="Maker C1", **exif))  # type: ignore[arg-type]


def take(seconds: list[float], zone: str = "UTC", **exif: object) -> Timeline:
    stills = [still(f"{k:04d}.jpg", NOON_S + at, **exif) for k, at in enumerate(seconds)]
    random.Random(3).shuffle(stills)  # noqa: S311
    return timeline_of(stills, zone)


@given(
    interval_s=st.floats(2.0, 20.0),
    frames=st.integers(12, 200),
    lost=st.sets(st.integers(1, 198), max_size=30),
    digits=st.sampled_from((0, 2, 3)),
    seed=st.integers(0, 1000),
)
def test_every_missing_frame_is_found_and_none_is_made_up(
    interval_s: float, frames: int, lost: set[int], digits: int, seed: int
) -> None:
    lost = {k for k in lost if k < frames - 1}
    # A comb of which most neighbours are gone has no telling gap.
    if sum(k not in lost and k + 1 not in lost for k in range(frames - 1)) < frames / 2:
        return
    rng = random.Random(seed)  # noqa: S311
    clock = {
        k: round(k * interval_s + rng.uniform(-0.1, 0.1), digits)
        for k in range(frames)
        if k not in lost
    }
    found = take(list(clock.values()))
    assert set(found.missing) == lost
    assert found.strangers == ()
    assert found.interval_s == pytest.approx(interval_s, abs=0.1)
    assert [frame.index for frame in found.frames] == sorted(clock)


def test_the_true_interval_is_told_where_the_camera_was_slower_than_asked() -> None:
    assert take([k * 3.4 for k in range(100)]).interval_s == pytest.approx(3.4, abs=1e-6)


def test_test_stills_copies_and_other_days_do_not_belong() -> None:
    clock = [k * 3.0 for k in range(50)]
    found = take([*clock, -40.0, -24.8, 31.4, 60.0, 9000.0])
    told = {int(one.file[:4]): one.reason for one in found.strangers}
    assert told == {
        50: "it was taken beside the take, off its interval",
        51: "it was taken beside the take, off its interval",
        52: "it was taken between two frames of the take",
        53: "it was taken between two frames of the take",
        54: "it was taken long before or after the take",
    }
    assert found.missing == ()
    assert len(found.frames) == 50


def test_stills_of_another_camera_or_size_do_not_belong() -> None:
    frames = [still(f"{k}.jpg", NOON_S + 3.0 * k) for k in range(9)]
    phone = Still("phone.jpg", 4000, 3000, Exif(clock_s=NOON_S, camera="Phone"))
    small = Still("small.jpg", 400, 300, Exif(clock_s=NOON_S, camera="Maker C1"))
    timeless = still("x.jpg", None)
    found = timeline_of([phone, *frames, small, timeless], "UTC")
    assert [one.reason for one in found.strangers] == [
        "it is by another camera than the take",
        "it has 400 × 300 pixels, the take 4000 × 3000",
        "it does not say when it was taken",
    ]


def test_the_zone_of_the_place_counts_where_the_camera_tells_no_offset() -> None:
    # Dusk of December in Paris is one hour ahead of UTC.
    told = take([0.0, 3.0, 6.0], "Europe/Paris")
    assert told.frames[0].time_s == NOON_S - 3600.0
    assert not told.offset_told
    own = take([0.0, 3.0, 6.0], "Europe/Paris", offset_s=7200.0)
    assert own.frames[0].time_s == NOON_S - 7200.0
    assert own.offset_told


def test_satellite_time_corrects_a_clock_that_is_wrong() -> None:
    stills = [
        still(f"{k}.jpg", NOON_S + 3.0 * k, gps_s=NOON_S + 3.0 * k - 95.0 - 0.3 * (k % 3))
        for k in range(20)
    ]
    found = timeline_of(stills, "UTC")
    assert found.clock_error_s == pytest.approx(95.3, abs=0.3)
    assert found.frames[0].time_s == pytest.approx(NOON_S - 95.3, abs=0.3)


def test_a_setting_that_changes_in_the_take_is_told_where_it_does() -> None:
    stills = [
        still(f"{k:02d}.jpg", NOON_S + 3.0 * k, iso=100.0 if k < 12 else 200.0, exposure_s=1.0)
        for k in range(20)
    ]
    (change,) = timeline_of(stills, "UTC").changes
    assert (change.index, change.name, change.before, change.after) == (12, "iso", 100.0, 200.0)


def test_two_stills_are_no_take() -> None:
    with pytest.raises(PlanError, match="holds 2 stills of one camera with their time"):
        take([0.0, 3.0])
