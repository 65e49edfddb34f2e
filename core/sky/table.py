"""The twilight sky at run time: look-up and interpolation in the shipped table.

The table holds log2 luminance on haze x height x sun altitude x view altitude x azimuth from the
Sun, from sun altitude +6 down to -12. Haze and height are settled first (`SkyTable.at`), which
leaves three axes; haze goes by the polynomial through its four nodes in the logarithm, the other
axes linearly. Beyond the table the sky goes on: below -12 with the shape it had there and the
level of the published illuminance, above +4 blending into the CIE clear sky, which stands alone
from +6. A natural night sky is added everywhere.

The level is tied to `core.sky.daylight`: at the default haze the sky's horizontal integral plus
the direct beam is the published illuminance. One factor per sun altitude does it for all hazes
and heights, so their physical differences remain.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.sky.cie import CLEAR_SKY, standard_sky
from core.sky.interpolate import Bracket, Directions, FloatArray, Mixture, positions
from core.sky.level import NIGHT_FLOOR_CD_M2, Level, clear_share, fade

DEFAULT_HAZE_AOD = 0.12
"""Aerosol optical depth at 550 nm of ordinary clear air."""

LuminanceOf: TypeAlias = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]
"""Luminance [cd/m2] by sun altitude, view altitude and azimuth from the Sun [deg]."""

STEPS_PER_STOP = 1000.0
"""The table stores whole thousandths of a stop."""

_RED, _GREEN, _BLUE = 0.2126, 0.7152, 0.0722


@dataclass(frozen=True)
class SkyTable:
    """The shipped table, as stored.

    Attributes
    ----------
    haze_aod, height_m, sun_altitude_deg, view_altitude_deg, azimuth_deg : ndarray
        Nodes of the axes.
    log2_luminance : ndarray of int16
        Thousandths of a stop over 1 cd/m2, before calibration; five axes in that order.
    level_sun_deg : ndarray
        Sun altitudes of the next four: every quarter degree, then on to +90.
    calibration_log2 : ndarray [stops]
        What is added to the computed sky and beam at each of them.
    diffuse_lx, direct_lx : ndarray (haze, level sun)
        Illuminance of level ground from sky and Sun, before calibration.
    clear_zenith_cd_m2 : ndarray (haze, level sun)
        Zenith luminance of the CIE clear sky that gives the same, before calibration; 0 where
        it is not used.
    colour_sun_deg : ndarray
        Sun altitudes of the colours.
    colour_log2 : ndarray of int16
        Thousandths of a stop of red and blue over luminance; (haze, colour sun, view altitude,
        azimuth, 2).
    """

    haze_aod: FloatArray
    height_m: FloatArray
    sun_altitude_deg: FloatArray
    view_altitude_deg: FloatArray
    azimuth_deg: FloatArray
    log2_luminance: NDArray[np.int16]
    level_sun_deg: FloatArray
    calibration_log2: FloatArray
    diffuse_lx: FloatArray
    direct_lx: FloatArray
    clear_zenith_cd_m2: FloatArray
    colour_sun_deg: FloatArray
    colour_log2: NDArray[np.int16]

    def at(self, haze_aod: float, height_m: float) -> HazeSky:
        """The sky for one haze, seen from one height.

        Parameters
        ----------
        haze_aod : float
            Aerosol optical depth at 550 nm, positive. The table covers 0.05 (very clear) to
            0.50 (thick haze); beyond, the nearest is used.
        height_m : float
            Height of the camera above the ground [m]; the table covers 0 to 500, beyond it the
            nearest is used.

        Raises
        ------
        ValueError
            If the haze is not positive or either is not a finite number.
        """
        if not (np.isfinite(haze_aod) and haze_aod > 0.0):
            raise ValueError("haze_aod must be a positive number")
        if not np.isfinite(height_m):
            raise ValueError("height_m must be a finite number")
        haze = self._haze_mixture(haze_aod)
        height = Bracket.of(self.height_m, height_m)
        return HazeSky(
            haze_aod=haze_aod,
            height_m=height_m,
            directions=Directions(self.view_altitude_deg, self.azimuth_deg),
            sun_altitude_deg=self._level_sun_in_table(),
            log2_luminance=self._calibrated(height.blend(haze.blend(self.log2_luminance))),
            colour_sun_deg=self.colour_sun_deg,
            colour_log2=haze.blend(self.colour_log2).reshape(-1, 2) / STEPS_PER_STOP,
            level=self._level(haze),
            default_level=self._default_level,
        )

    def _haze_mixture(self, haze_aod: float) -> Mixture:
        return Mixture.at(np.log(self.haze_aod), float(np.log(haze_aod)))

    def _level_sun_in_table(self) -> FloatArray:
        inside = self.level_sun_deg <= self.sun_altitude_deg[-1]
        return np.asarray(self.level_sun_deg[inside])

    def _calibrated(self, stored: FloatArray) -> FloatArray:
        """Resample the sun axis on the even steps of the calibration and add it."""
        sun = self._level_sun_in_table()
        nodes = stored.reshape(stored.shape[0], -1) / STEPS_PER_STOP
        lower, share = positions(self.sun_altitude_deg, sun)
        between = nodes[lower] + share[:, None] * (nodes[lower + 1] - nodes[lower])
        return np.asarray(between + self.calibration_log2[: sun.size, None])

    def _level(self, haze: Mixture) -> Level:
        return Level.between(
            haze,
            self.level_sun_deg,
            self.calibration_log2,
            self.diffuse_lx,
            self.direct_lx,
            self.clear_zenith_cd_m2,
        )

    @cached_property
    def _default_level(self) -> Level:
        return self._level(self._haze_mixture(DEFAULT_HAZE_AOD))


def _angles(name: str, degrees: ArrayLike, limit: float = np.inf) -> FloatArray:
    array = np.asarray(degrees, dtype=np.float64)
    if not np.isfinite(array).all():
        raise ValueError(f"{name} must be finite numbers")
    if (np.abs(array) > limit).any():
        raise ValueError(f"{name} must lie within {limit:g} deg of the horizon")
    return array


@dataclass(frozen=True)
class HazeSky:
    """The sky of one haze from one height, at any sun altitude; made by `SkyTable.at`.

    Attributes
    ----------
    haze_aod, height_m : float
        What it was made for.
    directions : Directions
        Nodes of direction.
    sun_altitude_deg, log2_luminance : ndarray (suns,), (suns, directions)
        The table, calibrated, without the night sky.
    colour_sun_deg, colour_log2 : ndarray (colour suns,), (colour suns x directions, 2)
        Stops of red and of blue over luminance.
    level, default_level : Level
        Illuminances of this and of the default haze.
    """

    haze_aod: float
    height_m: float
    directions: Directions
    sun_altitude_deg: FloatArray
    log2_luminance: FloatArray
    colour_sun_deg: FloatArray
    colour_log2: FloatArray
    level: Level
    default_level: Level

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
    ) -> FloatArray:
        """Luminance of the clear sky, natural night sky included, the Sun's disc left out.

        Parameters
        ----------
        sun_altitude_deg : array_like
            Geometric altitude of the Sun [deg], -90 to 90.
        view_altitude_deg : array_like
            Altitude of the sky point [deg]; below 0 the horizon's value is given.
        azimuth_from_sun_deg : array_like
            Azimuth of the sky point less that of the Sun [deg], any sign or turn.

        Returns
        -------
        ndarray
            Luminance [cd/m2], at least `NIGHT_FLOOR_CD_M2`, with the shape the inputs broadcast
            to. Within about 5 deg of a risen Sun the glare is coarse.

        Raises
        ------
        ValueError
            If an input is not a finite number or a sun altitude is out of range.
        """
        sun = _angles("sun_altitude_deg", sun_altitude_deg, 90.0)
        view = _angles("view_altitude_deg", view_altitude_deg)
        azimuth = _angles("azimuth_from_sun_deg", azimuth_from_sun_deg)
        return np.exp2(self._log2_sky(sun, view, azimuth)) * fade(sun) + NIGHT_FLOOR_CD_M2

    def _log2_sky(self, sun: FloatArray, view: FloatArray, azimuth: FloatArray) -> FloatArray:
        """Table and CIE clear sky, each where it holds, blended in stops between."""
        share = clear_share(sun)
        if share.max(initial=0.0) == 0.0:
            return self.log2_twilight(sun, view, azimuth)
        zenith = np.interp(sun, self.level.sun_deg, self.level.log2_clear_zenith)
        above_horizon = np.maximum(sun, 0.0)
        clear = zenith + np.log2(standard_sky(CLEAR_SKY, above_horizon, view, azimuth))
        if share.min() == 1.0:
            return np.asarray(clear)
        table = self.log2_twilight(sun, view, azimuth)
        return np.asarray(table + share * (clear - table))

    def log2_twilight(self, sun: FloatArray, view: FloatArray, azimuth: FloatArray) -> FloatArray:
        """log2 of cd/m2 from the table alone: no night sky, no CIE sky, held beyond its suns."""
        cells = self.directions.cells(view, azimuth)
        if sun.size == 1:
            settled = Bracket.of(self.sun_altitude_deg, float(sun.item())).blend(
                self.log2_luminance
            )
            level = cells.interpolate(settled)
            return level.reshape(np.broadcast_shapes(level.shape, sun.shape))
        lower, share = positions(self.sun_altitude_deg, sun)
        nodes, block = self.log2_luminance.ravel(), self.directions.count
        below = cells.interpolate(nodes, lower * block)
        above = cells.interpolate(nodes, (lower + 1) * block)
        return np.asarray(below + share * (above - below))

    def colour(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
    ) -> FloatArray:
        """Colour of the clear sky for a camera balanced to daylight (D65).

        Parameters and errors are those of `luminance`.

        Returns
        -------
        ndarray (..., 3)
            Linear Rec.709 red, green and blue with luminance 1, all positive; times
            `luminance` they are the channels' own luminances. The night sky is neutral.
        """
        sun = _angles("sun_altitude_deg", sun_altitude_deg, 90.0)
        view = _angles("view_altitude_deg", view_altitude_deg)
        azimuth = _angles("azimuth_from_sun_deg", azimuth_from_sun_deg)
        sky = np.exp2(self._log2_sky(sun, view, azimuth)) * fade(sun)
        night_share = NIGHT_FLOOR_CD_M2 / (sky + NIGHT_FLOOR_CD_M2)
        rgb = self._twilight_colour(sun, view, azimuth)
        return np.asarray(rgb + night_share[..., None] * (1.0 - rgb))

    def _twilight_colour(
        self, sun: FloatArray, view: FloatArray, azimuth: FloatArray
    ) -> FloatArray:
        cells, block = self.directions.cells(view, azimuth), self.directions.count
        lower, share = positions(self.colour_sun_deg, sun)
        below = cells.interpolate(self.colour_log2, lower * block)
        above = cells.interpolate(self.colour_log2, (lower + 1) * block)
        red, blue = np.moveaxis(np.exp2(below + share[..., None] * (above - below)), -1, 0)
        green = (1.0 - _RED * red - _BLUE * blue) / _GREEN
        return np.stack([red, green, blue], axis=-1)

    def illuminance_ratio(self, sun_altitude_deg: ArrayLike) -> FloatArray:
        """Illuminance of level ground at this haze over that at the default haze.

        Sky, Sun and night sky together, so that the published illuminance times this is the
        illuminance under this sky. 1 at `DEFAULT_HAZE_AOD`, whatever the height.

        Parameters
        ----------
        sun_altitude_deg : array_like
            Geometric altitude of the Sun [deg], -90 to 90.

        Returns
        -------
        ndarray
            Ratio, shaped like the input.

        Raises
        ------
        ValueError
            If a sun altitude is not a number in -90..90.
        """
        sun = _angles("sun_altitude_deg", sun_altitude_deg, 90.0)
        return self.level.horizontal_lx(sun) / self.default_level.horizontal_lx(sun)

    def at_suns(self, sun_altitudes_deg: ArrayLike) -> SunSkies:
        """Settle several sun altitudes at once, for many rays under each of them.

        Parameters
        ----------
        sun_altitudes_deg : array_like, one axis
            Geometric altitudes of the Sun [deg], -90 to 90.
        """
        return SunSkies.of(self.luminance, self.directions, sun_altitudes_deg)


@dataclass(frozen=True)
class SunSkies:
    """The skies of several sun altitudes on the nodes of direction; made by `at_suns` of a sky.

    A ray's place among the nodes is found once and serves all sun altitudes.

    Attributes
    ----------
    directions : Directions
        Nodes of direction.
    sun_altitude_deg : ndarray (suns,)
        Geometric altitudes of the Sun.
    ln_luminance : ndarray of float32 (node of direction, suns)
        Natural logarithm of cd/m2.
    """

    directions: Directions
    sun_altitude_deg: FloatArray
    ln_luminance: NDArray[np.float32]

    @classmethod
    def of(
        cls, luminance: LuminanceOf, directions: Directions, sun_altitudes_deg: ArrayLike
    ) -> SunSkies:
        """Read a sky's luminance on the nodes for suns (suns,); see `HazeSky.at_suns`.

        Raises
        ------
        ValueError
            If the suns do not form one axis of altitudes in -90..90.
        """
        sun = _angles("sun_altitudes_deg", sun_altitudes_deg, 90.0)
        if sun.ndim != 1 or sun.size == 0:
            raise ValueError("sun_altitudes_deg must have one axis and not be empty")
        view, azimuth = directions.flat()
        nodes = np.log(luminance(sun, view[:, None], azimuth[:, None]))
        return cls(directions, sun, nodes.astype(np.float32))

    def luminance(
        self, view_altitude_deg: ArrayLike, azimuth_from_sun_deg: ArrayLike
    ) -> NDArray[np.float32]:
        """Luminance along rays under every sun altitude.

        Parameters
        ----------
        view_altitude_deg, azimuth_from_sun_deg : array_like
            As for `HazeSky.luminance`; they broadcast together.

        Returns
        -------
        ndarray of float32 (..., suns)
            Luminance [cd/m2]. The same as `HazeSky.luminance` to 0.002 stop up to sun altitude
            +4; above, the CIE sky is taken at the nodes too, and its glare is coarser.

        Raises
        ------
        ValueError
            If an input is not a finite number.
        """
        view = _angles("view_altitude_deg", view_altitude_deg)
        azimuth = _angles("azimuth_from_sun_deg", azimuth_from_sun_deg)
        log = self.directions.cells(view, azimuth).interpolate(self.ln_luminance)
        return np.exp(log)


def load_sky_table(path: Path | str) -> SkyTable:
    """Read the table written by `core.sky.generate`.

    Raises
    ------
    OSError
        If the file cannot be read.
    ValueError
        If it is not a sky table.
    """
    with np.load(path, allow_pickle=False) as stored:
        missing = set(SkyTable.__dataclass_fields__) - set(stored.files)
        if missing:
            raise ValueError(f"not a sky table: no {', '.join(sorted(missing))}")
        return SkyTable(**{name: stored[name] for name in SkyTable.__dataclass_fields__})
