"""Flicker of drawn courses of light: told as surely as stated beside a smooth course."""

from __future__ import annotations

import numpy as np
import pytest

from core.exposure import FloatArray
from core.review.daylit import Course, daylit
from core.review.flicker import rms_stops
from core.review.white import white_of

COURSES, FRAMES = 300, 60
PLACES = np.arange(FRAMES, dtype=float)
#: What a camera's curve makes of a stop beside a usual one, and how far off the fall of the light
#: may be that was expected, in stops, 1-sigma: as `core.review` states them.
CURVE_SIGMA, FALL_SIGMA_STOPS = 0.15 / 1.1, 0.15


def drawn_off(rng: np.random.Generator) -> tuple[float, float]:
    """By how much the rms told of a drawn course of light is off, and its 1-sigma, as shares.

    Daylight falls by some stops, more or less than expected; the camera bends it; what the ground
    shows wanders slowly beside. Of the frames, a few are missing.
    """
    index = np.sort(rng.choice(PLACES, FRAMES - int(rng.poisson(2.0)), replace=False))
    along = index / FRAMES
    expected = -rng.uniform(1.0, 5.0) * (along + 0.3 * along**2)
    fall = 1.0 + rng.normal(0.0, FALL_SIGMA_STOPS) / np.ptp(expected)
    wander = 0.03 * np.sin(rng.uniform(4.0, 9.0) * along + rng.uniform(0.0, 6.0))
    flicker = rng.uniform(0.01, 0.06) * rng.standard_normal(len(index))
    noise = np.full(len(index), 0.002)
    light = rng.normal(1.0, CURVE_SIGMA) * (fall * expected + wander + flicker)
    light += noise * rng.standard_normal(len(index))
    seen = Course(light, noise, np.zeros(len(index)))
    told, sigma = rms_stops(index, *daylit(seen, expected, np.ones(len(index), dtype=bool)))
    return told / flicker.std() - 1.0, sigma / flicker.std()


def test_the_true_flicker_lies_within_the_stated_uncertainty_at_its_rate() -> None:
    rng = np.random.default_rng(11)
    off, sigma = np.array([drawn_off(rng) for _ in range(COURSES)]).T
    z = np.abs(off / sigma)
    # 68 % within one sigma, 95 % within two, at 2.5 sigmas of a binomial draw.
    for most, share in ((1.0, 0.683), (2.0, 0.954)):
        assert np.mean(z < most) == pytest.approx(
            share, abs=2.5 * np.sqrt(share * (1.0 - share) / COURSES)
        )
    told = np.abs(off[sigma < 0.05])
    assert len(told) > COURSES // 3
    assert np.mean(told < 0.1) > 0.9


def course(count: int, rms: float) -> tuple[FloatArray, FloatArray]:
    """White noise of an exact rms, and a smooth course that it lies on, of half a stop."""
    white = np.random.default_rng(count).standard_normal(count)
    white -= white.mean()
    return rms / white.std() * white, 0.5 * np.cos(np.linspace(0.0, 4.0, count))


@pytest.mark.parametrize("count", [40, 200, 1200])
def test_what_is_white_is_told_from_a_smooth_course_the_better_the_longer_it_is(count: int) -> None:
    white, smooth = course(count, 0.02)
    told = white_of(np.arange(count, dtype=float), white + smooth, np.zeros(count))
    assert np.sqrt(told.square) == pytest.approx(0.02, abs=2.5 * told.sigma / 0.04)
    assert told.sigma / 0.04 < 0.02 * np.sqrt(4.0 / count)


def test_a_level_that_is_not_known_from_one_thread_to_the_next_is_no_flicker() -> None:
    white, smooth = course(FRAMES, 0.02)
    thread = np.where(PLACES < 25.0, 0.0, 1.0)
    told = white_of(PLACES, white + smooth + 0.7 * thread, thread)
    assert np.sqrt(told.square) == pytest.approx(0.02, rel=0.1)


def test_a_few_frames_tell_no_flicker() -> None:
    assert np.isnan(white_of(PLACES[:5], PLACES[:5] ** 2, np.zeros(5)).square)
