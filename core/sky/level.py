"""How bright the whole sky is: illuminances by sun altitude, and where each model holds.

From sun altitude -12 to +4 the table is the sky; above, it gives way to the CIE clear sky, which
stands alone from +6. Below -12 the sky keeps the shape it had there and fades with the published
illuminance into a natural night.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.sky.daylight import twilight_illuminance_lx
from core.sky.interpolate import FloatArray, Mixture

NIGHT_FLOOR_CD_M2 = 2.0e-4
"""Starlight and airglow: 21.8 mag/arcsec2, between the dark-time zenith of Patat 2003 (A&A 400,
1183: V 21.6) and the natural sky of Falchi et al. 2016 (Sci. Adv. 2, e1600377: 22.0)."""

LOWEST_SUN_DEG = -12.0
BLEND_FROM_DEG, BLEND_TO_DEG = 4.0, 6.0
_DARK_LX = 1e-9
"""Stands for no Sun at all where a logarithm is taken."""


@dataclass(frozen=True)
class Level:
    """Calibrated illuminances and zenith luminance of one haze, against sun altitude.

    Attributes
    ----------
    sun_deg : ndarray
        Sun altitudes, -12 to 90.
    diffuse_lx, direct_lx : ndarray
        Level ground under the sky, the night's share left out, and under the Sun.
    log2_clear_zenith : ndarray
        Zenith luminance of the CIE clear sky; meaningful from `BLEND_FROM_DEG`.
    """

    sun_deg: FloatArray
    diffuse_lx: FloatArray
    direct_lx: FloatArray
    log2_clear_zenith: FloatArray

    @classmethod
    def between(
        cls, haze: Mixture, sun_deg: FloatArray, calibration_log2: FloatArray,
        diffuse_lx: FloatArray, direct_lx: FloatArray, clear_zenith_cd_m2: FloatArray,
    ) -> Level:  # fmt: skip
        """Interpolate the table's levels, (haze, sun), to one haze and calibrate them."""
        factor = np.exp2(calibration_log2)
        used = np.where(clear_zenith_cd_m2 > 0.0, clear_zenith_cd_m2, 1.0)
        direct = np.log2(np.maximum(direct_lx, _DARK_LX))
        return cls(
            sun_deg=sun_deg,
            diffuse_lx=np.exp2(haze.blend(np.log2(diffuse_lx))) * factor,
            direct_lx=np.exp2(haze.blend(direct)) * factor,
            log2_clear_zenith=haze.blend(np.log2(used)) + calibration_log2,
        )

    def horizontal_lx(self, sun_altitude_deg: FloatArray) -> FloatArray:
        """Level ground under sky, Sun and night sky together."""
        total = np.log2(self.diffuse_lx + self.direct_lx)
        lit = np.exp2(np.interp(sun_altitude_deg, self.sun_deg, total))
        return np.asarray(lit * fade(sun_altitude_deg) + np.pi * NIGHT_FLOOR_CD_M2)


def fade(sun_altitude_deg: FloatArray) -> FloatArray:
    """Twilight below -12 over that at -12, as the published illuminance of the ground has it."""
    below = np.minimum(sun_altitude_deg, LOWEST_SUN_DEG)
    night_lx = np.pi * NIGHT_FLOOR_CD_M2
    start_lx = twilight_illuminance_lx(LOWEST_SUN_DEG, night_lx)
    return np.asarray(twilight_illuminance_lx(below, night_lx) / start_lx)


def clear_share(sun_altitude_deg: FloatArray) -> FloatArray:
    """Share of the CIE clear sky: 0 up to +4, 1 from +6, without a corner at either."""
    x = (sun_altitude_deg - BLEND_FROM_DEG) / (BLEND_TO_DEG - BLEND_FROM_DEG)
    x = np.clip(x, 0.0, 1.0)
    return np.asarray(x * x * (3.0 - 2.0 * x))
