"""Patterns that repeat and are read anywhere between their points, at any coarseness."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Pixels: TypeAlias = NDArray[np.float32]
Layers: TypeAlias = NDArray[np.complex64]

#: Points along a side of a ground tile, and metres between them.
GROUND_POINTS, GROUND_STEP_M = 1024, 0.4
CLOUD_POINTS = 256
#: Contrast of the land, 1-sigma in stops, and of the light along a street.
LAND_SIGMA_STOPS, LAMP_PATTERN_SIGMA_STOPS = 0.4, 0.3
#: A street every so many metres, more or less.
STREET_EVERY_M = 51.2


@dataclass(frozen=True)
class Tile:
    """A square pattern of two layers, repeated without end, and its halved copies.

    A point of `points` holds one layer as its real part and the other as its imaginary one, so
    that both are read at once. All levels follow each other, the finest first, `side` wide.
    """

    points: Layers
    side: int

    def read(self, x: Pixels, y: Pixels, level: Pixels) -> Layers:
        """Both layers at places, in points of the finest level.

        `level` is log2 of the points that a place covers; it broadcasts with x and y.
        """
        last = self.side.bit_length() - 1
        level = np.clip(level, 0.0, last - 0.001).astype(np.float32)
        below = level.astype(np.int32)
        share = level - below
        finer: Layers = self._at(x, y, below)
        finer += share * (self._at(x, y, below + 1) - finer)
        return finer

    def _at(self, x: Pixels, y: Pixels, level: NDArray[np.int32]) -> Layers:
        side = self.side >> level
        # Levels lie one after the other: 4/3 (n² - m²) points before the one of side m.
        first = (4 * (self.side**2 - side**2)) // 3
        shrink = np.exp2(-level).astype(np.float32)
        across, down = (x + np.float32(0.5)) * shrink, (y + np.float32(0.5)) * shrink
        across, down = across - np.float32(0.5), down - np.float32(0.5)
        west, north = np.floor(across), np.floor(down)
        right, low = across - west, down - north
        col, row, last = west.astype(np.int32), north.astype(np.int32), side - 1
        here, under = first + (row & last) * side, first + ((row + 1) & last) * side
        left, beside = col & last, (col + 1) & last
        points = self.points
        above: Layers = points.take(here + left)
        lower: Layers = points.take(under + left)
        above += right * (points.take(here + beside) - above)
        lower += right * (points.take(under + beside) - lower)
        above += low * (lower - above)
        return above


@lru_cache(maxsize=4)
def ground_tile(seed: int, lit_share: float) -> Tile:
    """Ground: its reflectance over the mean, and its lamplight over the mean of the lit part.

    The lamplit part covers `lit_share` of it; elsewhere the second, imaginary layer is 0.
    """
    rng = np.random.default_rng(seed)
    side = GROUND_POINTS
    land = _mean_one(np.exp2(LAND_SIGMA_STOPS * _clumps(rng, side, 1.1)))
    lit = _streets(rng, side, lit_share)
    pattern = np.exp2(LAMP_PATTERN_SIGMA_STOPS * _clumps(rng, side, 1.6))
    lamps = np.where(lit, pattern / pattern[lit].mean() if lit.any() else 0.0, 0.0)
    return _tile(land + 1j * lamps)


@lru_cache(maxsize=4)
def cloud_tile(seed: int) -> Tile:
    """Clouds: the real layer, of mean 0 and 1-sigma 1."""
    return _tile(_clumps(np.random.default_rng(seed), CLOUD_POINTS, 1.8) + 0j)


def _mean_one(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(values / values.mean())


def _clumps(rng: np.random.Generator, side: int, power: float) -> NDArray[np.float64]:
    """Noise of mean 0 and 1-sigma 1 whose amplitude falls with a power of the frequency."""
    frequency = np.fft.fftfreq(side) * side
    distance = np.hypot(frequency[:, None], frequency[None, : side // 2 + 1])
    # Without the longest waves: a patch of ground then stands for the whole of it.
    weight = np.where(distance < 4.0, 0.0, np.maximum(distance, 1.0) ** -power)
    spectrum = np.fft.rfft2(rng.standard_normal((side, side))) * weight
    values = np.fft.irfft2(spectrum, (side, side))
    return np.asarray((values - values.mean()) / values.std())


def _streets(rng: np.random.Generator, side: int, lit_share: float) -> NDArray[np.bool_]:
    """Lit roads and house fronts both ways across a tile that cover a share of it."""
    every = STREET_EVERY_M / GROUND_STEP_M
    count = max(round(side / every), 1)
    places = np.arange(side)

    def distance(centres: NDArray[np.float64]) -> NDArray[np.float64]:
        apart = np.abs(places[:, None] - centres[None, :])
        return np.asarray(np.minimum(apart, side - apart).min(axis=1))

    east, north = (
        distance((np.arange(count) + rng.uniform(-0.25, 0.25, count)) * side / count % side)
        for _ in range(2)
    )
    # Fronts are ragged: what lies near a road is lit where a house stands.
    near = np.minimum(east[None, :], north[:, None]) + 4.0 * rng.random((side, side))
    if lit_share <= 0.0:
        return np.zeros((side, side), dtype=bool)
    return np.asarray(near <= np.quantile(near, lit_share))


def _tile(finest: NDArray[np.complexfloating]) -> Tile:
    level, levels = finest, [finest]
    while len(level) > 1:
        half = len(level) // 2
        level = level.reshape(half, 2, half, 2).mean(axis=(1, 3))
        levels.append(level)
    points = np.concatenate([level.ravel() for level in levels]).astype(np.complex64)
    return Tile(points, len(finest))
