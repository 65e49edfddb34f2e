"""What a stabiliser takes out: shake that is told, and none that is only noise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from core.exposure import FloatArray
from core.memory import Memory
from core.review.review import Reviewed, review
from core.review.steady import Steadiness, steadiness
from tests.practice.plans import plan_of
from tests.practice.take import write_take
from tests.practice.truth import Truth

FRAMES = 40


@pytest.fixture(scope="module")
def still_take(tmp_path_factory: pytest.TempPathFactory) -> Reviewed:
    folder = tmp_path_factory.mktemp("take")
    plan = plan_of(FRAMES)
    write_take(folder, plan, Truth(), 1, pictures=1)
    return review(plan, "A", folder, Memory(), processes=0)


def steadied(take: Reviewed, departure: FloatArray, sigma_px: FloatArray) -> Steadiness:
    return steadiness(replace(take, departure_px=departure, step_sigma_px=sigma_px))


def test_shake_is_taken_out_by_as_much_as_it_is_told(still_take: Reviewed) -> None:
    told = np.random.default_rng(3).normal(0.0, 2.0, (FRAMES, 2))
    surely = steadied(still_take, told, np.full((FRAMES, 2), 0.05))
    unsurely = steadied(still_take, told, np.full((FRAMES, 2), 2.0))
    assert 1.5 < surely.rms_px / np.sqrt(2.0) < 2.2
    # What is told may be noise, all of it.
    assert unsurely.rms_px < 0.5 * surely.rms_px
    assert unsurely.crop_percent < surely.crop_percent


def test_a_leap_is_taken_out_wherever_the_rest_stands_still(still_take: Reviewed) -> None:
    told, sigma = np.zeros((FRAMES, 2)), np.full((FRAMES, 2), 0.5)
    told[20] = 12.0, -9.0
    shake = steadied(still_take, told, sigma).shake_px
    assert shake[20] == pytest.approx([12.0, -9.0], rel=0.05)
    assert np.abs(np.delete(shake, 20, axis=0)).max() < 0.1


def test_frames_that_were_not_followed_have_no_shake(still_take: Reviewed) -> None:
    told, sigma = np.zeros((FRAMES, 2)), np.full((FRAMES, 2), 0.1)
    told[7], sigma[7] = np.nan, np.nan
    shake = steadied(still_take, told, sigma).shake_px
    assert np.isnan(shake[7]).all()
    assert np.isfinite(np.delete(shake, 7, axis=0)).all()
    nothing = np.full((FRAMES, 2), np.nan)
    assert np.isnan(steadied(still_take, nothing, nothing).rms_px)
