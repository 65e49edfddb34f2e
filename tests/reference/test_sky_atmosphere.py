"""The sky's atmosphere against published tables."""

from __future__ import annotations

import numpy as np
import pytest

from core.sky.atmosphere import (
    STRATOSPHERE_AOD,
    air_density_ratio,
    coefficients,
    ozone_cross_section_m2,
    ozone_native_column_du,
    rayleigh_cross_section_m2,
)
from core.sky.beam import EDGE_DEG, BeamPaths, trace_beams
from core.sky.spectrum import photopic_quadrature

# U.S. Standard Atmosphere, 1976, Table I: geometric height [km], density [kg/m3].
USSA_1976 = [
    (0.0, 1.2250), (5.0, 7.3643e-1), (10.0, 4.1351e-1), (15.0, 1.9476e-1), (20.0, 8.8910e-2),
    (30.0, 1.8410e-2), (40.0, 3.9957e-3), (50.0, 1.0269e-3), (60.0, 3.0968e-4),
    (70.0, 8.2829e-5), (80.0, 1.8458e-5), (100.0, 5.604e-7),
]  # fmt: skip


@pytest.mark.parametrize(("height_km", "density"), USSA_1976)
def test_air_density(height_km: float, density: float) -> None:
    assert float(air_density_ratio(height_km)) * 1.2250 == pytest.approx(density, rel=1e-3)


# Bodhaine et al. 1999, J. Atmos. Oceanic Technol. 16, 1854, Table 3: optical depth at sea level,
# 1013.25 hPa, 45 deg N (from memory; 0.0971 at 550 nm is also the usual textbook figure).
@pytest.mark.parametrize(("wavelength_nm", "depth"), [(400.0, 0.3602), (550.0, 0.0971)])
def test_rayleigh_optical_depth(wavelength_nm: float, depth: float) -> None:
    height = np.linspace(0.0, 120.0, 12001)
    air = coefficients(wavelength_nm, 0.15, height).air
    assert float(np.trapezoid(air, height)) == pytest.approx(depth, rel=3e-3)


def test_rayleigh_cross_section() -> None:
    # Bodhaine et al. 1999, Table 1: 4.513e-27 cm2 at 550 nm for dry air with 360 ppm CO2.
    assert float(rayleigh_cross_section_m2(550.0)) == pytest.approx(4.513e-31, rel=2e-3)


def test_ozone() -> None:
    # Krueger & Minzner 1976, J. Geophys. Res. 81, 4477: total of the model 345 DU.
    assert ozone_native_column_du() == pytest.approx(345.0, rel=0.01)
    # Chappuis maximum near 602 nm, 5.1e-25 m2 (Serdyuchenko et al. 2014, AMT 7, 625).
    assert float(ozone_cross_section_m2(605.0)) == pytest.approx(5.1e-25, rel=0.03)


@pytest.mark.parametrize("aod", [0.05, 0.15, 0.30, 0.50])
def test_haze_adds_up_to_its_optical_depth(aod: float) -> None:
    height = np.linspace(0.0, 120.0, 12001)
    here = coefficients(550.0, aod, height)
    ozone = 300.0 * 2.6868e20 * float(ozone_cross_section_m2(550.0))
    total = float(np.trapezoid(here.extinction - here.air, height)) - ozone
    # The stratosphere's layer is always there and not counted as haze.
    assert total == pytest.approx(aod + STRATOSPHERE_AOD, rel=3e-3)
    assert (here.haze <= here.extinction).all()


@pytest.mark.parametrize(
    ("aod", "range_km"), [(0.05, 110.0), (0.15, 38.0), (0.30, 19.0), (0.50, 12.0)]
)
def test_haze_as_visual_range(aod: float, range_km: float) -> None:
    # Koschmieder 1924: a black object fades to 2 % contrast at 3.912 / extinction. 110 km is
    # very clear, 38 km clear, 19 km light haze, 12 km haze in the international visibility code.
    extinction = float(coefficients(550.0, aod, np.zeros(1)).extinction[0])
    assert 3.912 / extinction == pytest.approx(range_km, rel=0.05)


def test_sunlight_above_the_air() -> None:
    # Darula, Kittler & Gueymard 2005, Solar Energy 79, 559: luminous solar constant 133.3 klx
    # (from memory).
    assert photopic_quadrature()[1].sum() == pytest.approx(133_300.0, rel=0.01)


@pytest.fixture(scope="module")
def paths() -> BeamPaths:
    return trace_beams()


def ground_ray(paths: BeamPaths, sun_altitude_deg: float) -> tuple[float, float]:
    """Apparent altitude [deg] and air mass for a true altitude of the Sun."""
    sine = np.interp(-sun_altitude_deg, EDGE_DEG, paths.upright[0])
    overhead = paths.column[0, 0, 0]
    return float(np.degrees(np.arcsin(sine))), float(
        np.interp(-sun_altitude_deg, EDGE_DEG, paths.column[0, 0]) / overhead
    )


@pytest.mark.parametrize("sun", [-0.4, 0.0, 1.0, 2.0, 5.0, 10.0, 30.0])
def test_air_mass(paths: BeamPaths, sun: float) -> None:
    # Kasten & Young 1989, Appl. Opt. 28, 4735: m = 1 / (sin h + 0.50572 (h + 6.07995)^-1.6364).
    apparent, air_mass = ground_ray(paths, sun)
    sine = np.sin(np.radians(apparent))
    expected = 1.0 / (sine + 0.50572 * (apparent + 6.07995) ** -1.6364)
    assert air_mass == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("sun", [-0.5, 0.0, 1.0, 2.0, 5.0, 10.0])
def test_refraction(paths: BeamPaths, sun: float) -> None:
    # Saemundsson 1986, Sky & Telescope 72, 70: R = 1.02' / tan(h + 10.3 / (h + 5.11)), h true
    # altitude, 10 degC and 1010 hPa.
    apparent, _ = ground_ray(paths, sun)
    expected = 1.02 / np.tan(np.radians(sun + 10.3 / (sun + 5.11))) / 60.0
    assert apparent - sun == pytest.approx(expected, abs=0.03)
