"""Wind aloft against the published exponents."""

from __future__ import annotations

import pytest

from core.plan import Conditions
from core.wind import shear_ratio
from tests.flying import table

# Kaltschmitt, Streicher and Wiese (2007), Renewable Energy, Springer, p. 55.
ROWS = table("hellmann_exponents.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['surface']}, {row['stability']}")
@pytest.mark.parametrize("height_m", [50, 100, 120])
def test_the_wind_at_height(row: dict[str, str], height_m: int) -> None:
    name = "ratio_50m_over_10m" if height_m == 50 else f"ratio_{height_m}m"
    assert shear_ratio(height_m, float(row["alpha"])) == pytest.approx(float(row[name]), abs=6e-4)


def test_the_default_is_a_published_exponent_of_stable_air() -> None:
    stable = {float(row["alpha"]) for row in ROWS if row["stability"] == "stable"}
    assert Conditions().wind_shear_exponent in stable
