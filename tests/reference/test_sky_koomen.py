"""The sky's brightness by direction against the measured twilight of Maryland.

Koomen, Lock, Packer, Scolnik, Tousey & Hulburt 1952, JOSA 42(5), 353-356, Table I. Their two
sites, Maryland and a mountain in New Mexico, differ by 0.7 stop rms: half a stop is about what a
clear sky can be told without knowing its haze.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from core.sky.interpolate import FloatArray
from core.sky.table import HazeSky
from tests.skies import hemisphere_lx, published, rms, shipped

SITE_HEIGHT_M = 30.0
COMPARED_SUNS = (5.0, 3.0, 0.0, -3.0, -6.0, -9.0, -12.0)


@dataclass(frozen=True)
class Cells:
    """Measured cells, one zenith per sun altitude, less those that the Sun's disc spoils."""

    sun: FloatArray
    view: FloatArray
    azimuth: FloatArray
    luminance: FloatArray

    def difference(self, sky: HazeSky) -> FloatArray:
        """Model over measurement [stops]."""
        return np.log2(sky.luminance(self.sun, self.view, self.azimuth) / self.luminance)

    def shape(self, sky: HazeSky) -> FloatArray:
        """The same with the mean of every sun altitude taken off."""
        difference = self.difference(sky)
        for sun in np.unique(self.sun):
            difference[self.sun == sun] -= difference[self.sun == sun].mean()
        return difference


def measured(lowest_view_deg: float) -> Cells:
    rows = [
        (float(row["sun_altitude_deg"]), float(row["view_altitude_deg"]),
         float(row["azimuth_from_sun_deg"]), float(row["luminance_cd_m2"]))
        for row in published("koomen1952_maryland.csv") if not row["flag"]
    ]  # fmt: skip
    sun, view, azimuth, _ = table = np.array(rows).T
    once = (view < 90.0) | (azimuth == 0.0)
    return Cells(*table[:, np.isin(sun, COMPARED_SUNS) & (view >= lowest_view_deg) & once])


@pytest.fixture(scope="module")
def cells() -> Cells:
    return measured(10.0)


def sky_of(haze: float) -> HazeSky:
    return shipped().at(haze, SITE_HEIGHT_M)


def test_all_cells_are_there(cells: Cells) -> None:
    # Seven sun altitudes, six azimuths at four view altitudes and one zenith.
    assert cells.luminance.size == 7 * (6 * 4 + 1)


def test_absolute_at_the_default_haze(cells: Cells) -> None:
    difference = cells.difference(sky_of(0.12))
    assert rms(difference) < 0.42
    assert np.mean(np.abs(difference) < 0.5) > 0.74
    assert np.abs(difference).max() < 1.6


def test_shape_at_the_default_haze(cells: Cells) -> None:
    assert rms(cells.shape(sky_of(0.12))) < 0.275


def test_shape_at_the_haze_that_fits_best(cells: Cells) -> None:
    hazes = np.linspace(0.05, 0.5, 46)
    errors = [rms(cells.shape(sky_of(haze))) for haze in hazes]
    assert min(errors) < 0.185
    # A plausible haze for a summer at sea level in the eastern United States.
    assert 0.15 < hazes[int(np.argmin(errors))] < 0.35


@pytest.mark.parametrize("sun", COMPARED_SUNS)
def test_shape_at_every_sun(cells: Cells, sun: float) -> None:
    here = cells.sun == sun
    assert rms(cells.shape(sky_of(0.22))[here]) < 0.28


def test_an_even_sky_would_be_much_worse(cells: Cells) -> None:
    # What the directions are worth: one luminance all over misses the shape by more than a stop.
    log2 = np.log2(cells.luminance)
    for sun in COMPARED_SUNS:
        log2[cells.sun == sun] -= log2[cells.sun == sun].mean()
    assert rms(log2) > 3.0 * rms(cells.shape(sky_of(0.12)))


# ---- light on walls, from the same measurements ----


def measured_wall_lx(sun: float, facing_deg: float | None) -> float:
    """Illuminance of a wall by the measured sky, log-linear between its cells."""
    cells = measured(0.0)
    views, azimuths = np.array([0.0, 10.0, 30.0, 50.0, 70.0, 90.0]), np.unique(cells.azimuth)
    nodes = np.full((views.size, azimuths.size), np.nan)
    for v, a, value in zip(
        cells.view[cells.sun == sun], cells.azimuth[cells.sun == sun],
        np.log(cells.luminance[cells.sun == sun]), strict=True,
    ):  # fmt: skip
        nodes[np.searchsorted(views, v), np.searchsorted(azimuths, a)] = value
    nodes[-1] = nodes[-1, 0]
    # A cell that holds the Sun is told by the one above it.
    nodes[0] = np.where(np.isnan(nodes[0]), nodes[1], nodes[0])

    def sky(_: float, view: FloatArray, azimuth: FloatArray) -> FloatArray:
        rows = np.stack([np.interp(np.abs(azimuth), azimuths, row) for row in nodes], axis=-1)
        columns = [np.interp(view.ravel(), views, row) for row in rows]
        return np.asarray(np.exp(np.stack(columns, axis=-1)))

    return hemisphere_lx(sky, sun, facing_deg)


@pytest.mark.parametrize("sun", [0.0, -3.0, -6.0, -9.0])
@pytest.mark.parametrize(("haze", "tolerance"), [(0.12, 0.55), (0.22, 0.28)])
def test_walls_toward_and_away_from_the_glow(sun: float, haze: float, tolerance: float) -> None:
    # The level cancels out of the ratio: it is tied to another measurement than this one. 0.22 is
    # the haze that fits these measurements best.
    sky = sky_of(haze).luminance
    toward, away = (hemisphere_lx(sky, sun, facing) for facing in (0.0, 180.0))
    measured_toward, measured_away = (measured_wall_lx(sun, facing) for facing in (0.0, 180.0))
    assert abs(np.log2((toward / away) / (measured_toward / measured_away))) < tolerance


@pytest.mark.parametrize("sun", [0.0, -3.0, -6.0, -9.0])
def test_walls_beside_level_ground(sun: float) -> None:
    # By the measured sky a wall facing the glow gets 1.0 to 1.6 times what the ground does, one
    # facing away 0.33 to 0.5 times.
    sky = sky_of(0.22).luminance
    toward, away, level = (hemisphere_lx(sky, sun, facing) for facing in (0.0, 180.0, None))
    assert 0.95 < toward / level < 1.6
    assert 0.30 < away / level < 0.5
