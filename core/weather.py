"""What typed temperature, humidity and visibility mean for a flight at dusk."""

from __future__ import annotations

import math

from core.preview.heavens import KOSCHMIEDER

#: Saturation over water: WMO-No. 8, Guide to Instruments and Methods of Observation, annex on
#: the formulae of humidity: exp(17.62 t / (243.12 + t)).
MAGNUS_B, MAGNUS_C = 17.62, 243.12
#: Height of a cloud's base for a degree between air and dew point, [m]: dry air cools by
#: 9.8 °C/km, the dew point by 1.8. AMS Glossary of Meteorology, 'dewpoint formula'.
BASE_M_PER_DEGREE = 1000.0 / (9.8 - 1.8)
#: Height of clouds when no humidity is typed, [m]: engineering judgement.
USUAL_CLOUD_M = 1500.0
#: Nearer than this to the dew point mist is likely; nearer than the second it is to be reckoned
#: with, [°C]: engineering judgement.
MIST_SPREAD_C, FOG_SPREAD_C = 2.5, 1.0
#: Between these, wet air leaves ice on propellers, [°C]; air from this humidity on is wet, [%].
#: Engineering judgement from flight and cold-chamber tests.
ICING_C, WET_PERCENT = (-15.0, 2.0), 95.0


def dew_point_c(temperature_c: float, humidity_percent: float) -> float:
    """Temperature at which air is saturated, [°C], over water (Magnus).

    Parameters
    ----------
    temperature_c
        Air temperature, [°C], domain -45 to 60.
    humidity_percent
        Relative humidity, (0, 100].

    References
    ----------
    WMO-No. 8, coefficients 17.62 and 243.12 °C.

    """
    gamma = math.log(humidity_percent / 100.0) + MAGNUS_B * temperature_c / (
        MAGNUS_C + temperature_c
    )
    return MAGNUS_C * gamma / (MAGNUS_B - gamma)


def spread_c(temperature_c: float, humidity_percent: float) -> float:
    """How far the air is above its dew point, [°C], never below 0."""
    return max(temperature_c - dew_point_c(temperature_c, humidity_percent), 0.0)


def cloud_base_m(temperature_c: float, humidity_percent: float) -> float:
    """Base of cloud that rises from this air, above ground, [m] (Espy).

    It holds for heaped cloud over air well mixed by the day; at dusk it is a lower bound.
    """
    return BASE_M_PER_DEGREE * spread_c(temperature_c, humidity_percent)


def cloud_height_m(temperature_c: float, humidity_percent: float | None) -> float:
    """Height of the clouds above ground, [m]: their base, or a usual one if it is not known."""
    if humidity_percent is None:
        return USUAL_CLOUD_M
    return cloud_base_m(temperature_c, humidity_percent)


def contrast_share(distance_km: float, visibility_km: float) -> float:
    """Contrast that is left of something dark against the sky, (0, 1] (Koschmieder)."""
    return math.exp(-KOSCHMIEDER * distance_km / visibility_km)


def ice_forms(temperature_c: float, humidity_percent: float) -> bool:
    """Whether propellers take on ice: near or below freezing, in air that is all but wet."""
    coldest, warmest = ICING_C
    return coldest <= temperature_c <= warmest and humidity_percent >= WET_PERCENT
