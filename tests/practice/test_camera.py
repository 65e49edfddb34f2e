"""The practice camera's curves, by what cameras of that kind must do."""

from __future__ import annotations

import numpy as np
import pytest

from tests.practice.camera import developed, encoded
from tests.practice.truth import CURVES, Curve, Lasting


@pytest.mark.parametrize("curve", CURVES)
@pytest.mark.parametrize("limit", [2.0, 3.26, 5.0])
def test_every_curve_rises_from_black_over_mid_grey_to_white_at_its_limit(
    curve: Curve, limit: float
) -> None:
    lasting = Lasting(highlight_stops=limit, curve=curve)
    value = encoded(np.exp2(np.linspace(-8.0, limit, 400)), lasting)
    assert (np.diff(value) > 0.0).all()
    assert encoded(np.array([0.0, 1.0, 2.0**limit, 99.0]), lasting) == pytest.approx(
        [0.0, 117.6, 255.0, 255.0], abs=0.1
    )


def test_a_plain_curve_that_clips_at_100_percent_of_18_is_srgb_itself() -> None:
    # IEC 61966-2-1:1999: linear 0.5 is stored as 187.5, linear 0.05 as 63.3 (from memory).
    lasting = Lasting(highlight_stops=np.log2(1.0 / 0.18), curve="plain")
    assert encoded(np.array([0.5, 0.05]) / 0.18, lasting) == pytest.approx([187.5, 63.3], abs=0.2)


def test_curves_differ_where_a_plain_one_would_mislead() -> None:
    shadow = np.array([2.0**-3])
    plain, contrasty, flat = (encoded(shadow, Lasting(curve=curve))[0] for curve in CURVES)
    assert contrasty < plain - 3.0
    assert flat > plain + 3.0


def test_noise_grows_with_sensitivity_and_leaves_the_mean() -> None:
    grey = np.full((400, 300), 1.0, dtype=np.float32)
    low, high = (
        developed(grey, iso, Lasting(), np.random.default_rng(3)).astype(float)
        for iso in (100.0, 1600.0)
    )
    assert high.std() > 3.0 * low.std() > 1.0
    assert low.mean() == pytest.approx(117.6, abs=0.3)
