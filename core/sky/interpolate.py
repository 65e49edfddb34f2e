"""Interpolation between the nodes of the sky table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]
Real = TypeVar("Real", np.float32, np.float64)


@dataclass(frozen=True)
class Bracket:
    """Two neighbouring nodes of one axis and the share of the upper one."""

    lower: int
    share: float

    @classmethod
    def of(cls, nodes: FloatArray, value: float) -> Bracket:
        """Bracket a value, held at the ends of the axis."""
        position = float(np.interp(value, nodes, np.arange(nodes.size)))
        lower = min(int(position), nodes.size - 2)
        return cls(lower, position - lower)

    def blend(self, values: NDArray[np.int16] | FloatArray) -> FloatArray:
        """Interpolate along the first axis."""
        below, above = values[self.lower : self.lower + 2].astype(np.float64)
        return np.asarray(below + self.share * (above - below))


@dataclass(frozen=True)
class Mixture:
    """Weights of every node of a short axis: the polynomial through them all."""

    weights: FloatArray

    @classmethod
    def at(cls, nodes: FloatArray, value: float) -> Mixture:
        """Lagrange's weights for a value, held at the ends of the axis."""
        held = min(max(value, float(nodes[0])), float(nodes[-1]))
        apart = nodes[:, None] - nodes + np.eye(nodes.size)
        reach = np.where(np.eye(nodes.size, dtype=bool), 1.0, held - nodes)
        return cls(np.asarray((reach / apart).prod(axis=1)))

    def blend(self, values: NDArray[np.int16] | FloatArray) -> FloatArray:
        """Interpolate along the first axis."""
        return np.tensordot(self.weights, values, axes=1)


def positions(nodes: FloatArray, values: FloatArray) -> tuple[Indices, FloatArray]:
    """Lower node and share of the upper one for every value, held at the ends of the axis."""
    position = np.interp(values, nodes, np.arange(nodes.size, dtype=np.float64))
    lower = np.minimum(position.astype(np.intp), nodes.size - 2)
    return lower, position - lower


def folded(azimuth_from_sun_deg: FloatArray) -> FloatArray:
    """Azimuth from the Sun as 0..180: the sky is the same to both sides."""
    return np.asarray(np.abs(np.mod(azimuth_from_sun_deg + 180.0, 360.0) - 180.0))


@dataclass(frozen=True)
class Cells:
    """Where rays fall among the nodes of direction.

    Attributes
    ----------
    corner : ndarray of int
        Flat index of the lower node nearer the Sun.
    row : int
        Nodes from one view altitude to the next.
    up, right : ndarray
        Shares of the upper nodes and of those farther from the Sun.
    """

    corner: Indices
    row: int
    up: FloatArray
    right: FloatArray

    def interpolate(self, nodes: NDArray[Real], shift: Indices | int = 0) -> NDArray[Real]:
        """Interpolate along the first axis of nodes; further axes are carried along.

        `shift` moves every ray to a later block of nodes.
        """
        carried = (1,) * (nodes.ndim - 1)
        up = self.up.reshape(self.up.shape + carried).astype(nodes.dtype, copy=False)
        right = self.right.reshape(self.right.shape + carried).astype(nodes.dtype, copy=False)
        corner = self.corner + shift
        near, far = nodes.take(corner, axis=0), nodes.take(corner + 1, axis=0)
        low = near + right * (far - near)
        corner = corner + self.row
        near, far = nodes.take(corner, axis=0), nodes.take(corner + 1, axis=0)
        return np.asarray(low + up * (near + right * (far - near) - low))


@dataclass(frozen=True)
class Directions:
    """The table's nodes of direction, flattened by view altitude, then azimuth."""

    view_altitude_deg: FloatArray
    azimuth_deg: FloatArray

    @property
    def count(self) -> int:
        """How many nodes there are."""
        return self.view_altitude_deg.size * self.azimuth_deg.size

    def flat(self) -> tuple[FloatArray, FloatArray]:
        """View altitude and azimuth of every node."""
        view, azimuth = np.meshgrid(self.view_altitude_deg, self.azimuth_deg, indexing="ij")
        return view.ravel(), azimuth.ravel()

    def cells(self, view_altitude_deg: FloatArray, azimuth_from_sun_deg: FloatArray) -> Cells:
        """Find the nodes around each ray; below the lowest node its values are held."""
        altitude, up = positions(self.view_altitude_deg, view_altitude_deg)
        turn, right = positions(self.azimuth_deg, folded(azimuth_from_sun_deg))
        row = self.azimuth_deg.size
        corner = np.asarray(altitude * row + turn)
        # One shape for all, so that further axes can be added behind it.
        shape = corner.shape
        return Cells(corner, row, np.broadcast_to(up, shape), np.broadcast_to(right, shape))
