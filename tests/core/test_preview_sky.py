"""Sky, haze, lamps, sun and moon of the predicted frames against published figures."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import atmosphere

from core.plan import Camera
from core.preview.discs import (
    RADIUS_DEG,
    SUN_CD_M2,
    Disc,
    air_mass,
    apparent_altitude_deg,
    disc_cover,
    moon_disc,
    sun_disc,
    transmitted_rgb,
)
from core.preview.heavens import bearings, heavens_of, sky_rgb, visibility_km
from core.preview.scene import LAMP_RGB
from core.preview.view import screen_of
from core.sky.actual import ActualSky
from core.sky.interpolate import FloatArray
from tests.previewing import LUMINANCE, EvenSky
from tests.skies import hemisphere_lx, shipped

NONE = np.zeros(1)


def sky_of(cloud_okta: float = 0.0) -> ActualSky:
    return ActualSky(shipped().at(0.12, 80.0), cloud_okta, 0.001)


@pytest.mark.parametrize(
    ("haze_aod", "km"),
    # Koschmieder over the textbook haze layers, computed apart from this module.
    [(0.05, 110.0), (0.15, 38.0), (0.30, 19.0), (0.50, 12.0)],
)
def test_visibility_follows_from_the_haze(haze_aod: float, km: float) -> None:
    assert visibility_km(haze_aod) == pytest.approx(km, rel=0.04)


@pytest.mark.parametrize("sun_deg", [2.0, -2.0, -6.0, -10.0])
@pytest.mark.parametrize("okta", [0.0, 5.0])
def test_the_sky_is_the_models_between_the_nodes_too(sun_deg: float, okta: float) -> None:
    sky = sky_of(okta)
    heavens = heavens_of(sky, np.array([sun_deg]), NONE, NONE)
    draw = np.random.default_rng(1)
    altitude = draw.uniform(0.0, 89.0, 500).astype(np.float32)
    azimuth = draw.uniform(-180.0, 180.0, 500).astype(np.float32)
    rgb = sky_rgb(heavens.log2_rgb[0], altitude, bearings(azimuth))
    stops = np.log2(rgb @ LUMINANCE / sky.luminance(sun_deg, altitude, azimuth))
    # Within a few degrees of a risen sun the table itself is coarse.
    away = np.hypot(azimuth, altitude - sun_deg) > 8.0
    assert np.abs(stops[away]).max() < 0.05
    colour = sky.colour(sun_deg, altitude, azimuth)
    ratio = np.log2(rgb[:, 0] / rgb[:, 2]) - np.log2(colour[:, 0] / colour[:, 2])
    assert np.abs(ratio).max() < 0.1


def test_skylight_on_land_has_the_colour_of_the_whole_sky() -> None:
    sky = sky_of()

    def channel(number: int) -> float:
        def of_sky(sun: float, view: FloatArray, azimuth: FloatArray) -> FloatArray:
            colour = sky.colour(sun, view, azimuth)[..., number]
            return np.asarray(sky.luminance(sun, view, azimuth) * colour)

        return hemisphere_lx(of_sky, -6.0)

    light = heavens_of(sky, np.array([-6.0]), NONE, NONE).light[0]
    whole = np.array([channel(number) for number in range(3)])
    assert light == pytest.approx(whole / (whole @ LUMINANCE), rel=0.01)


def test_haze_under_an_even_sky_shows_half_of_it_and_half_of_the_ground() -> None:
    air = heavens_of(EvenSky(2.0), np.array([-6.0]), NONE, np.array([0.3])).air[0]
    # Single scattering, albedo 0.94: what an even surrounding gives whatever the lobe.
    assert air == pytest.approx(0.94 * (0.5 * 2.0 + 0.5 * 0.3), rel=1e-3)


def test_haze_is_brighter_toward_the_glow() -> None:
    heavens = heavens_of(sky_of(), np.array([-6.0]), NONE, NONE)
    toward, away = heavens.air[0, 0] @ LUMINANCE, heavens.air[0, -1] @ LUMINANCE
    assert toward > 2.0 * away


def test_an_overcast_sky_has_no_colour() -> None:
    overcast = heavens_of(sky_of(8.0), np.array([-4.0]), NONE, NONE)
    assert np.ptp(overcast.log2_rgb, axis=-1).max() < 1e-4


def test_moonlight_is_added_to_the_sky() -> None:
    night = heavens_of(sky_of(), np.array([-17.0]), np.array([0.05]), NONE)
    dark = heavens_of(sky_of(), np.array([-17.0]), NONE, NONE)
    added = 2.0 ** night.log2_rgb.astype(float) - 2.0 ** dark.log2_rgb.astype(float)
    assert added == pytest.approx(0.05, rel=0.01)


def test_the_lamps_have_the_colour_of_3000_kelvin() -> None:
    assert pytest.approx(1.0, abs=2e-4) == LAMP_RGB @ LUMINANCE
    # The Planckian locus at 3000 K (CIE 15:2004), by way of IEC 61966-2-1's matrix to XYZ.
    to_xyz = np.array(
        [(0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505)]
    )
    xyz = to_xyz @ LAMP_RGB
    assert xyz[:2] / xyz.sum() == pytest.approx((0.4369, 0.4041), abs=2e-3)


# ---- sun and moon ----


@pytest.mark.parametrize("altitude", [0.0, 1.0, 5.0, 15.0, 40.0, 90.0])
def test_air_mass_is_that_of_kasten_and_young(altitude: float) -> None:
    published = atmosphere.get_relative_airmass(90.0 - altitude, model="kastenyoung1989")
    assert air_mass(altitude) == pytest.approx(float(published), rel=1e-3)


@pytest.mark.parametrize(
    ("geometric", "minutes"),
    # Meeus 1998, ch. 16: a true altitude of 0.5541 deg appears 24.618' higher.
    [(0.5541, 24.618), (-0.5667, 34.0)],
)
def test_refraction_lifts_what_stands_low(geometric: float, minutes: float) -> None:
    lifted = (apparent_altitude_deg(geometric) - geometric) * 60.0
    assert lifted == pytest.approx(minutes, abs=0.7)


def test_the_low_sun_is_red_and_the_high_sun_nearly_white() -> None:
    low, high = transmitted_rgb(0.12, 1.0), transmitted_rgb(0.12, 60.0)
    assert low[0] > 4.0 * low[2]
    assert high[0] < 1.6 * high[2]
    assert high @ LUMINANCE > 20.0 * (low @ LUMINANCE)


@pytest.mark.parametrize("haze", [0.05, 0.12, 0.3])
def test_an_overhead_sun_loses_what_the_air_above_takes(haze: float) -> None:
    # Beer-Lambert with the parts of the air at 555 nm: Rayleigh 0.094 (Bodhaine et al. 1999),
    # ozone 0.028 (300 DU), haze by Angstrom's exponent 1.3, the stratosphere's 0.006.
    depth = 0.094 + 0.028 + (haze + 0.006) * (555.0 / 550.0) ** -1.3
    assert transmitted_rgb(haze, 90.0) @ LUMINANCE == pytest.approx(np.exp(-depth), rel=0.02)


def test_the_suns_disc_has_the_published_luminance() -> None:
    # About 1.6e9 cd/m2 seen from the ground at noon (handbook value, from memory), 1.9e9 above
    # the air.
    assert pytest.approx(2.0e9, rel=0.05) == SUN_CD_M2


@pytest.mark.parametrize(("heading", "pitch"), [(250.0, 2.0), (265.0, -10.0), (232.0, 20.0)])
def test_the_disc_is_half_a_degree_wide(heading: float, pitch: float) -> None:
    screen = screen_of(Camera(), 1080, 1920)
    found = disc_cover(sun_disc(3.0, 250.0, 0.12), screen, heading, pitch)
    assert found is not None
    rows, cols, lit = found
    across, up = screen.across[cols], screen.up[rows]
    # A patch of the screen shrinks by the cube of the ray's length.
    solid_angle = (
        lit * screen.pixel_across * screen.pixel_up / (1 + across**2 + up**2) ** 1.5
    ).sum()
    assert solid_angle == pytest.approx(np.pi * np.radians(RADIUS_DEG) ** 2, rel=0.02)


def test_a_disc_beside_or_behind_the_frame_is_not_drawn() -> None:
    screen = screen_of(Camera(), 90, 160)
    disc = sun_disc(3.0, 250.0, 0.12)
    assert disc_cover(disc, screen, 250.0, 0.0) is not None
    for heading, pitch in ((70.0, 0.0), (180.0, 0.0), (250.0, -60.0), (250.0, 50.0)):
        assert disc_cover(disc, screen, heading, pitch) is None


def moon(elongation_deg: float, sun: tuple[float, float] = (-6.0, 250.0)) -> Disc:
    return moon_disc((20.0, 200.0), elongation_deg, 0.01, sun, 0.12)


@pytest.mark.parametrize("elongation", [40.0, 90.0, 130.0, 180.0])
def test_the_moon_shows_the_lit_part_of_its_disc(elongation: float) -> None:
    screen = screen_of(Camera(focal_equivalent_mm=200.0), 1080, 1920)
    lit = disc_cover(moon(elongation), screen, 200.0, 20.0)
    full = disc_cover(moon(180.0), screen, 200.0, 20.0)
    assert lit is not None
    assert full is not None
    # Illuminated fraction (1 + cos i) / 2 with i = 180 - elongation, Meeus 1998, ch. 48.
    expected = (1.0 - np.cos(np.radians(elongation))) / 2.0
    assert lit[2].sum() / full[2].sum() == pytest.approx(expected, abs=0.01)


def test_the_moons_bright_limb_faces_the_sun() -> None:
    screen = screen_of(Camera(focal_equivalent_mm=200.0), 540, 960)
    found = disc_cover(moon(60.0), screen, 200.0, 20.0)
    assert found is not None
    rows, cols, lit = found
    across = float((lit * screen.across[cols]).sum() / lit.sum())
    up = float((lit * screen.up[rows]).sum() / lit.sum())
    # The sun went down to the right of the moon.
    assert across > 0.0
    assert up < float(np.tan(np.radians(apparent_altitude_deg(20.0) - 20.0)))


def test_a_full_moon_has_its_known_luminance() -> None:
    # 0.27 lx from the zenith over its solid angle is some 4000 cd/m2; 2500 to 6000 are quoted
    # (handbook values, from memory).
    disc = moon_disc((90.0, 0.0), 180.0, 0.27, (-60.0, 180.0), 0.12)
    assert 2500.0 < float(disc.rgb @ LUMINANCE) < 6000.0
