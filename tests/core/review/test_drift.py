"""Following the ground: shifts of a fraction of a pixel, and poses that move it by plan."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import ArrayLike
from scipy import ndimage

from core.edit import with_values
from core.exposure import FloatArray
from core.memory import Memory
from core.plan import Camera
from core.review.departure import STAYED, Departure, departed, departure_px
from core.review.drift import Follow, followed, tiles_of
from core.review.geometry import Lens, Pose, moved
from core.review.match import Grey, Match, detail_of, matched
from core.review.measure import SURE_PX
from core.review.review import each_look, review
from tests.core.review.takes import FEW
from tests.practice.take import write_take
from tests.practice.truth import Truth

#: Ground in a plane, blurred so that it has no detail finer than a pixel.
GROUND = ndimage.gaussian_filter(np.random.default_rng(5).normal(0.0, 1.0, (1500, 1500)), 2.0)
GROUND = 90.0 + 25.0 * GROUND / GROUND.std()


def match_of(first: ArrayLike, second: ArrayLike, reach: int = 20) -> Match:
    one, two = (detail_of(np.asarray(part, dtype=np.float32)) for part in (first, second))
    return matched(one, two, reach)


def noisy(picture: ArrayLike, seed: int) -> Grey:
    picture = np.asarray(picture)
    noise = np.random.default_rng(seed).normal(0.0, 4.0, picture.shape)
    return np.asarray(picture + noise, dtype=np.float32)


@given(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0))
def test_a_shift_is_found_to_a_part_of_a_pixel(right: float, down: float) -> None:
    first = GROUND[300:428, 300:428]
    whole = ndimage.shift(GROUND[250:480, 250:480], (down, right), order=3)
    second = 0.97 * whole[50:178, 50:178]
    found = match_of(noisy(first, 1), noisy(second, 2))
    assert found.off == pytest.approx((right, down), abs=0.15)
    assert found.alike > 0.5


def test_pictures_of_other_ground_are_not_alike() -> None:
    first, other = GROUND[:128, :128], GROUND[700:828, 700:828]
    assert match_of(first, other).alike < 0.3


def test_along_a_street_a_shift_is_told_badly_and_across_it_well_and_how_badly_is_told() -> None:
    turn = np.radians(35.0)
    ways = np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    y, x = np.mgrid[:128, :128]
    profile = ndimage.gaussian_filter(np.random.default_rng(6).normal(0.0, 1.0, 800), 1.5)
    street = np.interp(x * ways[1, 0] + y * ways[1, 1], np.arange(-400, 400), profile)
    picture = 90.0 + 25.0 * street / street.std() + 0.15 * (GROUND[:128, :128] - 90.0)
    found = [match_of(noisy(picture, k), noisy(picture, 1000 + k), 4) for k in range(80)]
    told = np.sqrt(np.mean([np.diag(ways @ one.spread @ ways.T) for one in found], axis=0))
    off = np.sqrt(np.mean([(ways @ one.off) ** 2 for one in found], axis=0))
    assert off[1] < 0.6 * off[0]
    # 80 draws tell a 1-sigma to 8 %.
    assert told == pytest.approx(off, rel=0.25)


def seen(pose: Pose, lens: Lens) -> Grey:
    """The ground drawn from a pose, 0.25 m a grain."""
    x, y = np.meshgrid(np.arange(lens.columns) + 0.5, np.arange(lens.rows) + 0.5)
    east, north = lens.ground(pose, x, y)
    rows, columns = 750.0 - north * 4.0, 750.0 + east * 4.0
    return np.asarray(
        ndimage.map_coordinates(GROUND, (rows, columns), order=1, mode="wrap"), dtype=np.float32
    )


LENS = Lens.of(Camera(), 640, 360)
KEY, PLANNED = Pose(0.0, 0.0, 80.0, 250.0, -60.0), Pose(-1.0, 1.5, 80.5, 251.0, -59.0)
#: Slid by a metre, turned by a fraction of a degree.
OFF = np.array([0.8, -0.9, 0.2, 0.5, -0.6, 0.1])


def find(first: Grey, second: Grey, start: FloatArray = STAYED.figures) -> Departure:
    follow = Follow(LENS, PLANNED, KEY)
    tiles = tiles_of(second, np.ones((48, 64), bool), follow)
    found, departure = followed(first, second, follow, tiles, start)
    assert len(found) >= 3
    assert departure is not None
    return departure


def test_what_the_path_plans_is_no_departure_and_what_it_does_not_is_measured() -> None:
    first = noisy(seen(KEY, LENS), 1)
    for off in (STAYED.figures, OFF):
        departure = find(first, noisy(seen(moved(PLANNED, off), LENS), 2))
        true, _ = departure_px(LENS, PLANNED, Departure(off, STAYED.spread, STAYED.by_lean))
        told, spread = departure_px(LENS, PLANNED, departure)
        assert told == pytest.approx(true, abs=0.1)
        assert np.abs(told - true).max() < 3.0 * np.sqrt(np.diag(spread)).max()


def test_where_the_ground_of_a_departed_pose_shows_is_what_its_lens_says() -> None:
    told, _ = departure_px(LENS, PLANNED, Departure(OFF, STAYED.spread, STAYED.by_lean))
    at = np.array([0.5 * LENS.columns]), np.array([0.8 * LENS.rows])
    x, y = LENS.pixel(moved(PLANNED, OFF), *LENS.ground(PLANNED, *at))
    assert told == pytest.approx((x[0] - at[0][0], y[0] - at[1][0]), abs=1e-6)


def exact(off: FloatArray, wrong: ArrayLike = 0.0) -> Departure:
    """What points of the ground tell whose shifts are exact, the first of them wrong."""
    at = np.array([(x, y) for x in (80.0, 320.0, 560.0) for y in (90.0, 200.0, 320.0)])
    departure = STAYED
    for _ in range(3):
        before = moved(PLANNED, departure.figures)
        true = np.stack(LENS.pixel(moved(PLANNED, off), *LENS.ground(before, *at.T)), axis=1)
        true[0] += wrong
        spread = np.tile(1e-4 * np.eye(2), (len(at), 1, 1))
        departure = departed(LENS, KEY, PLANNED, departure.figures, at, true - at, spread)
    return departure


def test_sliding_and_turning_are_told_apart_and_a_wrong_match_does_little() -> None:
    told = exact(OFF)
    assert told.figures == pytest.approx(OFF, abs=0.03)
    off_px = [departure_px(LENS, PLANNED, one)[0] for one in (told, exact(OFF, (6.0, -4.0)))]
    assert off_px[1] == pytest.approx(off_px[0], abs=0.1)


def test_departures_of_one_step_and_the_next_add_up_and_so_does_what_is_unsure() -> None:
    one = exact(OFF)
    two = one + one
    assert two.figures == pytest.approx(2.0 * one.figures)
    assert two.spread == pytest.approx(2.0 * one.spread)
    # A camera that leans leans the same in both.
    assert two.full_spread - two.spread == pytest.approx(4.0 * (one.full_spread - one.spread))


def test_a_pixel_and_its_ground_are_one_and_the_same() -> None:
    lens = Lens.of(Camera(), 800, 450)
    pose = Pose(12.0, -30.0, 65.0, 200.0, -35.0)
    x, y = np.array([10.5, 400.0, 700.2]), np.array([100.0, 225.0, 440.0])
    east, north = lens.ground(pose, x, y)
    assert np.stack(lens.pixel(pose, east, north)) == pytest.approx(np.stack([x, y]))
    leaning = moved(pose, np.array([0.0, 0.0, 0.0, 0.0, 0.0, 7.0]))
    across, down, ahead = lens.view(leaning) @ np.stack([east, north, np.ones(3)])
    assert np.stack(lens.pixel(leaning, east, north)) == pytest.approx(
        np.stack([across, down]) / ahead
    )


def test_where_a_few_tiles_tell_unsurely_they_alone_go_on_telling_the_light(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lamps light another share of other ground: its light would leap from frame to frame."""
    plan = with_values(FEW, {"shoots.A.clip_length_s": 0.32})
    write_take(tmp_path, plan, Truth(), 3)
    gains = []
    for sure_px in (SURE_PX, 0.0):
        monkeypatch.setattr("core.review.measure.SURE_PX", sure_px)
        reviewed = review(plan, "A", tmp_path, Memory(), processes=0)
        gains.append([look.brighter for _, look in each_look(reviewed)])
    assert max(map(len, gains[0])) >= 4
    assert [len(one) for one in gains[1]] == [len(one) for one in gains[0]]
