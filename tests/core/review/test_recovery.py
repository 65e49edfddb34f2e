"""Practice takes whose truth the review does not see: what it finds beside what is true."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from core.edit import with_values
from core.exposure import FloatArray
from core.forecast import outlook
from core.lastnight import without_take
from core.memory import Memory
from core.path import poses_along
from core.plan import Plan
from core.review.geometry import Lens, each_pose
from core.review.learn import Shown, Taught, shown_of, taught_by
from core.review.review import review
from tests.dusk import december_plan
from tests.practice.take import PracticeTake, write_take
from tests.practice.truth import Handling, Lasting, Tonight, Truth, drawn_truth

#: The worked case in 4:3, as small stills are; a few frames far apart where light is asked for.
PLAN = december_plan(camera__aspect="4:3")
SPARSE = with_values(PLAN, {"shoots.A.clip_length_s": 4.0, "shoots.A.interval_s": 9.0})
SEEDS = range(100, 108)


@dataclass(frozen=True)
class Case:
    take: PracticeTake
    shown: Shown
    taught: Taught


def reviewed(plan: Plan, truth: Truth, seed: int) -> Case:
    memory = Memory()
    with TemporaryDirectory() as folder:
        take = write_take(Path(folder), plan, truth, seed)
        shown = shown_of(review(plan, "A", folder, memory, processes=0))
    return Case(take, shown, taught_by(shown, shown.reviewed.plan, memory))


@cache
def drawn(seed: int) -> Case:
    return reviewed(SPARSE, drawn_truth(SPARSE, "A", seed), seed)


@cache
def dense() -> Case:
    return reviewed(PLAN, drawn_truth(PLAN, "A", 2), 2)


def true_land(case: Case) -> FloatArray:
    by_name = {frame.file: frame for frame in case.take.frames}
    frames = [by_name[frame.still.file] for frame in case.shown.reviewed.frames]
    return np.array([frame.land_log2 for frame in frames]) - case.shown.reviewed.mid


@pytest.mark.parametrize("seed", SEEDS)
def test_every_missing_frame_is_found_and_none_made_up(seed: int) -> None:
    case = drawn(seed)
    assert case.shown.reviewed.timeline.missing == case.take.truth.handling.missing
    assert case.shown.reviewed.timeline.strangers == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_the_nights_ambient_offset_is_found_within_its_stated_uncertainty(seed: int) -> None:
    case = drawn(seed)
    truth, after = case.take.truth, case.taught.lesson.after
    found = after.of("level") + after.of("weather")
    off = found - truth.lasting.level_stops - truth.tonight.weather_stops
    sigma = float(after.sigma_stops(level=1.0, weather=1.0))
    assert sigma < 0.25
    assert abs(off) < 2.5 * sigma


def test_over_many_takes_the_stated_uncertainty_covers_the_truth_at_its_rate() -> None:
    z = []
    for seed in SEEDS:
        case = drawn(seed)
        lasting, tonight = case.take.truth.lasting, case.take.truth.tonight
        after = case.taught.lesson.after
        # One take tells level and weather together alone: how they are split is the prior's.
        ambient = lasting.level_stops + tonight.weather_stops
        found = after.of("level") + after.of("weather")
        z += [
            (found - ambient) / float(after.sigma_stops(level=1.0, weather=1.0)),
            (after.of("haze") - tonight.haze_sigmas) / after.sigma_of("haze"),
            (after.of("lamps") - lasting.lamps_stops) / after.sigma_of("lamps"),
            (after.of("sky") - tonight.sky_stops) / after.sigma_of("sky"),
        ]
    # 68 % within one sigma, at 2.5 sigmas of a binomial draw of so many figures.
    margin = 2.5 * np.sqrt(0.683 * 0.317 / len(z))
    assert np.mean(np.abs(z) < 1.0) > 0.683 - margin
    assert np.max(np.abs(z)) < 3.5


def test_lamps_that_burn_from_the_first_frame_on_are_not_told_to_come_on() -> None:
    for seed in SEEDS:
        case = drawn(seed)
        half_s = case.take.lamps_half_s
        assert half_s is not None
        assert half_s < case.shown.reviewed.frames[0].time_s
        assert case.shown.lamps is None


def test_lands_tone_is_measured_within_a_fifth_of_a_stop_where_it_is_near_mid_grey() -> None:
    off = []
    for seed in SEEDS:
        case = drawn(seed)
        true = true_land(case)
        near = np.abs(true) < 1.0
        away = (case.shown.estimated.land.stops - true)[near]
        off += [float(np.nanmean(away))] if np.isfinite(away).any() else []
    assert len(off) >= len(SEEDS) - 2
    assert np.sqrt(np.mean(np.square(off))) < 0.2


def test_flicker_is_found_to_a_tenth() -> None:
    case = dense()
    true = np.std([frame.flicker_stops for frame in case.take.frames])
    assert case.shown.estimated.flicker_stops == pytest.approx(true, rel=0.1)


def test_the_grounds_shift_from_frame_to_frame_is_found_to_a_third_of_a_pixel() -> None:
    case = dense()
    seen, (width, height) = case.shown.reviewed, case.take.size
    lens = Lens.of(seen.plan.camera, width, height)
    poses = each_pose(poses_along(seen.seen.path, seen.tones.way))
    planned = []
    for one, other in pairwise(poses):
        x, y = np.array(0.5 * width), np.array(0.8 * height)
        at_x, at_y = lens.pixel(other, *lens.ground(one, x, y))
        planned.append((float(at_x - x), float(at_y - y)))
    found = np.array(planned) + np.diff(seen.departure_px, axis=0)
    off = found - case.take.shift_px()
    assert np.sqrt(np.nanmean(off**2)) < 0.3


def test_where_the_camera_clips_is_learned_and_taken_back() -> None:
    case = dense()
    figure = next(one for one in case.taught.figures if one.name == "highlight_stops")
    assert figure.scope == "camera"
    assert abs(figure.after - case.take.truth.lasting.highlight_stops) < 2.5 * figure.after_sigma
    kept = case.taught.lesson.plan
    assert kept.camera.highlight_stops == figure.after
    assert without_take(kept, case.shown.reviewed.take.id, Memory()) == PLAN


def test_reviewed_again_a_take_counts_once(tmp_path: Path) -> None:
    write_take(tmp_path, SPARSE, drawn_truth(SPARSE, "A", 103), 103)
    memory, plan = Memory(), SPARSE
    kept = []
    for _ in range(2):
        shown = shown_of(review(plan, "A", tmp_path, memory, processes=0))
        plan = taught_by(shown, shown.reviewed.plan, memory).lesson.plan
        kept.append(plan)
    assert plan.camera.highlight_stops != SPARSE.camera.highlight_stops
    assert kept[0] == kept[1]


def test_torn_and_broken_files_strangers_and_changed_settings_are_told() -> None:
    handling = Handling(
        torn=(5, 40), strangers=2, broken=("empty", "text", "hostile_exif", "cut"),
    )  # fmt: skip
    case = reviewed(SPARSE, Truth(handling=handling), 4)
    seen = case.shown.reviewed
    told = {one.file for one in (*seen.unreadable, *seen.timeline.strangers)}
    torn = {frame.file for frame in case.take.frames if frame.torn}
    assert torn <= told
    assert set(case.take.strangers) <= told
    assert seen.timeline.missing == ()


def test_after_three_takes_the_place_is_known_and_the_tones_are_nearer() -> None:
    plan, off = SPARSE, []
    lasting = Lasting(level_stops=0.5, lamps_stops=-0.6, curve="plain")
    for number, weather in enumerate((-0.2, 0.25, 0.0)):
        tonight = Tonight(weather_stops=weather, sky_stops=0.1)
        day = SPARSE.shoots.A.date + dt.timedelta(days=number)
        planned = with_values(plan, {"shoots.A.date": day})
        seen = outlook(planned, "A", Memory())
        case = reviewed(planned, Truth(lasting, tonight), 30 + number)
        expected = np.interp(
            case.shown.reviewed.tones.time_s, seen.tones.time_s, seen.tones.land.stops
        )
        off.append(float(np.mean(true_land(case) - expected)) - weather)
        plan = case.taught.lesson.plan
    assert case.taught.lesson.after.of("level") == pytest.approx(0.5, abs=0.3)
    assert abs(off[2]) < abs(off[0])
