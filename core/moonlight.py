"""Illuminance of level ground by the moon."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.exposure import FloatArray

# Explanatory Supplement to the Astronomical Almanac 1992, ch. 9, pp. 490-493 (repeated in
# Urban & Seidelmann 2013, p. 518 ff.): log10 E = l0 + l1 x + l2 x² + l3 x³, x = altitude / 90,
# from -0.8, 5 and 20 deg on.
_BRANCHES = np.array(
    [
        (-2.79, 24.27, -252.95, 1321.29),
        (-2.58, 12.58, -42.58, 59.06),
        (-1.95, 4.06, -4.24, 1.56),
    ]
)
#: Below this the moon gives no light.
RISEN_DEG = -0.8
_MEAN_PARALLAX_DEG = 0.951


def moon_illuminance_lx(
    moon_altitude_deg: ArrayLike, elongation_deg: ArrayLike, parallax_deg: float
) -> FloatArray:
    """Illuminance of level ground by the moon through a clear sky, in lx.

    Parameters
    ----------
    moon_altitude_deg
        Topocentric, without refraction, -90 to 90; below -0.8 the moon gives nothing.
    elongation_deg
        Angle between moon and sun seen from the Earth, 0 (new) to 180 (full).
    parallax_deg
        Equatorial horizontal parallax, 0.90 to 1.03.

    Notes
    -----
    Explanatory Supplement 1992, ch. 9: E(altitude) · 10^(L2 + L3) with
    L2 = -8.68e-3 f - 2.2e-9 f⁴, f = 180 - elongation, L3 = 2 log10(parallax / 0.951).
    """
    altitude = np.asarray(moon_altitude_deg, dtype=float)
    branch = np.searchsorted((5.0, 20.0), altitude, side="right")
    l0, l1, l2, l3 = np.moveaxis(_BRANCHES[branch], -1, 0)
    x = np.maximum(altitude, RISEN_DEG) / 90.0
    f = 180.0 - np.asarray(elongation_deg, dtype=float)
    phase = -8.68e-3 * f - 2.2e-9 * f**4
    distance = 2.0 * np.log10(parallax_deg / _MEAN_PARALLAX_DEG)
    log_lux = l0 + x * (l1 + x * (l2 + x * l3)) + phase + distance
    return np.where(altitude < RISEN_DEG, 0.0, 10.0**log_lux)
