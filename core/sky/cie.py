"""CIE standard skies by direction, relative to their zenith.

References
----------
.. [1] CIE S 011/E:2003 = ISO 15469:2004, "Spatial distribution of daylight - CIE standard
   general sky".
.. [2] Darula, S. & Kittler, R., 2002, "CIE general sky standard defining luminance
   distributions", Proc. eSim 2002: the same parameters.
.. [3] Moon, P. & Spencer, D. E., 1942, "Illumination from a non-uniform sky", Illum. Eng. 37,
   707-726: the overcast sky.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

_LEAST_SINE = 1e-6
"""Sine of the lowest view altitude; at the horizon itself the gradation has no slope left."""


@dataclass(frozen=True)
class StandardSky:
    """Parameters of one CIE standard sky: gradation a, b and indicatrix c, d, e [1]_."""

    a: float
    b: float
    c: float
    d: float
    e: float


CLEAR_SKY = StandardSky(a=-1.0, b=-0.32, c=10.0, d=-3.0, e=0.45)
"""Type 12, V.4: the standard clear sky, low turbidity."""

OVERCAST_ILLUMINANCE_PER_ZENITH = 7.0 * np.pi / 9.0
"""Horizontal illuminance [lx] of the overcast sky per cd/m2 at its zenith."""


def standard_sky(
    sky: StandardSky,
    sun_altitude_deg: ArrayLike,
    view_altitude_deg: ArrayLike,
    azimuth_from_sun_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Luminance of a CIE standard sky over that of its zenith [1]_.

    Parameters
    ----------
    sky : StandardSky
        Which sky.
    sun_altitude_deg : array_like
        Altitude of the Sun [deg], 0 to 90.
    view_altitude_deg : array_like
        Altitude of the sky point [deg], 0 to 90; below 0 the horizon's value is given.
    azimuth_from_sun_deg : array_like
        Azimuth of the sky point less that of the Sun [deg], any.

    Returns
    -------
    ndarray
        Ratio, 1 at the zenith, with the shape the inputs broadcast to.
    """
    sun, view, azimuth = (
        np.radians(sun_altitude_deg),
        np.radians(view_altitude_deg),
        np.radians(azimuth_from_sun_deg),
    )
    view = np.maximum(view, 0.0)
    cosine = np.sin(sun) * np.sin(view) + np.cos(sun) * np.cos(view) * np.cos(azimuth)
    at_point = _indicatrix(sky, cosine) * _gradation(sky, np.sin(view))
    at_zenith = _indicatrix(sky, np.sin(sun)) * _gradation(sky, np.ones(()))
    return np.asarray(at_point / at_zenith)


def _gradation(sky: StandardSky, sine_of_altitude: NDArray[np.float64]) -> NDArray[np.float64]:
    """How luminance changes from horizon to zenith, the Sun apart."""
    return np.asarray(1.0 + sky.a * np.exp(sky.b / np.maximum(sine_of_altitude, _LEAST_SINE)))


def _indicatrix(sky: StandardSky, cosine: NDArray[np.float64]) -> NDArray[np.float64]:
    """How luminance changes with the angle from the Sun."""
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    glow = np.exp(sky.d * angle) - np.exp(sky.d * np.pi / 2.0)
    return np.asarray(1.0 + sky.c * glow + sky.e * cosine**2)


def overcast_sky(view_altitude_deg: ArrayLike) -> NDArray[np.float64]:
    """Luminance of the CIE overcast sky over that of its zenith [3]_.

    Parameters
    ----------
    view_altitude_deg : array_like
        Altitude of the sky point [deg], 0 to 90; below 0 the horizon's value is given.

    Returns
    -------
    ndarray
        1/3 at the horizon to 1 at the zenith.
    """
    view = np.maximum(np.radians(view_altitude_deg), 0.0)
    return np.asarray((1.0 + 2.0 * np.sin(view)) / 3.0)
