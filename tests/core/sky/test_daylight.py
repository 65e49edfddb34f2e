"""Illuminance of level ground."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.sky.daylight import NIGHT_ILLUMINANCE_LX, horizontal_illuminance_lx


def test_it_never_falls_while_the_sun_climbs_through_twilight() -> None:
    # The published joints fit within 0.014 stop: steps up or down of that size remain.
    level = horizontal_illuminance_lx(np.linspace(-30.0, 60.0, 9001))
    assert (np.diff(np.log2(level)) > -0.015).all()


@pytest.mark.parametrize("joint", [-18.0, -12.0, -5.0, -0.8, 5.0, 20.0])
def test_branches_join(joint: float) -> None:
    below, above = horizontal_illuminance_lx([joint - 1e-9, joint + 1e-9])
    assert abs(np.log2(above / below)) < 0.015


def test_night_is_held() -> None:
    np.testing.assert_array_equal(
        horizontal_illuminance_lx([-18.5, -40.0, -90.0]), [NIGHT_ILLUMINANCE_LX] * 3
    )


@given(st.floats(-90.0, 90.0))
def test_a_number_and_an_array_agree(altitude: float) -> None:
    alone = horizontal_illuminance_lx(altitude)
    assert alone.shape == ()
    together = horizontal_illuminance_lx([[altitude, 0.0]])
    np.testing.assert_allclose(together[0, 0], alone, rtol=1e-12)


@pytest.mark.parametrize("altitude", [np.nan, np.inf, -90.5, 91.0])
def test_what_is_no_altitude_is_refused(altitude: float) -> None:
    with pytest.raises(ValueError, match="sun_altitude_deg"):
        horizontal_illuminance_lx([0.0, altitude])
