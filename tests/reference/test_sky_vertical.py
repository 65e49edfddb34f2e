"""Light on upright walls by the sky's own table and by the measured twilight.

Source: Koomen, Lock, Packer, Scolnik, Tousey & Hulburt 1952, JOSA 42(5), 353-356, Table I
(Maryland), integrated over the half of the sky that each wall sees. Published with that
integration, toward the glow and away from it: 1030 and 523 lx at sun altitude 0, 136 and 51 at
-3, 5.3 and 1.2 at -6, 0.19 and 0.044 at -9.

Measured departures of the model in stops, sun altitudes 0, -3, -6, -9:

========================  =========================  =========================
ratio                     default haze (0.12)        haze that fits best (0.22)
========================  =========================  =========================
toward / away             +0.19 +0.40 +0.50 +0.40    +0.06 +0.14 +0.12 +0.01
across / away             +0.01 +0.03 +0.28 +0.09    -0.01 -0.07 +0.11 -0.08
toward / level ground     +0.23 +0.34 +0.34 +0.34     0.00 +0.06 -0.05 -0.09
across / level ground     +0.06 -0.03 +0.12 +0.03    -0.07 -0.15 -0.06 -0.19
away / level ground       +0.05 -0.06 -0.16 -0.06    -0.06 -0.08 -0.17 -0.10
========================  =========================  =========================

So with its haze known a wall is told within 0.2 stop whichever way it faces; at the default
haze only the wall that faces the glow is off, up to half a stop too bright.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.reference.test_sky_koomen import measured_wall_lx, sky_of
from tests.skies import hemisphere_lx

#: Sun altitude: lx on a wall toward the glow and on one away from it, as published.
PUBLISHED_LX = {0.0: (1030.0, 523.0), -3.0: (136.0, 51.0), -6.0: (5.3, 1.2), -9.0: (0.19, 0.044)}
BEST_HAZE, DEFAULT_HAZE = 0.22, 0.12
FACING_DEG: dict[str, float | None] = {
    "toward": 0.0, "across": 90.0, "away": 180.0, "level": None,
}  # fmt: skip
SIDES = ("toward", "across", "away")


def departure_stops(haze: float, sun: float, one: str, other: str) -> float:
    """Model over measurement of the ratio of two faces; the level cancels out."""
    sky = sky_of(haze).luminance

    def ratio(lx: dict[str, float]) -> float:
        return lx[one] / lx[other]

    model = {name: hemisphere_lx(sky, sun, facing) for name, facing in FACING_DEG.items()}
    found = {name: measured_wall_lx(sun, facing) for name, facing in FACING_DEG.items()}
    return float(np.log2(ratio(model) / ratio(found)))


@pytest.mark.parametrize("sun", PUBLISHED_LX)
def test_the_measured_cells_add_up_to_the_published_light_on_walls(sun: float) -> None:
    found = [measured_wall_lx(sun, facing) for facing in (0.0, 180.0)]
    assert found == pytest.approx(PUBLISHED_LX[sun], rel=0.05)


@pytest.mark.parametrize("sun", PUBLISHED_LX)
@pytest.mark.parametrize(("haze", "within"), [(DEFAULT_HAZE, 0.53), (BEST_HAZE, 0.2)])
def test_toward_and_away_as_published(sun: float, haze: float, within: float) -> None:
    toward, away = PUBLISHED_LX[sun]
    sky = sky_of(haze).luminance
    ratio = hemisphere_lx(sky, sun, 0.0) / hemisphere_lx(sky, sun, 180.0)
    assert abs(np.log2(ratio / (toward / away))) < within


@pytest.mark.parametrize("sun", PUBLISHED_LX)
@pytest.mark.parametrize("side", SIDES)
def test_walls_over_level_ground_at_the_haze_that_fits_best(sun: float, side: str) -> None:
    assert abs(departure_stops(BEST_HAZE, sun, side, "level")) < 0.2


@pytest.mark.parametrize("sun", PUBLISHED_LX)
@pytest.mark.parametrize(("side", "within"), [("toward", 0.36), ("across", 0.15), ("away", 0.18)])
def test_walls_over_level_ground_at_the_default_haze(sun: float, side: str, within: float) -> None:
    assert abs(departure_stops(DEFAULT_HAZE, sun, side, "level")) < within


@pytest.mark.parametrize("sun", PUBLISHED_LX)
def test_a_wall_across_gets_more_than_one_turned_away(sun: float) -> None:
    sky = sky_of(BEST_HAZE).luminance
    toward, across, away = (hemisphere_lx(sky, sun, FACING_DEG[side]) for side in SIDES)
    assert toward > across > away
