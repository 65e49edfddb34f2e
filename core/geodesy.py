"""From metres about a launch point to latitude, longitude and height, on the WGS 84 ellipsoid."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.exposure import FloatArray

# Defining parameters of WGS 84 (NGA.STND.0036, 2014, table 3.1).
_A_M = 6_378_137.0
_F = 1.0 / 298.257_223_563
_E2 = _F * (2.0 - _F)
#: Turns of the iteration below; from the second on the rest is under a nanometre near the ground.
_TURNS = 5


def place_at(
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    east_m: ArrayLike,
    north_m: ArrayLike,
    up_m: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Latitude, longitude and height of points told in metres about a launch point.

    The level plane at the launch point is turned into the earth's axes and the ellipsoid's
    coordinates are read off there; it holds at the poles and across the date line.

    Parameters
    ----------
    latitude_deg, longitude_deg, elevation_m
        The launch point; its height stands for the height above the ellipsoid, of which
        differences alone are used.
    east_m, north_m, up_m
        Metres, equal shapes.

    Returns
    -------
    tuple of ndarray
        Degrees, longitude −180 to 180; metres.
    """
    latitude, longitude = np.radians(latitude_deg), np.radians(longitude_deg)
    sin_lat, cos_lat, sin_lon, cos_lon = (
        np.sin(latitude), np.cos(latitude), np.sin(longitude), np.cos(longitude),
    )  # fmt: skip
    east, north, up = (np.asarray(side, dtype=float) for side in (east_m, north_m, up_m))
    normal = _A_M / np.sqrt(1.0 - _E2 * sin_lat**2)
    # Along the meridian's plane, out of it, and along the axis.
    out = (normal + elevation_m + up) * cos_lat - north * sin_lat
    x = out * cos_lon - east * sin_lon
    y = out * sin_lon + east * cos_lon
    z = (normal * (1.0 - _E2) + elevation_m + up) * sin_lat + north * cos_lat
    return _geodetic(x, y, z)


def _geodetic(
    x: FloatArray, y: FloatArray, z: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Latitude, longitude and height of a point, by iteration on the reduced latitude.

    Bowring 1976, Survey Review 23:323.
    """
    from_axis = np.hypot(x, y)
    axis_b, second_e2 = _A_M * (1.0 - _F), _E2 / (1.0 - _E2)
    reduced = np.arctan2(z, from_axis * (1.0 - _F))
    latitude = reduced
    for _ in range(_TURNS):
        latitude = np.arctan2(
            z + second_e2 * axis_b * np.sin(reduced) ** 3,
            from_axis - _E2 * _A_M * np.cos(reduced) ** 3,
        )
        reduced = np.arctan2((1.0 - _F) * np.sin(latitude), np.cos(latitude))
    sin_lat, cos_lat = np.sin(latitude), np.cos(latitude)
    # In this form it holds at the poles too.
    height = from_axis * cos_lat + z * sin_lat - _A_M * np.sqrt(1.0 - _E2 * sin_lat**2)
    return np.degrees(latitude), np.degrees(np.arctan2(y, x)), height
