"""The invented town: how much of it is street, and that filtering loses no light."""

from __future__ import annotations

import numpy as np
import pytest

from core.preview.town import (
    LAMP_SPACING_M,
    PLAIN_RGB,
    STREET_PITCH_M,
    Town,
    street_width_m,
    town_at,
)
from core.preview.view import GroundPoints, Pixels
from tests.previewing import LUMINANCE

SHARES = (0.05, 0.25, 0.6, 0.95)


def seen_from_above(side_m: float, step_m: float, footprint_m: float) -> GroundPoints:
    """A square of ground on an even grid."""
    at = np.arange(0.0, side_m, step_m, dtype=np.float32)
    east, north = (grid.astype(np.float32) for grid in np.meshgrid(at, at))
    foot = np.full_like(east, footprint_m)
    level: Pixels = np.hypot(east, north).astype(np.float32)
    return GroundPoints(east, north, east, north, level, foot, foot)


def lamplight_mean(town: Town) -> float:
    return float((town.lamplight * town.street).sum() / town.street.sum())


@pytest.mark.parametrize("share", SHARES)
def test_the_streets_cover_the_lit_share_of_the_ground(share: float) -> None:
    town = town_at(seen_from_above(3000.0, 4.0, 1.0), share)
    assert town.street.mean() == pytest.approx(share, rel=0.02)


def test_all_of_the_ground_or_none_of_it_may_be_lit() -> None:
    points = seen_from_above(500.0, 3.0, 1.0)
    assert not town_at(points, 0.0).street.any()
    assert town_at(points, 1.0).street.min() == pytest.approx(1.0, abs=1e-4)
    assert street_width_m(1.0) == pytest.approx(min(STREET_PITCH_M))


@pytest.mark.parametrize("footprint_m", [0.5, 4.0, 15.0, 60.0, 300.0])
def test_a_coarser_pixel_sees_the_same_share_of_street(footprint_m: float) -> None:
    town = town_at(seen_from_above(3000.0, 7.0, footprint_m), 0.25)
    assert town.street.mean() == pytest.approx(0.25, rel=0.03)


def test_a_pixel_wider_than_the_blocks_sees_no_pattern() -> None:
    town = town_at(seen_from_above(2000.0, 11.0, 300.0), 0.25)
    assert np.ptp(town.street) < 1e-4
    assert np.ptp(town.lamplight) < 1e-3
    assert town.blocks == pytest.approx(np.broadcast_to(PLAIN_RGB, town.blocks.shape), abs=1e-5)


@pytest.mark.parametrize("footprint_m", [0.5, 2.0, 6.0, 12.0])
def test_the_lamps_give_the_streets_their_mean_light(footprint_m: float) -> None:
    town = town_at(seen_from_above(800.0, 0.9, footprint_m), 0.25)
    # A point of light at the street's middle spills over its edge once the pixel is wider.
    assert lamplight_mean(town) == pytest.approx(1.0, abs=0.12)


def test_light_lies_in_pools_a_lamp_apart() -> None:
    town = town_at(seen_from_above(600.0, 1.0, 1.0), 0.25)
    on_street = town.lamplight[town.street > 0.99]
    assert on_street.min() < 0.5
    assert on_street.max() > 3.0
    lamps = (town.lamplight > 3.0) & (town.street > 0.9)
    street_m2 = 0.25 * 600.0**2
    # Every lamp lights its own stretch of street; each shows as a few square metres.
    expected = street_m2 / (LAMP_SPACING_M * street_width_m(0.25))
    assert 0.5 * expected < lamps.sum() / 6.0 < 2.0 * expected


def test_the_blocks_reflect_as_the_land_does() -> None:
    town = town_at(seen_from_above(900.0, 1.3, 1.0), 0.25)
    assert (town.blocks @ LUMINANCE).mean() == pytest.approx(1.0, rel=0.01)
    assert float(PLAIN_RGB @ LUMINANCE) == pytest.approx(1.0, rel=1e-4)


def test_the_same_ground_shows_the_same_town() -> None:
    first = town_at(seen_from_above(400.0, 2.0, 1.0), 0.25)
    again = town_at(seen_from_above(400.0, 2.0, 1.0), 0.25)
    assert first.street.tobytes() == again.street.tobytes()
    assert first.blocks.tobytes() == again.blocks.tobytes()
