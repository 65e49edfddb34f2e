"""The light of one night: what reaches the ground, what the lamps add, how sure it is."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.belief import UNKNOWNS, Belief, typed_belief
from core.cloud import ambient_sigma_stops
from core.lamps import LAMP_SIGMA_STOPS
from core.light import Light, light_of
from core.night import Night, night_of
from core.plan import Conditions, Ground, Lamps, Place, Switching
from core.skies import HAZE_SIGMA_DOUBLINGS
from core.sky.daylight import horizontal_illuminance_lx
from tests.dusk import HAZE_STOPS_PER_DOUBLING, arrays_of, glowing_skies

PLACE = Place(name="Two Weirs", latitude_deg=38.0, longitude_deg=0.0)
NIGHT = night_of(38.0, 0.0, "UTC", dt.date(2026, 12, 5), "dusk")


def lit(
    night: Night = NIGHT, ground: Ground | None = None, place: Place = PLACE, **air: float
) -> Light:
    skies = glowing_skies(air.get("haze_aod", 0.12), air.get("cloud_okta", 0.0))
    return light_of(night, place, ground or Ground(), Conditions(**air), skies)


def belief_with(**means: float) -> Belief:
    typed = typed_belief(0.0)
    return replace(typed, mean=tuple(means.get(name, 0.0) for name in UNKNOWNS))


def after_sunset(light: Light, name: str, minutes: float) -> float:
    return float(light.at(name, NIGHT.event.time_s + 60.0 * minutes))


def test_it_runs_from_noon_to_noon_and_cannot_be_changed() -> None:
    light = lit()
    assert light.time_s[0] == NIGHT.start_s
    assert light.time_s[-1] >= NIGHT.end_s
    assert not any(array.flags.writeable for array in arrays_of(light))


def test_land_is_a_matt_surface_under_the_sky() -> None:
    light = lit(ground=Ground(land_reflectance=0.3))
    assert np.exp2(light.land_log2) == pytest.approx(0.3 * light.illuminance_lx / np.pi)


def test_the_street_is_land_and_lamplight() -> None:
    light = lit(ground=Ground(lamps=Lamps(luminance_cd_m2=0.6)))
    added = np.exp2(light.street_log2) - np.exp2(light.land_log2)
    assert added == pytest.approx(0.6 * light.lamp_output, abs=1e-9)
    # Midnight: nothing but lamps.
    assert np.exp2(light.at("street_log2", NIGHT.darkest_s)) == pytest.approx(0.6, rel=0.01)


def test_without_lamps_the_street_is_land() -> None:
    light = lit(ground=Ground(lamps=Lamps(luminance_cd_m2=0.0)))
    assert np.array_equal(light.street_log2, light.land_log2)
    assert light.lamps_on_s is light.lamps_off_s is None


def test_a_clear_moonless_dusk_is_the_published_curve() -> None:
    # 5 December 2026: the moon is down at dusk, and new four days later.
    light = lit()
    dusk = (light.time_s > NIGHT.event.time_s) & (light.sun_altitude_deg > -12.0)
    dusk &= light.time_s < NIGHT.darkest_s
    published = horizontal_illuminance_lx(light.sun_altitude_deg[dusk])
    assert light.illuminance_lx[dusk] == pytest.approx(published, rel=1e-9)


def test_a_full_moon_outdoes_the_night_sky_but_not_the_twilight() -> None:
    # 24 December 2026, 01:28 UT: full moon, high in a winter night.
    night = night_of(38.0, 0.0, "UTC", dt.date(2026, 12, 23), "dusk")
    light = lit(night)
    midnight = float(light.at("illuminance_lx", night.darkest_s))
    assert 0.15 < midnight < 0.4
    sky_under_it = float(light.at("sky_added_cd_m2", night.darkest_s))
    assert sky_under_it == pytest.approx(midnight / np.pi, rel=0.01)
    twilight = float(light.at("illuminance_lx", night.event.time_s + 25.0 * 60.0))
    assert midnight < 0.05 * twilight


@settings(max_examples=20)
@given(st.floats(0.0, 8.0), st.floats(0.02, 0.6))
def test_cloud_and_haze_take_light_and_delay_nothing_else(okta: float, haze: float) -> None:
    clear, dull = lit(), lit(cloud_okta=okta, haze_aod=max(haze, 0.12))
    assert np.all(dull.land_log2 <= clear.land_log2 + 1e-9)
    assert np.array_equal(dull.sun_altitude_deg, clear.sun_altitude_deg)
    # A duller evening lights the lamps sooner.
    assert dull.lamps_on_s is not None
    assert clear.lamps_on_s is not None
    assert dull.lamps_on_s <= clear.lamps_on_s


@pytest.mark.parametrize("okta", [0.0, 5.0])
def test_daylight_is_as_unsure_as_weather_and_haze_together(okta: float) -> None:
    light = lit(cloud_okta=okta)
    # Half the stops between the haze one sigma below and one above.
    haze = HAZE_STOPS_PER_DOUBLING * HAZE_SIGMA_DOUBLINGS
    expected = np.hypot(ambient_sigma_stops(okta), haze)
    assert light.land_sigma_stops == pytest.approx(np.full_like(light.time_s, expected))


def test_the_street_is_as_unsure_as_what_lights_it() -> None:
    light = lit()
    before = after_sunset(light, "street_sigma_stops", 0.0)
    assert before == pytest.approx(after_sunset(light, "land_sigma_stops", 0.0))
    at_night = float(light.at("street_sigma_stops", NIGHT.darkest_s))
    assert at_night == pytest.approx(LAMP_SIGMA_STOPS, abs=0.01)
    # Where both give the same light, each counts half: sqrt((a/2)² + (b/2)²).
    lamplight = np.exp2(light.street_log2) - np.exp2(light.land_log2)
    even = int(np.abs(np.log2(np.maximum(lamplight, 1e-9)) - light.land_log2).argmin())
    sigma = 0.5 * np.hypot(light.land_sigma_stops[even], LAMP_SIGMA_STOPS)
    assert light.street_sigma_stops[even] == pytest.approx(sigma, abs=0.02)


def test_lamps_come_on_by_the_level_that_reaches_the_photocell() -> None:
    overcast = lit(cloud_okta=8.0)
    clear = lit()
    for light in (overcast, clear):
        assert light.lamps_on_s is not None
        assert light.at("illuminance_lx", light.lamps_on_s) == pytest.approx(35.0, rel=0.005)


@settings(max_examples=40)
@given(
    weather=st.floats(-3.0, 3.0),
    haze=st.floats(-2.0, 2.0),
    # The last is a full moon's, which no weather moves.
    day=st.sampled_from([dt.date(2026, 12, 5), dt.date(2026, 6, 21), dt.date(2026, 12, 23)]),
    twilight=st.sampled_from(["dusk", "dawn"]),
    on_lx=st.sampled_from([0.6, 35.0, 300.0]),
)
def test_weather_and_haze_move_the_lamps_as_a_night_that_has_them_does(
    weather: float, haze: float, day: dt.date, twilight: Literal["dusk", "dawn"], on_lx: float
) -> None:
    night = night_of(38.0, 0.0, "UTC", day, twilight)
    ground = Ground(lamps=Lamps(switching=Switching(on_lx=on_lx, off_lx=18.0)))
    held = belief_with(weather=0.2, haze=-0.3, level=0.5)
    there = belief_with(weather=0.2 + weather, haze=-0.3 + haze, level=0.5)
    seen, moved = (
        light_of(night, PLACE, ground, Conditions(), glowing_skies(), belief)
        for belief in (held, there)
    )
    on_s, off_s = seen.switched_s(np.array([weather]), np.array([haze]))
    assert moved.lamps_on_s is not None
    assert moved.lamps_off_s is not None
    # Samples are ten seconds apart.
    assert float(on_s[0]) == pytest.approx(moved.lamps_on_s, abs=3.0)
    assert float(off_s[0]) == pytest.approx(moved.lamps_off_s, abs=3.0)


def test_lamps_that_burn_all_night_or_never_do_so_in_nights_like_it() -> None:
    nothing = np.zeros(1)
    winter = lit(night_of(80.0, 0.0, "UTC", dt.date(2026, 12, 21), "dusk"))
    assert [float(at[0]) for at in winter.switched_s(nothing, nothing)] == [-np.inf, np.inf]
    summer = lit(night_of(75.0, 0.0, "UTC", dt.date(2026, 6, 21), "dusk"))
    assert summer.switched_s(nothing, nothing)[0] == np.inf
    # Under a far heavier sky they come on then too.
    assert np.isfinite(summer.switched_s(np.array([-9.0]), nothing)[0])


def test_local_sunset_on_a_flat_horizon_is_sunset() -> None:
    assert lit().local_sunset_s == pytest.approx(NIGHT.event.time_s, abs=1.0)


def test_behind_a_ridge_the_sun_is_gone_early() -> None:
    ridge = Place(
        name="Under the ridge", latitude_deg=38.0, longitude_deg=0.0, skyline=((180.0, 10.0),)
    )
    light = lit(place=ridge)
    assert light.local_sunset_s is not None
    altitude, _ = NIGHT.sun(light.local_sunset_s)
    assert altitude == pytest.approx(10.0 - 5.0 / 6.0, abs=0.01)


def test_behind_a_ridge_the_ground_lacks_the_sun_s_own_light() -> None:
    ridge = Place(
        name="Under the ridge", latitude_deg=38.0, longitude_deg=0.0, skyline=((180.0, 10.0),)
    )
    open_sky, hidden = lit(), lit(place=ridge)
    share = hidden.illuminance_lx / open_sky.illuminance_lx
    high, low = open_sky.sun_altitude_deg > 10.3, open_sky.sun_altitude_deg < 9.7
    # Half of it is the sun's in this sky, while the sun is above the flat horizon.
    up = open_sky.sun_altitude_deg > 0.0
    assert share[high] == pytest.approx(np.ones(high.sum()))
    assert share[low & up] == pytest.approx(np.full((low & up).sum(), 0.5))
    assert share[~up] == pytest.approx(np.ones((~up).sum()))


def test_a_sun_that_comes_out_behind_a_summit_sets_later() -> None:
    summit = ((220.0, 0.0), (225.0, 20.0), (230.0, 0.0))
    light = lit(place=Place(name="Summit", latitude_deg=38.0, longitude_deg=0.0, skyline=summit))
    assert light.local_sunset_s == pytest.approx(NIGHT.event.time_s, abs=1.0)


@pytest.mark.parametrize("twilight", ["dusk", "dawn"])
def test_a_midnight_sun_behind_a_summit_does_not_set(twilight: str) -> None:
    night = night_of(75.0, 0.0, "UTC", dt.date(2026, 6, 21), twilight)  # type: ignore[arg-type]
    summits = ((70.0, 0.0), (80.0, 40.0), (90.0, 0.0), (270.0, 0.0), (280.0, 40.0), (290.0, 0.0))
    place = Place(name="Summer ice", latitude_deg=75.0, longitude_deg=0.0, skyline=summits)
    assert lit(night, place=place).local_sunset_s is None


def test_azimuth_runs_through_north_without_a_step() -> None:
    night = night_of(65.0, 0.0, "UTC", dt.date(2026, 6, 10), "dusk")
    light = lit(night)
    assert np.abs(np.diff(light.sun_azimuth_deg)).max() < 1.0
    exact = night.sun(light.time_s)[1]
    assert light.sun_azimuth_deg % 360.0 == pytest.approx(exact, abs=1e-6)


def test_polar_night_and_polar_day() -> None:
    winter = lit(night_of(80.0, 0.0, "UTC", dt.date(2026, 12, 21), "dusk"))
    assert winter.lamp_output.min() == 1.0
    assert winter.local_sunset_s is None
    summer = lit(night_of(75.0, 0.0, "UTC", dt.date(2026, 6, 21), "dusk"))
    assert summer.lamp_output.max() == 0.0
    assert summer.lamps_on_s is summer.local_sunset_s is None


def test_clock_lamps_ignore_the_light() -> None:
    switching = Switching(kind="clock", on_time="21:00", off_time="05:00")
    light = lit(ground=Ground(lamps=Lamps(switching=switching)), cloud_okta=8.0)
    assert light.lamps_on_s == dt.datetime(2026, 12, 5, 21, tzinfo=dt.UTC).timestamp()
