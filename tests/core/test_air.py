"""Air: what must hold beyond the tables of the standard atmosphere."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from core.air import density_kg_m3


@given(st.floats(-450.0, 10000.0), st.floats(1.0, 500.0), st.floats(-40.0, 55.0))
def test_higher_air_is_thinner(elevation: float, more: float, celsius: float) -> None:
    assert density_kg_m3(elevation + more, celsius) < density_kg_m3(elevation, celsius)


@given(st.floats(-450.0, 10500.0), st.floats(-40.0, 54.0), st.floats(0.1, 20.0))
def test_warmer_air_is_thinner(elevation: float, celsius: float, more: float) -> None:
    assert density_kg_m3(elevation, celsius + more) < density_kg_m3(elevation, celsius)
