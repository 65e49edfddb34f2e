"""The offline solver: known answers, symmetry, convergence, energy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from core.sky.atmosphere import GROUND_ALBEDO, TOP_KM, FloatArray, coefficients
from core.sky.beam import EDGE_DEG, HEIGHT_KM, BeamPaths, trace_beams
from core.sky.orders import (
    Grid,
    Sky,
    fine_heights_km,
    ray_medium,
    solve,
    successive_orders,
)
from core.sky.transfer import RAYLEIGH_FLAT, RAYLEIGH_LOBE, henyey_greenstein
from tests.skies import rms
from tests.smallsolver import COARSE

SUN = np.array([6.0, 2.0, 0.0, -3.0, -6.0, -9.0, -12.0])[:, None]
VIEW = np.array([1.0, 5.0, 20.0, 50.0, 90.0, 2.0, 10.0, 40.0, 5.0, 30.0])
AZIMUTH = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 90.0, 90.0, 90.0, 180.0, 180.0])


def look(sky: Sky) -> FloatArray:
    return sky.radiance(0.0, SUN, VIEW, AZIMUTH)


@pytest.fixture(scope="module")
def paths() -> BeamPaths:
    return trace_beams()


@pytest.fixture(scope="module")
def sky(paths: BeamPaths) -> Sky:
    return solve(paths, 550.0, 0.15, COARSE)


def test_radiance_is_positive_everywhere(sky: Sky) -> None:
    rng = np.random.default_rng(7)
    height, sun = rng.uniform(0.0, 100.0, 2000), rng.uniform(-14.0, 90.0, 2000)
    view, azimuth = rng.uniform(-90.0, 90.0, 2000), rng.uniform(-180.0, 180.0, 2000)
    radiance = sky.radiance(height, sun, view, azimuth)
    assert np.isfinite(radiance).all()
    assert (radiance > 0.0).all()


def test_left_is_like_right(sky: Sky) -> None:
    left, right = (sky.radiance(0.15, SUN, VIEW, side * (AZIMUTH + 20.0)) for side in (-1.0, 1.0))
    np.testing.assert_allclose(left, right, rtol=1e-12)


def test_the_sky_darkens_as_the_sun_sinks(sky: Sky) -> None:
    sun = np.arange(-14.0, -1.0, 0.25)[:, None]
    assert (np.diff(sky.radiance(0.0, sun, VIEW, AZIMUTH), axis=0) > 0.0).all()


def test_higher_orders_are_what_the_tail_says(paths: BeamPaths, sky: Sky) -> None:
    more = solve(paths, 550.0, 0.15, replace(COARSE, orders=9))
    assert np.abs(np.log2(look(sky) / look(more))).max() < 0.03


def test_one_order_is_much_too_dark_in_deep_twilight(paths: BeamPaths, sky: Sky) -> None:
    # At -9 nearly all of the zenith's light has been scattered more than once; at +6 a third.
    single = solve(paths, 550.0, 0.15, replace(COARSE, orders=1))
    share = look(single)[:, 4] / look(sky)[:, 4]
    assert 0.5 < share[0] < 0.8
    assert share[5] < 0.05


def test_finer_steps_change_little(paths: BeamPaths, sky: Sky) -> None:
    finer = solve(paths, 550.0, 0.15, replace(COARSE, steps=40, fine_steps=160))
    change = np.log2(look(finer) / look(sky))
    assert rms(change) < 0.02
    assert np.abs(change).max() < 0.06


# ---- made-up atmospheres with known answers ----


def even_sun() -> FloatArray:
    """Full sunlight wherever the Sun is above the geometric horizon."""
    return np.where(EDGE_DEG < 0.0, 1.0, 0.0) * np.ones((HEIGHT_KM.size, 1))


def made_up(
    air: FloatArray, haze: FloatArray, absorption: FloatArray, grid: Grid, *, lit: bool = True
) -> Sky:
    optics = np.stack([air, haze, air + haze + absorption])
    ground = np.maximum(np.cos(np.radians(grid.sun_zenith_deg)), 0.0) * float(lit)
    sun = even_sun() * float(lit)
    return successive_orders(grid, ray_medium(grid, optics, sun), ground)


def test_a_black_atmosphere_over_unlit_ground_is_black() -> None:
    fine = fine_heights_km()
    nothing = np.zeros_like(fine)
    brief = replace(COARSE, orders=3)
    sky = made_up(nothing, nothing, nothing + 0.1, brief, lit=False)
    assert sky.radiance(0.0, SUN, VIEW, AZIMUTH).max() == 0.0
    # In the dark an atmosphere that scatters has nothing to scatter, but for the floor of a log.
    dark = made_up(nothing + 0.01, nothing, nothing, brief, lit=False)
    assert dark.radiance(0.0, SUN, VIEW, AZIMUTH).max() < 1e-28


def test_lit_ground_is_dimmed_by_the_air_in_between() -> None:
    fine = fine_heights_km()
    nothing, absorption = np.zeros_like(fine), 0.05 * np.exp(-fine / 8.0)
    sky = made_up(nothing, nothing, absorption, replace(COARSE, orders=2))
    depth = 0.05 * 8.0 * (1.0 - np.exp(-TOP_KM / 8.0))
    expected = GROUND_ALBEDO / np.pi * np.exp(-depth)
    assert float(sky.radiance(TOP_KM, 90.0, -90.0, 0.0)) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("view", [90.0, 60.0, 30.0])
def test_thin_air_scatters_once(view: float) -> None:
    # One order, air too thin to dim anything: coefficient x path x phase function.
    fine = fine_heights_km()
    air, haze = np.where(fine < 10.0, 1e-6, 0.0), np.where(fine < 10.0, 2e-6, 0.0)
    sky = made_up(air, haze, np.zeros_like(fine), replace(COARSE, orders=1, fine_steps=400))
    cosine = np.sin(np.radians(view)) * np.sin(np.radians(40.0))
    cosine += np.cos(np.radians(view)) * np.cos(np.radians(40.0)) * np.cos(np.radians(70.0))
    phase = 1e-6 * (RAYLEIGH_FLAT + RAYLEIGH_LOBE * cosine**2)
    phase += 2e-6 * float(henyey_greenstein(np.asarray(cosine)))
    expected = phase * 10.0 / np.sin(np.radians(view))
    # The Earth's curve shortens a slanting path a little.
    assert float(sky.radiance(0.0, 40.0, view, 70.0)) == pytest.approx(expected, rel=0.01)


def test_phase_functions_share_out_all_the_light() -> None:
    x, w = np.polynomial.legendre.leggauss(64)
    rayleigh = RAYLEIGH_FLAT + RAYLEIGH_LOBE * x**2
    assert 2.0 * np.pi * float(w @ rayleigh) == pytest.approx(1.0, rel=1e-12)
    assert 2.0 * np.pi * float(w @ henyey_greenstein(x)) == pytest.approx(1.0, rel=1e-9)
    assert float(w @ (x * henyey_greenstein(x)) / (w @ henyey_greenstein(x))) == pytest.approx(0.7)


def test_scattering_loses_no_light() -> None:
    # Blue air without ozone or haze under a high Sun: the net flux down is the same above the
    # air as at the ground, where what is not reflected stays.
    grid = replace(COARSE, orders=8)
    fine = fine_heights_km()
    air = coefficients(450.0, 0.15, fine).air
    nothing = np.zeros_like(fine)
    depth = float(np.trapezoid(air, fine))
    above = np.array([np.trapezoid(air[fine >= h], fine[fine >= h]) for h in HEIGHT_KM])
    sun_zenith = EDGE_DEG + 90.0  # near the zenith a height's horizon makes no odds
    slant = np.maximum(np.cos(np.radians(sun_zenith)), 1e-3)
    sun = np.exp(-above[:, None] / slant) * (slant > 2e-3)
    ground = np.exp(-depth) * np.maximum(np.cos(np.radians(grid.sun_zenith_deg)), 0.0)
    optics = np.stack([air, nothing, air])
    sky = successive_orders(grid, ray_medium(grid, optics, sun), ground)
    down_ground = np.exp(-depth) + diffuse(sky, 0.0, upward=False)
    net_ground = (1.0 - GROUND_ALBEDO) * down_ground
    direct = float(np.exp(-np.interp(40.0, HEIGHT_KM, above)))
    net_high = direct + diffuse(sky, 40.0, upward=False) - diffuse(sky, 40.0, upward=True)
    assert net_high == pytest.approx(net_ground, rel=0.01)


def diffuse(sky: Sky, height_km: float, *, upward: bool) -> float:
    """Diffuse flux through a level plane with the Sun at the zenith."""
    x, w = np.polynomial.legendre.leggauss(40)
    sine, weight = 0.5 * (1.0 + x), 0.5 * w
    view = np.degrees(np.arcsin(sine)) * (-1.0 if upward else 1.0)
    radiance = sky.radiance(height_km, 90.0, view, 0.0)
    return float(2.0 * np.pi * np.sum(weight * sine * radiance))
