"""How long each twilight lasts, by latitude and season."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import pytest

from core.night import night_of

# Minutes from sunset to the sun at -6, -12 and -18 deg in 2026 at longitude 0,
# computed with skyfield and JPL DE421; '--' where the sun does not get there.
TABLE = Path(__file__).parent / "data" / "twilight_durations.csv"
DATES = {
    "Mar20": dt.date(2026, 3, 20),
    "Jun21": dt.date(2026, 6, 21),
    "Sep22": dt.date(2026, 9, 22),
    "Dec21": dt.date(2026, 12, 21),
}


def rows() -> list[dict[str, str]]:
    lines = [line for line in TABLE.read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize("day", DATES)
def test_minutes_after_sunset(day: str) -> None:
    table = rows()
    assert len(table) == 16
    for row in table:
        night = night_of(float(row["lat"]), 0.0, "UTC", DATES[day], "dusk")
        times = {moment.name: moment.time_s for moment in night.moments}
        for name in ("civil", "nautical", "astronomical"):
            cell = row[f"{day}_{name}"]
            if cell == "--":
                assert name not in times or "sunset" not in times
            else:
                minutes = (times[name] - times["sunset"]) / 60.0
                # The table keeps tenths; the rest is the sun's own 0.0153 deg at grazing.
                assert minutes == pytest.approx(float(cell), abs=0.15)
