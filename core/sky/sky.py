"""What the stages of the forecast ask of a sky."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.sky.interpolate import FloatArray


class SkyUnderSuns(Protocol):
    """A sky settled for several sun altitudes."""

    def luminance(
        self, view_altitude_deg: FloatArray, azimuth_from_sun_deg: FloatArray, /
    ) -> NDArray[np.floating]:
        """Luminance in cd/m² along rays under every sun altitude, (..., suns)."""
        ...


class Sky(Protocol):
    """The sky of one night, without its moon; angles in degrees, they broadcast together."""

    def ground_lx(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        """Illuminance of level ground by sun and sky, in lx."""
        ...

    def direct_share(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        """Share of it that comes from the sun's disc, 0 to 1."""
        ...

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        """Luminance in cd/m² toward directions."""
        ...

    def colour(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        """Linear Rec.709 colour (..., 3) with luminance 1."""
        ...

    def at_suns(self, sun_altitudes_deg: FloatArray, /) -> SkyUnderSuns:
        """Settle several sun altitudes (suns,) for many rays under each."""
        ...
