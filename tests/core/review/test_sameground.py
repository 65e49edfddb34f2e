"""What the same ground gained, of drawn ground whose light is known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.preview.develop import MID_GREY
from core.review.curve import HIGHLIGHT_STOPS, display_stops
from core.review.drift import Followed, Tile
from core.review.match import Match
from core.review.sameground import gained

SIDE, TILES = 64, 3
SHAPE = (SIDE, SIDE * TILES)
#: A colour of one luminance by 3500 K beside daylight: red, green, blue (CIE 15:2018, Planck).
LAMPLIGHT = (1.68, 0.99, 0.354)


def ground() -> FloatArray:
    """Daylight on ground with the contrast of fields and roofs, over mid-grey."""
    return np.exp2(-2.0 + 0.4 * np.random.default_rng(3).standard_normal(SHAPE))


def hues() -> FloatArray:
    """How far the colour of the ground departs from grey, channel by channel."""
    return np.exp2(0.1 * np.random.default_rng(4).standard_normal((*SHAPE, 3)))


def seen(daylight: FloatArray, lamplight: FloatArray | float = 0.0) -> NDArray[np.uint8]:
    """What a usual camera stores of ground: sRGB, IEC 61966-2-1:1999."""
    light = np.stack([daylight + lamplight * colour for colour in LAMPLIGHT], axis=-1) * hues()
    linear = MID_GREY * np.exp2(display_stops(np.log2(light), HIGHLIGHT_STOPS))
    return np.rint(255.0 * (1.055 * linear ** (1 / 2.4) - 0.055)).astype(np.uint8)


def tiles(went_left: float = 0.0) -> tuple[Followed, ...]:
    """Tiles that went so many pixels to the left since the key frame."""
    found, match = [], Match(np.zeros(2), np.eye(2), 1.0)
    for left in range(0, SHAPE[1], SIDE):
        y, x = np.mgrid[0:SIDE, left : left + SIDE].astype(np.float32) + np.float32(0.5)
        grey = np.zeros((SIDE, SIDE), np.float32)
        found.append(Followed(Tile(left, 0, SIDE), match, grey, grey, x + went_left, y))
    return tuple(found)


def test_lamps_that_come_on_over_half_of_the_ground_are_no_gain_of_light() -> None:
    daylight = ground()
    lit = np.where(np.arange(SHAPE[1]) % SIDE < SIDE // 2, 0.5, 0.0) * np.ones(SHAPE)
    told = gained(seen(0.8 * daylight, lit), seen(daylight), tiles())
    assert told.unlit.stops == pytest.approx(np.log2(0.8), abs=0.01)
    assert told.unlit.outward == 0.0
    assert told.sigma_stops < 0.01
    assert told.redder_stops > 0.3


def test_ground_that_burns_in_part_tells_by_the_rest() -> None:
    daylight = ground()
    daylight[:, ::2] *= 40.0
    told = gained(seen(0.9 * daylight), seen(daylight), tiles())
    assert told.unlit.stops == pytest.approx(np.log2(0.9), abs=0.01)
    assert np.isnan(told.redder_stops)


def test_other_ground_than_that_of_the_key_tells_nothing() -> None:
    picture = seen(ground())
    assert np.isnan(gained(np.roll(picture, 7, axis=0), picture, tiles()).unlit.stops)
    assert np.isnan(gained(picture, picture, ()).unlit.stops)


def test_ground_of_one_colour_tells_as_well() -> None:
    grey = np.full((*SHAPE, 3), 118, np.uint8)
    assert gained(grey, grey, tiles()).unlit.stops == 0.0


def test_ground_that_goes_outward_says_how_far_in_squares_of_the_half_diagonal() -> None:
    grey = np.full((*SHAPE, 3), 118, np.uint8)
    left_and_middle = tiles(went_left=10.0)[:2]
    # The middles of both lie 64 and 0 pixels left of the lens's, 54 and -10 in the key frame.
    gone = ((64**2 + 0**2) - (54**2 + 10**2)) / 2.0
    half_diagonal_squared = (SHAPE[0] ** 2 + SHAPE[1] ** 2) / 4.0
    told = gained(grey, grey, left_and_middle).unlit
    assert told.outward == pytest.approx(gone / half_diagonal_squared, abs=0.01)
