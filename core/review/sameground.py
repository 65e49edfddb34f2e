"""What the ground that is found again in the key frame gained since: in light, and in red."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.preview.develop import MID_GREY
from core.review.curve import HIGHLIGHT_STOPS, LINEAR, LUMINANCE, scene_stops
from core.review.drift import Followed
from core.review.geometry import off_middle
from core.review.match import Grey

#: Values at or above are burnt, at or below black, in any or all of the channels (flight.md).
BURNT_VALUE, BLACK_VALUE = 250, 5
#: The light of followed ground is read from so many pixels across and down a tile, if it has them;
#: its red where no more than this share of a tile's pixels is burnt.
_PIXELS_ACROSS, _MOST_BURNT = 64, 0.1
#: How far from the middle of the lens a tile lies is told by one pixel in so many, across and down.
_FEW = 8
#: Lamps light the reddest of the ground: the least red share of it tells of daylight, of no fewer
#: pixels in each of so many tiles.
UNLIT_SHARE, _LEAST_PIXELS, _LEAST_TILES = 1.0 / 3.0, 30, 2
#: A tile was not found again where what its pixels gained spreads by more than this share of what
#: they differ by among each other: found, by a third; elsewhere, by as much (from practice takes).
_LOST = 0.8
#: Quartiles of normal values lie so many sigmas apart, and the mean between them is so much less
#: sure than the mean of all (Huber 1981, Robust Statistics).
_QUARTILES_APART, _WORSE = 1.349, 1.09

#: Light of the scene behind each 8-bit value as a usual camera shows it, and each channel's part
#: of its luminance.
_LIGHT = np.exp2(scene_stops(np.log2(np.maximum(LINEAR, 1e-6) / MID_GREY), HIGHLIGHT_STOPS))
CHANNEL_LIGHT = tuple((weight * _LIGHT).astype(np.float32) for weight in LUMINANCE)

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Brighter:
    """By how many stops, as a usual camera shows them, the same ground is brighter than in the key.

    `outward` is how much further from the middle of the lens it lies, in squares of the half
    diagonal.
    """

    stops: float
    outward: float


@dataclass(frozen=True)
class Gained:
    """What followed ground gained since the key frame, as a usual camera shows it; NaN for none.

    `unlit` is the light that the least red of it gained, which lamps light least, and
    `sigma_stops` how unsure that is by itself. `redder_stops` is what the red of all of it gained
    over its blue.
    """

    unlit: Brighter
    sigma_stops: float
    redder_stops: float


def brighter(picture: Picture, found: tuple[Followed, ...]) -> tuple[Brighter, ...]:
    """What each tile gained since the key frame; without those that are burnt or black."""
    tiles = ((one, _light(one.here), _light(one.there)) for one in found)
    return tuple(
        Brighter(float(np.log2(here / there)), _outward(one, *picture.shape[:2]))
        for one, here, there in tiles
        if here is not None and there is not None
    )


def gained(picture: Picture, key: Picture, found: tuple[Followed, ...]) -> Gained:
    """What followed ground gained since the key frame.

    Parameters
    ----------
    picture, key
        The frame and its key, sRGB (rows, columns, 3).
    found
        The tiles of the frame that were found again.
    """
    tiles = [_pixels(picture, key, one) for one in found]
    return Gained(*_unlit(tiles), _redder(tiles))


@dataclass(frozen=True)
class _Pixels:
    """Values of a tile's pixels, here and in the key frame, and their light, (3, pixels) each."""

    values: Picture
    key_values: Picture
    light: Grey
    key_light: Grey
    outward: float


def _pixels(picture: Picture, key: Picture, one: Followed) -> _Pixels:
    few = max(one.tile.side // _PIXELS_ACROSS, 1)
    here, there = (
        np.ascontiguousarray(values.reshape(-1, 3).T)
        for values in (one.tile.of(picture)[::few, ::few], key[one.in_key(few)])
    )
    outward = _outward(one, *picture.shape[:2])
    return _Pixels(here, there, _channels(here), _channels(there), outward)


def _outward(one: Followed, rows: int, columns: int) -> float:
    """How much further from the middle of the lens a tile lies than in the key frame."""
    off = off_middle(rows, columns)
    here = one.tile.of(off)[::_FEW, ::_FEW]
    return float(here.mean() - off[one.in_key(_FEW)].mean())


def _channels(values: Picture) -> Grey:
    """Light of pixels in red, green and blue, each by its part of the luminance."""
    return np.stack([
        table.take(channel) for table, channel in zip(CHANNEL_LIGHT, values, strict=True)
    ])  # fmt: skip


def _unlit(tiles: list[_Pixels]) -> tuple[Brighter, float]:
    """What the least red ground gained, and 1-sigma: the mean between the quartiles."""
    told = [(_told(tile), tile.outward) for tile in tiles]
    kept = [(one, outward) for one, outward in told if not _lost(*one)]
    if len(kept) < _LEAST_TILES:
        return Brighter(float("nan"), float("nan")), float("nan")
    red, here, there = np.concatenate([one for one, _ in kept], axis=1)
    outwards = np.repeat([outward for _, outward in kept], [one.shape[1] for one, _ in kept])
    unlit = _least(red)
    stops, outwards = np.log2(here[unlit] / there[unlit]), outwards[unlit]
    low, high = _quartiles(stops)
    middle = (stops >= low) & (stops <= high)
    sigma = _WORSE * (high - low) / _QUARTILES_APART / math.sqrt(len(stops))
    return Brighter(float(stops[middle].mean()), float(outwards[middle].mean())), sigma


def _told(tile: _Pixels) -> Grey:
    """How red pixels are, and their light here and in the key frame, (3, pixels).

    Without those that are burnt, or black. How red and how dark, both frames tell alike: one alone
    would choose by what it gained.
    """
    one, other = tile.values, tile.key_values
    told = np.maximum(one, other).max(axis=0) < BURNT_VALUE
    told &= (one.astype(np.uint16) + other).min(axis=0) > 2 * BLACK_VALUE
    here, there = tile.light[:, told], tile.key_light[:, told]
    red = here[0] * there[0] / (here[2] * there[2])
    return np.stack([red, here.sum(axis=0), there.sum(axis=0)])


def _lost(red: Grey, here: Grey, there: Grey) -> bool:
    """Whether a tile was not found again: its pixels gained as differently as they are bright."""
    if len(red) * UNLIT_SHARE < _LEAST_PIXELS:
        return True
    unlit = _least(red)
    here, there = here[unlit], there[unlit]
    grain, left = map(_quartiles, (np.log2(here), np.log2(here / there)))
    return left[1] - left[0] > _LOST * (grain[1] - grain[0])


def _least(red: Grey) -> NDArray[np.bool_]:
    """The least red share of pixels."""
    rank = int(UNLIT_SHARE * len(red))
    return np.asarray(red <= np.partition(red, rank)[rank])


def _quartiles(values: Grey) -> tuple[float, float]:
    low, high = len(values) // 4, 3 * len(values) // 4
    ranked = np.partition(values, (low, high))
    return float(ranked[low]), float(ranked[high])


def _redder(tiles: list[_Pixels]) -> float:
    """Stops that the red of tiles gained over their blue; NaN for none.

    Of tiles that are not burnt, as red that clips says nothing of lamps.
    """
    here, there = np.zeros((2, 3))
    for tile in tiles:
        if max(map(_burnt_share, (tile.values, tile.key_values))) < _MOST_BURNT:
            here += tile.light.mean(axis=1)
            there += tile.key_light.mean(axis=1)
    if not here.all() or not there.all():
        return float("nan")
    red, _, blue = np.log2(here / there)
    return float(red - blue)


def _burnt_share(values: Picture) -> float:
    return float((values.max(axis=0) >= BURNT_VALUE).mean())


def _light(tile: Grey) -> float | None:
    """Mean light of a tile, as a usual camera shows it; None where it is burnt or black."""
    values = np.rint(tile).astype(np.uint8)
    if not BLACK_VALUE < float(tile.mean()) < BURNT_VALUE or (values >= BURNT_VALUE).any():
        return None
    return float(_LIGHT.take(values).mean())
