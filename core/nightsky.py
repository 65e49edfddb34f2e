"""The sky of many nights: what they share of it is worked out once."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from core.exposure import FloatArray
from core.forecast import AZIMUTH_STEP_DEG
from core.framesky import FrameSky, Sightlines, between_azimuths
from core.memory import Memory
from core.plan import Path, Plan
from core.readonly import read_only
from core.skies import Skies
from core.sky.sky import Sky, SkyUnderSuns

#: Steps of the tabled illuminance, deg: between them its log2 is straight to 1e-5.
_STEP_DEG = 0.01
#: Skies of so many nights are kept: next to each other, and as far on the other side of a solstice,
#: nights want the same azimuths.
_SKIES_KEPT = 4
#: So much of the horizon is traced at a time: to lay the rays costs as much as two azimuths.
_BLOCK_DEG = 4.0 * AZIMUTH_STEP_DEG


@dataclass(frozen=True)
class TabledSky:
    """A sky whose illuminance of the ground is read from a fine table, its log2 by straight lines.

    A night asks for it at a thousand instants, with one sun each.
    """

    sky: Sky
    sun_altitude_deg: FloatArray
    log2_lx: FloatArray

    @classmethod
    def of(cls, sky: Sky) -> TabledSky:
        """The table of a sky."""
        altitude = np.linspace(-90.0, 90.0, round(180.0 / _STEP_DEG) + 1)
        return cls(sky, altitude, np.log2(sky.ground_lx(altitude)))

    def ground_lx(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        """Illuminance of level ground by sun and sky, in lx."""
        altitude = np.asarray(sun_altitude_deg, dtype=float)
        return np.asarray(np.exp2(np.interp(altitude, self.sun_altitude_deg, self.log2_lx)))

    def direct_share(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        """Share of it that comes from the sun's disc, 0 to 1."""
        return self.sky.direct_share(sun_altitude_deg)

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        """Luminance in cd/m² toward directions."""
        return self.sky.luminance(sun_altitude_deg, view_altitude_deg, azimuth_from_sun_deg)

    def colour(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        """Linear Rec.709 colour (..., 3) with luminance 1."""
        return self.sky.colour(sun_altitude_deg, view_altitude_deg, azimuth_from_sun_deg)

    def at_suns(self, sun_altitudes_deg: FloatArray, /) -> SkyUnderSuns:
        """Settle several sun altitudes (suns,) for many rays under each."""
        return self.sky.at_suns(sun_altitudes_deg)


def tabled(skies: Skies) -> Skies:
    """A night's skies, their illuminance of the ground tabled."""
    return read_only(
        replace(
            skies,
            typed=TabledSky.of(skies.typed),
            thinner=TabledSky.of(skies.thinner),
            thicker=TabledSky.of(skies.thicker),
        )
    )


class YearSky:
    """The sky along one path, by the azimuth of the sun; grows with what is asked for."""

    def __init__(self, path: Path, plan: Plan, skies: Skies) -> None:
        self._sightlines = Sightlines.of(path, plan.camera, plan.place.skyline, skies)
        self._columns: dict[float, int] = {}
        self._traced: FrameSky | None = None
        self._chosen = Memory(_SKIES_KEPT)

    def at(self, azimuths_deg: tuple[float, ...]) -> FrameSky:
        """What `core.framesky.framesky_of` traces for these azimuths, of any turn."""
        return self._chosen.recall("sky", azimuths_deg, lambda: self._choose(azimuths_deg))

    def _choose(self, azimuths_deg: tuple[float, ...]) -> FrameSky:
        wanted = [azimuth % 360.0 for azimuth in azimuths_deg]
        missing = sorted(_neighbours(wanted) - self._columns.keys())
        seen = self._trace(missing) if missing or self._traced is None else self._traced
        columns = [self._columns[azimuth] for azimuth in wanted]
        return between_azimuths(
            replace(
                seen,
                sun_azimuth_deg=np.array(azimuths_deg),
                mean_log2=seen.mean_log2[:, :, columns],
                exceeded_log2=seen.exceeded_log2[:, :, columns],
                haze_slope_stops=seen.haze_slope_stops[:, :, columns],
            )
        )

    def _trace(self, azimuths_deg: list[float]) -> FrameSky:
        seen = self._sightlines.traced(tuple(azimuths_deg))
        count = len(self._columns)
        self._columns |= {azimuth: count + k for k, azimuth in enumerate(azimuths_deg)}
        self._traced = seen if self._traced is None else _beside(self._traced, seen)
        return self._traced


def _neighbours(azimuths_deg: list[float]) -> set[float]:
    """Azimuths that are traced together with some: the nights to come ask for the next ones."""
    firsts = {_BLOCK_DEG * np.floor(azimuth / _BLOCK_DEG) for azimuth in azimuths_deg}
    steps = np.arange(0.0, _BLOCK_DEG, AZIMUTH_STEP_DEG).tolist()
    return {float(first + step) for first in firsts for step in steps}


def _beside(one: FrameSky, other: FrameSky) -> FrameSky:
    """Two skies of one path as one, the azimuths of the second after those of the first."""
    return replace(
        one,
        sun_azimuth_deg=np.concatenate([one.sun_azimuth_deg, other.sun_azimuth_deg]),
        mean_log2=np.concatenate([one.mean_log2, other.mean_log2], axis=2),
        exceeded_log2=np.concatenate([one.exceeded_log2, other.exceeded_log2], axis=2),
        haze_slope_stops=np.concatenate([one.haze_slope_stops, other.haze_slope_stops], axis=2),
    )
