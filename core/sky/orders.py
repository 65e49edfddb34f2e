"""Successive orders of scattering: the whole field of light at one wavelength and haze.

Each order is the light of the one before, gathered from all directions at every height and sun
altitude and scattered once more; the first is direct sunlight. From where their ratio has settled
the remaining orders are a geometric series. This is offline work, see `core.sky.generate`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from core.sky.atmosphere import (
    EARTH_RADIUS_KM,
    GROUND_ALBEDO,
    TOP_KM,
    FloatArray,
    coefficients,
)
from core.sky.beam import EDGE_DEG, HEIGHT_KM, BeamPaths, beam
from core.sky.transfer import FINE_STEP_KM, Medium, Source, henyey_greenstein, trace

_TINY = 1e-30
"""Stands for darkness where a logarithm is taken."""

_COSINE_COUNT = 4001
_STEEPEST_RATIO = 0.9

_HEIGHT_KM = (
    0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 12.0, 14.5, 17.0, 20.0,
    23.0, 26.5, 30.0, 34.0, 38.0, 43.0, 48.0, 54.0, 60.0, 67.0, 75.0, 85.0, 100.0, TOP_KM,
)  # fmt: skip
_SUN_ZENITH_DEG = (
    0.0, 20.0, 35.0, 48.0, 57.0, 64.0, 69.0, 72.5, 75.5, 78.0, 80.0, 82.0, 83.5, 85.0,
    *np.arange(86.0, 106.25, 0.5),
    107.0, 108.0, 109.5, 111.0, 113.0, 115.0, 118.0,
)  # fmt: skip
_THETA_DEG = (
    0.0, 12.0, 24.0, 35.0, 45.0, 54.0, 62.0, 69.0, 75.0, 80.0, 84.0, 87.0, 90.0,
    93.0, 96.0, 100.0, 105.0, 111.0, 118.0, 126.0, 135.0, 146.0, 157.0, 168.0, 180.0,
)  # fmt: skip
_PHI_DEG = (
    0.0, 6.0, 12.0, 18.0, 25.0, 33.0, 42.0, 52.0, 63.0,
    75.0, 88.0, 101.0, 114.0, 126.0, 138.0, 149.0, 160.0, 170.0, 180.0,
)  # fmt: skip


@dataclass(frozen=True)
class Grid:
    """Where the solver keeps its numbers; the default is what the shipped table is made with.

    Attributes
    ----------
    height_km, sun_zenith_deg : ndarray
        Nodes of the gathered light.
    theta_deg, phi_deg : ndarray
        Its nodes in direction, for haze.
    upper, lower, around : int
        Directions gathered above and below the horizon, and in half a turn of azimuth.
    steps, fine_steps : int
        Steps along a ray from the ground to the top, while solving and for the result.
    orders : int
        Orders of scattering computed one by one.
    """

    height_km: FloatArray = field(default_factory=lambda: np.array(_HEIGHT_KM))
    sun_zenith_deg: FloatArray = field(default_factory=lambda: np.array(_SUN_ZENITH_DEG))
    theta_deg: FloatArray = field(default_factory=lambda: np.array(_THETA_DEG))
    phi_deg: FloatArray = field(default_factory=lambda: np.array(_PHI_DEG))
    upper: int = 20
    lower: int = 12
    around: int = 12
    steps: int = 36
    fine_steps: int = 140
    orders: int = 6


@dataclass(frozen=True)
class Sky:
    """The solved field of one wavelength and haze, ready to be looked at from anywhere."""

    medium: Medium
    source: Source
    steps: int

    def radiance(
        self,
        height_km: ArrayLike,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
    ) -> FloatArray:
        """Radiance per unit of sunlight, all orders together, the Sun's disc left out.

        Parameters
        ----------
        height_km : array_like
            Height above the ground [km], 0 to 120.
        sun_altitude_deg : array_like
            Geometric altitude of the Sun [deg], 90 to -18.
        view_altitude_deg : array_like
            Altitude of the sky point [deg], -90 to 90.
        azimuth_from_sun_deg : array_like
            Its azimuth less that of the Sun [deg].

        Returns
        -------
        ndarray
            With the shape the inputs broadcast to.
        """
        chi = np.radians(90.0 - np.asarray(sun_altitude_deg))
        theta = np.radians(90.0 - np.asarray(view_altitude_deg))
        phi = np.radians(azimuth_from_sun_deg)
        return _trace_all(self.medium, self.source, self.steps, (height_km, chi, theta, phi))


def _trace_all(
    medium: Medium, source: Source, steps: int, rays: tuple[ArrayLike, ...]
) -> FloatArray:
    """`trace` for arrays that broadcast together."""
    together = np.broadcast_arrays(*rays)
    flat = [np.ascontiguousarray(values, dtype=np.float64).ravel() for values in together]
    return trace(medium, source, *flat, steps).reshape(together[0].shape)


# ---- what a ray meets ----


def _fraction(nodes: FloatArray, at: FloatArray) -> FloatArray:
    """Fractional index of each position among increasing nodes, held at the ends."""
    return np.interp(at, nodes, np.arange(nodes.size, dtype=np.float64))


def _cosine_index(nodes_deg: FloatArray) -> FloatArray:
    cosine = np.linspace(1.0, -1.0, _COSINE_COUNT)
    return _fraction(nodes_deg, np.degrees(np.arccos(cosine)))


def fine_heights_km() -> FloatArray:
    """Heights at which a ray looks up its coefficients."""
    return np.arange(0.0, TOP_KM + 1.5 * FINE_STEP_KM, FINE_STEP_KM)


def ray_medium(grid: Grid, optics: FloatArray, sun: FloatArray) -> Medium:
    """Add to coefficients and sunbeam the tables that spare a ray every search."""
    fine = fine_heights_km()
    return Medium(
        optics=optics,
        sun=sun,
        height_index=_fraction(grid.height_km, fine),
        beam_index=_fraction(HEIGHT_KM, fine),
        chi_index=_cosine_index(grid.sun_zenith_deg),
        theta_index=_cosine_index(grid.theta_deg),
        phi_index=_cosine_index(grid.phi_deg),
    )


# ---- gathering ----


@dataclass(frozen=True)
class _Gather:
    """Directions at every height and what is summed over them.

    `theta` is (height, n); `moment` (height, 4, direction) and `haze` (height, node, direction)
    hold weights, with direction running over theta, then phi.
    """

    theta: FloatArray
    phi: FloatArray
    moment: FloatArray
    haze: FloatArray


def _around_the_horizon(grid: Grid, horizon: float) -> tuple[FloatArray, FloatArray]:
    """Zenith distances and solid angles per radian of azimuth, crowding at the horizon."""
    y_up, w_up = np.polynomial.legendre.leggauss(grid.upper)
    y_down, w_down = np.polynomial.legendre.leggauss(grid.lower)
    up, down = 0.5 * (1.0 + y_up), 0.5 * (1.0 + y_down)
    theta = np.concatenate([horizon * (1.0 - up**2), horizon + (np.pi - horizon) * down**2])
    spacing = np.concatenate([horizon * up * w_up, (np.pi - horizon) * down * w_down])
    return theta, spacing * np.sin(theta)


def _unit_vectors(theta: FloatArray, phi: FloatArray) -> FloatArray:
    """Directions (x toward the Sun, y across, z up) of every theta and phi, flattened."""
    t, p = np.meshgrid(theta, phi, indexing="ij")
    return np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)]).reshape(3, -1)


def _gather_weights(grid: Grid) -> _Gather:
    phi = (np.arange(grid.around) + 0.5) * np.pi / grid.around
    node = _unit_vectors(np.radians(grid.theta_deg), np.radians(grid.phi_deg))
    thetas, moments, hazes = [], [], []
    for height in grid.height_km:
        horizon = np.pi - np.arcsin(EARTH_RADIUS_KM / (EARTH_RADIUS_KM + height))
        theta, solid = _around_the_horizon(grid, float(horizon))
        weight = np.repeat(solid * np.pi / grid.around, grid.around)
        d = _unit_vectors(theta, phi)
        squares = np.stack([np.ones_like(weight), d[0] ** 2, d[2] ** 2, d[0] * d[2]])
        # Left and right are alike: each direction stands for its mirror image as well.
        moments.append(2.0 * weight * squares)
        hazes.append(_haze_weights(node, d, weight))
        thetas.append(theta)
    return _Gather(np.stack(thetas), phi, np.stack(moments), np.stack(hazes))


def _haze_weights(node: FloatArray, d: FloatArray, weight: FloatArray) -> FloatArray:
    """Weight of each direction d in the light that haze sends into each node."""
    mirrored = d * np.array([1.0, -1.0, 1.0])[:, None]
    lobe = henyey_greenstein(node.T @ d) + henyey_greenstein(node.T @ mirrored)
    gathered = lobe * weight
    # The quadrature of the sharp lobe is a little off; scattering must lose nothing.
    return np.asarray(gathered / gathered.sum(axis=1, keepdims=True))


@dataclass(frozen=True)
class _Order:
    """Light gathered of one order, or of several.

    `moment` (height, sun, 4) holds J, Mxx, Mzz and Mxz; `haze` (height, sun, theta, phi) the
    radiance gathered by the haze's lobe; `ground_irradiance` (sun,) the light on level ground.
    """

    moment: FloatArray
    haze: FloatArray
    ground_irradiance: FloatArray

    def plus(self, other: _Order, factor: FloatArray) -> _Order:
        """Return this and a multiple, by height and sun, of another."""
        return _Order(
            self.moment + other.moment * factor[..., None],
            self.haze + other.haze * factor[..., None, None],
            self.ground_irradiance + other.ground_irradiance * factor[0],
        )

    def source(self, *, with_sun: bool) -> Source:
        """What a ray meets: logarithms, ratios and the ground's radiance."""
        total = np.maximum(self.moment[..., :1], _TINY)
        air = np.concatenate([np.log(total), self.moment[..., 1:] / total], axis=-1)
        haze = np.log(np.maximum(self.haze, _TINY))
        return Source(with_sun, air, haze, GROUND_ALBEDO / np.pi * self.ground_irradiance)


def _gathered(radiance: FloatArray, weights: _Gather, grid: Grid) -> _Order:
    """Gather a radiance field (height, sun, direction)."""
    moment = np.einsum("hsd,hkd->hsk", radiance, weights.moment)
    haze = radiance @ weights.haze.transpose(0, 2, 1)
    shape = (*radiance.shape[:2], grid.theta_deg.size, grid.phi_deg.size)
    level = np.repeat(np.maximum(np.cos(weights.theta[0]), 0.0), grid.around)
    irradiance = radiance[0] @ (weights.moment[0, 0] * level)
    return _Order(moment, haze.reshape(shape), irradiance)


# ---- solving ----


def solve(paths: BeamPaths, wavelength_nm: float, aod_550: float, grid: Grid | None = None) -> Sky:
    """Solve the sky of one wavelength and haze for every height and sun altitude.

    Parameters
    ----------
    paths : BeamPaths
        From `core.sky.beam.trace_beams`.
    wavelength_nm : float
        Wavelength [nm], 365 to 735.
    aod_550 : float
        Haze optical depth at 550 nm, at least 0.02.
    grid : Grid, optional
        Resolution.
    """
    grid = grid or Grid()
    here = coefficients(wavelength_nm, aod_550, fine_heights_km())
    optics = np.stack([here.air, here.haze, here.extinction])
    sun, sun_on_ground = beam(paths, wavelength_nm, aod_550)
    ground = np.interp(grid.sun_zenith_deg - 90.0, EDGE_DEG, sun_on_ground[0])
    return successive_orders(grid, ray_medium(grid, optics, sun), ground)


def successive_orders(grid: Grid, medium: Medium, sun_on_ground: FloatArray) -> Sky:
    """Scatter sunlight `grid.orders` times and close the series geometrically.

    `sun_on_ground` is the direct light on level ground at every sun node of the grid.
    """
    weights = _gather_weights(grid)
    last = total = _dark(grid, sun_on_ground)
    before = last
    for number in range(1, grid.orders):
        source = last.source(with_sun=number == 1)
        before, last = last, _next_order(grid, weights, medium, source)
        total = total.plus(last, np.ones(last.moment.shape[:2]))
    total = total.plus(last, _tail(last, before))
    return Sky(medium, total.source(with_sun=True), grid.fine_steps)


def _dark(grid: Grid, sun_on_ground: FloatArray) -> _Order:
    """Nothing scattered yet: only the ground is lit."""
    nodes = (grid.height_km.size, grid.sun_zenith_deg.size)
    directions = (grid.theta_deg.size, grid.phi_deg.size)
    return _Order(np.zeros((*nodes, 4)), np.zeros((*nodes, *directions)), sun_on_ground)


def _next_order(grid: Grid, weights: _Gather, medium: Medium, source: Source) -> _Order:
    """Gather the light that a source sends along every direction at every node."""
    rays = (
        grid.height_km[:, None, None, None],
        np.radians(grid.sun_zenith_deg)[:, None, None],
        weights.theta[:, None, :, None],
        weights.phi,
    )
    radiance = _trace_all(medium, source, grid.steps, rays)
    return _gathered(radiance.reshape(*radiance.shape[:2], -1), weights, grid)


def _tail(last: _Order, before: _Order) -> FloatArray:
    """Sum of the orders not computed, as a multiple of the last, from the ratio of two."""
    ratio = last.moment[..., 0] / np.maximum(before.moment[..., 0], _TINY)
    # Two orders are no series: without a second one there is nothing to extend.
    ratio = np.where(before.moment[..., 0] > 0.0, np.clip(ratio, 0.0, _STEEPEST_RATIO), 0.0)
    return np.asarray(ratio / (1.0 - ratio))
