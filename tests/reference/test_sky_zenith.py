"""The zenith of the clear twilight sky against Patat, Ugolnikov & Postylyakov 2006."""

from __future__ import annotations

import numpy as np
import pytest

from tests.skies import default_sky, published


def patat_cd_m2(sun_altitude_deg: float) -> float:
    """V band of A&A 455, 385, Table 1, as luminance.

    1.08e5 cd/m2 is a V magnitude of 0 in every square arcsecond (Garstang 1986, PASP 98, 364).
    """
    (band,) = (row for row in published("zenith_twilight_patat2006.csv") if row["band"] == "V")
    x = -sun_altitude_deg - 5.0
    magnitude = float(band["a0"]) + x * (float(band["a1"]) + x * float(band["a2"]))
    return float(1.08e5 * 10.0 ** (-0.4 * magnitude))


@pytest.mark.parametrize("sun", [-6.0, -7.0, -8.0, -9.0, -10.0])
def test_zenith_luminance(sun: float) -> None:
    zenith = float(default_sky().luminance(sun, 90.0, 0.0))
    assert abs(np.log2(zenith / patat_cd_m2(sun))) < 0.3


def test_the_zenith_fades_as_fast_as_measured() -> None:
    # The same table: 1.14 mag per degree in V between -5 and -10, by a straight line.
    sun = np.linspace(-5.0, -10.0, 51)
    magnitude = -2.5 * np.log10(default_sky().luminance(sun, 90.0, 0.0))
    slope = -float(np.polyfit(sun, magnitude, 1)[0])
    assert slope == pytest.approx(1.14, abs=0.12)
