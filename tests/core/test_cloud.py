"""What cloud takes from the light."""

from __future__ import annotations

import math

import pytest

from core.cloud import ambient_sigma_stops, cloud_factor


# Kasten and Czeplak 1980, Solar Energy 24:177: G/G0 of 4, 6, 7 and 8 okta, to two digits.
@pytest.mark.parametrize(
    ("okta", "share", "stops"),
    [(0.0, 1.0, 0.0), (4.0, 0.93, -0.1), (6.0, 0.72, -0.5), (7.0, 0.52, -0.9), (8.0, 0.25, -2.0)],
)
def test_the_share_that_reaches_the_ground(okta: float, share: float, stops: float) -> None:
    assert cloud_factor(okta) == pytest.approx(share, abs=0.005)
    assert math.log2(cloud_factor(okta)) == pytest.approx(stops, abs=0.06)


def test_cloud_never_brightens_and_always_unsettles() -> None:
    okta = [n / 4.0 for n in range(33)]
    factors = [cloud_factor(n) for n in okta]
    sigmas = [ambient_sigma_stops(n) for n in okta]
    assert factors == sorted(factors, reverse=True)
    assert sigmas == sorted(sigmas)
    assert (sigmas[0], sigmas[-1]) == (0.4, 1.0)
