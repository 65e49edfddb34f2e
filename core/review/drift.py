"""How the ground moved between two frames beyond what the planned path moves it.

A few tiles of ground are followed. Each is looked up in a key frame through the planned
poses, so that only the departure from them is left to be measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.readonly import read_only
from core.review.departure import Departure, departed
from core.review.geometry import Lens, Mask, Pose, moved
from core.review.match import Grey, Match, detail_of, matched

#: Side of a tile in pixels of the reduced picture; a power of two for the transform.
TILE_PX = 128
#: A tile is looked up twice, by so many samples a side at most, and sought so many of them around
#: where it is expected.
_LOOKS = ((64, 15), (TILE_PX, 2))
#: Tiles that are less alike than this are not believed.
_ALIKE = 0.3
#: Three tiles tell six figures, and one more whether one of them is wrong.
_LEAST_TILES = 4
#: A sample of the frame this small tells no tiles apart.
_SMALLEST_TILE_PX = 32
_TILES_ACROSS = 3
#: Room at the key frame's edges for what the craft departs, as a share of the width.
_ROOM = 0.01

_Pixel = TypeVar("_Pixel", bound=np.generic)


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

    def of(self, picture: NDArray[_Pixel]) -> NDArray[_Pixel]:
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
    """The tiles of a picture's ground, those first that hold most texture, none over another.

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
    found = (tile for tile in _held(follow, side) if _all_ground(ground, tile, rows, columns))
    return tuple(sorted(found, key=lambda tile: -_texture(tile.of(grey))))


def _texture(square: Grey) -> float:
    """How much detail a square holds both ways, from every other row and column."""
    down = np.abs(np.diff(square[:, ::2], axis=0)).mean()
    return float(down * np.abs(np.diff(square[::2], axis=1)).mean())


def spread_out(tiles: tuple[Tile, ...]) -> tuple[Tile, ...]:
    """The first tile in each sector of the ground: what moves one end alone must show."""
    if not tiles:
        return ()
    left, right = min(t.x for t in tiles), max(t.x for t in tiles) + 1
    top, low = min(t.y for t in tiles), max(t.y for t in tiles) + 1
    best: dict[tuple[int, int], Tile] = {}
    for tile in tiles:
        sector = (3 * (tile.x - left) // (right - left), 2 * (tile.y - top) // (low - top))
        best.setdefault(sector, tile)
    return tuple(best.values())


def _held(follow: Follow, side: int) -> Iterator[Tile]:
    """Tiles of a frame that its key frame held, with room for a departure.

    Side by side from the lower edge up, where ground is near, about the middle column.
    """
    lens = follow.lens
    x = np.arange(lens.columns % side // 2, lens.columns + 1, side)
    y = np.arange(lens.rows % side, lens.rows + 1, side)
    at_x, at_y = follow.in_key(*np.meshgrid(x.astype(float), y.astype(float)))
    room = _ROOM * lens.columns
    inside = (at_x > room) & (at_x < lens.columns - room)
    inside &= (at_y > room) & (at_y < lens.rows - room)
    whole = inside[:-1, :-1] & inside[:-1, 1:] & inside[1:, :-1] & inside[1:, 1:]
    for row, column in np.argwhere(whole):
        yield Tile(int(x[column]), int(y[row]), side)


def _all_ground(ground: Mask, tile: Tile, rows: int, columns: int) -> bool:
    cell_rows, cell_columns = ground.shape
    y = slice(tile.y * cell_rows // rows, -(-(tile.y + tile.side) * cell_rows // rows))
    x = slice(tile.x * cell_columns // columns, -(-(tile.x + tile.side) * cell_columns // columns))
    return bool(ground[y, x].all())


@dataclass(frozen=True)
class Followed:
    """A tile found again in the key frame.

    By how many pixels of the reduced picture it is off where it was looked up, the values of its
    pixels there and in the key frame, and where in the key frame they lie.
    """

    tile: Tile
    match: Match
    here: Grey
    there: Grey
    key_x: Grey
    key_y: Grey

    def in_key(self, every: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Rows and columns of its pixels in the key frame, one in so many across and down."""
        few = (slice(None, None, every),) * 2
        return self.key_y[few].astype(np.intp), self.key_x[few].astype(np.intp)


def followed(
    key: Grey, grey: Grey, follow: Follow, tiles: tuple[Tile, ...], start: FloatArray
) -> tuple[tuple[Followed, ...], Departure | None]:
    """The tiles of a frame that are found again in its key frame, and its departure from it.

    Each is looked up where the last departure has it, first by every other pixel, and all of them
    together then mend it; None where fewer than four could be followed.

    Parameters
    ----------
    start
        Figures of a departure near it, as those of the frame before.
    """
    if len(tiles) < _LEAST_TILES:
        return (), None
    found: tuple[Followed, ...] = ()
    departure: Departure | None = None
    for samples, reach in _LOOKS:
        found = tuple(_found_again(key, grey, follow.by(start), tiles, samples, reach))
        if len(found) < _LEAST_TILES:
            return found, None
        at = np.array([one.tile.middle for one in found])
        off, spread = (
            np.array([getattr(one.match, k) for one in found]) for k in ("off", "spread")
        )
        departure = departed(follow.lens, follow.key_pose, follow.pose, start, at, off, spread)
        start = departure.figures
    return found, departure


def _found_again(
    key: Grey, grey: Grey, to_key: FloatArray, tiles: tuple[Tile, ...], samples: int, reach: int
) -> Iterator[Followed]:
    """Tiles that are found where a homography takes them, by so many samples a side."""
    for tile in tiles:
        every = max(1, tile.side // samples)
        places = _middles(tile.side)[::every]
        x, y = tile.x + places, tile.y + places[:, None]
        key_x, key_y, depth = (row[0] * x + (row[1] * y + row[2]) for row in to_key)
        key_x, key_y = key_x / depth, key_y / depth
        there = _sampled(key, key_x, key_y)
        if there is None:
            continue
        here = tile.of(grey)[::every, ::every]
        match = matched(detail_of(there), detail_of(here), reach)
        if match.alike >= _ALIKE:
            match = Match(every * match.off, every**2 * match.spread, match.alike)
            yield Followed(tile, match, here, there, key_x, key_y)


@lru_cache(maxsize=8)
def _middles(side: int) -> Grey:
    return read_only(np.arange(side, dtype=np.float32) + np.float32(0.5))


def _sampled(picture: Grey, x: Grey, y: Grey) -> Grey | None:
    """A picture read between its pixels; None where part of what is asked lies outside."""
    rows, columns = picture.shape
    x, y = x - np.float32(0.5), y - np.float32(0.5)
    # What a homography makes of a square lies within its corners.
    corners = np.ix_((0, -1), (0, -1))
    if not (
        x[corners].min() >= 0.0 and x[corners].max() < columns - 1
        and y[corners].min() >= 0.0 and y[corners].max() < rows - 1
    ):  # fmt: skip
        return None
    left, top = x.astype(np.intp), y.astype(np.intp)
    right_share, low_share = (x - left).astype(np.float32), (y - top).astype(np.float32)
    flat, at = picture.ravel(), top * columns + left
    above, below = flat.take(at), flat.take(at + columns)
    above += right_share * (flat.take(at + 1) - above)
    below += right_share * (flat.take(at + (columns + 1)) - below)
    return np.asarray(above + low_share * (below - above))
