"""Linear light becomes a picture: the tone curve's anchors, clipping, and the dim ramp."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from core.preview import LinearFrames, develop, dim_ramp
from core.preview.develop import DIM_TOP, display_share, srgb_value


def of_light(rgb_cd_m2: NDArray[np.float64]) -> LinearFrames:
    rgb = np.asarray(rgb_cd_m2, dtype=np.float32).reshape(1, 1, -1, 3)
    share = np.zeros((1, 1, rgb.shape[2]), dtype=np.float32)
    return LinearFrames(np.zeros(1, dtype=np.int64), np.zeros(1), rgb, share, share, share)


@pytest.mark.parametrize(
    ("share", "value"),
    # IEC 61966-2-1:1999: the straight piece ends at 0.0031308; 18 % and 50 % by its formula.
    [(0.0, 0.0), (0.0031308, 0.04045 * 255.0), (0.18, 117.65), (0.5, 187.52), (1.0, 255.0)],
)
def test_the_transfer_curve_is_srgb(share: float, value: float) -> None:
    assert float(srgb_value(np.array(share))) == pytest.approx(value, abs=0.02)


@given(st.floats(0.5, 8.0), st.floats(-8.0, 8.0))
def test_mid_grey_and_the_highlight_limit_have_their_values(limit: float, mid: float) -> None:
    light = 2.0**mid * np.array([1.0, 2.0 ** (limit + 0.01), 2.0 ** (limit + 6.0), 0.0])
    grey, burnt, far_over, black = develop(of_light(np.repeat(light, 3)), mid, limit)[0, 0, :, 0]
    assert abs(int(grey) - 118) <= 1
    assert (burnt, far_over, black) == (255, 255, 0)


@given(st.floats(0.5, 8.0))
def test_brighter_light_is_never_darker_in_the_picture(limit: float) -> None:
    share = display_share(2.0 ** np.linspace(-12.0, limit, 400), limit)
    assert (np.diff(share) > 0.0).all()
    assert share[-1] == pytest.approx(1.0)


def test_the_table_of_the_curve_is_as_good_as_the_curve() -> None:
    stops = np.linspace(-10.0, 4.0, 5000)
    grey = np.repeat(0.361 * 2.0**stops, 3)
    picture = develop(of_light(grey), float(np.log2(0.361)), 3.26)[0, 0, :, 1]
    exact = srgb_value(display_share(2.0**stops, 3.26))
    assert np.abs(picture - exact).max() < 1.0


@settings(max_examples=25)
@given(st.floats(-9.0, 14.0), st.sampled_from([2.0, 2.8, 3.26, 8.0]), st.integers(0, 2**31))
def test_any_exposure_is_within_a_value_of_the_curve_itself(
    mid: float, limit: float, seed: int
) -> None:
    # From a dark land to the sun's disc, at every exposure: the kept table against the formula.
    light = np.exp2(np.random.default_rng(seed).uniform(-14.0, 31.0, (300, 3)))
    picture = develop(of_light(light), mid, limit)[0, 0]
    exact = np.rint(srgb_value(display_share(light * 2.0**-mid, limit)))
    assert np.abs(picture - exact).max() <= 1.0


def test_each_channel_burns_by_itself() -> None:
    # A zenith after sunset: blue is up to a stop over the luminance, and goes first.
    zenith = np.array([0.7, 0.95, 1.9]) * 2.0**2.6
    red, green, blue = develop(of_light(zenith), 0.0, 3.26)[0, 0, 0]
    assert blue == 255
    assert red < green < 255


def test_one_stop_more_exposure_is_a_brighter_picture() -> None:
    frames = of_light(np.full(3, 0.5))
    assert (develop(frames, -1.0, 3.26) > develop(frames, 0.0, 3.26)).all()


def test_the_dim_ramp_keeps_red_over_green_over_blue() -> None:
    draw = np.random.default_rng(4)
    image = draw.integers(0, 256, (50, 60, 3), dtype=np.uint8)
    dim = dim_ramp(image)
    assert dim.shape == image.shape
    assert dim.dtype == np.uint8
    red, green, blue = np.moveaxis(dim.astype(int), -1, 0)
    assert (red >= green).all()
    assert (green >= blue).all()
    assert (dim <= np.array(DIM_TOP)).all()


def test_the_dim_ramp_runs_from_black_to_its_top() -> None:
    grey = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    ramp = dim_ramp(grey)
    assert tuple(ramp[0]) == (0, 0, 0)
    assert tuple(int(c) for c in ramp[-1]) == (0xD6, 0x76, 0x3E)
    assert (np.diff(ramp.astype(int), axis=0) >= 0).all()
