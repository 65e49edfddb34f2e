"""The sunbeam through a spherical, refracting atmosphere."""

from __future__ import annotations

import numpy as np
import pytest

from core.sky.atmosphere import air_density_ratio
from core.sky.beam import (
    EDGE_DEG,
    HEIGHT_KM,
    BeamPaths,
    beam,
    geometric_horizon_deg,
    trace_beams,
    transmittance,
)


@pytest.fixture(scope="module")
def paths() -> BeamPaths:
    return trace_beams()


def nearest(height_km: float) -> int:
    return int(np.abs(HEIGHT_KM - height_km).argmin())


def test_nothing_gains_light_and_the_shadow_is_dark(paths: BeamPaths) -> None:
    assert (paths.spread >= 0.0).all()
    assert paths.spread.max() < 1.001  # n squared at the ground is 1.0006
    for share in (transmittance(paths, 550.0, 0.15), *beam(paths, 550.0, 0.15)):
        assert np.isfinite(share).all()
        assert share.min() >= 0.0
        assert share.max() <= 1.001
    normal, level = beam(paths, 550.0, 0.15)
    # On the ground the Sun is gone when its upper limb is refracted away: 0.9 deg below.
    assert normal[0, EDGE_DEG > 0.95].max() == 0.0
    assert level[0, EDGE_DEG > 0.95].max() == 0.0
    # From 120 km it still comes up to 1.1 deg of refraction beyond the horizon.
    assert normal[-1, EDGE_DEG > 1.7].max() == 0.0
    assert paths.spread[-1, nearest_edge(0.9)] > 0.0


def nearest_edge(edge_deg: float) -> int:
    return int(np.abs(EDGE_DEG - edge_deg).argmin())


def test_an_overhead_sun_crosses_one_air_mass(paths: BeamPaths) -> None:
    overhead = nearest_edge(-89.0)
    columns = paths.column[:, 0, overhead]
    height = np.linspace(0.0, 120.0, 120001)
    air = float(np.trapezoid(air_density_ratio(height), height))
    # 300 DU of ozone, and each haze as a multiple of its own column.
    vertical = [air, 300.0 * 2.6868e20, 1.0, 1.0, 1.0]
    np.testing.assert_allclose(columns * np.cos(np.radians(1.0)), vertical, rtol=2e-3)


def test_haze_dims_and_reddens(paths: BeamPaths) -> None:
    low_sun = nearest_edge(-5.0)
    blue, red = (transmittance(paths, w, 0.15)[0, low_sun] for w in (450.0, 650.0))
    hazy = transmittance(paths, 450.0, 0.30)[0, low_sun]
    assert hazy < blue < red


def test_the_disc_blurs_the_edge_of_the_shadow_but_loses_no_light(paths: BeamPaths) -> None:
    point = paths.spread * transmittance(paths, 550.0, 0.15)
    normal, _ = beam(paths, 550.0, 0.15)
    row = nearest(60.0)
    inside = slice(nearest_edge(-20.0), nearest_edge(2.5))
    assert normal[row, inside].sum() == pytest.approx(point[row, inside].sum(), rel=2e-3)
    assert np.abs(np.diff(normal[row])).max() < np.abs(np.diff(point[row])).max()


def test_the_horizon_sinks_with_height() -> None:
    # sqrt(2 h / R) to a tenth of a percent: 0.35 deg at 120 m, 1.0 deg at 1 km.
    dip = geometric_horizon_deg(np.array([0.0, 0.12, 1.0])) - 90.0
    np.testing.assert_allclose(dip, [0.0, 0.3517, 1.0151], atol=2e-4)
