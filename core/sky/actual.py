"""The sky as it is on a night: the clear sky under its cloud, with the glow of towns.

Cloud dims the whole (Kasten & Czeplak 1980) and spreads it toward the CIE overcast sky by
the share it covers. Light of towns is thrown back by the sky, more of it by cloud. The moon
moves by itself and is added where the time is known, see `core.light`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from core.cloud import cloud_factor
from core.sky.cie import OVERCAST_ILLUMINANCE_PER_ZENITH, overcast_sky
from core.sky.daylight import horizontal_illuminance_lx
from core.sky.interpolate import FloatArray
from core.sky.table import HazeSky, SunSkies

# Brightening of a thin glowing layer toward the horizon, X(Z) = (1 - 0.96 sin^2 Z)^-1/2
# (Krisciunas & Schaefer 1991, PASP 103:1033, eq. 3), and its integral over level ground:
# 2 pi times the integral of X cos Z sin Z = 2 pi / 1.2.
_LAYER = 0.96
GLOW_ILLUMINANCE_PER_ZENITH = 2.0 * np.pi / 1.2
#: How many times an overcast sky throws back the light of towns (Kyba et al. 2011, PLoS ONE
#: 6:e17307, up to 10; from memory).
OVERCAST_GLOW_FACTOR = 10.0


@dataclass(frozen=True)
class ActualSky:
    """The sky of one night.

    Attributes
    ----------
    clear
        The clear sky at the night's haze and the camera's height.
    cloud_okta
        Eighths of the sky covered, 0 to 8.
    skyglow_cd_m2
        Luminance that the light of towns adds to a clear zenith, 0 or more.
    """

    clear: HazeSky
    cloud_okta: float
    skyglow_cd_m2: float

    @property
    def cover(self) -> float:
        """Share of the sky covered by cloud."""
        return self.cloud_okta / 8.0

    @property
    def glow_cd_m2(self) -> float:
        """Glow of towns at the zenith, thrown back by tonight's cloud too."""
        return float(self.skyglow_cd_m2 * OVERCAST_GLOW_FACTOR**self.cover)

    def ground_lx(self, sun_altitude_deg: ArrayLike) -> FloatArray:
        """Illuminance of level ground by sun, sky and the glow of towns, in lx."""
        return self._daylight_lx(sun_altitude_deg) + GLOW_ILLUMINANCE_PER_ZENITH * self.glow_cd_m2

    def direct_share(self, sun_altitude_deg: ArrayLike) -> FloatArray:
        """Share of a clear sky's ground illuminance that comes from the sun's disc, 0 to 1.

        Under cloud only the open part of the sky lets it through.
        """
        level = self.clear.level
        total = level.diffuse_lx + level.direct_lx
        share = np.interp(
            np.asarray(sun_altitude_deg, dtype=float), level.sun_deg, level.direct_lx / total
        )
        return np.asarray(share * (1.0 - self.cover))

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
    ) -> FloatArray:
        """Luminance in cd/m² toward directions; the inputs (degrees) broadcast together."""
        clear = self.clear.luminance(sun_altitude_deg, view_altitude_deg, azimuth_from_sun_deg)
        return self._clouded(clear, sun_altitude_deg, view_altitude_deg)

    def at_suns(self, sun_altitudes_deg: FloatArray) -> SunSkies:
        """Settle several sun altitudes (suns,) for many rays under each."""
        return SunSkies.of(self.luminance, self.clear.directions, sun_altitudes_deg)

    def colour(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
    ) -> FloatArray:
        """Linear Rec.709 colour (..., 3) with luminance 1; cloud is neutral."""
        clear = self.clear.colour(sun_altitude_deg, view_altitude_deg, azimuth_from_sun_deg)
        return np.asarray(clear + self.cover * (1.0 - clear))

    def _daylight_lx(self, sun_altitude_deg: ArrayLike) -> FloatArray:
        clear = horizontal_illuminance_lx(sun_altitude_deg)
        return (
            clear * self.clear.illuminance_ratio(sun_altitude_deg) * cloud_factor(self.cloud_okta)
        )

    def _clouded(
        self, clear: FloatArray, sun_altitude_deg: ArrayLike, view_altitude_deg: ArrayLike
    ) -> FloatArray:
        """A clear sky's luminance dimmed, spread toward overcast, and lit by towns."""
        view = np.asarray(view_altitude_deg, dtype=float)
        dimmed = (1.0 - self.cover) * cloud_factor(self.cloud_okta) * clear
        zenith = self._daylight_lx(sun_altitude_deg) / OVERCAST_ILLUMINANCE_PER_ZENITH
        overcast = self.cover * zenith * overcast_sky(view)
        sine_z = np.cos(np.radians(np.maximum(view, 0.0)))
        glow = self.glow_cd_m2 / np.sqrt(1.0 - _LAYER * sine_z**2)
        return np.asarray(dimmed + overcast + glow)
