"""Moonlight on level ground."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.moonlight import moon_illuminance_lx
from tests.dusk import rows

MEAN_PARALLAX_DEG = 0.951


# Explanatory Supplement to the Astronomical Almanac 1992, ch. 9, coefficients.
@pytest.mark.parametrize("row", rows("coef_moon_expsupp1992.csv"), ids=lambda row: row["h_min"])
@pytest.mark.parametrize("share", [0.01, 0.5, 0.99])
def test_the_published_cubic(row: dict[str, str], share: float) -> None:
    low, high = float(row["h_min"]), float(row["h_max"])
    altitude = low + share * (high - low)
    x = altitude / 90.0
    log_lux = sum(float(row[f"l{power}"]) * x**power for power in range(4))
    moon = moon_illuminance_lx(altitude, 180.0, MEAN_PARALLAX_DEG)
    assert np.log10(moon) == pytest.approx(log_lux, abs=1e-12)


# The same formula read at a moon 40 degrees up, at mean distance: full, three days from
# full, half and a crescent.
@pytest.mark.parametrize(
    ("elongation_deg", "lux"), [(180.0, 0.14), (150.0, 0.078), (90.0, 0.017), (60.0, 0.0045)]
)
def test_spot_values(elongation_deg: float, lux: float) -> None:
    moon = moon_illuminance_lx(40.0, elongation_deg, MEAN_PARALLAX_DEG)
    assert moon == pytest.approx(lux, rel=0.06)


@given(st.floats(-90.0, 90.0), st.floats(0.0, 180.0), st.floats(0.90, 1.03))
def test_it_grows_with_height_phase_and_nearness(
    altitude: float, elongation: float, parallax: float
) -> None:
    here = float(moon_illuminance_lx(altitude, elongation, parallax))
    assert 0.0 <= here < 0.5
    assert (here == 0.0) == (altitude < -0.8)
    # The joints of the published branches are off by up to 0.03 in log10.
    assert moon_illuminance_lx(min(altitude + 5.0, 90.0), elongation, parallax) >= 0.93 * here
    assert moon_illuminance_lx(altitude, min(elongation + 5.0, 180.0), parallax) >= here
    assert moon_illuminance_lx(altitude, elongation, 1.03) >= here
