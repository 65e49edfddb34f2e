"""Illuminance of level ground under a clear sky, from the Sun's altitude alone.

References
----------
.. [1] Seidelmann, P. K. (ed.), 1992, Explanatory Supplement to the Astronomical Almanac,
   ch. 9 (Yallop & Hohenkerk), pp. 490-493. Repeated in Urban & Seidelmann 2013, p. 518 ff.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

NIGHT_ILLUMINANCE_LX = 6.0e-4
"""Starlight and airglow on level ground, where the published curve has ended."""

_NIGHTFALL_LX = 5.0e-5

# Upper end of each branch [deg] and l0..l3 of log10(E/lx) = sum l_i x^i with x = altitude/90.
_BRANCH_TOP_DEG = np.array([-12.0, -5.0, -0.8, 5.0, 20.0])
_BRANCHES = np.array([
    (13.84, 262.72, 1447.42, 2797.93),
    (2.70, 12.17, -431.69, -1899.83),
    (2.88, 21.81, -258.11, -858.36),
    (2.88, 22.26, -207.64, 1034.30),
    (3.05, 13.28, -45.98, 64.33),
    (3.74, 3.97, -4.07, 1.47),
])  # fmt: skip


def _published_lx(altitude_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    """The published curve, its last branch run on below -18 deg, where it falls to nothing."""
    branch = np.searchsorted(_BRANCH_TOP_DEG, altitude_deg, side="right")
    l0, l1, l2, l3 = np.moveaxis(_BRANCHES[branch], -1, 0)
    x = altitude_deg / 90.0
    lux: NDArray[np.float64] = 10.0 ** (l0 + x * (l1 + x * (l2 + x * l3)))
    return lux


def horizontal_illuminance_lx(sun_altitude_deg: ArrayLike) -> NDArray[np.float64]:
    """Illuminance of level ground under a clear sky, sun and sky together [1]_.

    Parameters
    ----------
    sun_altitude_deg : array_like
        Geometric (unrefracted) altitude of the Sun's centre [deg], -90 to 90.

    Returns
    -------
    ndarray
        Illuminance [lx], shaped like the input. The last branch ends at -18 deg; from where
        it meets `NIGHT_ILLUMINANCE_LX` (-18.15 deg) that level is held.

    Raises
    ------
    ValueError
        If an altitude is not a number in -90..90.
    """
    altitude = np.asarray(sun_altitude_deg, dtype=np.float64)
    if not np.all(np.abs(altitude) <= 90.0):
        raise ValueError("sun_altitude_deg must be numbers from -90 to 90")
    return np.maximum(_published_lx(altitude), NIGHT_ILLUMINANCE_LX)


def twilight_illuminance_lx(sun_altitude_deg: ArrayLike, night_lx: float) -> NDArray[np.float64]:
    """Illuminance of level ground by sun and twilight alone, the night's own light taken off.

    Parameters
    ----------
    sun_altitude_deg : array_like
        Geometric altitude of the Sun's centre [deg], -90 to 90.
    night_lx : float
        What starlight and airglow give [lx], about 6e-4.

    Returns
    -------
    ndarray
        Illuminance [lx], shaped like the input, above 0. The published curve [1]_ meets the
        night near -18 deg; a bare difference would put twilight out within a tenth of a degree
        there, so it is rounded off (by less than 0.07 stop of the sum).
    """
    excess = _published_lx(np.asarray(sun_altitude_deg, dtype=np.float64)) - night_lx
    return np.asarray(_NIGHTFALL_LX * np.logaddexp(0.0, excess / _NIGHTFALL_LX))
