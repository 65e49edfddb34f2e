"""Radiance along rays through a spherical shell of air, given what scatters into them.

The field depends on height, on the Sun's zenith distance chi at the point, and on direction. What
is kept on a grid is not radiance but the light gathered per unit of scattering coefficient, which
is far smoother:

- for air, the phase function a + b cos^2 makes it a J + b d.M.d, with J the integral of radiance
  over all directions and M its second moment: four numbers, exact for any direction d;
- for haze, radiance gathered by the Henyey-Greenstein function, on a grid of directions.

Directions are (theta, phi): angle from the local vertical, azimuth from the Sun. Radiance is per
unit of sunlight above the air; polarisation is left out. Numba is needed here and only here, and
nothing that runs in the workbench imports this module.

References
----------
.. [1] Bruneton, E. & Neyret, F., 2008, "Precomputed atmospheric scattering", Comput. Graph.
   Forum 27(4), 1079-1086: the symmetry that leaves four variables.
.. [2] Henyey, L. G. & Greenstein, J. L., 1941, "Diffuse radiation in the Galaxy", Astrophys. J.
   93, 70-83.
.. [3] Chandrasekhar, S., 1960, Radiative Transfer, Dover, ch. 1: Rayleigh's phase function with
   depolarisation.

"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numba import njit, prange

from core.sky.atmosphere import (
    EARTH_RADIUS_KM,
    HAZE_ASYMMETRY,
    RAYLEIGH_DEPOLARISATION,
    TOP_KM,
    FloatArray,
)
from core.sky.beam import EDGE_DEG, EDGE_STEP_DEG

_GAMMA = RAYLEIGH_DEPOLARISATION / (2.0 - RAYLEIGH_DEPOLARISATION)
_PHASE_SCALE = 3.0 / (16.0 * np.pi * (1.0 + 2.0 * _GAMMA))
RAYLEIGH_FLAT = _PHASE_SCALE * (1.0 + 3.0 * _GAMMA)
RAYLEIGH_LOBE = _PHASE_SCALE * (1.0 - _GAMMA)

FINE_STEP_KM = 0.025
"""Step of the height tables that a ray looks its coefficients up in."""

_FIRST_EDGE_DEG = float(EDGE_DEG[0])
_EDGES_PER_DEG = 1.0 / EDGE_STEP_DEG
_HAZE_FREE = 1e-3
"""Where particles scatter less than this share of the air, light they gathered is left out."""

_SOFT_KM = 2.0
_FEWEST_STEPS = 8


class Medium(NamedTuple):
    """What a ray passes through.

    Attributes
    ----------
    optics : ndarray (3, fine height)
        Scattering by air, scattering by haze and extinction [1/km].
    sun : ndarray (beam height, edge)
        Direct sunlight across the beam, as in `core.sky.beam`.
    height_index, beam_index : ndarray (fine height,)
        Fractional index among the nodes of height of the source and of the beam.
    chi_index, theta_index, phi_index : ndarray
        Fractional index among the nodes of each angle, even in its cosine from +1 to -1.
    """

    optics: FloatArray
    sun: FloatArray
    height_index: FloatArray
    beam_index: FloatArray
    chi_index: FloatArray
    theta_index: FloatArray
    phi_index: FloatArray


class Source(NamedTuple):
    """Light that scatters into a ray.

    Attributes
    ----------
    with_sun : bool
        Whether direct sunlight does, beside the gathered light.
    air : ndarray (height, chi, 4)
        log J, then Mxx / J, Mzz / J and Mxz / J with x toward the Sun and z up.
    haze : ndarray (height, chi, theta, phi)
        Logarithm of the gathered radiance.
    ground : ndarray (chi,)
        Radiance of the ground.
    """

    with_sun: bool
    air: FloatArray
    haze: FloatArray
    ground: FloatArray


class Ray(NamedTuple):
    """A ray seen from where it arrives; s is measured from its point nearest the Earth's centre."""

    impact_km: float
    origin_km: float
    sun_axis_km: float
    cos_sun: float


@njit(inline="always", cache=True)
def _split(position: float, last: int) -> tuple[int, float]:
    """Lower node and share of the upper one, from a fractional index."""
    lower = min(max(int(position), 0), last - 1)
    return lower, min(max(position - lower, 0.0), 1.0)


@njit(inline="always", cache=True)
def _fine(table: FloatArray, position: float) -> float:
    i, u = _split(position, table.size - 1)
    return float(table[i] + u * (table[i + 1] - table[i]))


@njit(inline="always", cache=True)
def _fine_cosine(table: FloatArray, cosine: float) -> float:
    return _fine(table, 0.5 * (1.0 - cosine) * (table.size - 1))


def henyey_greenstein(cosine: FloatArray) -> FloatArray:
    """Share scattered per steradian by haze [2]_, against the cosine of the angle turned."""
    g = HAZE_ASYMMETRY
    spread = 1.0 + g * g - 2.0 * g * cosine
    return (1.0 - g * g) / (4.0 * np.pi * spread**1.5)


_haze_lobe: Callable[[Any], Any] = njit(inline="always", cache=True)(henyey_greenstein)


@njit(inline="always", cache=True)
def _sunlight(medium: Medium, height_km: float, cos_chi: float) -> float:
    """Direct sunlight across the beam, looked up by distance from the edge of the shadow."""
    horizon = 180.0 - np.degrees(np.arcsin(EARTH_RADIUS_KM / (EARTH_RADIUS_KM + height_km)))
    chi = np.degrees(np.arccos(min(max(cos_chi, -1.0), 1.0)))
    edge = (chi - horizon - _FIRST_EDGE_DEG) * _EDGES_PER_DEG
    sun = medium.sun
    if edge >= sun.shape[1] - 1:
        return 0.0
    j, v = _split(edge, sun.shape[1] - 1)
    i, u = _split(_fine(medium.beam_index, height_km / FINE_STEP_KM), sun.shape[0] - 1)
    low = sun[i, j] + v * (sun[i, j + 1] - sun[i, j])
    high = sun[i + 1, j] + v * (sun[i + 1, j + 1] - sun[i + 1, j])
    return float(low + u * (high - low))


class Place(NamedTuple):
    """Where a step is among the nodes of the source."""

    i: int
    u: float
    j: int
    v: float


@njit(inline="always", cache=True)
def _corner(source: FloatArray, at: Place, k: int) -> float:
    near, far = source[at.i, at.j, k], source[at.i, at.j + 1, k]
    low = near + at.v * (far - near)
    near, far = source[at.i + 1, at.j, k], source[at.i + 1, at.j + 1, k]
    return float(low + at.u * (near + at.v * (far - near) - low))


@njit(inline="always", cache=True)
def _gathered_by_air(air: FloatArray, at: Place, dx: float, dz: float) -> float:
    """Light per unit of Rayleigh scattering into direction d, from the moments."""
    dy2 = max(1.0 - dx * dx - dz * dz, 0.0)
    # Myy is what the other two leave of J.
    second = dy2
    second += _corner(air, at, 1) * (dx * dx - dy2)
    second += _corner(air, at, 2) * (dz * dz - dy2)
    second += _corner(air, at, 3) * (2.0 * dx * dz)
    return float(np.exp(_corner(air, at, 0)) * (RAYLEIGH_FLAT + RAYLEIGH_LOBE * second))


@njit(inline="always", cache=True)
def _gathered_by_haze(
    medium: Medium, haze: FloatArray, at: Place, level: float, dx: float, dz: float
) -> float:
    """Light per unit of haze scattering, its logarithm linear in four indices."""
    p, s = _split(_fine_cosine(medium.theta_index, dz), haze.shape[2] - 1)
    turn = min(max(dx / max(level, 1e-9), -1.0), 1.0)
    q, t = _split(_fine_cosine(medium.phi_index, turn), haze.shape[3] - 1)
    total = 0.0
    for di in range(2):
        for dj in range(2):
            outer = (at.u if di else 1.0 - at.u) * (at.v if dj else 1.0 - at.v)
            cell = haze[at.i + di, at.j + dj]
            low = cell[p, q] + t * (cell[p, q + 1] - cell[p, q])
            high = cell[p + 1, q] + t * (cell[p + 1, q + 1] - cell[p + 1, q])
            total += outer * (low + s * (high - low))
    return float(np.exp(total))


@njit(inline="always", cache=True)
def _emission(medium: Medium, source: Source, ray: Ray, s: float) -> tuple[float, float]:
    """Light scattered into the ray per km at one point, and extinction there [1/km]."""
    radius = np.sqrt(ray.impact_km**2 + s * s)
    height = min(max(radius - EARTH_RADIUS_KM, 0.0), TOP_KM)
    fine = height / FINE_STEP_KM
    cell, share = _split(fine, medium.optics.shape[1] - 1)
    here, above = medium.optics[:, cell], medium.optics[:, cell + 1]
    air = here[0] + share * (above[0] - here[0])
    haze = here[1] + share * (above[1] - here[1])
    cos_chi = (ray.sun_axis_km + (s - ray.origin_km) * ray.cos_sun) / radius
    light = 0.0
    if source.with_sun:
        turned = air * (RAYLEIGH_FLAT + RAYLEIGH_LOBE * ray.cos_sun**2)
        turned += haze * _haze_lobe(ray.cos_sun)
        light = turned * _sunlight(medium, height, cos_chi)
    i, u = _split(_fine(medium.height_index, fine), source.air.shape[0] - 1)
    j, v = _split(_fine_cosine(medium.chi_index, cos_chi), source.air.shape[1] - 1)
    at = Place(i, u, j, v)
    dz = s / radius
    dx = (ray.cos_sun - dz * cos_chi) / np.sqrt(max(1.0 - cos_chi * cos_chi, 1e-12))
    light += air * _gathered_by_air(source.air, at, dx, dz)
    if haze > _HAZE_FREE * air:
        level = ray.impact_km / radius
        light += haze * _gathered_by_haze(medium, source.haze, at, level, dx, dz)
    return light, here[2] + share * (above[2] - here[2])


@njit(inline="always", cache=True)
def _along(ray: Ray, low_km: float, above_km: float) -> float:
    """Distance from the ray's lowest point to a height above the lower end of the leg."""
    radius = EARTH_RADIUS_KM + low_km + above_km
    return float(np.sqrt(max(radius * radius - ray.impact_km**2, 0.0)))


@njit(cache=True)
def _leg(
    medium: Medium, source: Source, ray: Ray, ends_km: tuple[float, float], steps: int,
    light: float, clear: float,
) -> tuple[float, float]:  # fmt: skip
    """Add the light of one climbing or falling leg; return light and the share still clear.

    Nodes crowd toward the lower end, as x^2 in height, so that they are even along the ray where
    it runs level and geometric in height where it climbs.
    """
    outward = ends_km[1] > ends_km[0]
    low, high = min(ends_km), max(ends_km)
    if high == low:
        return light, clear
    reach = np.log1p((high - low) / _SOFT_KM)
    more = (steps - _FEWEST_STEPS) * reach / np.log1p(TOP_KM / _SOFT_KM)
    count = _FEWEST_STEPS + int(more)
    end = _along(ray, low, 0.0 if outward else high - low)
    for n in range(count):
        x = (n + 1 if outward else count - 1 - n) / count
        start, end = end, _along(ray, low, _SOFT_KM * np.expm1(reach * x * x))
        middle = 0.5 * (start + end)
        emitted, loss = _emission(medium, source, ray, middle if outward else -middle)
        length = abs(end - start)
        depth = loss * length
        passed = np.exp(-depth)
        # The emission is even over the step, the loss exponential.
        mean_clear = (1.0 - passed) / depth if depth > 1e-6 else 1.0
        light += clear * emitted * length * mean_clear
        clear *= passed
    return light, clear


@njit(cache=True)
def _radiance(
    medium: Medium, source: Source, height_km: float, chi: float, theta: float, phi: float,
    steps: int,
) -> float:  # fmt: skip
    """Radiance arriving at a height from (theta, phi) with the Sun at chi [rad]."""
    radius = EARTH_RADIUS_KM + height_km
    cos_chi, cos_theta = np.cos(chi), np.cos(theta)
    cos_sun = cos_theta * cos_chi + np.sin(theta) * np.sin(chi) * np.cos(phi)
    ray = Ray(radius * np.sin(theta), radius * cos_theta, radius * cos_chi, cos_sun)
    if cos_theta >= 0.0:
        light, clear = _leg(medium, source, ray, (height_km, TOP_KM), steps, 0.0, 1.0)
        return light
    low = max(ray.impact_km - EARTH_RADIUS_KM, 0.0)
    light, clear = _leg(medium, source, ray, (height_km, low), steps, 0.0, 1.0)
    if ray.impact_km >= EARTH_RADIUS_KM:
        light, clear = _leg(medium, source, ray, (low, TOP_KM), steps, light, clear)
        return light
    s = -np.sqrt(EARTH_RADIUS_KM**2 - ray.impact_km**2)
    cos_there = (ray.sun_axis_km + (s - ray.origin_km) * cos_sun) / EARTH_RADIUS_KM
    return light + clear * _ground_light(medium, source.ground, cos_there)


@njit(inline="always", cache=True)
def _ground_light(medium: Medium, ground: FloatArray, cos_chi: float) -> float:
    """Radiance of the ground under a Sun at chi."""
    return _fine(ground, _fine_cosine(medium.chi_index, cos_chi))


def _trace(
    medium: Medium, source: Source, height_km: FloatArray, chi: FloatArray, theta: FloatArray,
    phi: FloatArray, steps: int,
) -> FloatArray:  # fmt: skip
    """Radiance arriving along many rays.

    Parameters
    ----------
    medium, source
        The atmosphere and the light in it.
    height_km, chi, theta, phi : ndarray (rays,)
        Where each ray arrives [km], the Sun's zenith distance there and the direction it comes
        from [rad].
    steps : int
        Steps from the ground to the top; shorter ways take fewer.

    Returns
    -------
    ndarray (rays,)
        Radiance per unit of sunlight above the air.
    """
    out = np.empty(height_km.size)
    for n in prange(height_km.size):
        out[n] = _radiance(medium, source, height_km[n], chi[n], theta[n], phi[n], steps)
    return out


trace: Callable[..., FloatArray] = njit(parallel=True, cache=True)(_trace)
