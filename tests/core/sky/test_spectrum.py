"""Wavelengths and colours."""

from __future__ import annotations

import numpy as np
import pytest

from core.sky.atmosphere import ozone_cross_section_m2, rayleigh_per_km
from core.sky.interpolate import FloatArray
from core.sky.spectrum import (
    BAND_NM,
    LUMINANCE_OF_RGB,
    _illuminance_per_band,
    linear_rgb,
    luminance,
    photopic_quadrature,
    rgb_of_spectrum,
    solver_wavelengths_nm,
)


def through_air(wavelength_nm: FloatArray, air_masses: float, ozone_masses: float) -> FloatArray:
    """Sunlight scattered once and thinned by air and ozone: like twilight, in miniature."""
    air = np.array([rayleigh_per_km(w) for w in wavelength_nm]) * 8.43
    ozone = ozone_cross_section_m2(wavelength_nm) * 300.0 * 2.6868e20
    return np.asarray(air * np.exp(-air * air_masses - ozone * ozone_masses))


PATHS = [(1.0, 1.0), (5.0, 10.0), (10.0, 25.0), (20.0, 5.0), (2.0, 30.0)]


@pytest.mark.parametrize("path", PATHS)
def test_four_wavelengths_stand_for_the_whole_spectrum(path: tuple[float, float]) -> None:
    nodes, weights = photopic_quadrature()
    whole = float(_illuminance_per_band() @ through_air(BAND_NM, *path))
    four = float(weights @ through_air(nodes, *path))
    assert abs(np.log2(four / whole)) < 0.05


def test_gauss_points_are_exact_up_to_the_seventh_power() -> None:
    nodes, weights = photopic_quadrature()
    measure = _illuminance_per_band()
    for power in range(8):
        exact = float(np.sum(measure * (BAND_NM / 550.0) ** power))
        assert float(np.sum(weights * (nodes / 550.0) ** power)) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("path", PATHS)
def test_five_wavelengths_give_the_colour(path: tuple[float, float]) -> None:
    five = linear_rgb(through_air(solver_wavelengths_nm(), *path))
    whole = rgb_of_spectrum(through_air(BAND_NM, *path))
    assert np.abs(np.log2(five / whole)).max() < 0.15


def test_colours_have_luminance_one_and_stay_in_the_gamut() -> None:
    wavelengths = solver_wavelengths_nm()
    deep_blue, deep_red = through_air(wavelengths, 0.0, 60.0), through_air(wavelengths, 60.0, 0.0)
    rgb = linear_rgb(np.stack([deep_blue, np.ones(5), deep_red]))
    np.testing.assert_allclose(rgb @ LUMINANCE_OF_RGB, 1.0)
    assert (rgb >= 0.01 - 1e-12).all()
    assert rgb[0, 2] > rgb[1, 2] > rgb[2, 2]
    assert rgb[0, 0] < rgb[1, 0] < rgb[2, 0]


def test_luminance_of_unattenuated_sunlight_is_the_sum_of_the_weights() -> None:
    assert luminance(np.ones(5)) == pytest.approx(photopic_quadrature()[1].sum())
