"""The sky and its light in colour, settled once a frame on nodes of direction.

Colours are linear Rec.709 in cd/m²: luminance is 0.2126 R + 0.7152 G + 0.0722 B. White is
daylight (D65), as for a camera whose white balance is fixed to daylight: lamps turn out warm
and the late sky blue, as the eye sees them at dusk.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.preview.view import Pixels
from core.sky.atmosphere import HAZE_ASYMMETRY, coefficients
from core.sky.sky import Sky
from core.sky.spectrum import LUMINANCE_OF_RGB

#: Nodes of direction: the sky table's own and their middles.
ALTITUDES_DEG = np.array((
    0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.75, 4.5, 5.25, 6.0, 7.0, 8.0, 9.5, 11.0, 13.0, 15.0,
    17.5, 20.0, 23.5, 27.0, 31.5, 36.0, 42.0, 48.0, 55.0, 62.0, 69.0, 76.0, 83.0, 90.0,
))  # fmt: skip
AZIMUTHS_DEG = np.array((
    0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 21.5, 25.0, 30.0, 35.0, 42.5, 50.0, 60.0,
    70.0, 80.0, 90.0, 102.5, 115.0, 130.0, 145.0, 162.5, 180.0,
))  # fmt: skip

#: Koschmieder 1924: contrast falls to 2 % over the visibility, -ln 0.02 = 3.912.
KOSCHMIEDER = 3.912
#: Share of what haze takes from a ray that it scatters on.
_SCATTERED = 0.94
_NM = 550.0
_FLOOR_CD_M2 = 1e-9


@dataclass(frozen=True)
class Heavens:
    """Sky of several frames on the nodes of direction.

    `log2_rgb` (n, altitude, azimuth from the sun, 3) is the sky; `light` (n, 3) the colour
    of skylight on level ground, luminance 1; `air` (n, azimuth from the sun, 3) what endless
    haze shows along the ground, cd/m².
    """

    log2_rgb: Pixels
    light: FloatArray
    air: Pixels


def visibility_km(haze_aod: float) -> float:
    """Meteorological visibility near the ground for a haze, km.

    Koschmieder's 3.912 over the extinction at 550 nm of the sky model's lowest air: 110,
    38, 19 and 12 km for optical depths of 0.05, 0.15, 0.30 and 0.50.

    Parameters
    ----------
    haze_aod
        Aerosol optical depth at 550 nm, at least 0.02.
    """
    extinction_per_km = coefficients(_NM, haze_aod, np.zeros(1)).extinction[0]
    return float(KOSCHMIEDER / extinction_per_km)


def heavens_of(
    sky: Sky,
    sun_altitude_deg: FloatArray,
    moonlight_cd_m2: FloatArray,
    ground_cd_m2: FloatArray,
    rise_stops: FloatArray | float = 0.0,
) -> Heavens:
    """Settle the sky for the sun of each frame.

    Parameters
    ----------
    sun_altitude_deg
        Geometric, (n,).
    moonlight_cd_m2
        What the moon adds to the sky, (n,); neutral.
    ground_cd_m2
        Luminance of the land, (n,): it lights the haze from below.
    rise_stops
        How far the sky is held to lie above its typed luminance, (n,) or one for all.
    """
    sun = sun_altitude_deg[:, None, None]
    view, azimuth = ALTITUDES_DEG[:, None], AZIMUTHS_DEG[None, :]
    luminance = sky.luminance(sun, view, azimuth)
    rgb = luminance[..., None] * sky.colour(sun, view, azimuth)
    risen = np.exp2(np.broadcast_to(rise_stops, sun_altitude_deg.shape))
    rgb = rgb * risen[:, None, None, None] + moonlight_cd_m2[:, None, None, None]
    flat = rgb.reshape(len(rgb), -1, 3)
    light = unit_luminance(_level_weights().ravel() @ flat)
    below = 0.5 * ground_cd_m2[:, None, None] * light[:, None, :]
    air = _SCATTERED * (np.matmul(_lobes(), flat) + below)
    return Heavens(
        np.log2(np.maximum(rgb, _FLOOR_CD_M2)).astype(np.float32),
        light,
        air.astype(np.float32),
    )


def unit_luminance(rgb: FloatArray) -> FloatArray:
    """The same colour at luminance 1, along the last axis."""
    return np.asarray(rgb / (rgb @ LUMINANCE_OF_RGB)[..., None])


@cache
def _solid_angles_sr() -> FloatArray:
    """Solid angle of each node on both sides of the sun, (altitude, azimuth): 2 pi in all."""
    rings = np.diff(np.sin(np.radians(_edges(ALTITUDES_DEG))))
    sectors = 2.0 * np.radians(np.diff(_edges(AZIMUTHS_DEG)))
    return np.asarray(rings[:, None] * sectors)


@cache
def _level_weights() -> FloatArray:
    """What each node adds to the illuminance of level ground, per cd/m²: pi in all."""
    weight = _solid_angles_sr() * np.sin(np.radians(ALTITUDES_DEG))[:, None]
    return np.asarray(weight * (np.pi / weight.sum()))


@cache
def _lobes() -> FloatArray:
    """What each node sends into a level ray by way of haze: (azimuth of the ray, node).

    Henyey-Greenstein lobes with the sky model's asymmetry. The sky is half of all
    directions, so each row sums to one half.
    """
    g = HAZE_ASYMMETRY
    view = np.radians(AZIMUTHS_DEG)[:, None, None]
    altitude, azimuth = np.radians(ALTITUDES_DEG)[:, None], np.radians(AZIMUTHS_DEG)
    lobes = sum(
        (1.0 + g * g - 2.0 * g * np.cos(altitude) * np.cos(view - side * azimuth)) ** -1.5
        for side in (1.0, -1.0)
    )
    weight = (np.asarray(lobes) * _solid_angles_sr()).reshape(len(AZIMUTHS_DEG), -1)
    return np.asarray(0.5 * weight / weight.sum(axis=1, keepdims=True))


def _edges(nodes: FloatArray) -> FloatArray:
    return np.concatenate([nodes[:1], (nodes[1:] + nodes[:-1]) / 2.0, nodes[-1:]])


@dataclass(frozen=True)
class Bearings:
    """Where directions lie among the azimuth nodes: index below, share of the step above."""

    index: NDArray[np.int32]
    share: Pixels

    def rows(self, last: int) -> Bearings:
        """Those of the first rows."""
        return Bearings(self.index[:last], self.share[:last])


def bearings(azimuth_from_sun_deg: Pixels) -> Bearings:
    """Place azimuths from the sun, of any sign and turn, among the nodes."""
    folded = np.abs(np.mod(azimuth_from_sun_deg + 180.0, 360.0) - 180.0)
    return Bearings(*_among(AZIMUTHS_DEG, folded))


def sky_rgb(log2_rgb: Pixels, altitude_deg: Pixels, at: Bearings) -> Pixels:
    """Colour of the sky of one frame, `Heavens.log2_rgb[k]`, in directions of any shape."""
    row, up = _among(ALTITUDES_DEG, altitude_deg)
    nodes = log2_rgb.reshape(-1, 3)
    cell = row * len(AZIMUTHS_DEG) + at.index
    low = _step(nodes, cell, at.share)
    cell += len(AZIMUTHS_DEG)
    high = _step(nodes, cell, at.share)
    return np.exp2(low + up[..., None] * (high - low))


def air_rgb(air: Pixels, at: Bearings) -> Pixels:
    """Colour of endless haze of one frame, `Heavens.air[k]`."""
    return _step(air, at.index, at.share)


def _step(nodes: Pixels, lower: NDArray[np.int32], share: Pixels) -> Pixels:
    """Read between a node and the next, on the first axis."""
    near, far = nodes.take(lower, axis=0), nodes.take(lower + 1, axis=0)
    return near + share[..., None] * (far - near)


def _among(nodes: FloatArray, values: Pixels) -> tuple[NDArray[np.int32], Pixels]:
    position = np.interp(values, nodes, np.arange(len(nodes), dtype=float)).astype(np.float32)
    index = np.minimum(position.astype(np.int32), len(nodes) - 2)
    return index, position - index.astype(np.float32)
