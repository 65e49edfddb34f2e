"""How the ground moved between two frames beyond what the planned path moves it.

A few tiles of ground are followed. Each is looked up in a key frame through the planned
poses, so that only the departure from them is left to be measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.readonly import read_only
from core.review.geometry import Lens, Mask, Pose

#: Side of a tile in pixels of the reduced picture; a power of two for the transform.
TILE_PX = 128
#: Where departure is told, in shares of the frame from left and top: low in its middle, where
#: almost every frame shows ground.
TELL_TALE = (0.5, 0.8)
#: 1-sigma of a tile's own shift, and of what the frame's far sides differ by, in reduced pixels.
_TILE_SIGMA_PX, _SLOPE_SIGMA_PX = 0.1, 4.0
#: Each look takes the last one's answer as its start.
_PASSES = 2
#: What varies less often than this across a tile is passed over, and what oftener a pixel.
_COARSE, _FINE = 6.0, 0.25
#: Tiles that are less alike than this are not believed.
_ALIKE = 0.3
_LEAST_TILES = 2
#: A sample of the frame this small tells no tiles apart.
_SMALLEST_TILE_PX = 32
_TILES_ACROSS = 3
#: Room at the key frame's edges for what the craft departs, as a share of the width.
_ROOM = 0.01

Grey = NDArray[np.float32]
Waves = NDArray[np.complexfloating]


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
    return _spread_out(found)


def _spread_out(found: list[tuple[float, Tile]]) -> tuple[Tile, ...]:
    """The best tile of each sector of the ground: what moves one end alone must show."""
    if not found:
        return ()
    left, right = min(t.x for _, t in found), max(t.x for _, t in found) + 1
    top, low = min(t.y for _, t in found), max(t.y for _, t in found) + 1
    best: dict[tuple[int, int], tuple[float, Tile]] = {}
    for texture, tile in found:
        sector = (3 * (tile.x - left) // (right - left), 2 * (tile.y - top) // (low - top))
        if sector not in best or texture > best[sector][0]:
            best[sector] = (texture, tile)
    return tuple(tile for _, tile in best.values())


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


@dataclass(frozen=True)
class Followed:
    """A tile found again in the key frame, in pixels of the reduced picture.

    By how much it lies right and down of where the poses put it, the values of its pixels there
    and in the key frame, where in the key frame they lie, and how much further from the middle of
    the lens it lies than there, in squares of the half diagonal.
    """

    tile: Tile
    right: float
    down: float
    here: Grey
    there: Grey
    key_x: FloatArray
    key_y: FloatArray
    outward: float

    @property
    def middle(self) -> tuple[float, float]:
        """The tile's middle in this frame."""
        return self.tile.x + self.tile.side / 2.0, self.tile.y + self.tile.side / 2.0


def followed(
    key: Grey, grey: Grey, follow: Follow, tiles: tuple[Tile, ...]
) -> tuple[Followed, ...]:
    """The tiles of a frame that are found again in its key frame."""
    found = (_found_again(key, grey, follow, tile) for tile in tiles)
    return tuple(one for one in found if one is not None)


def departure_px(found: tuple[Followed, ...], lens: Lens) -> tuple[float, float]:
    """By how much a frame's ground lies right and down of where the planned poses put it.

    Counted from the key frame, in pixels of the reduced picture; NaN where fewer than two tiles
    could be followed.
    """
    if len(found) < _LEAST_TILES:
        return float("nan"), float("nan")
    return _at_tell_tale(np.array([(*one.middle, one.right, one.down) for one in found]), lens)


def _at_tell_tale(shifts: FloatArray, lens: Lens) -> tuple[float, float]:
    """The departure at `TELL_TALE`, by a plane laid through those of the tiles, (n, 4).

    A plane, as a craft that slides moves near ground more than far; held level as far as few
    tiles tell no slope, and one tile far from the plane counts for little.
    """
    x = shifts[:, 0] / lens.columns - TELL_TALE[0]
    y = shifts[:, 1] / lens.rows - TELL_TALE[1]
    terms = np.stack([np.ones_like(x), x, y], axis=1)
    moved = shifts[:, 2:]
    held = np.diag([0.0, 1.0, 1.0]) * (_TILE_SIGMA_PX / _SLOPE_SIGMA_PX) ** 2
    # From their median on, which a wrong match does not move.
    off = np.hypot(*(moved - np.median(moved, axis=0)).T)
    trust = np.minimum(1.0, 1.0 / np.maximum(off, 1e-9))
    fit = np.zeros((3, 2))
    for _ in range(4):
        weighed = terms * trust[:, None]
        fit = np.linalg.solve(weighed.T @ terms + held, weighed.T @ moved)
        off = np.hypot(*(moved - terms @ fit).T)
        # Huber's weights (Huber 1981, Robust Statistics).
        trust = np.minimum(1.0, _TILE_SIGMA_PX / np.maximum(off, 1e-9))
    return float(fit[0, 0]), float(fit[0, 1])


def _found_again(key: Grey, grey: Grey, follow: Follow, tile: Tile) -> Followed | None:
    """A tile and its departure; None where it cannot be followed.

    Found by steps: what one look leaves out of the window draws its answer toward nought.
    """
    middles = np.arange(tile.side, dtype=np.float32) + np.float32(0.5)
    x, y = np.meshgrid(np.float32(tile.x) + middles, np.float32(tile.y) + middles)
    seen = grey[tile.y : tile.y + tile.side, tile.x : tile.x + tile.side]
    key_x, key_y = follow.in_key(x, y)
    dx, dy, there, detail = 0.0, 0.0, seen, detail_of(seen)
    for _ in range(_PASSES):
        expected = _sampled(key, _moved(key_x, dx, dy), _moved(key_y, dx, dy))
        if expected is None:
            return None
        right, down, alike = shift_px(detail_of(expected), detail)
        if alike < _ALIKE:
            return None
        dx, dy, there = dx + right, dy + down, expected
    outward = _off_middle(follow.lens, x, y) - _off_middle(follow.lens, key_x, key_y)
    key_x, key_y = _moved(key_x, dx, dy), _moved(key_y, dx, dy)
    return Followed(tile, dx, dy, seen, there, key_x, key_y, outward)


def _off_middle(lens: Lens, x: FloatArray, y: FloatArray) -> float:
    """Mean square of pixels' distance from the middle, in half diagonals."""
    columns, rows = lens.columns, lens.rows
    squared = (x - columns / 2.0) ** 2 + (y - rows / 2.0) ** 2
    return float(squared.mean()) / ((columns**2 + rows**2) / 4.0)


def _moved(at: FloatArray, dx: float, dy: float) -> FloatArray:
    """What a map of a tile's pixels gives as far left and up of each, by its mean slopes."""
    steps = at.shape[0] - 1
    across = float((at[:, -1] - at[:, 0]).mean()) / steps
    down = float((at[-1] - at[0]).mean()) / steps
    return np.asarray(at - dx * across - dy * down)


def detail_of(square: Grey) -> Waves:
    """The detail of a square under a Hann window, as its transform."""
    side = square.shape[0]
    return np.asarray(np.fft.rfft2((square - square.mean()) * _hann(side)) * _detail(side))


def shift_px(one_f: Waves, two_f: Waves) -> tuple[float, float, float]:
    """By how much a square's content moved right and down from the first to the second.

    Cross-correlation without normalisation of both squares' detail (`detail_of`); its peak lies at
    the top of the parabolas through the highest value and its neighbours. That is exact for no
    shift and drawn to whole pixels by a few hundredths between: whoever needs better shifts the
    first by what was found and asks again.

    Returns
    -------
    tuple
        Right, down, and how alike the two then are, -1 to 1.
    """
    side = one_f.shape[0]
    found = np.fft.irfft2(two_f * one_f.conj(), s=(side, side))
    at = int(np.argmax(found))
    row, column = at // side, at % side
    # Neighbours round the corner are neighbours: the transform is periodic.
    down = row + _vertex(*(float(found[(row + k) % side, column]) for k in (-1, 0, 1)))
    right = column + _vertex(*(float(found[row, (column + k) % side]) for k in (-1, 0, 1)))
    energy = np.sqrt(_energy(one_f) * _energy(two_f))
    alike = float(found[row, column]) * side**2 / max(energy, 1e-9)
    half = side / 2.0
    return (right + half) % side - half, (down + half) % side - half, alike


def _energy(half: NDArray[np.complexfloating]) -> float:
    """Sum of the squares of a transform of which the half with columns of its own is at hand."""
    squares = half.real**2 + half.imag**2
    return float(2.0 * squares.sum() - squares[:, 0].sum() - squares[:, -1].sum())


def _vertex(before: float, here: float, after: float) -> float:
    """Where the parabola through three values one apart is highest, from the middle one."""
    bend = before - 2.0 * here + after
    return 0.5 * (before - after) / bend if bend < 0.0 else 0.0


@lru_cache(maxsize=8)
def _detail(side: int) -> Grey:
    """Weights of a square's frequencies: what is coarse stays with the lens and the light.

    A dark corner, or lamps that warm up, would pass for ground that does not move; what is
    finer than four pixels is mostly noise.
    """
    down, across = np.meshgrid(np.fft.fftfreq(side), np.fft.rfftfreq(side), indexing="ij")
    squared = down**2 + across**2
    coarse = (_COARSE / side) ** 2
    return read_only(
        np.asarray((1.0 - np.exp(-squared / coarse)) * np.exp(-squared / _FINE**2), np.float32)
    )


@lru_cache(maxsize=8)
def _hann(side: int) -> Grey:
    window = np.hanning(side)
    return read_only(np.asarray(np.outer(window, window), dtype=np.float32))


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
