"""Where the sun and the moon stand: astral's coordinates, turned to the place's sky.

What changes by the second is the turn of the Earth, and that is exact spherical
geometry. Only the slow coordinates come from astral (the sun's declination and
equation of time, the moon's place among the stars): they are asked for at a few
instants, and a Chebyshev series through them gives any other. So the track is
smooth through north, through the zenith and at the poles.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
from astral.moon import moon_position
from astral.sun import eq_of_time, sun_declination
from numpy.polynomial import chebyshev

FloatArray = npt.NDArray[np.float64]

DAY_S = 86400.0
_J2000_S = 946_728_000.0  # 2000-01-01 12:00 UTC, JD 2451545.0
_CENTURY_DAYS = 36525.0

# Degree 8 over two and a half days keeps the moon to 1e-5 deg of astral's own.
_DEGREE = 8


class Series:
    """Slow coordinates over a span of time, as one Chebyshev series.

    Outside the span the coordinates are computed one by one: slower, as exact.
    """

    def __init__(
        self, exact: Callable[[float], Sequence[float]], start_s: float, end_s: float
    ) -> None:
        self._exact = exact
        self._middle_s = 0.5 * (start_s + end_s)
        self._half_s = 0.5 * (end_s - start_s)
        nodes = chebyshev.chebpts1(_DEGREE + 1)
        values = np.array([exact(self._middle_s + self._half_s * x) for x in nodes.tolist()])
        self._coefficients = chebyshev.chebfit(nodes, values, _DEGREE)

    def at(self, time_s: FloatArray) -> FloatArray:
        """Return the coordinates at any instants, shape (coordinates, *time_s.shape)."""
        x = (time_s - self._middle_s) / self._half_s
        if np.all(np.abs(x) <= 1.0):
            return np.asarray(chebyshev.chebval(x, self._coefficients), dtype=np.float64)
        rows = np.array([self._exact(t) for t in time_s.ravel().tolist()], dtype=np.float64)
        return rows.T.reshape(-1, *time_s.shape)


def sun_slow(time_s: float) -> tuple[float, float]:
    """Return the sun's declination (deg) and the equation of time (minutes), from astral."""
    century = (time_s - _J2000_S) / DAY_S / _CENTURY_DAYS
    return sun_declination(century), eq_of_time(century)


def moon_slow(time_s: float) -> tuple[float, float, float]:
    """Return the moon's geocentric place (equatorial x, y, z, in Earth radii), from astral."""
    moon = moon_position((time_s - _J2000_S) / DAY_S)
    across = moon.distance * np.cos(moon.declination)
    return (
        float(across * np.cos(moon.right_ascension)),
        float(across * np.sin(moon.right_ascension)),
        float(moon.distance * np.sin(moon.declination)),
    )


def solar_hour_angle_deg(
    time_s: npt.ArrayLike, equation_min: npt.ArrayLike, longitude_deg: float
) -> FloatArray:
    """Return the sun's local hour angle in degrees (0 at solar noon, any number of turns)."""
    day_s = np.mod(np.asarray(time_s, dtype=np.float64), DAY_S)
    return day_s / 240.0 - 180.0 + longitude_deg + np.asarray(equation_min) / 4.0


def transit_s(near_s: float, longitude_deg: float, hour_angle_deg: float = 0.0) -> float:
    """Return the instant nearest to `near_s` at which the sun has an hour angle.

    Parameters
    ----------
    near_s : float
        UTC seconds; the answer lies within half a day of it.
    longitude_deg : float
        East positive, any range.
    hour_angle_deg : float
        0 is solar noon, the upper transit; 180 solar midnight, the lower.
    """
    time_s = near_s
    # The clock runs 15 degrees an hour; the equation of time drifts by less
    # than 1e-3 of that, so that three steps end below a microsecond.
    for _ in range(3):
        angle = float(solar_hour_angle_deg(time_s, sun_slow(time_s)[1], longitude_deg))
        time_s -= ((angle - hour_angle_deg + 180.0) % 360.0 - 180.0) * 240.0
    return time_s


class Track:
    """The sun and the moon as seen from one place over a span of time.

    Geometric directions without refraction. The sun follows astral 3.2 to
    0.001 deg, itself within 0.0153 deg of the DE421 ephemeris (compared over
    2026, latitudes -66 to 78). The moon follows it to 0.03 deg once astral's
    geocentric direction is moved to the place.
    """

    def __init__(
        self, latitude_deg: float, longitude_deg: float, start_s: float, end_s: float
    ) -> None:
        self._latitude_deg = latitude_deg
        self._longitude_deg = longitude_deg
        self._sun = Series(sun_slow, start_s, end_s)
        self._moon = Series(moon_slow, start_s, end_s)

    def sun(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the sun's altitude and azimuth in degrees."""
        return _altitude_azimuth_deg(*self._sun_angles_deg(time_s), self._latitude_deg)

    def moon(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the moon's topocentric altitude and azimuth in degrees.

        Parallax lowers the altitude by about HP cos(altitude); here without
        approximation for a spherical Earth, tan a' = (sin a - sin HP) / cos a.
        """
        hour_angle, declination, parallax = self._moon_angles_deg(time_s)
        altitude, azimuth = _altitude_azimuth_deg(hour_angle, declination, self._latitude_deg)
        up = np.sin(np.radians(altitude)) - np.sin(np.radians(parallax))
        return np.degrees(np.arctan2(up, np.cos(np.radians(altitude)))), azimuth

    def moon_parallax_deg(self, time_s: FloatArray) -> FloatArray:
        """Return the moon's horizontal parallax in degrees (0.90 to 1.02)."""
        return self._moon_angles_deg(time_s)[2]

    def moon_elongation_deg(self, time_s: FloatArray) -> FloatArray:
        """Return the angle between sun and moon seen from the Earth's centre, 0 to 180 deg."""
        sun_hour, sun_declination_deg = self._sun_angles_deg(time_s)
        moon_hour, moon_declination_deg, _ = self._moon_angles_deg(time_s)
        apart = np.radians(moon_hour - sun_hour)
        sun, moon = np.radians(sun_declination_deg), np.radians(moon_declination_deg)
        sun_cosine, moon_cosine = np.cos(sun), np.cos(moon)
        sun_sine, moon_sine = np.sin(sun), np.sin(moon)
        # atan2 of sine and cosine keeps its digits at new and full moon (Vincenty 1975, Survey
        # Review 23:88, for a sphere).
        along = sun_cosine * moon_sine - sun_sine * moon_cosine * np.cos(apart)
        sine = np.hypot(moon_cosine * np.sin(apart), along)
        cosine = sun_sine * moon_sine + sun_cosine * moon_cosine * np.cos(apart)
        return np.asarray(np.degrees(np.arctan2(sine, cosine)), dtype=np.float64)

    def _sun_angles_deg(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        declination, equation_min = self._sun.at(time_s)
        return solar_hour_angle_deg(time_s, equation_min, self._longitude_deg), declination

    def _moon_angles_deg(self, time_s: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        x, y, z = self._moon.at(time_s)
        across = np.hypot(x, y)
        ascension = np.degrees(np.arctan2(y, x))
        hour_angle = _greenwich_sidereal_deg(time_s) + self._longitude_deg - ascension
        parallax = np.degrees(np.arcsin(1.0 / np.hypot(across, z)))
        return hour_angle, np.degrees(np.arctan2(z, across)), parallax


def _greenwich_sidereal_deg(time_s: FloatArray) -> FloatArray:
    """Mean sidereal time at Greenwich (Meeus 1998, eq. 12.4, without its 1e-8 term)."""
    days = (time_s - _J2000_S) / DAY_S
    century = days / _CENTURY_DAYS
    return 280.46061837 + 360.98564736629 * days + 0.000387933 * century * century


def _direction(hour_angle_deg: FloatArray, declination_deg: FloatArray) -> FloatArray:
    """Unit vector (meridian, west, pole) of an hour angle and declination."""
    hour, dec = np.radians(hour_angle_deg), np.radians(declination_deg)
    return np.stack((np.cos(dec) * np.cos(hour), np.cos(dec) * np.sin(hour), np.sin(dec)))


def _altitude_azimuth_deg(
    hour_angle_deg: FloatArray, declination_deg: FloatArray, latitude_deg: float
) -> tuple[FloatArray, FloatArray]:
    """Altitude and azimuth, clockwise from north (Meeus 1998, eq. 13.5 and 13.6)."""
    meridian, west, pole = _direction(hour_angle_deg, declination_deg)
    sine, cosine = np.sin(np.radians(latitude_deg)), np.cos(np.radians(latitude_deg))
    north = pole * cosine - meridian * sine
    up = pole * sine + meridian * cosine
    azimuth = np.degrees(np.arctan2(-west, north))
    # Twice, because a tiny negative angle is rounded up to 360 the first time.
    return np.degrees(np.arctan2(up, np.hypot(west, north))), np.mod(np.mod(azimuth, 360.0), 360.0)
