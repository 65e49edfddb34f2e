"""Practice takes whose truth the review does not see: what it finds beside what is true.

Each test draws its own takes, so that none is written twice where tests are shared out.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from core.edit import with_values
from core.exposure import FloatArray
from core.forecast import outlook
from core.lastnight import without_take
from core.memory import Memory
from core.review.faults import faults_of
from core.review.learn import shown_of, taught_by
from core.review.review import RUN_FRAMES, review
from tests.core.review.takes import FEW, ON, PLAN, Case, reviewed, shown_in
from tests.practice.take import write_take
from tests.practice.truth import (
    Change,
    Handling,
    Lasting,
    Tonight,
    Truth,
    drawn_lasting,
    drawn_truth,
)

PLACES, NIGHTS = range(40, 43), range(3)


def rms(values: FloatArray) -> float:
    return float(np.sqrt(np.nanmean(values**2)))


def nights() -> list[Case]:
    """Takes of several nights at each of several places."""
    cases = []
    for place in PLACES:
        lasting = drawn_lasting(FEW, np.random.default_rng(place))
        for night in NIGHTS:
            seed = 10 * place + night
            cases.append(reviewed(FEW, drawn_truth(FEW, "A", seed, lasting), seed))
    return cases


def test_over_many_places_and_nights_light_lamps_and_gaps_are_found_as_surely_as_stated() -> None:
    cases = nights()
    for case in cases:
        assert case.shown.reviewed.timeline.missing == case.take.truth.handling.missing
        assert case.shown.reviewed.timeline.strangers == ()
        # Lamps that burn from the first frame on are not told to come on.
        assert case.shown.estimated.lamps is None
    found = [case.departures() for case in cases]
    off = {name: np.array([one[name][0] for one in found]) for name in found[0]}
    z = np.array([departure / sigma for one in found for departure, sigma in one.values()])
    assert np.sqrt(np.mean(off["ambient"] ** 2)) < 0.2
    assert np.abs(off["ambient"]).max() < 0.35
    assert np.sqrt(np.mean(off["lamps"] ** 2)) < 0.3
    # 68 % within one sigma, at 2.5 sigmas of a binomial draw; level and weather, which stay
    # and go, are told apart by their own uncertainty and lean on each other, as do all of a take.
    independent = len(z) / 2.0
    margin = 2.5 * np.sqrt(0.683 * 0.317 / independent)
    assert 0.683 - margin < np.mean(np.abs(z) < 1.0) < 0.683 + margin
    assert np.abs(z).max() < 3.5
    # Over a whole evening, from a slow pan, with the lamps' light and the dark coming on.
    steps = [rms(case.drift_off()) for case in cases]
    assert max(steps) < 0.3
    assert np.median(steps) < 0.1
    corners = [
        case.shown.estimated.corner_loss_stops - case.take.truth.lasting.vignette_stops
        for case in cases
    ]
    assert np.sqrt(np.mean(np.square(corners))) < 0.15
    check_flicker(cases)


def check_flicker(cases: list[Case]) -> None:
    """Flicker that can be seen is told to a tenth, as a rule to less, and all as surely as said.

    No practice night falls faster or slower than expected, which the stated 1-sigma allows for.
    """
    true, off, sigma = np.array([case.flicker for case in cases]).T
    told = off[true > 0.01]
    assert len(told) >= len(cases) // 2
    assert np.abs(told).max() < 0.1
    assert np.sqrt(np.mean(told**2)) < 0.06
    z = np.abs(off / sigma)
    assert np.mean(z < 1.0) > 0.683 - 2.5 * np.sqrt(0.683 * 0.317 / len(z))
    assert z.max() < 3.0


def test_the_minute_at_which_the_lamps_come_on_is_found() -> None:
    late, lamps = [], []
    cases = [reviewed(ON, drawn_truth(ON, "A", seed), seed) for seed in range(50, 54)]
    for case in cases:
        half_s, seen = case.take.lamps_half_s, case.shown.estimated.lamps
        assert half_s is not None
        assert case.frames[3].time_s < half_s < case.frames[-4].time_s
        assert seen is not None
        assert abs(seen.half_s - half_s) < 3.0 * seen.sigma_s
        late.append(seen.half_s - half_s)
        off, sigma = case.departures()["lamps"]
        # A take that ends before its lamps are warm says nothing of their level.
        lamps += [off] if sigma < 0.9 else []
    # Within an interval, though one of the takes ends before its lamps are warm.
    assert np.max(np.abs(late)) < ON.shoots.A.interval_s
    assert len(lamps) >= 2
    assert np.sqrt(np.mean(np.square(lamps))) < 0.3
    # Lamps that warm up are no flicker.
    check_flicker(cases)


def test_the_grounds_shift_is_found_to_a_tenth_of_a_pixel_of_the_full_size() -> None:
    plan = with_values(PLAN, {"shoots.A.clip_length_s": 0.64})
    handling = Handling(drift_m_min=(0.8, -0.5), wander_px=2.0, shake_px=0.6, missing=(5,))
    case = reviewed(plan, Truth(handling=handling), 2, (2016, 1512))
    assert rms(case.drift_off()) < 0.1


def test_drift_is_told_from_the_first_frame_to_the_last_as_surely_as_stated() -> None:
    # The lamps come on halfway: the ground of the key is no longer like that of now.
    handling = Handling(drift_m_min=(0.7, -0.6), wander_px=1.0, shake_px=0.5)
    case = reviewed(ON, Truth(handling=handling), 60)
    assert rms(case.drift_off()) < 0.2
    off = case.departure_off()
    assert rms(off) < 0.5
    z = np.abs(off[1:] / case.shown.reviewed.departure_sigma_px[1:])
    # What is off in one frame is in the next: few of them are independent.
    assert np.mean(z < 1.0) > 0.5
    assert np.mean(z < 3.0) > 0.95


def test_what_the_take_changes_of_the_camera_is_learned_once_and_taken_back(tmp_path: Path) -> None:
    # A camera that was asked for less than it can keep up with, under a sky that burns in part.
    plan = with_values(FEW, {"shoots.A.start_after_event_min": 26.0, "camera.write_time_s": 1.0})
    truth = Truth(Lasting(highlight_stops=3.6), handling=Handling(interval_error_s=0.9))
    plan = with_values(plan, {"shoots.A.interval_s": 15.0, "shoots.A.shutter_s": 1.0})
    write_take(tmp_path, plan, truth, 3)
    memory, kept = Memory(), [plan]
    for _ in range(2):
        shown = shown_of(review(kept[-1], "A", tmp_path, memory, processes=0))
        # 15 min that are said to have cost a tenth more than reckoned.
        reckoned = shown.reviewed.seen.flight.take_percent_per_min
        assert reckoned is not None
        cost = (
            1.1 * reckoned * (shown.reviewed.frames[-1].time_s - shown.reviewed.seen.press_s) / 60
        )
        taught = taught_by(shown, kept[-1], memory, charges=(90.0, 90.0 - cost))
        kept.append(taught.lesson.plan)
    figures = {one.name: one for one in taught.figures}
    highlight, write = figures["highlight_stops"], figures["write_time_s"]
    assert (highlight.scope, write.scope) == ("camera", "camera")
    assert abs(highlight.after - 3.6) < 2.5 * highlight.after_sigma
    assert write.after == pytest.approx(15.9 - 1.0, abs=0.05)
    practice = figures["practice_factor"]
    assert practice.scope == "craft"
    assert practice.after / practice.before == pytest.approx(1.1, abs=0.03)
    assert practice.before_sigma is not None
    assert practice.after_sigma < practice.before_sigma
    assert kept[1].camera.highlight_stops == highlight.after
    # Reviewed again a take counts once; forgotten, it gives back what it replaced.
    assert kept[1] == kept[2]
    assert without_take(kept[2], shown.reviewed.take.id, memory) == plan


def test_torn_and_broken_files_strangers_and_changed_settings_are_told() -> None:
    handling = Handling(
        torn=(5, 40), strangers=2, broken=("empty", "text", "hostile_exif", "cut"),
        changes=(Change(20, iso=200.0),),
    )  # fmt: skip
    case = reviewed(FEW, Truth(handling=handling), 4)
    seen = case.shown.reviewed
    told = {one.file for one in (*seen.unreadable, *seen.timeline.strangers)}
    torn = {frame.file for frame in case.take.frames if frame.torn}
    assert torn <= told
    assert set(case.take.strangers) <= told
    assert seen.timeline.missing == ()
    change = seen.timeline.changes[0]
    assert (change.index, change.name, change.before, change.after) == (20, "iso", 100.0, 200.0)
    settings = [one for one in faults_of(case.shown) if one.name == "settings"]
    assert [seen.frames[one.at].index for one in settings] == [20]
    assert settings[0].sentence.startswith("The sensitivity changes from ISO 100 to ISO 200 from")
    # The change is no change of light.
    assert abs(case.departures()["ambient"][0]) < 0.3


def test_a_torn_frame_that_others_are_followed_to_is_no_flicker(tmp_path: Path) -> None:
    # Runs share their first frame with the run before: without it the ground's thread is cut.
    take = write_take(tmp_path, FEW, Truth(handling=Handling(flicker_stops=0.02)), 7)
    flicker = [flicker_in(tmp_path)]
    for torn in (RUN_FRAMES, 2 * RUN_FRAMES):
        still = tmp_path / take.frames[torn].file
        whole = still.read_bytes()
        still.write_bytes(whole[: len(whole) // 2])
        flicker.append(flicker_in(tmp_path))
        still.write_bytes(whole)
    assert flicker[1:] == pytest.approx([flicker[0]] * 2, abs=0.01)


def flicker_in(folder: Path) -> float:
    """The rms told of a take of `FEW`, none of whose frames is far off."""
    seen = shown_in(folder, FEW).estimated.flicker
    # A flash is told from 0.15 stop on.
    assert np.nanmax(np.abs(seen.off_stops)) < 0.12
    return seen.rms_stops


def test_after_three_takes_the_place_is_known_and_the_tones_are_nearer() -> None:
    plan, off = FEW, []
    lasting = Lasting(level_stops=0.5, lamps_stops=-0.6, curve="plain")
    for number, weather in enumerate((-0.2, 0.25, 0.0)):
        tonight = Tonight(weather_stops=weather, sky_stops=0.1)
        day = FEW.shoots.A.date + dt.timedelta(days=number)
        planned = with_values(plan, {"shoots.A.date": day})
        seen = outlook(planned, "A", Memory())
        case = reviewed(planned, Truth(lasting, tonight), 30 + number)
        expected = np.interp(
            case.shown.reviewed.tones.time_s, seen.tones.time_s, seen.tones.land.stops
        )
        off.append(float(np.mean(case.true_stops("land") - expected)) - weather)
        plan = case.taught.lesson.plan
    assert case.taught.lesson.after.of("level") == pytest.approx(0.5, abs=0.3)
    assert abs(off[2]) < abs(off[0])
