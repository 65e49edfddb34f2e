"""What the lens sees of the sky through a year: each azimuth of the sun traced once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.framesky import FrameSky, between_azimuths, traced_framesky_of
from core.plan import Path, Plan
from core.skies import Skies


class YearSky:
    """The sky along one path, by the azimuth of the sun; grows with what is asked for."""

    def __init__(self, path: Path, plan: Plan, skies: Skies) -> None:
        self._path, self._camera, self._skyline = path, plan.camera, plan.place.skyline
        self._skies = skies
        self._columns: dict[float, int] = {}
        self._traced: FrameSky | None = None
        self._last: tuple[tuple[float, ...], FrameSky] | None = None

    def at(self, azimuths_deg: tuple[float, ...]) -> FrameSky:
        """What `core.framesky.framesky_of` traces for these azimuths, of any turn."""
        # One night wants mostly what the night before did.
        if self._last is None or self._last[0] != azimuths_deg:
            self._last = azimuths_deg, self._chosen(azimuths_deg)
        return self._last[1]

    def _chosen(self, azimuths_deg: tuple[float, ...]) -> FrameSky:
        wanted = [azimuth % 360.0 for azimuth in azimuths_deg]
        missing = sorted({azimuth for azimuth in wanted if azimuth not in self._columns})
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
        seen = traced_framesky_of(
            self._path, self._camera, self._skyline, self._skies, tuple(azimuths_deg)
        )
        count = len(self._columns)
        self._columns |= {azimuth: count + k for k, azimuth in enumerate(azimuths_deg)}
        self._traced = seen if self._traced is None else _beside(self._traced, seen)
        return self._traced


def _beside(one: FrameSky, other: FrameSky) -> FrameSky:
    """Two skies of one path as one, the azimuths of the second after those of the first."""
    return replace(
        one,
        sun_azimuth_deg=np.concatenate([one.sun_azimuth_deg, other.sun_azimuth_deg]),
        mean_log2=np.concatenate([one.mean_log2, other.mean_log2], axis=2),
        exceeded_log2=np.concatenate([one.exceeded_log2, other.exceeded_log2], axis=2),
        haze_slope_stops=np.concatenate([one.haze_slope_stops, other.haze_slope_stops], axis=2),
    )
