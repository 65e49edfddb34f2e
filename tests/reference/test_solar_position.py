"""The directions of sun and moon against published examples and reference libraries."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import ephem
import numpy as np
import pytest
import skyfield_data
from skyfield.api import load, load_file, wgs84

from core.night import Night, night_of
from core.place import utc_s

# Largest differences of the sampled library from DE421, over 2026 and latitudes
# -66 to 78 (4735 times a site): its own low-precision formulas.
ALTITUDE_BOUND_DEG = 0.0153
AZIMUTH_BOUND_DEG = 0.0130
# The moon's, once moved from the Earth's centre to the place.
MOON_BOUND_DEG = 0.05

LATITUDES = [-66.0, -35.0, 0.0, 21.0, 38.0, 52.0, 65.5, 78.0]


class Almanac:
    """Apparent topocentric directions from the DE421 ephemeris, without refraction."""

    def __init__(self) -> None:
        # The file itself: asking the package for its folder warns of other, dated files.
        folder = Path(skyfield_data.__file__).parent / "data"
        self.bodies = load_file(str(folder / "de421.bsp"))
        self._scale = load.timescale(builtin=True)

    def instants(self, time_s: np.ndarray) -> object:
        epoch = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
        return self._scale.from_datetimes(
            [epoch + dt.timedelta(seconds=t) for t in time_s.tolist()]
        )

    def seen(self, body: str, night: Night, time_s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        place = self.bodies["earth"] + wgs84.latlon(night.latitude_deg, night.longitude_deg)
        apparent = place.at(self.instants(time_s)).observe(self.bodies[body]).apparent()
        altitude, azimuth, _ = apparent.altaz()
        return np.asarray(altitude.degrees), np.asarray(azimuth.degrees)

    def from_centre(self, body: str, time_s: np.ndarray) -> object:
        centre = self.bodies["earth"].at(self.instants(time_s))
        return centre.observe(self.bodies[body]).apparent()


@pytest.fixture(scope="module")
def almanac() -> Iterator[Almanac]:
    opened = Almanac()
    yield opened
    opened.bodies.close()


def nights_of_a_year(latitude_deg: float) -> list[Night]:
    return [
        night_of(
            latitude_deg, -190.0 + 30.0 * month, "UTC", dt.date(2026, month, 1 + 2 * month), "dusk"
        )
        for month in range(1, 13)
    ]


def across_deg(night: np.ndarray, almanac: np.ndarray, altitude_deg: np.ndarray) -> np.ndarray:
    """Difference of azimuth as an angle on the sky."""
    turn = (night - almanac + 180.0) % 360.0 - 180.0
    return np.asarray(np.abs(turn) * np.cos(np.radians(altitude_deg)))


def test_published_worked_example_of_the_sun() -> None:
    # Reda & Andreas 2008, NREL/TP-560-34302, table A5.1: 2003-10-17 12:30:30 UTC-7 at
    # 39.742476 N, 105.1786 W; topocentric elevation without refraction e0 and azimuth.
    night = night_of(39.742476, -105.1786, "Etc/GMT+7", dt.date(2003, 10, 17), "dusk")
    altitude, azimuth = night.sun(utc_s(dt.datetime(2003, 10, 17, 19, 30, 30, tzinfo=dt.UTC)))
    assert float(altitude) == pytest.approx(39.872046, abs=ALTITUDE_BOUND_DEG)
    across = abs(float(azimuth) - 194.340241) * np.cos(np.radians(39.872046))
    assert across < AZIMUTH_BOUND_DEG


@pytest.mark.parametrize("latitude_deg", LATITUDES)
def test_sun_and_moon_through_a_year(almanac: Almanac, latitude_deg: float) -> None:
    # Against JPL DE421 as computed by skyfield.
    for night in nights_of_a_year(latitude_deg):
        times = np.linspace(night.start_s - 12.0 * 3600.0, night.end_s + 12.0 * 3600.0, 60)
        for body, bound, across_bound, (altitude, azimuth) in (
            ("sun", ALTITUDE_BOUND_DEG, AZIMUTH_BOUND_DEG, night.sun(times)),
            ("moon", MOON_BOUND_DEG, MOON_BOUND_DEG, night.moon(times)),
        ):
            expected = almanac.seen(body, night, times)
            assert altitude == pytest.approx(expected[0], abs=bound)
            assert np.max(across_deg(azimuth, expected[1], altitude)) < across_bound


@pytest.mark.parametrize("latitude_deg", LATITUDES)
def test_elongation_and_parallax_of_the_moon(almanac: Almanac, latitude_deg: float) -> None:
    # Against JPL DE421 as computed by skyfield; equatorial radius 6378.137 km (WGS 84).
    for night in nights_of_a_year(latitude_deg):
        times = np.linspace(night.start_s, night.end_s, 5)
        moon, sun = (almanac.from_centre(body, times) for body in ("moon", "sun"))
        apart = moon.separation_from(sun).degrees  # type: ignore[attr-defined]
        assert night.moon_elongation_deg(times) == pytest.approx(apart, abs=MOON_BOUND_DEG)
        distance_km = almanac.from_centre("moon", np.array([night.darkest_s])).distance().km  # type: ignore[attr-defined]
        parallax = np.degrees(np.arcsin(6378.137 / distance_km[0]))
        assert night.moon_parallax_deg == pytest.approx(parallax, abs=3e-4)


@pytest.mark.parametrize("year", [1901, 1950, 2000, 2050, 2099])
@pytest.mark.parametrize("latitude_deg", [-60.0, 0.0, 38.0, 70.0])
def test_the_formulas_hold_over_their_years(year: int, latitude_deg: float) -> None:
    # Against the VSOP87 sun of libastro (ephem), 12 dates a year.
    for month in range(1, 13):
        night = night_of(latitude_deg, 17.0, "UTC", dt.date(year, month, 15), "dusk")
        times = np.linspace(night.start_s, night.end_s, 9)
        assert night.sun(times)[0] == pytest.approx(libastro_sun(night, times), abs=0.02)


def libastro_sun(night: Night, time_s: np.ndarray) -> list[float]:
    observer = ephem.Observer()
    observer.lat, observer.lon = str(night.latitude_deg), str(night.longitude_deg)
    observer.pressure = 0.0
    altitudes = []
    for t in time_s.tolist():
        observer.date = dt.datetime(1970, 1, 1) + dt.timedelta(seconds=t)  # noqa: DTZ001 (wants naive UTC)
        altitudes.append(float(np.degrees(ephem.Sun(observer).alt)))
    return altitudes


def usno_phases() -> dict[str, list[float]]:
    """Read the phases of 1980 of the US Naval Observatory, as shipped in the ephem wheel."""
    text = resources.files("ephem").joinpath("tests/usno/moon_phases.txt").read_text("ascii")
    months = list(calendar.month_abbr)
    phases: dict[str, list[float]] = {"new": [], "first": [], "full": [], "last": []}
    for line in text.splitlines():
        for column, name in enumerate(phases):
            cell = re.fullmatch(
                r"([A-Z]\w\w) +(\d+) +(\d+) +(\d+)",
                line[column * 16 + 4 : column * 16 + 20].strip(),
            )
            if cell:
                day, hour, minute = (int(part) for part in cell.groups()[1:])
                moment = dt.datetime(1980, months.index(cell[1]), day, hour, minute, tzinfo=dt.UTC)
                phases[name].append(utc_s(moment))
    return phases


def test_phases_of_a_year() -> None:
    # US Naval Observatory, 1980 Phases of the Moon, to the minute.
    phases = usno_phases()
    assert [len(times) for times in phases.values()] == [12, 12, 13, 13]
    night = night_of(0.0, 0.0, "UTC", dt.date(1980, 7, 1), "dusk")
    # At the quarters the difference in longitude is a right angle, and so is the
    # elongation; at new and full moon what is left is the moon's latitude, up to 5.3 deg.
    quarters = night.moon_elongation_deg(np.array(phases["first"] + phases["last"]))
    assert quarters == pytest.approx(90.0, abs=0.05)
    assert np.all(night.moon_elongation_deg(np.array(phases["new"])) < 5.35)
    assert np.all(night.moon_elongation_deg(np.array(phases["full"])) > 180.0 - 5.35)
