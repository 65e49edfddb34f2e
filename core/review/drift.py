"""How the ground moved between two frames beyond what the planned path moves it.

A few tiles of ground are followed. Each is looked up in a key frame through the planned
poses, so that only the departure from them is left to be measured.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.review.geometry import Lens, Mask, Pose

#: Side of a tile in pixels of the reduced picture; a power of two for the transform.
TILE_PX = 128
#: So many tiles are followed: the best of a frame's ground by their texture.
TILES = 6
#: The refined peak is read in steps of a twentieth of a pixel, this far to both sides.
_STEP, _REACH = 0.05, 0.75
#: Tiles that are less alike than this are not believed.
_ALIKE = 0.3
_LEAST_TILES = 2
#: A sample of the frame this small tells no tiles apart.
_SMALLEST_TILE_PX = 32
_TILES_ACROSS = 3
#: Room at the key frame's edges for what the craft departs, as a share of the width.
_ROOM = 0.01

Grey = NDArray[np.float32]


@dataclass(frozen=True)
class Tile:
    """Left and top edge of a tile in the reduced picture, and its side."""

    x: int
    y: int
    side: int


@dataclass(frozen=True)
class Follow:
    """From a pose back to the key frame's, through one lens."""

    lens: Lens
    pose: Pose
    key_pose: Pose

    def in_key(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where the ground under pixels of this frame lies in the key frame, by the poses."""
        return self.lens.pixel(self.key_pose, *self.lens.ground(self.pose, x, y))


def tiles_of(grey: Grey, ground: Mask, follow: Follow) -> tuple[Tile, ...]:
    """The tiles of a picture's ground that hold most texture, none over another.

    Parameters
    ----------
    grey
        (rows, columns); `ground` is a coarser grid over it.
    follow
        Tiles that the key frame did not hold are left out.
    """
    rows, columns = grey.shape
    side = TILE_PX
    while side > _SMALLEST_TILE_PX and side > min(rows, columns) // _TILES_ACROSS:
        side //= 2
    found = []
    for y in range(0, rows - side + 1, side):
        for x in range(0, columns - side + 1, side):
            tile = Tile(x, y, side)
            if _all_ground(ground, tile, rows, columns) and _was_in(follow, tile):
                part = grey[y : y + side, x : x + side]
                down, across = (float(np.abs(np.diff(part, axis=axis)).mean()) for axis in (0, 1))
                found.append((down * across, tile))
    best = sorted(found, key=lambda one: -one[0])[:TILES]
    return tuple(tile for _, tile in best)


def _was_in(follow: Follow, tile: Tile) -> bool:
    """Whether the key frame held a tile, with room for a departure."""
    corners = np.array([0.0, 1.0]) * tile.side
    x, y = np.meshgrid(tile.x + corners, tile.y + corners)
    at_x, at_y = follow.in_key(x, y)
    room = _ROOM * follow.lens.columns
    return bool(
        np.all((at_x > room) & (at_x < follow.lens.columns - room))
        and np.all((at_y > room) & (at_y < follow.lens.rows - room))
    )


def _all_ground(ground: Mask, tile: Tile, rows: int, columns: int) -> bool:
    cell_rows, cell_columns = ground.shape
    y = slice(tile.y * cell_rows // rows, -(-(tile.y + tile.side) * cell_rows // rows))
    x = slice(tile.x * cell_columns // columns, -(-(tile.x + tile.side) * cell_columns // columns))
    return bool(ground[y, x].all())


def departure_px(
    key: Grey, grey: Grey, follow: Follow, tiles: tuple[Tile, ...]
) -> tuple[float, float, int]:
    """By how much a frame's ground lies right and down of where the planned poses put it.

    Counted from the key frame, in pixels of the reduced picture.

    Returns
    -------
    tuple
        Right, down (NaN where fewer than two tiles could be followed), and how many could.
    """
    shifts = [shift for tile in tiles if (shift := _tile_shift(key, grey, follow, tile))]
    if len(shifts) < _LEAST_TILES:
        return float("nan"), float("nan"), len(shifts)
    dx, dy = np.median(np.array(shifts), axis=0)
    return float(dx), float(dy), len(shifts)


def _tile_shift(key: Grey, grey: Grey, follow: Follow, tile: Tile) -> tuple[float, float] | None:
    """A tile's departure; None where it cannot be followed.

    Found twice: what a first look leaves out of the window draws its answer toward nought.
    """
    x, y = np.meshgrid(tile.x + np.arange(tile.side) + 0.5, tile.y + np.arange(tile.side) + 0.5)
    seen = grey[tile.y : tile.y + tile.side, tile.x : tile.x + tile.side]
    dx, dy = 0.0, 0.0
    for _ in range(2):
        expected = _sampled(key, *follow.in_key(x - dx, y - dy))
        if expected is None:
            return None
        right, down, alike = shift_px(expected, seen)
        if alike < _ALIKE:
            return None
        dx, dy = dx + right, dy + down
    return dx, dy


def shift_px(first: Grey, second: Grey) -> tuple[float, float, float]:
    """By how much a picture's content moved right and down from the first to the second.

    Cross-correlation without normalisation, its peak refined by a transform of matrices
    (Guizar-Sicairos, Thurman and Fienup 2008, Opt. Lett. 33:156); both pictures less their
    mean, under a Hann window.

    Returns
    -------
    tuple
        Right, down, and how alike the two then are, -1 to 1.
    """
    window = np.hanning(first.shape[0])[:, None] * np.hanning(first.shape[1])
    one, two = ((part - part.mean()) * window for part in (first, second))
    a, b = np.fft.fft2(one), np.fft.fft2(two)
    power = b * np.conj(a)
    rough = np.fft.ifft2(power).real
    peak = np.unravel_index(int(np.argmax(rough)), rough.shape)
    rows, columns = rough.shape
    down = float((int(peak[0]) + rows // 2) % rows - rows // 2)
    right = float((int(peak[1]) + columns // 2) % columns - columns // 2)
    offsets = np.arange(-_REACH, _REACH + _STEP / 2.0, _STEP)
    turn_y = np.exp(2j * np.pi * np.outer(down + offsets, np.fft.fftfreq(rows)))
    turn_x = np.exp(2j * np.pi * np.outer(np.fft.fftfreq(columns), right + offsets))
    fine = (turn_y @ power @ turn_x).real
    at = np.unravel_index(int(np.argmax(fine)), fine.shape)
    # Parseval: the transforms' energy is that of the pictures times their pixels.
    energy = rows * columns * np.sqrt(float((one**2).sum()) * float((two**2).sum()))
    alike = float(fine[at]) / max(energy, 1e-9)
    return right + float(offsets[at[1]]), down + float(offsets[at[0]]), alike


def _sampled(picture: Grey, x: FloatArray, y: FloatArray) -> Grey | None:
    """A picture read between its pixels; None where part of what is asked lies outside."""
    rows, columns = picture.shape
    x, y = x - 0.5, y - 0.5
    inside = (x >= 0.0) & (x < columns - 1) & (y >= 0.0) & (y < rows - 1)
    if not inside.all():
        return None
    left, top = x.astype(np.intp), y.astype(np.intp)
    right_share, low_share = (x - left).astype(np.float32), (y - top).astype(np.float32)
    flat, at = picture.ravel(), top * columns + left
    above = flat[at] * (1.0 - right_share) + flat[at + 1] * right_share
    below = flat[at + columns] * (1.0 - right_share) + flat[at + columns + 1] * right_share
    return np.asarray(above * (1.0 - low_share) + below * low_share, dtype=np.float32)
