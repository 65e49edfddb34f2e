"""CIE standard skies."""

from __future__ import annotations

import numpy as np
import pytest

from core.sky.cie import (
    CLEAR_SKY,
    OVERCAST_ILLUMINANCE_PER_ZENITH,
    overcast_sky,
    standard_sky,
)
from tests.skies import hemisphere_lx


@pytest.mark.parametrize("sun", [0.0, 5.0, 30.0, 60.0, 90.0])
def test_the_zenith_is_one(sun: float) -> None:
    assert standard_sky(CLEAR_SKY, sun, 90.0, 17.0) == pytest.approx(1.0, abs=1e-12)


def test_the_clear_sky_shines_about_the_sun() -> None:
    view, azimuth = np.meshgrid(np.arange(0.0, 91.0), np.arange(-180.0, 180.0), indexing="ij")
    sky = standard_sky(CLEAR_SKY, 25.0, view, azimuth)
    brightest = np.unravel_index(sky.argmax(), sky.shape)
    # The gradation draws the peak a little below the Sun.
    assert abs(view[brightest] - 25.0) <= 2.0
    assert azimuth[brightest] == 0.0
    assert (sky > 0.0).all()


def test_left_is_like_right_and_below_the_horizon_like_the_horizon() -> None:
    np.testing.assert_allclose(
        standard_sky(CLEAR_SKY, 20.0, 10.0, [30.0, 150.0]),
        standard_sky(CLEAR_SKY, 20.0, 10.0, [-30.0, -150.0]),
    )
    np.testing.assert_array_equal(
        standard_sky(CLEAR_SKY, 20.0, [-30.0, -0.1], 40.0),
        standard_sky(CLEAR_SKY, 20.0, [0.0, 0.0], 40.0),
    )


def test_the_overcast_sky_lights_the_ground_as_its_formula_says() -> None:
    # Moon & Spencer 1942: L = Lz (1 + 2 sin h) / 3, whence E = 7 pi Lz / 9.
    lit = hemisphere_lx(lambda _, view, azimuth: overcast_sky(view) + 0.0 * azimuth, 0.0)
    assert lit == pytest.approx(OVERCAST_ILLUMINANCE_PER_ZENITH, rel=1e-4)
    assert overcast_sky(0.0) == pytest.approx(1.0 / 3.0)
    assert overcast_sky(-10.0) == pytest.approx(1.0 / 3.0)
