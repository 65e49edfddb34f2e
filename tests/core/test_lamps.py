"""When street lamps burn, and how brightly."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.exposure import FloatArray
from core.lamps import lamp_hours, lamp_output
from core.night import Night, night_of
from core.plan import Lamps, Switching
from core.sky.daylight import horizontal_illuminance_lx

LEVEL = Switching()


def dusk(latitude: float, date: dt.date, zone: str = "UTC", longitude: float = 0.0) -> Night:
    return night_of(latitude, longitude, zone, date, "dusk")


def hours(
    night: Night, switching: Switching, light: FloatArray | None = None, luminance: float = 0.75
) -> tuple[float, float] | None:
    """Hours of lamps in a clear, moonless night, or under the light given."""
    time_s, altitude = grid(night)
    lux = horizontal_illuminance_lx(altitude) if light is None else light
    lamps = Lamps(luminance_cd_m2=luminance, switching=switching)
    return lamp_hours(lamps, night, time_s, lux, altitude)


def grid(night: Night) -> tuple[FloatArray, FloatArray]:
    time_s = np.arange(night.start_s, night.end_s, 10.0)
    return time_s, night.sun(time_s)[0]


DECEMBER = dusk(38.0, dt.date(2026, 12, 5))
ARCTIC_JUNE = dusk(61.0, dt.date(2026, 6, 21))
POLAR_DAY = dusk(75.0, dt.date(2026, 6, 21))
POLAR_NIGHT = dusk(78.0, dt.date(2026, 12, 21))


@given(on_lx=st.floats(1.0, 200.0), off_lx=st.floats(1.0, 200.0))
def test_by_level_on_in_the_evening_off_in_the_morning(on_lx: float, off_lx: float) -> None:
    found = hours(DECEMBER, Switching(on_lx=on_lx, off_lx=off_lx))
    assert found is not None
    on_s, off_s = found
    assert on_s < DECEMBER.darkest_s < off_s
    for time_s, level in zip(found, (on_lx, off_lx), strict=True):
        altitude, _ = DECEMBER.sun(time_s)
        assert horizontal_illuminance_lx(altitude) == pytest.approx(level, rel=0.01)


def test_a_night_that_stays_lighter_than_the_morning_level_turns_them_off_when_darkest() -> None:
    # 61 N in June: about 7 lx at midnight.
    on_s, off_s = hours(ARCTIC_JUNE, Switching(on_lx=35.0, off_lx=3.0)) or (0.0, 0.0)
    assert on_s < off_s
    assert off_s == pytest.approx(ARCTIC_JUNE.darkest_s, abs=120.0)


def test_a_night_that_stays_lighter_than_the_evening_level_never_lights_them() -> None:
    assert hours(ARCTIC_JUNE, Switching(on_lx=5.0, off_lx=18.0)) is None
    assert hours(POLAR_DAY, LEVEL) is None


@pytest.mark.parametrize("kind", ["level", "offset"])
def test_in_polar_night_they_never_go_off(kind: str) -> None:
    time_s, _ = grid(POLAR_NIGHT)
    found = hours(POLAR_NIGHT, Switching(kind=kind))  # type: ignore[arg-type]
    assert found == (time_s[0], time_s[-1])
    output = lamp_output(Lamps(warm_up_min=10.0), found, time_s)
    assert output.min() == 1.0


@pytest.mark.parametrize("kind", ["level", "offset"])
def test_in_polar_day_they_never_come_on(kind: str) -> None:
    assert hours(POLAR_DAY, Switching(kind=kind)) is None  # type: ignore[arg-type]


@given(offset_min=st.floats(-30.0, 120.0))
def test_minutes_from_the_event(offset_min: float) -> None:
    switching = Switching(kind="offset", on_after_event_min=offset_min)
    found = hours(DECEMBER, switching)
    sunset = DECEMBER.event.time_s
    assert found is not None
    assert (found[0] - sunset) / 60.0 == pytest.approx(offset_min, abs=0.05)
    sunrise = night_of(38.0, 0.0, "UTC", dt.date(2026, 12, 6), "dawn").event.time_s
    assert (sunrise - found[1]) / 60.0 == pytest.approx(offset_min, abs=0.05)


def test_minutes_longer_than_the_night_leave_them_off() -> None:
    june = dusk(60.0, dt.date(2026, 6, 21))
    assert hours(june, Switching(kind="offset", on_after_event_min=200.0)) is None


def test_the_night_that_begins_polar_night_burns_to_its_end() -> None:
    # Between the last sunset and the first noon without a sun there is no sunrise.
    for day in range(20, 30):
        night = dusk(69.65, dt.date(2026, 11, day), longitude=19.0)
        time_s, altitude = grid(night)
        if altitude[0] > -0.83 and altitude[-1] < -0.84:
            on_s, off_s = hours(night, Switching(kind="offset")) or (0.0, 0.0)
            assert night.start_s < on_s < off_s == time_s[-1]
            return
    pytest.fail("no such night was found")


def test_the_night_that_ends_polar_night_burns_from_its_start() -> None:
    for day in range(10, 20):
        night = dusk(69.65, dt.date(2026, 1, day), longitude=19.0)
        time_s, altitude = grid(night)
        if altitude[0] < -0.84 and altitude[-1] > -0.83:
            on_s, off_s = hours(night, Switching(kind="offset")) or (0.0, 0.0)
            assert time_s[0] == on_s < off_s < night.end_s
            return
    pytest.fail("no such night was found")


@pytest.mark.parametrize(
    ("on_time", "off_time", "expected"),
    [
        ("18:00", "06:00", ((5, 18, 0), (6, 6, 0))),
        ("18:00", "23:30", ((5, 18, 0), (5, 23, 30))),
        ("05:00", "07:15", ((6, 5, 0), (6, 7, 15))),
        ("00:30", "06:00", ((6, 0, 30), (6, 6, 0))),
        # On before noon: they burn already when the window opens.
        ("11:00", "13:30", None),
        ("10:30", "09:00", (None, (6, 9, 0))),
    ],
)
def test_by_the_clock(
    on_time: str, off_time: str, expected: tuple[tuple[int, int, int] | None, ...] | None
) -> None:
    zone = "America/St_Johns"
    night = dusk(47.6, dt.date(2026, 12, 5), zone, -52.7)
    found = hours(night, Switching(kind="clock", on_time=on_time, off_time=off_time))
    assert found is not None
    time_s, _ = grid(night)
    if expected is None:
        # Only the tail of the day's hours, or their head on the next, lies in the window.
        assert found[0] == time_s[0] or found[1] == time_s[-1]
        return
    for at_s, want, end_s in zip(found, expected, time_s[[0, -1]], strict=True):
        if want is None:
            assert at_s == end_s
        else:
            wall = dt.datetime(2026, 12, *want, tzinfo=ZoneInfo(zone))
            assert at_s == wall.timestamp()


def test_lamps_of_no_light_have_no_hours() -> None:
    assert hours(DECEMBER, LEVEL, luminance=0.0) is None


@given(warm_up_min=st.floats(0.0, 60.0), after_min=st.floats(0.0, 120.0))
def test_they_warm_up_along_a_ramp(warm_up_min: float, after_min: float) -> None:
    time_s = np.arange(0.0, 40000.0, 10.0)
    output = lamp_output(Lamps(warm_up_min=warm_up_min), (10000.0, 30000.0), time_s)
    assert set(output[time_s < 10000.0]) == set(output[time_s >= 30000.0]) == {0.0}
    at = float(np.interp(10000.0 + 60.0 * after_min, time_s, output))
    want = 1.0 if warm_up_min == 0.0 else min(after_min / warm_up_min, 1.0)
    # The grid rounds off the two corners of the ramp.
    assert at == pytest.approx(want, abs=min(1.0, 10.0 / max(60.0 * warm_up_min, 10.0)))
