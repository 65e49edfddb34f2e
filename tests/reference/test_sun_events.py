"""Clock times of rising and setting against published tables and a reference library."""

from __future__ import annotations

import datetime as dt
import re
from importlib import resources

import ephem
import numpy as np
import pytest

from core.night import Night, night_of
from core.place import utc_s

MINUTE_S = 60.0


def usno(name: str) -> str:
    """Read a table of the US Naval Observatory, as shipped in the ephem wheel."""
    return resources.files("ephem").joinpath(f"tests/usno/{name}").read_text("utf-8")


def year_table(name: str, year: int, hours_west: int) -> dict[str, dict[dt.date, float]]:
    """Read the rises and sets of a year, in UTC seconds by local date of standard time."""
    zone = dt.timezone(dt.timedelta(hours=-hours_west))
    table: dict[str, dict[dt.date, float]] = {"rise": {}, "set": {}}
    for line in usno(name).splitlines():
        if not re.match(r"[0-3]\d  ", line):
            continue
        for month in range(12):
            for offset, kind in ((4, "rise"), (9, "set")):
                cell = line[11 * month + offset : 11 * month + offset + 4]
                if cell.strip():
                    date = dt.date(year, month + 1, int(line[:2]))
                    clock = dt.time(int(cell[:2]), int(cell[2:]), tzinfo=zone)
                    table[kind][date] = utc_s(dt.datetime.combine(date, clock))
    return table


def test_sun_of_atlanta_through_a_year() -> None:
    # US Naval Observatory, Rise and Set for the Sun for 2007, Atlanta (W084 25, N33 46).
    table = year_table("riset_sun.txt", 2007, 5)
    assert [len(table["rise"]), len(table["set"])] == [365, 365]
    late = []
    for day in range(0, 365, 4):
        date = dt.date(2007, 1, 1) + dt.timedelta(days=day)
        for kind, twilight in (("rise", "dawn"), ("set", "dusk")):
            night = night_of(33 + 46 / 60, -(84 + 25 / 60), "Etc/GMT+5", date, twilight)  # type: ignore[arg-type]
            late.append(night.event.time_s - table[kind][date])
    # The table is rounded to the minute; the sun's own bound of 0.0153 deg is 5 s here.
    assert max(np.abs(late)) < 0.5 * MINUTE_S + 5.0
    assert np.mean(np.abs(late) <= 0.5 * MINUTE_S) > 0.93
    assert abs(np.mean(late)) < 4.0


def moon_events(nights: list[Night], name: str) -> np.ndarray:
    return np.array([m.time_s for night in nights for m in night.moments if m.name == name])


def test_moon_of_boston_through_a_season() -> None:
    # US Naval Observatory, Rise and Set for the Moon for 1984, Boston (W071 05, N42 19).
    table = year_table("riset_moon.txt", 1984, 5)
    dates = [dt.date(1984, 2, 1) + dt.timedelta(days=day) for day in range(100)]
    place = (42 + 19 / 60, -(71 + 5 / 60), "Etc/GMT+5")
    nights = [night_of(*place, date, "dusk") for date in dates]
    for kind, name in (("rise", "moonrise"), ("set", "moonset")):
        ours = moon_events(nights, name)
        first_s, last_s = nights[0].start_s, nights[-1].end_s
        listed = sorted(t for t in table[kind].values() if first_s < t < last_s)
        # Every listed event once, and none that is not listed.
        assert len(ours) == len(listed)
        assert ours == pytest.approx(np.array(listed), abs=0.5 * MINUTE_S + 15.0)


def fairbanks_table() -> dict[str, list[tuple[float, float]]]:
    """Read (UTC seconds, azimuth) of the moon's rises and sets at Fairbanks."""
    zone = dt.timezone(dt.timedelta(hours=-8))
    table: dict[str, list[tuple[float, float]]] = {"rise": [], "set": []}
    for line in usno("risettran_moon.txt").splitlines():
        if not re.match(r"\d{4} ", line):
            continue
        date = dt.datetime.strptime(line[:11], "%Y %b %d").replace(tzinfo=zone)
        for kind, cell in (("rise", line[24:35]), ("set", line[58:69])):
            found = re.fullmatch(r"(\d\d):(\d\d) +(\d+)", cell.strip())
            if found:
                hour, minute, azimuth = (int(part) for part in found.groups())
                table[kind].append((utc_s(date.replace(hour=hour, minute=minute)), azimuth))
    return table


def test_moon_near_the_polar_circle() -> None:
    # US Naval Observatory, Moon at Fairbanks (W147 45, N64 48.6), June and July 2006, with
    # three days in which it neither rises nor sets.
    table = fairbanks_table()
    dates = [dt.date(2006, 6, 15) + dt.timedelta(days=day) for day in range(19)]
    nights = [night_of(64.81, -147.75, "Etc/GMT+8", date, "dusk") for date in dates]
    for kind, name in (("rise", "moonrise"), ("set", "moonset")):
        listed = [row for row in table[kind] if nights[0].start_s < row[0] < nights[-1].end_s]
        ours = moon_events(nights, name)
        assert len(ours) == len(listed) > 10
        for time_s, (listed_s, azimuth) in zip(ours, listed, strict=True):
            # It skims the horizon: minutes for the few hundredths of a degree it is known to.
            assert time_s == pytest.approx(listed_s, abs=1.5 * MINUTE_S)
            assert float(nights[0].moon(time_s)[1]) == pytest.approx(azimuth, abs=1.0)


def test_published_worked_example_of_an_evening() -> None:
    # Reda & Andreas 2008, NREL/TP-560-34302, 39.742476 N, 105.1786 W, UTC-7: sunrise
    # 06:12:43, transit 11:46:05, sunset 17:20:19 of the day 2003-10-17 in UT, whose
    # sunset is that of the evening of the 16th.
    place = (39.742476, -105.1786, "Etc/GMT+7")
    morning = night_of(*place, dt.date(2003, 10, 17), "dawn")
    evening = night_of(*place, dt.date(2003, 10, 16), "dusk")
    assert local_second(morning, morning.event.time_s) == pytest.approx(22363.0, abs=6.0)
    assert local_second(morning, morning.end_s) == pytest.approx(42365.0, abs=4.0)
    assert local_second(evening, evening.event.time_s) == pytest.approx(62419.0, abs=6.0)


def local_second(night: Night, time_s: float) -> float:
    clock = night.clock(time_s)
    return clock.hour * 3600.0 + clock.minute * 60.0 + clock.second + clock.microsecond * 1e-6


@pytest.mark.parametrize("latitude_deg", [-55.0, 0.0, 21.0, 38.0, 50.0, 60.0, 65.0, 70.0, 78.0])
def test_evenings_of_a_year_against_libastro(latitude_deg: float) -> None:
    # The VSOP87 sun of libastro (ephem), centre at the level, no refraction, 2026.
    levels = {"sunset": "-0:50", "civil": "-6", "nautical": "-12", "astronomical": "-18"}
    for day in range(5, 365, 20):
        date = dt.date(2026, 1, 1) + dt.timedelta(days=day)
        night = night_of(latitude_deg, 15.0, "UTC", date, "dusk")
        for name, horizon in levels.items():
            ours = [moment.time_s for moment in night.moments if moment.name == name]
            expected = libastro_setting(night, horizon)
            assert len(ours) == len(expected)
            for time_s, reference_s in zip(ours, expected, strict=True):
                before, after = night.sun(time_s + np.array([-5.0, 5.0]))[0]
                falling_deg_s = (before - after) / 10.0
                # The bound on the sun's altitude, as time at the speed it falls here.
                assert abs(time_s - reference_s) < 0.0153 / falling_deg_s + 0.5


def libastro_setting(night: Night, horizon: str) -> list[float]:
    observer = ephem.Observer()
    observer.lat, observer.lon = str(night.latitude_deg), str(night.longitude_deg)
    observer.pressure, observer.horizon = 0.0, horizon
    epoch = dt.datetime(1970, 1, 1)  # noqa: DTZ001 (the library wants naive UTC)
    observer.date = epoch + dt.timedelta(seconds=night.start_s)
    try:
        found = observer.next_setting(ephem.Sun(), use_center=True).datetime()
    except ephem.CircumpolarError:
        return []
    time_s = (found - epoch).total_seconds()
    return [time_s] if time_s < night.end_s else []
