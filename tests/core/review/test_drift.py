"""Following the ground: shifts of a fraction of a pixel, and poses that move it by plan."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from core.plan import Camera
from core.review.drift import Follow, Grey, departure_px, detail_of, followed, shift_px, tiles_of
from core.review.geometry import Lens, Pose

RNG = np.random.default_rng(5)
#: Ground in a plane, blurred so that it has no detail finer than a pixel.
GROUND = ndimage.gaussian_filter(RNG.normal(0.0, 1.0, (1500, 1500)), 2.0)
GROUND = 90.0 + 25.0 * GROUND / GROUND.std()


def shift_between(first: Grey, second: Grey) -> tuple[float, float, float]:
    return shift_px(detail_of(first), detail_of(second))


def noisy(picture: Grey) -> Grey:
    return np.asarray(picture + RNG.normal(0.0, 4.0, picture.shape), dtype=np.float32)


@given(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0))
def test_a_shift_is_found_to_a_part_of_a_pixel(right: float, down: float) -> None:
    first = GROUND[300:428, 300:428]
    whole = ndimage.shift(GROUND[250:480, 250:480], (down, right), order=3)
    second = 0.97 * whole[50:178, 50:178]
    found = shift_between(noisy(first.astype(np.float32)), noisy(second.astype(np.float32)))
    assert found[:2] == pytest.approx((right, down), abs=0.15)
    assert found[2] > 0.5


def test_pictures_of_other_ground_are_not_alike() -> None:
    first, other = GROUND[:128, :128], GROUND[700:828, 700:828]
    assert shift_between(first.astype(np.float32), other.astype(np.float32))[2] < 0.3


def seen(pose: Pose, lens: Lens) -> Grey:
    """The ground drawn from a pose, 0.25 m a grain."""
    x, y = np.meshgrid(np.arange(lens.columns) + 0.5, np.arange(lens.rows) + 0.5)
    east, north = lens.ground(pose, x, y)
    rows, columns = 750.0 - north * 4.0, 750.0 + east * 4.0
    return np.asarray(
        ndimage.map_coordinates(GROUND, (rows, columns), order=1, mode="wrap"), dtype=np.float32
    )


def test_what_the_path_plans_is_no_departure_and_what_it_does_not_is_measured() -> None:
    lens = Lens.of(Camera(), 640, 360)
    key = Pose(0.0, 0.0, 80.0, 250.0, -60.0)
    pose = Pose(-1.0, 1.5, 80.5, 251.0, -59.0)
    first, second = noisy(seen(key, lens)), seen(pose, lens)
    second = noisy(ndimage.shift(second, (5.3, -8.4), order=3, mode="nearest"))
    follow = Follow(lens, pose, key)
    tiles = tiles_of(second, np.ones((48, 64), bool), follow)
    found = followed(first, second, follow, tiles)
    right, down = departure_px(found, lens)
    assert len(found) >= 3
    assert (right, down) == pytest.approx((-8.4, 5.3), abs=0.1)


def test_a_pixel_and_its_ground_are_one_and_the_same() -> None:
    lens = Lens.of(Camera(), 800, 450)
    pose = Pose(12.0, -30.0, 65.0, 200.0, -35.0)
    x, y = np.array([10.5, 400.0, 700.2]), np.array([100.0, 225.0, 440.0])
    again = np.stack(lens.pixel(pose, *lens.ground(pose, x, y)))
    assert again == pytest.approx(np.stack([x, y]))
