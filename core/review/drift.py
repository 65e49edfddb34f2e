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
from core.review.departure import Departure, departed
from core.review.geometry import Lens, Mask, Pose, moved

#: Side of a tile in pixels of the reduced picture; a power of two for the transform.
TILE_PX = 128
#: Each look takes the last one's answer as its start.
_REACHES = (0.25, 0.02)
#: What varies less often than this across a tile is passed over, and what oftener a pixel.
_COARSE, _FINE = 6.0, 0.25
#: Tiles that are less alike than this are not believed.
_ALIKE = 0.3
_LEAST_TILES = 2
#: Under Hann's window detail and noise gather in the middle: mean of its fourth power over the
#: square of that of its second, across and down.
_WINDOWED = ((35.0 / 128.0) / (3.0 / 8.0) ** 2) ** 2
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

    @property
    def middle(self) -> tuple[float, float]:
        """The tile's middle."""
        return self.x + self.side / 2.0, self.y + self.side / 2.0

    def of(self, picture: Grey) -> Grey:
        """The tile's pixels."""
        return picture[self.y : self.y + self.side, self.x : self.x + self.side]


@dataclass(frozen=True)
class Follow:
    """From a pose back to the key frame's, through one lens."""

    lens: Lens
    pose: Pose
    key_pose: Pose

    def in_key(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where the ground under pixels of this frame lies in the key frame, by the poses."""
        return self.lens.pixel(self.key_pose, *self.lens.ground(self.pose, x, y))

    def by(self, departure: FloatArray) -> FloatArray:
        """From this frame's pixels (x, y, 1) to the key frame's, (3, 3), by a departure."""
        here = self.lens.view(moved(self.pose, departure))
        return np.asarray(self.lens.view(self.key_pose) @ np.linalg.inv(here))


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
    held = _held(follow, side)
    found = []
    for row, column in np.argwhere(held):
        tile = Tile(int(column) * side, int(row) * side, side)
        if _all_ground(ground, tile, rows, columns):
            part = grey[tile.y : tile.y + side, tile.x : tile.x + side]
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


def _held(follow: Follow, side: int) -> Mask:
    """Which tiles of a frame its key frame held, with room for a departure, (rows, columns)."""
    lens = follow.lens
    x, y = np.meshgrid(np.arange(0, lens.columns + 1, side), np.arange(0, lens.rows + 1, side))
    at_x, at_y = follow.in_key(x.astype(float), y.astype(float))
    room = _ROOM * lens.columns
    inside = (at_x > room) & (at_x < lens.columns - room)
    inside &= (at_y > room) & (at_y < lens.rows - room)
    return np.asarray(inside[:-1, :-1] & inside[:-1, 1:] & inside[1:, :-1] & inside[1:, 1:])


def _all_ground(ground: Mask, tile: Tile, rows: int, columns: int) -> bool:
    cell_rows, cell_columns = ground.shape
    y = slice(tile.y * cell_rows // rows, -(-(tile.y + tile.side) * cell_rows // rows))
    x = slice(tile.x * cell_columns // columns, -(-(tile.x + tile.side) * cell_columns // columns))
    return bool(ground[y, x].all())


@dataclass(frozen=True)
class Followed:
    """A tile found again in the key frame.

    By how many pixels of the reduced picture it lies right and down of where it was looked up,
    with the 1-sigma of both; the values of its pixels there and in the key frame, where in the key
    frame they lie, and how much further from the middle of the lens it lies than there, in squares
    of the half diagonal.
    """

    tile: Tile
    off: FloatArray
    spread_px2: FloatArray
    here: Grey
    there: Grey
    key_x: FloatArray
    key_y: FloatArray
    outward: float


def followed(
    key: Grey, grey: Grey, follow: Follow, tiles: tuple[Tile, ...], start: FloatArray
) -> tuple[tuple[Followed, ...], Departure | None]:
    """The tiles of a frame that are found again in its key frame, and its departure from it.

    Each is looked up where the last departure has it, `start` at first, which is then mended by
    all of them; the departure is None where fewer than two could be followed.
    """
    found: tuple[Followed, ...] = ()
    departure: Departure | None = None
    seen = [(tile, square, detail_of(square)) for tile in tiles for square in [tile.of(grey)]]
    for share in _REACHES:
        to_key = follow.by(start)
        matches = (_found_again(key, to_key, follow.lens, *one, share) for one in seen)
        found = tuple(one for one in matches if one is not None)
        if len(found) < _LEAST_TILES:
            return found, None
        middles = np.array([one.tile.middle for one in found])
        off = np.array([one.off for one in found])
        spread = np.array([one.spread_px2 for one in found])
        departure = departed(follow.lens, follow.key_pose, follow.pose, start, middles, off, spread)
        start = departure.figures
    return found, departure


def _found_again(
    key: Grey, to_key: FloatArray, lens: Lens, tile: Tile, seen: Grey, detail: Waves, share: float
) -> Followed | None:
    """A tile looked up in the key frame; None where it is not found there."""
    x, y = tile.x + _middles(tile.side), tile.y + _middles(tile.side)[:, None]
    key_x, key_y, ahead = (row[0] * x + (row[1] * y + row[2]) for row in to_key)
    key_x, key_y = (np.asarray(part / ahead, np.float32) for part in (key_x, key_y))
    expected = _sampled(key, key_x, key_y)
    if expected is None:
        return None
    waves = detail_of(expected)
    off, alike = shift_px(waves, detail, max(1, round(share * tile.side)))
    if alike < _ALIKE:
        return None
    outward = _off_middle(lens, x, y) - _off_middle(lens, key_x, key_y)
    return Followed(tile, off, spread_px2(waves, detail), seen, expected, key_x, key_y, outward)


@lru_cache(maxsize=8)
def _middles(side: int) -> FloatArray:
    return read_only(np.arange(side) + 0.5)


def _off_middle(lens: Lens, x: FloatArray, y: FloatArray) -> float:
    """Mean square of pixels' distance from the middle, in half diagonals."""
    columns, rows = lens.columns, lens.rows
    squared = (x - columns / 2.0) ** 2 + (y - rows / 2.0) ** 2
    return float(squared.mean()) / ((columns**2 + rows**2) / 4.0)


def detail_of(square: Grey) -> Waves:
    """The detail of a square under a Hann window, as its transform."""
    side = square.shape[0]
    return np.asarray(np.fft.rfft2((square - square.mean()) * _hann(side)) * _detail(side))


def shift_px(one_f: Waves, two_f: Waves, reach: int) -> tuple[FloatArray, float]:
    """By how much a square's content moved right and down from the first to the second.

    Cross-correlation without normalisation of both squares' detail (`detail_of`); its peak lies at
    the top of the paraboloid through the highest value and its neighbours. That is exact for no
    shift and drawn to whole pixels by a few hundredths between: whoever needs better shifts the
    first by what was found and asks again.

    Returns
    -------
    tuple
        Right and down, and how alike the two then are, -1 to 1.
    """
    side = one_f.shape[0]
    found = np.fft.irfft2(two_f * one_f.conj(), s=(side, side))
    # Neighbours round the corner are neighbours: the transform is periodic.
    around = np.arange(-reach, reach + 1) % side
    at = int(np.argmax(found[np.ix_(around, around)]))
    row, column = around[at // len(around)], around[at % len(around)]
    near = found[np.ix_(np.arange(row - 1, row + 2) % side, np.arange(column - 1, column + 2) % side)]
    energy = np.sqrt(_energy(one_f) * _energy(two_f))
    alike = float(near[1, 1]) * side**2 / max(energy, 1e-9)
    half = side / 2.0
    return (_top(near) + (column + half, row + half)) % side - half, alike


def _top(near: FloatArray) -> FloatArray:
    """Right and down from its middle, where the paraboloid through 3 by 3 values is highest."""
    slope = np.array([near[1, 2] - near[1, 0], near[2, 1] - near[0, 1]]) / 2.0
    bend = np.array([near[1, 2] + near[1, 0], near[2, 1] + near[0, 1]]) - 2.0 * near[1, 1]
    twist = (near[2, 2] + near[0, 0] - near[0, 2] - near[2, 0]) / 4.0
    if not bend[0] * bend[1] > twist**2 or bend[0] >= 0.0:
        return np.zeros(2)
    return np.clip(np.linalg.solve(-np.array([[bend[0], twist], [twist, bend[1]]]), slope), -1.0, 1.0)


def spread_px2(one_f: Waves, two_f: Waves) -> FloatArray:
    """Covariance of a shift that is small, (2, 2), from what two squares do not share."""
    side = one_f.shape[0]
    both, left = one_f + two_f, two_f - one_f
    shared = 0.25 * (both.real**2 + both.imag**2)
    noise = left.real**2 + left.imag**2
    steep = _squares(side) @ shared.ravel()
    mixed = _squares(side) @ (shared * noise).ravel()
    bread = np.linalg.inv(_square_of(steep) + 1e-9 * np.eye(2) * steep.max())
    # Half of a transform: each of its waves stands for two.
    return np.asarray(_WINDOWED * bread @ _square_of(mixed) @ bread / 2.0)

def _square_of(three: FloatArray) -> FloatArray:
    return three[np.array([[0, 1], [1, 2]])]


@lru_cache(maxsize=8)
def _squares(side: int) -> Grey:
    down, across = np.meshgrid(np.fft.fftfreq(side), np.fft.rfftfreq(side), indexing="ij")
    squares = [(one * other).ravel() for one, other in ((across, across), (across, down), (down, down))]
    return read_only(np.asarray((2.0 * np.pi) ** 2 * np.array(squares), np.float32))


def _energy(half: NDArray[np.complexfloating]) -> float:
    """Sum of the squares of a transform of which the half with columns of its own is at hand."""
    squares = half.real**2 + half.imag**2
    return float(2.0 * squares.sum() - squares[:, 0].sum() - squares[:, -1].sum())


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
