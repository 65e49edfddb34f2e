"""What the ground that is found again in the key frame gained since: in light, and in red."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.preview.develop import MID_GREY
from core.review.curve import HIGHLIGHT_STOPS, LINEAR, LUMINANCE, scene_stops
from core.review.drift import Followed, Grey

#: Values at or above are burnt, at or below black, in any or all of the channels (flight.md).
BURNT_VALUE, BLACK_VALUE = 250, 5
#: The light of followed ground is read from so many pixels across and down a tile, if it has them;
#: its red where no more than this share of a tile's pixels is burnt.
_PIXELS_ACROSS, _MOST_BURNT = 64, 0.1
#: Lamps light the reddest of the ground: the least red share of it tells of daylight, of no fewer
#: pixels in each of so many tiles.
UNLIT_SHARE, _LEAST_PIXELS, _LEAST_TILES = 1.0 / 3.0, 30, 2
#: A tile was not found again where what its pixels gained spreads by more than this share of what
#: they differ by among each other: found, by a third; elsewhere, by as much (from practice takes).
_LOST = 0.8
#: Quartiles of normal values lie so many sigmas apart, and the mean between them is so much less
#: sure than the mean of all (Huber 1981, Robust Statistics).
_QUARTILES, _QUARTILES_APART, _WORSE = (0.25, 0.75), 1.349, 1.09

#: Light of the scene behind each 8-bit value as a usual camera shows it, and each channel's part
#: of its luminance.
_LIGHT = np.exp2(scene_stops(np.log2(np.maximum(LINEAR, 1e-6) / MID_GREY), HIGHLIGHT_STOPS))
CHANNEL_LIGHT = tuple((weight * _LIGHT).astype(np.float32) for weight in LUMINANCE)

Picture = NDArray[np.uint8]
#: Values of the same pixels in a frame and in its key.
Pair = tuple[Picture, Picture]


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


def brighter(found: tuple[Followed, ...]) -> tuple[Brighter, ...]:
    """What each tile gained since the key frame; without those that are burnt or black."""
    tiles = ((one, _light(one.here), _light(one.there)) for one in found)
    return tuple(
        Brighter(float(np.log2(here / there)), one.outward)
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
    pairs = [_pixels(picture, key, one) for one in found]
    if not pairs:
        nothing = float("nan")
        return Gained(Brighter(nothing, nothing), nothing, nothing)
    return Gained(*_unlit(pairs, [one.outward for one in found]), _redder(pairs))


def _pixels(picture: Picture, key: Picture, one: Followed) -> Pair:
    """Values of a tile's pixels and of the same ground in the key frame, (pixels, 3)."""
    tile = one.tile
    few = (slice(None, None, max(tile.side // _PIXELS_ACROSS, 1)),) * 2
    rows, columns = key.shape[:2]
    at_row = np.clip(one.key_y[few].astype(np.intp), 0, rows - 1)
    at_column = np.clip(one.key_x[few].astype(np.intp), 0, columns - 1)
    seen = picture[tile.y : tile.y + tile.side, tile.x : tile.x + tile.side][few]
    return seen.reshape(-1, 3), key[at_row, at_column].reshape(-1, 3)


def _unlit(pairs: list[Pair], outward: list[float]) -> tuple[Brighter, float]:
    """What the least red ground gained, and 1-sigma: the mean between the quartiles."""
    tiles = [(_pixels_told(*pair), out) for pair, out in zip(pairs, outward, strict=True)]
    kept = [(tile, out) for tile, out in tiles if not _lost(tile)]
    if len(kept) < _LEAST_TILES:
        return Brighter(float("nan"), float("nan")), float("nan")
    red, _, stops = np.concatenate([tile for tile, _ in kept], axis=1)
    outwards = np.repeat([out for _, out in kept], [tile.shape[1] for tile, _ in kept])
    unlit = _least(red)
    stops, outwards = stops[unlit], outwards[unlit]
    low, high = np.quantile(stops, _QUARTILES)
    middle = (stops >= low) & (stops <= high)
    sigma = _WORSE * (high - low) / _QUARTILES_APART / np.sqrt(len(stops))
    return Brighter(float(stops[middle].mean()), float(outwards[middle].mean())), float(sigma)


def _pixels_told(here: Picture, there: Picture) -> Grey:
    """How red, how bright and how much brighter than in the key pixels are, (3, pixels), as log2.

    Without those that are burnt, or black. How red and how dark, both frames tell alike: one alone
    would choose by what it gained.
    """
    told = (np.maximum(here, there) < BURNT_VALUE).all(axis=1)
    told &= (here.astype(np.uint16) + there > 2 * BLACK_VALUE).all(axis=1)
    one, other = (_channels(values[told]) for values in (here, there))
    bright = sum(one)
    red = one[0] * other[0] / (one[2] * other[2])
    return np.asarray(np.log2(np.stack([red, bright, bright / sum(other)])))


def _lost(tile: Grey) -> bool:
    """Whether a tile was not found again: its pixels gained as differently as they are bright."""
    red, bright, stops = tile
    unlit = _least(red) if len(red) else red > 0.0
    if unlit.sum() < _LEAST_PIXELS:
        return True
    grain, left = (float(np.ptp(np.quantile(of[unlit], _QUARTILES))) for of in (bright, stops))
    return left > _LOST * grain


def _least(red: Grey) -> NDArray[np.bool_]:
    return np.asarray(red <= np.quantile(red, UNLIT_SHARE))


def _redder(pairs: list[Pair]) -> float:
    """Stops that the red of tiles gained over their blue; NaN for none.

    Of tiles that are not burnt, as red that clips says nothing of lamps.
    """
    here, there = np.zeros((2, 3))
    for seen, before in pairs:
        if max(_burnt_share(seen), _burnt_share(before)) < _MOST_BURNT:
            here += [channel.mean() for channel in _channels(seen)]
            there += [channel.mean() for channel in _channels(before)]
    if not here.all() or not there.all():
        return float("nan")
    red, _, blue = np.log2(here / there)
    return float(red - blue)


def _burnt_share(pixels: Picture) -> float:
    return float((pixels >= BURNT_VALUE).any(axis=-1).mean())


def _channels(pixels: Picture) -> list[Grey]:
    """Light of pixels in red, green and blue, each by its part of the luminance."""
    return [CHANNEL_LIGHT[k].take(pixels[:, k]) for k in range(3)]


def _light(tile: Grey) -> float | None:
    """Mean light of a tile, as a usual camera shows it; None where it is burnt or black."""
    values = np.rint(tile).astype(np.uint8)
    if not BLACK_VALUE < float(tile.mean()) < BURNT_VALUE or (values >= BURNT_VALUE).any():
        return None
    return float(_LIGHT.take(values).mean())
