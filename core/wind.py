"""Wind and gust at a height, and the wind triangle of a leg flown on a course."""

from __future__ import annotations

import math

# The forecast's height. Below it the wind is taken as no weaker.
ANEMOMETER_HEIGHT_M = 10.0
# Gust over mean wind when no gust is forecast: open ground, engineering judgement.
GUST_FACTOR = 1.4
# A leg slower than this over ground does not count as flyable.
LEAST_GROUND_SPEED_M_S = 1.0


def shear_ratio(height_m: float, shear_exponent: float) -> float:
    """Wind at a height over the wind at 10 m: the power law.

    Parameters
    ----------
    height_m
        Height above ground, [m]; below 10 m it counts as 10 m.
    shear_exponent
        Hellmann exponent, [-], domain [0, 0.8]; about 0.27 over land once the
        air turns stable after sunset.

    Returns
    -------
    float
        [-], at least 1.

    References
    ----------
    Kaltschmitt, Streicher and Wiese (2007), Renewable Energy, Springer, p. 55.

    """
    ratio: float = (max(height_m, ANEMOMETER_HEIGHT_M) / ANEMOMETER_HEIGHT_M) ** shear_exponent
    return ratio


def gust_10m_m_s(wind_m_s: float, gust_m_s: float | None) -> float:
    """Gust at 10 m, [m/s]: as forecast and never below the mean, else 1.4 times the mean."""
    if gust_m_s is None:
        return GUST_FACTOR * wind_m_s
    return max(gust_m_s, wind_m_s)


def components_m_s(wind_m_s: float, wind_from_deg: float, course_deg: float) -> tuple[float, float]:
    """Headwind and crosswind on a course.

    Parameters
    ----------
    wind_m_s, wind_from_deg
        Wind speed, [m/s], and the bearing it blows from, [deg].
    course_deg
        Bearing flown over the ground, [deg].

    Returns
    -------
    tuple[float, float]
        Headwind (a tailwind is negative) and crosswind (from the right is
        positive), [m/s].

    """
    angle = math.radians(wind_from_deg - course_deg)
    return wind_m_s * math.cos(angle), wind_m_s * math.sin(angle)


def ground_speed_m_s(
    airspeed_m_s: float, course_deg: float, wind_m_s: float, wind_from_deg: float
) -> float | None:
    """Speed over ground on a course held against the wind.

    Parameters
    ----------
    airspeed_m_s
        Speed through the air, [m/s].
    course_deg
        Bearing flown over the ground, [deg].
    wind_m_s, wind_from_deg
        Wind speed, [m/s], and the bearing it blows from, [deg].

    Returns
    -------
    float or None
        [m/s]; zero or less when the craft is blown back; None when the
        crosswind alone is as fast as the craft, so that no course can be held.

    """
    head, cross = components_m_s(wind_m_s, wind_from_deg, course_deg)
    if airspeed_m_s <= abs(cross):
        return None
    return math.sqrt(airspeed_m_s**2 - cross**2) - head
