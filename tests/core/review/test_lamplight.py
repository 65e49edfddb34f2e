"""What lamplight makes of ground beside published colours."""

from __future__ import annotations

import numpy as np
import pytest

from core.review.lamplight import BLUE, RED, redder_slope, redder_stops

#: Luminance by lamps over that by daylight, from far before they are warm to the night.
LAMPLIGHT = np.array([0.0, 0.01, 0.1, 0.5, 1.0, 4.0, 15.0])


def linear_srgb(x: float, y: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Linear red, green, blue of a chromaticity at luminance 1: IEC 61966-2-1:1999, 5.2."""
    matrix = np.array([
        [3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570],
    ])  # fmt: skip
    return np.asarray(matrix @ [x / y, 1.0, (1.0 - x - y) / y])


def black_body_xy(kelvin: float) -> tuple[float, float]:
    """Chromaticity of the Planckian locus from 2222 to 4000 K.

    Kim et al. 2002, J. Korean Phys. Soc. 41:865, cubic fits (from memory).
    """
    x = -0.2661239e9 / kelvin**3 - 0.2343589e6 / kelvin**2 + 0.8776956e3 / kelvin + 0.179910
    return x, -0.9549476 * x**3 - 1.37418593 * x**2 + 2.09137015 * x - 0.16748867


def test_lamps_of_3500_k_beside_daylight_d75_have_the_red_and_the_blue_stated() -> None:
    # D75: CIE 15:2018, table of illuminants, x = 0.29902, y = 0.31485.
    ratio = linear_srgb(*black_body_xy(3500.0)) / linear_srgb(0.29902, 0.31485)
    assert ratio[0] == pytest.approx(RED, rel=0.02)
    assert ratio[2] == pytest.approx(BLUE, rel=0.05)


def test_the_slope_is_that_of_the_reddening_over_the_logarithm_of_the_lamplight() -> None:
    step = 1e-5
    steps = redder_stops(LAMPLIGHT * np.exp(step)) - redder_stops(LAMPLIGHT * np.exp(-step))
    assert redder_slope(LAMPLIGHT) == pytest.approx(steps / (2.0 * step), abs=1e-6)
