"""Air against the tables of the standard atmosphere."""

from __future__ import annotations

import pytest

from core.air import REFERENCE_DENSITY_KG_M3, density_kg_m3, pressure_pa
from tests.flying import table


@pytest.mark.parametrize("row", table("iso2533_atmosphere.csv"))
def test_the_standard_atmosphere(row: dict[str, str]) -> None:
    # ISO 2533:1975 (the same as ICAO Doc 7488), by geopotential height; values from memory.
    height = float(row["geopotential_height_m"])
    assert pressure_pa(height) == pytest.approx(float(row["pressure_pa"]), rel=2e-5)
    density = density_kg_m3(height, float(row["temperature_c"]))
    assert density == pytest.approx(float(row["density_kg_m3"]), rel=2e-5)


@pytest.mark.parametrize(
    ("height_m", "published"), [(0, 1.2250), (1000, 1.1117), (2000, 1.0066), (3000, 0.9093)]
)
def test_geometric_height_makes_no_difference_that_matters(
    height_m: float, published: float
) -> None:
    # The tables of ISO 2533 by geometric height; values from memory.
    standard_c = 15.0 - 0.0065 * height_m
    assert density_kg_m3(height_m, standard_c) == pytest.approx(published, rel=3e-4)


@pytest.mark.parametrize(
    ("height_m", "celsius", "expected"),
    [(0, 15, 1.2250), (0, -10, 1.3414), (2000, 5, 0.9956), (3000, -5, 0.9108)],
)
def test_the_day_s_own_temperature_counts(height_m: float, celsius: float, expected: float) -> None:
    # Standard pressure and the ideal gas law, worked by hand.
    assert density_kg_m3(height_m, celsius) == pytest.approx(expected, abs=6e-5)


def test_rated_minutes_are_measured_in_warm_air_at_sea_level() -> None:
    assert density_kg_m3(0.0, 25.0) == pytest.approx(REFERENCE_DENSITY_KG_M3, rel=1e-12)
    assert pytest.approx(1.1839, abs=5e-5) == REFERENCE_DENSITY_KG_M3
