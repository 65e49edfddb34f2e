"""What the sky costs when something slow changes: the frames' look-up, and the table itself."""

from __future__ import annotations

import datetime as dt

import pytest

from core.forecast import outlook
from core.framesky import framesky_of
from core.memory import Memory
from core.skies import skies_of, sky_table_path
from core.sky.table import load_sky_table
from tests.bench.conftest import Measure
from tests.dusk import december_plan

#: Winter in the south, and a long northern dusk, whose sun goes round far more of the compass.
NIGHTS = {
    "38 N, December": (38.0, dt.date(2026, 12, 5)),
    "66 N, June": (66.0, dt.date(2026, 6, 10)),
}


@pytest.mark.parametrize("night", NIGHTS)
@pytest.mark.parametrize("pitch_deg", [(-50.0, -8.0), (5.0, 5.0)])
def test_framesky_cold(measure: Measure, night: str, pitch_deg: tuple[float, float]) -> None:
    latitude_deg, date = NIGHTS[night]
    plan = december_plan(
        place__latitude_deg=latitude_deg,
        shoots__A__date=date,
        path__stations=[{"up_m": 80.0, "pitch_deg": p, "heading_deg": 243.0} for p in pitch_deg],
    )
    memory = Memory()
    seen = outlook(plan, "A", memory)
    azimuths = tuple(float(a) for a in seen.framesky.sun_azimuth_deg)
    skies = skies_of(seen.shoot.conditions, 80.0, memory)
    measure(
        f"what the lens sees, {night}, pitch {pitch_deg[0]:g} to {pitch_deg[1]:g}",
        "cold core",
        lambda _: framesky_of(seen.path, plan.camera, (), skies, azimuths),
        10,
    )


def test_table_load(measure: Measure) -> None:
    measure("the sky table, read", "cold core", lambda _: load_sky_table(sky_table_path()), 20)
