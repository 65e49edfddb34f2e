"""Illuminance and standard skies against their published tables."""

from __future__ import annotations

from dataclasses import astuple

import numpy as np
import pytest

from core.sky.cie import CLEAR_SKY, standard_sky
from core.sky.daylight import horizontal_illuminance_lx
from tests.skies import hemisphere_lx, published

# Explanatory Supplement to the Astronomical Almanac 1992, ch. 9, pp. 490-493.
BRANCHES = published("sun_illuminance_expsupp1992.csv")


@pytest.mark.parametrize("row", BRANCHES, ids=lambda row: row["h_min"])
def test_the_published_curve(row: dict[str, str]) -> None:
    altitude = np.linspace(float(row["h_min"]) + 1e-6, float(row["h_max"]) - 1e-6, 50)
    x = altitude / 90.0
    log10 = sum(float(row[f"l{power}"]) * x**power for power in range(4))
    np.testing.assert_allclose(np.log10(horizontal_illuminance_lx(altitude)), log10, atol=1e-12)


@pytest.mark.parametrize(
    ("sun", "lowest", "highest"), [(-0.833, 410.0, 585.0), (-6.0, 2.0, 3.5), (-12.0, 0.007, 0.009)]
)
def test_the_ends_of_the_twilights(sun: float, lowest: float, highest: float) -> None:
    # AMS Glossary of Meteorology: "civil twilight" from 585-410 lx at sunset to 3.5-2 lx,
    # "nautical twilight" to about 0.008 lx.
    assert lowest < float(horizontal_illuminance_lx(sun)) < highest


def test_the_clear_sky_is_type_12() -> None:
    (row,) = (row for row in published("cie_s011_skies.csv") if row["type"] == "12")
    assert astuple(CLEAR_SKY) == tuple(float(row[name]) for name in "abcde")


def test_the_clear_sky_is_that_of_the_older_standard() -> None:
    # CIE 22 (TC-4.2) 1973, "Standardization of luminance distribution on clear skies" (from
    # memory): f = 0.91 + 10 exp(-3 chi) + 0.45 cos^2 chi and 1 - exp(-0.32 / sin h), the same sky.
    sun, view, azimuth = 30.0, np.array([2.0, 15.0, 40.0, 75.0]), np.array([170.0, 20.0, 60.0, 0.0])

    def older(view_deg: np.ndarray, azimuth_deg: np.ndarray) -> np.ndarray:
        s, v, a = np.radians(sun), np.radians(view_deg), np.radians(azimuth_deg)
        cosine = np.sin(s) * np.sin(v) + np.cos(s) * np.cos(v) * np.cos(a)
        glow = 0.91 + 10.0 * np.exp(-3.0 * np.arccos(cosine)) + 0.45 * cosine**2
        return np.asarray(glow * (1.0 - np.exp(-0.32 / np.sin(v))))

    expected = older(view, azimuth) / older(np.array([90.0]), np.array([0.0]))
    np.testing.assert_allclose(standard_sky(CLEAR_SKY, sun, view, azimuth), expected, rtol=3e-3)


def test_the_clear_sky_adds_up_to_a_plausible_share_of_its_zenith() -> None:
    # Kittler, Perez & Darula 1998 (from memory): Dv / Lz of clear skies lies between about 5 and
    # 25, rising as the Sun sinks away from the zenith.
    unit = [
        hemisphere_lx(lambda s, v, a: standard_sky(CLEAR_SKY, s, v, a), sun)
        for sun in (60.0, 30.0, 10.0)
    ]
    assert 2.0 < unit[0] < unit[1] < unit[2] < 25.0
