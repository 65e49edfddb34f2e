"""Stops, mid-grey and filters: what a photographer counts on."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.exposure import density_to_stops, mid_grey_cd_m2

F_NUMBERS = st.floats(0.5, 64.0)
SHUTTERS = st.floats(1e-4, 120.0)
ISOS = st.floats(10.0, 5e5)
FILTERS = st.floats(0.0, 20.0)


@given(F_NUMBERS, SHUTTERS, ISOS, FILTERS)
def test_each_control_moves_a_tone_by_its_stops(
    f_number: float, shutter_s: float, iso: float, nd_stops: float
) -> None:
    def tone(f: float, t: float, s: float, nd: float) -> float:
        return -float(np.log2(mid_grey_cd_m2(f, t, s, nd)))

    here = tone(f_number, shutter_s, iso, nd_stops)
    assert tone(f_number, 2.0 * shutter_s, iso, nd_stops) == pytest.approx(here + 1.0)
    assert tone(f_number, shutter_s, 2.0 * iso, nd_stops) == pytest.approx(here + 1.0)
    assert tone(f_number * np.sqrt(2.0), shutter_s, iso, nd_stops) == pytest.approx(here - 1.0)
    assert tone(f_number, shutter_s, iso, nd_stops + 3.0) == pytest.approx(here - 3.0)


@given(F_NUMBERS, SHUTTERS, ISOS, FILTERS)
def test_exposure_value_names_the_mid_grey(f: float, t: float, s: float, nd: float) -> None:
    # L = 0.125 · 2^EV at ISO 100 for K = 12.5, EV = log2(N² / t) (APEX, ASA PH2.12-1961).
    exposure_value = np.log2(f**2 / t * 100.0 / s) + nd
    assert mid_grey_cd_m2(f, t, s, nd) == pytest.approx(0.125 * 2.0**exposure_value)


def test_a_filter_of_density_three_takes_ten_stops_less_a_little() -> None:
    assert density_to_stops(3.0) == pytest.approx(9.966, abs=5e-4)
