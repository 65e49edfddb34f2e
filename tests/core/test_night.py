"""Which night, its event and moments, anywhere on the globe."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from astral import Observer
from astral.sun import zenith_and_azimuth
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from core.edit import PlanError
from core.events import crossings
from core.night import HORIZON_DEG, Night, night_of
from core.place import local_time, time_zone_at, utc_s
from core.plan import FIRST_DATE, LAST_DATE, Twilight

LEVELS = {
    "sunset": HORIZON_DEG,
    "sunrise": HORIZON_DEG,
    "civil": -6.0,
    "nautical": -12.0,
    "astronomical": -18.0,
}
LATITUDES = st.floats(-90.0, 90.0) | st.sampled_from([-90.0, 90.0, 66.0, -66.5, 0.0, 89.9])
LONGITUDES = st.floats(-180.0, 180.0) | st.sampled_from([-180.0, 180.0, 0.0])
DATES = st.dates(FIRST_DATE, LAST_DATE)
TWILIGHTS = st.sampled_from(["dusk", "dawn"])
ODD_ZONES = st.sampled_from(
    ["Pacific/Kiritimati", "Pacific/Pago_Pago", "Pacific/Apia", "Asia/Kathmandu", "UTC",
     "America/St_Johns", "Antarctica/Troll", "Europe/Dublin", "Etc/GMT+12", "Australia/Lord_Howe"]
)  # fmt: skip


def dusk(latitude_deg: float, longitude_deg: float, zone: str, date: dt.date) -> Night:
    return night_of(latitude_deg, longitude_deg, zone, date, "dusk")


def dawn(latitude_deg: float, longitude_deg: float, zone: str, date: dt.date) -> Night:
    return night_of(latitude_deg, longitude_deg, zone, date, "dawn")


def own_side_s(night: Night) -> np.ndarray:
    """Instants between solar noon of the date and solar midnight."""
    noon_s = night.start_s if night.twilight == "dusk" else night.end_s
    return np.linspace(noon_s, night.darkest_s, 400)


@settings(deadline=None, max_examples=120)
@given(LATITUDES, LONGITUDES, ODD_ZONES, DATES, TWILIGHTS)
@example(65.5, 25.0, "Europe/Helsinki", dt.date(2026, 6, 3), "dusk")
@example(-14.0, -171.7, "Pacific/Apia", dt.date(2011, 12, 30), "dusk")
@example(90.0, 0.0, "UTC", dt.date(2026, 9, 25), "dawn")
@example(0.0, 180.0, "Pacific/Auckland", FIRST_DATE, "dawn")
@example(0.0, -180.0, "Pacific/Kiritimati", LAST_DATE, "dusk")
def test_a_night_is_whole_anywhere(
    latitude_deg: float, longitude_deg: float, zone: str, date: dt.date, twilight: Twilight
) -> None:
    night = night_of(latitude_deg, longitude_deg, zone, date, twilight)
    assert night.start_s < night.darkest_s < night.end_s
    # Apparent solar days run from 23 h 59 min 39 s to 24 h 0 min 30 s (from memory).
    assert night.end_s - night.start_s == pytest.approx(86400.0, abs=32.0)
    times = [moment.time_s for moment in night.moments]
    assert times == sorted(times)
    assert all(night.start_s <= time_s <= night.end_s for time_s in times)
    assert night.start_s <= night.event.time_s <= night.end_s
    assert (night.reason is None) == (night.event.name in ("sunset", "sunrise"))
    assert 0.88 < night.moon_parallax_deg < 1.03


@settings(deadline=None, max_examples=120)
@given(LATITUDES, LONGITUDES, DATES, TWILIGHTS)
def test_moments_stand_at_their_definition(
    latitude_deg: float, longitude_deg: float, date: dt.date, twilight: Twilight
) -> None:
    night = night_of(latitude_deg, longitude_deg, "UTC", date, twilight)
    own = [moment for moment in night.moments if moment.name in LEVELS]
    order = ["sunset", "civil", "nautical", "astronomical"]
    if twilight == "dawn":
        order = ["astronomical", "nautical", "civil", "sunrise"]
    names = [moment.name for moment in own]
    assert names == [name for name in order if name in names]
    for moment in own:
        altitude, azimuth = night.sun(moment.time_s)
        assert moment.sun_altitude_deg == pytest.approx(float(altitude))
        assert moment.sun_azimuth_deg == pytest.approx(float(azimuth))
        assert float(altitude) == pytest.approx(LEVELS[moment.name], abs=1e-4)
        before, after = night.sun(moment.time_s + np.array([-0.5, 0.5]))[0] - LEVELS[moment.name]
        # The root lies within half a second, and is passed in the right sense.
        assert before * after <= 0.0
        assert (after < before) == (twilight == "dusk")


@settings(deadline=None, max_examples=120)
@given(st.floats(-89.0, 89.0), LONGITUDES, DATES, TWILIGHTS)
def test_stand_ins_say_what_the_sun_does(
    latitude_deg: float, longitude_deg: float, date: dt.date, twilight: Twilight
) -> None:
    night = night_of(latitude_deg, longitude_deg, "UTC", date, twilight)
    altitude = night.sun(own_side_s(night))[0]
    if night.event.name == "midnight":
        assert altitude.min() > HORIZON_DEG
        assert night.event.time_s == night.darkest_s
    elif night.event.name == "noon":
        assert altitude.max() < HORIZON_DEG
        assert night.event.time_s == (night.start_s if twilight == "dusk" else night.end_s)
    else:
        moment = next(one for one in night.moments if one.name == night.event.name)
        assert moment.time_s == night.event.time_s


@settings(deadline=None, max_examples=80)
@given(LATITUDES, LONGITUDES, st.dates(dt.date(1950, 1, 1), LAST_DATE), TWILIGHTS)
def test_solar_noon_falls_on_the_date_of_the_place(
    latitude_deg: float, longitude_deg: float, date: dt.date, twilight: Twilight
) -> None:
    zone = time_zone_at(latitude_deg, longitude_deg)
    midday = dt.datetime.combine(date, dt.time(12), tzinfo=ZoneInfo(zone))
    assume(local_time(utc_s(midday), zone).date() == date)  # a date the place never had
    night = night_of(latitude_deg, longitude_deg, zone, date, twilight)
    noon_s = night.start_s if twilight == "dusk" else night.end_s
    assert night.clock(noon_s).date() == date


@settings(deadline=None, max_examples=60)
@given(st.floats(-89.7, 89.7), LONGITUDES, DATES, st.floats(-17.0, 41.0))
def test_sun_follows_the_sampled_library(
    latitude_deg: float, longitude_deg: float, date: dt.date, hours: float
) -> None:
    night = dusk(latitude_deg, longitude_deg, "UTC", date)
    # The library counts whole seconds.
    time_s = round(night.start_s + hours * 3600.0)
    moment = dt.datetime(1970, 1, 1, tzinfo=dt.UTC) + dt.timedelta(seconds=time_s)
    zenith, azimuth = zenith_and_azimuth(
        Observer(latitude_deg, longitude_deg, 0.0), moment, with_refraction=False
    )
    altitude, bearing = (float(value) for value in night.sun(time_s))
    assert altitude == pytest.approx(90.0 - zenith, abs=1e-3)
    turn = math.remainder(bearing - azimuth, 360.0) * math.cos(math.radians(altitude))
    # Its azimuth falls back to due south or north within 0.06 deg of the zenith.
    assert abs(turn) < (1e-3 if abs(altitude) < 89.9 else 0.2)
    assert 0.0 <= bearing < 360.0


@pytest.mark.parametrize("days", [-40.0, 3.0, 500.0])
def test_track_holds_far_outside_the_night(days: float) -> None:
    far = dusk(38.0, -9.0, "UTC", dt.date(2026, 12, 5))
    near = dusk(38.0, -9.0, "UTC", dt.date(2026, 12, 5) + dt.timedelta(days=days))
    times = near.start_s + np.linspace(0.0, 86400.0, 7).reshape(7, 1)
    for ours, theirs in zip(
        far.sun(times) + far.moon(times), near.sun(times) + near.moon(times), strict=True
    ):
        assert ours.shape == (7, 1)
        assert ours == pytest.approx(theirs, abs=1e-4)


def test_dusk_may_fall_on_the_next_date_of_the_calendar() -> None:
    # 65.5 N 25 E in early June: the sun sets after midnight of the clock, and
    # rises again an hour later; both belong to the noon before and after.
    night = dusk(65.5, 25.0, "Europe/Helsinki", dt.date(2026, 6, 5))
    assert night.event.name == "sunset"
    assert night.clock(night.event.time_s).date() == dt.date(2026, 6, 6)
    morning = dawn(65.5, 25.0, "Europe/Helsinki", dt.date(2026, 6, 6))
    assert morning.event.name == "sunrise"
    assert 0.0 < morning.event.time_s - night.event.time_s < 3.0 * 3600.0


def test_consecutive_dusks_through_the_season_never_skip_or_repeat() -> None:
    events = [
        dusk(65.5, 25.0, "Europe/Helsinki", dt.date(2026, 5, 25) + dt.timedelta(days=day)).event
        for day in range(40)
    ]
    assert {event.name for event in events} == {"sunset"}
    for before, after in itertools.pairwise(events):
        assert 23.8 * 3600.0 < after.time_s - before.time_s < 24.2 * 3600.0


def test_polar_day_counts_from_solar_midnight() -> None:
    night = dusk(70.0, 25.0, "Europe/Helsinki", dt.date(2026, 6, 21))
    assert night.event.name == "midnight"
    clock = f"{night.clock(night.darkest_s + 30.0):%H:%M}"
    assert night.reason == (
        f"The sun does not set on 21 June at this place; times count from solar midnight, {clock}."
    )
    assert "still up at midnight before 21 June" in (
        dawn(70.0, 25.0, "Europe/Helsinki", dt.date(2026, 6, 21)).reason or ""
    )


def test_polar_night_counts_from_solar_noon_and_keeps_its_twilight() -> None:
    night = dusk(70.0, 25.0, "Europe/Helsinki", dt.date(2026, 12, 21))
    assert night.event.name == "noon"
    assert "below the horizon even at noon on 21 December" in (night.reason or "")
    names = [moment.name for moment in night.moments if moment.name in LEVELS]
    # At 70 N the sun stands at -3.4 deg at noon: no sunset, but a civil twilight.
    assert names == ["civil", "nautical", "astronomical"]


@pytest.mark.parametrize("latitude_deg", [90.0, -90.0])
def test_at_the_poles_the_sun_only_circles(latitude_deg: float) -> None:
    night = dusk(latitude_deg, 0.0, "UTC", dt.date(2026, 6, 21))
    altitude, azimuth = night.sun(np.linspace(night.start_s, night.end_s, 25))
    # The sun's declination at the solstice is the obliquity of the ecliptic, 23.436 deg
    # in 2026 (from memory).
    assert altitude == pytest.approx(math.copysign(23.436, latitude_deg), abs=0.01)
    assert np.ptp(azimuth) > 300.0
    assert night.event.name == ("midnight" if latitude_deg > 0.0 else "noon")


def test_the_pole_has_one_sunset_a_year() -> None:
    nights = [
        dusk(90.0, 0.0, "UTC", dt.date(2026, 9, 15) + dt.timedelta(days=day)) for day in range(20)
    ]
    names = [night.event.name for night in nights]
    at = names.index("sunset")
    # Up by 34' + 16', the sun sets about two days after the equinox of 23 September.
    assert nights[at].date in (dt.date(2026, 9, 24), dt.date(2026, 9, 25))
    assert names == ["midnight"] * at + ["sunset"] + ["noon"] * (19 - at)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_the_date_line_decides_the_date_not_the_sun(zone: str) -> None:
    night = dusk(0.0, -160.0, zone, dt.date(2026, 3, 20))
    assert night.clock(night.start_s).date() == dt.date(2026, 3, 20)
    assert night.clock(night.event.time_s).date() == dt.date(2026, 3, 20)


def test_both_sides_of_the_date_line_share_one_sun() -> None:
    east = dusk(10.0, 180.0, "UTC", dt.date(2026, 5, 1))
    west = dusk(10.0, -180.0, "UTC", dt.date(2026, 5, 1))
    apart = (east.event.time_s - west.event.time_s) / 86400.0
    assert apart == pytest.approx(round(apart), abs=1e-3)


@pytest.mark.parametrize("date", [dt.date(2026, 3, 29), dt.date(2026, 10, 25)])
def test_the_clock_change_does_not_move_the_sun(date: dt.date) -> None:
    for twilight in ("dusk", "dawn"):
        local = night_of(52.0, 13.0, "Europe/Berlin", date, twilight)
        plain = night_of(52.0, 13.0, "UTC", date, twilight)
        assert local.event.time_s == pytest.approx(plain.event.time_s, abs=1e-3)
        offset = local.clock(local.event.time_s).utcoffset()
        summer = (date.month == 3) != (local.clock(local.event.time_s).hour < 2)
        assert offset == dt.timedelta(hours=2 if summer else 1)


def test_dawn_is_dusk_mirrored() -> None:
    # At the solstice the declination stands still, so the sun at equal times
    # before and after noon stands equally high, mirrored in the meridian.
    date = dt.date(2026, 12, 21)
    evening, morning = (night_of(38.0, -9.0, "UTC", date, side) for side in ("dusk", "dawn"))
    noon_s = evening.start_s
    assert morning.end_s == pytest.approx(noon_s, abs=1e-3)
    after = evening.sun(noon_s + np.linspace(0.0, 43000.0, 50))
    before = morning.sun(noon_s - np.linspace(0.0, 43000.0, 50))
    assert after[0] == pytest.approx(before[0], abs=0.1)
    low = np.abs(after[0]) < 20.0
    assert after[1][low] == pytest.approx(360.0 - before[1][low], abs=0.1)


@pytest.mark.parametrize(
    ("latitude_deg", "least_min", "most_min"), [(38.0, 0.0, 60.0), (65.0, 120.0, 180.0)]
)
def test_december_twilight_is_short_in_the_south_and_long_in_the_north(
    latitude_deg: float, least_min: float, most_min: float
) -> None:
    # From sunset to the sun at -9 deg; common practice, no source.
    night = dusk(latitude_deg, 0.0, "UTC", dt.date(2026, 12, 21))
    found = crossings(lambda t: night.sun(t)[0], (-9.0,), night.event.time_s, night.darkest_s)
    minutes = (found[0].time_s - night.event.time_s) / 60.0
    assert least_min < minutes < most_min


def test_a_dip_of_seconds_is_still_a_sunset() -> None:
    # Where the midnight sun just touches the horizon, sunset and sunrise lie
    # seconds apart; walk the latitude up to the last one that still has them.
    date = dt.date(2026, 6, 21)
    with_sunset, without = 65.0, 67.0
    for _ in range(40):
        middle = 0.5 * (with_sunset + without)
        if dusk(middle, 25.0, "UTC", date).event.name == "sunset":
            with_sunset = middle
        else:
            without = middle
    night = dusk(with_sunset, 25.0, "UTC", date)
    lowest = float(night.sun(np.linspace(-600.0, 600.0, 2401) + night.darkest_s)[0].min())
    assert lowest == pytest.approx(HORIZON_DEG, abs=1e-6)
    assert abs(night.event.time_s - night.darkest_s) < 120.0


def test_moon_rises_and_sets_with_its_upper_limb() -> None:
    # Geocentric altitude 0.7275 HP - 34' at rising and setting (Meeus 1998, chapter 15).
    night = dusk(45.0, 10.0, "UTC", dt.date(2026, 3, 3))
    for name in ("moonrise", "moonset"):
        moment = next(one for one in night.moments if one.name == name)
        altitude = float(night.moon(moment.time_s)[0])
        assert altitude == pytest.approx(-0.2725 * night.moon_parallax_deg - 34.0 / 60.0, abs=2e-3)


def test_the_full_moon_rises_as_the_sun_sets() -> None:
    # Full moon of 2026-03-03, 11:38 UT, a total eclipse, so sun and moon stand opposite
    # (instant from memory).
    night = dusk(0.0, -90.0, "UTC", dt.date(2026, 3, 3))
    full_s = utc_s(dt.datetime(2026, 3, 3, 11, 38, tzinfo=dt.UTC))
    assert float(night.moon_elongation_deg(full_s)) > 179.0
    rise = next(one for one in night.moments if one.name == "moonrise")
    assert abs(rise.time_s - night.event.time_s) < 1800.0


def test_equal_nights_are_equal_and_can_be_remembered() -> None:
    first, second = (dusk(38.0, -9.0, "UTC", dt.date(2026, 12, 5)) for _ in range(2))
    assert first == second
    assert hash(first) == hash(second)
    assert first != dawn(38.0, -9.0, "UTC", dt.date(2026, 12, 5))


@pytest.mark.parametrize("date", [dt.date(1900, 12, 31), dt.date(2100, 1, 1), dt.date.min])
def test_years_outside_the_formulas_are_refused(date: dt.date) -> None:
    with pytest.raises(PlanError, match="give a date from 1 Jan 1901 to 31 Dec 2099"):
        dusk(38.0, -9.0, "UTC", date)


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "zone", "named"),
    [
        (90.1, 0.0, "UTC", "latitude"),
        (math.nan, 0.0, "UTC", "latitude"),
        (0.0, -181.0, "UTC", "longitude"),
        (0.0, math.inf, "UTC", "longitude"),
        (0.0, 0.0, "Mars/Base", "Mars/Base"),
    ],
)
def test_what_is_no_place_is_refused(
    latitude_deg: float, longitude_deg: float, zone: str, named: str
) -> None:
    with pytest.raises(PlanError, match=named) as refusal:
        dusk(latitude_deg, longitude_deg, zone, dt.date(2026, 1, 1))
    assert str(refusal.value).endswith(".")
