"""The simplest sky: equally bright all over, at the zenith's measured share of the ground.

Koomen et al. 1952 (JOSA 42:353) give pi L_zenith / E_h of 0.28 to 0.56 for sun altitudes
of 0 to -9 deg, so L_zenith = 0.13 E_h within 0.4 stop.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.sky.daylight import horizontal_illuminance_lx

#: Zenith luminance over horizontal illuminance, 1/sr (Koomen et al. 1952, Table II).
ZENITH_PER_LUX = 0.13
DEFAULT_HAZE_AOD = 0.12
# Stops that ground illuminance falls for a doubling of the haze; own multiple-scattering
# computation over AOD 0.05 to 0.50 and sun altitudes +6 to -12 deg gives -0.13 to -0.24.
_STOPS_PER_DOUBLING = -0.16


@dataclass(frozen=True, slots=True)
class EvenSky:
    """A clear sky of one luminance all over, for one haze."""

    haze_aod: float

    def illuminance_ratio(self, sun_altitude_deg: ArrayLike) -> NDArray[np.float64]:
        """Ground illuminance over the one at the default haze, shaped like the input."""
        doublings = np.log2(self.haze_aod / DEFAULT_HAZE_AOD)
        ratio = 2.0 ** (_STOPS_PER_DOUBLING * doublings)
        return np.full(np.shape(sun_altitude_deg), ratio)

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
    ) -> NDArray[np.float64]:
        """Luminance in cd/m², the inputs (degrees) broadcast together."""
        ground = horizontal_illuminance_lx(sun_altitude_deg)
        level = ZENITH_PER_LUX * ground * self.illuminance_ratio(sun_altitude_deg)
        shape = np.broadcast_shapes(
            level.shape, np.shape(view_altitude_deg), np.shape(azimuth_from_sun_deg)
        )
        return np.broadcast_to(level, shape)
