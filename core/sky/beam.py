"""The direct sunbeam at any height of a spherical, refracting atmosphere.

A beam is bent, spread and thinned on its way in. For a point at height h the Sun's true zenith
distance is the apparent one plus the bending along the ray; the flux follows from the
invariance of radiance over n^2, and the Sun's disc (0.53 deg) blurs the edge of the Earth's
shadow, which matters: 100 km up, half a degree of disc is several kilometres of shadow edge.

Geometry does not depend on wavelength or haze: the path of each ray through every absorber is
traced once and the transmittances follow by one exponential.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.sky.atmosphere import (
    ANGSTROM_EXPONENT,
    EARTH_RADIUS_KM,
    SURFACE_REFRACTIVITY,
    TOP_KM,
    FloatArray,
    air_density_ratio,
    haze_layers,
    ozone_cross_section_m2,
    ozone_per_m3,
    rayleigh_per_km,
)

SUN_RADIUS_DEG = 0.2666
EDGE_STEP_DEG = 0.02
_EDGE_FIRST_DEG, _EDGE_LAST_DEG = -102.0, 3.0
EDGE_DEG = np.arange(_EDGE_FIRST_DEG, _EDGE_LAST_DEG + EDGE_STEP_DEG / 2, EDGE_STEP_DEG)
"""Sun zenith distance less that of the geometric horizon, as seen from the point."""

_NEAREST_ZENITH_DEG = 0.5
"""Just off the zenith, where the flux formula would divide nothing by nothing."""
_RAYS_PER_HEIGHT = 600


def _stretched(first: float, last: float, count: int, softness: float) -> FloatArray:
    """Heights from first to last, spaced evenly near the bottom and geometrically above."""
    reach = np.log1p((last - first) / softness)
    return np.asarray(first + softness * np.expm1(reach * np.linspace(0.0, 1.0, count)))


HEIGHT_KM = np.concatenate([[0.0, 0.01, 0.03, 0.06], _stretched(0.1, TOP_KM, 80, 4.0)])
_LEVEL_KM = _stretched(0.0, TOP_KM, 1200, 4.0)


@dataclass(frozen=True)
class BeamPaths:
    """Where a ray to the Sun goes, for every `HEIGHT_KM` (first axis) and `EDGE_DEG`.

    Attributes
    ----------
    spread : ndarray
        Flux on a plane across the beam relative to the vacuum, absorption apart; 0 where the
        Earth is in the way.
    upright : ndarray
        Sine of the apparent altitude of the point of the Sun, at least 0.
    column : ndarray (kind, height, edge)
        Path of air, ozone and the three haze layers: kilometres at surface density, molecules
        per m2 and multiples of the vertical haze column.
    """

    spread: FloatArray
    upright: FloatArray
    column: FloatArray


def geometric_horizon_deg(height_km: FloatArray) -> FloatArray:
    """Zenith distance of the unrefracted horizon seen from a height."""
    sine = EARTH_RADIUS_KM / (EARTH_RADIUS_KM + np.asarray(height_km))
    return np.asarray(180.0 - np.degrees(np.arcsin(sine)))


def _absorbers(level_km: FloatArray) -> FloatArray:
    """Density of air, ozone and the haze layers at each level, one row each."""
    # The haze amount does not matter here: only the shapes of its layers do.
    hazes = [layer.shape_per_km(level_km) for layer in haze_layers(1.0)]
    return np.stack([air_density_ratio(level_km), 1e3 * ozone_per_m3(level_km), *hazes])


def trace_beams() -> BeamPaths:
    """Trace the rays that reach every height from every apparent direction of the Sun."""
    rows = [_trace_height(height) for height in HEIGHT_KM]
    spread, upright, column = zip(*rows, strict=True)
    return BeamPaths(np.stack(spread), np.stack(upright), np.stack(column, axis=1))


def _trace_height(height_km: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Spread, sine of altitude and columns on `EDGE_DEG` for one height."""
    level = np.unique(np.round(np.append(_LEVEL_KM, height_km), 9))
    index = 1.0 + SURFACE_REFRACTIVITY * air_density_ratio(level)
    optical_radius = index * (EARTH_RADIUS_KM + level)
    start = int(np.searchsorted(level, round(height_km, 9)))
    last = np.pi - np.arcsin(min(1.0, optical_radius[0] / optical_radius[start]))
    # Rays crowd toward the horizon, where everything changes fastest.
    share = np.linspace(1.0, 0.0, _RAYS_PER_HEIGHT) ** 2
    apparent = last - (last - np.radians(_NEAREST_ZENITH_DEG)) * share
    bend, column = _integrate(apparent, level, optical_radius, start)
    true = apparent + bend
    spread = index[start] ** 2 * np.gradient(np.cos(apparent)) / np.gradient(np.cos(true))
    edge = np.degrees(true) - geometric_horizon_deg(np.array(height_km))
    return (
        np.interp(EDGE_DEG, edge, spread, right=0.0),
        np.interp(EDGE_DEG, edge, np.maximum(np.cos(apparent), 0.0)),
        np.stack([np.interp(EDGE_DEG, edge, row) for row in column]),
    )


def _integrate(
    apparent: FloatArray, level: FloatArray, optical_radius: FloatArray, start: int
) -> tuple[FloatArray, FloatArray]:
    """Bending [rad] and columns of each ray from the start level out to space.

    Bouguer: n r sin(zenith angle) = b along a ray. With w = sqrt((n r)^2 - b^2) as variable
    neither the path, dw / (d(nr)/dr), nor the bending is singular at the lowest point.
    """
    impact = optical_radius[start] * np.sin(apparent)
    stretch = np.gradient(optical_radius, level)
    log_index_slope = np.gradient(np.log(optical_radius / (EARTH_RADIUS_KM + level)), level)
    weight = np.vstack(
        [
            -log_index_slope / (optical_radius * stretch),
            _absorbers(level) / stretch,
        ]
    )
    w = np.sqrt(np.maximum(optical_radius**2 - impact[:, None] ** 2, 0.0))
    middle = 0.5 * (weight[:, 1:] + weight[:, :-1])
    each = np.diff(w, axis=1) @ middle.T
    above = np.diff(w[:, start:], axis=1) @ middle[:, start:].T
    # A sun below the horizontal: down to the lowest point and up again, then out.
    total = np.where((apparent > np.pi / 2)[:, None], 2.0 * each - above, above)
    return impact * total[:, 0], total[:, 1:].T


def transmittance(paths: BeamPaths, wavelength_nm: float, aod_550: float) -> FloatArray:
    """Share of one wavelength that survives each traced path."""
    angstrom = (wavelength_nm / 550.0) ** -ANGSTROM_EXPONENT
    strength = np.array(
        [
            rayleigh_per_km(wavelength_nm),
            float(ozone_cross_section_m2(wavelength_nm)),
            *(layer.aod_550 * angstrom for layer in haze_layers(aod_550)),
        ]
    )
    return np.exp(-np.tensordot(strength, paths.column, axes=1))


def _over_disc(per_point: FloatArray) -> FloatArray:
    """Mean over the Sun's disc, taken as evenly bright, along `EDGE_DEG`."""
    reach = int(SUN_RADIUS_DEG / EDGE_STEP_DEG)
    offset = np.arange(-reach, reach + 1) * EDGE_STEP_DEG
    chord = np.sqrt(1.0 - (offset / SUN_RADIUS_DEG) ** 2)
    kernel = chord / chord.sum()
    padded = np.pad(per_point, ((0, 0), (reach, reach)), mode="edge")
    return np.stack([np.convolve(row, kernel, mode="valid") for row in padded])


def beam(paths: BeamPaths, wavelength_nm: float, aod_550: float) -> tuple[FloatArray, FloatArray]:
    """Direct sunlight across the beam and on level ground.

    Returns
    -------
    normal, level : ndarray (height, edge)
        Per unit of sunlight above the air, averaged over the Sun's disc.
    """
    surviving = paths.spread * transmittance(paths, wavelength_nm, aod_550)
    return _over_disc(surviving), _over_disc(surviving * paths.upright)
