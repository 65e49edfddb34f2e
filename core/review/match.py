"""By how much one square of a picture is shifted against another of the same ground, how surely."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.readonly import read_only

#: What varies less often than this across a square is passed over, and what oftener a pixel.
_COARSE, _FINE = 6.0, 0.25
#: Under Hann's window detail and noise gather in the middle: mean of its fourth power over the
#: square of that of its second, across and down.
_WINDOWED = ((35.0 / 128.0) / (3.0 / 8.0) ** 2) ** 2
#: The most that the peak lies off the highest value, in pixels.
_MOST_OFF = 1.0
#: Share of its steepest slopes that any square is taken to have all round.
_FLAT = 1e-5

Grey = NDArray[np.float32]
Waves = NDArray[np.complexfloating]


@dataclass(frozen=True)
class Match:
    """A shift in pixels right and down, (2,), its covariance, and how alike both are, -1 to 1."""

    off: FloatArray
    spread: FloatArray
    alike: float


def detail_of(square: Grey) -> Waves:
    """The detail of a square under a Hann window, as its transform."""
    side = square.shape[0]
    return np.asarray(np.fft.rfft2((square - square.mean()) * _hann(side)) * _detail(side))


def matched(one_f: Waves, two_f: Waves, reach: int) -> Match:
    """By how much a square's content moved from the first to the second.

    Cross-correlation without normalisation of both squares' detail (`detail_of`); its peak lies at
    the top of the paraboloid through the highest value and its neighbours, across and down at
    once: along a street the peak is a ridge. That is exact for no shift and drawn to whole pixels
    by a few hundredths between: whoever needs better shifts the first by what was found and asks
    again. The covariance is of a shift that is small, from what both do not share.

    Parameters
    ----------
    reach
        The peak is sought up to so many pixels from no shift, less than half a side.
    """
    side = one_f.shape[0]
    found = np.fft.irfft2(two_f * one_f.conj(), s=(side, side))
    # Neighbours round the corner are neighbours: the transform is periodic.
    around = np.arange(-reach - 1, reach + 2)
    found = found[np.ix_(around, around)]
    row, column = divmod(int(np.argmax(found[1:-1, 1:-1])), 2 * reach + 1)
    near = found[row : row + 3, column : column + 3]
    energy = np.sqrt(_energy(one_f) * _energy(two_f))
    alike = float(near[1, 1]) * side**2 / max(energy, 1e-9)
    off = np.array([column - reach, row - reach]) + _top(near)
    return Match(off, _spread(one_f, two_f), alike)


def _top(near: FloatArray) -> FloatArray:
    """Right and down from its middle, where the paraboloid through 3 by 3 values is highest."""
    slope = np.array([near[1, 2] - near[1, 0], near[2, 1] - near[0, 1]]) / 2.0
    bend = np.array([near[1, 2] + near[1, 0], near[2, 1] + near[0, 1]]) - 2.0 * near[1, 1]
    twist = (near[2, 2] + near[0, 0] - near[0, 2] - near[2, 0]) / 4.0
    steep = bend[0] * bend[1] - twist**2
    if bend[0] >= 0.0 or steep <= 0.0:
        return np.zeros(2)
    top = (slope[::-1] * twist - slope * bend[::-1]) / steep
    return np.asarray(np.clip(top, -_MOST_OFF, _MOST_OFF))


def _spread(one_f: Waves, two_f: Waves) -> FloatArray:
    """Covariance of a small shift, (2, 2), by what both squares share and what they do not.

    Of the peak as `_top` finds it: noise moves its slopes, and what is shared bends it, wave by
    wave (White 1980, Econometrica 48:817). How well any could tell it: Robinson and Milanfar 2004,
    IEEE Trans. Image Process. 13:1185.
    """
    both, left = one_f + two_f, two_f - one_f
    shared = 0.25 * (both.real**2 + both.imag**2)
    noise = left.real**2 + left.imag**2
    slopes, bends = _peak(one_f.shape[0])
    bend, noisy = (
        (waves @ part.ravel()).astype(float)[_SQUARE]
        for waves, part in ((bends, shared), (slopes, shared * noise))
    )
    # A square without detail, or with none along one line, tells nothing there.
    inverse = np.linalg.inv(bend + _FLAT * max(float(bend.max()), 1e-9) * np.eye(2))
    # Half of a transform is at hand: each of its waves stands for two.
    return np.asarray(_WINDOWED / 2.0 * inverse @ noisy @ inverse)


#: Places of right by right, right by down and down by down in a matrix of both.
_SQUARE = np.array([[0, 1], [1, 2]])


def _energy(half: Waves) -> float:
    """Sum of the squares of a transform of which the half with columns of its own is at hand."""
    squares = half.real**2 + half.imag**2
    return float(2.0 * squares.sum() - squares[:, 0].sum() - squares[:, -1].sum())


def _waves(side: int) -> tuple[FloatArray, FloatArray]:
    """How often each wave of a square's half transform goes down and across a pixel."""
    down, across = np.meshgrid(np.fft.fftfreq(side), np.fft.rfftfreq(side), indexing="ij")
    return down, across


@lru_cache(maxsize=8)
def _peak(side: int) -> tuple[Grey, Grey]:
    """What a wave adds to the products of a peak's slopes and to its bends, (3, waves) each.

    Right by right, right by down, down by down, as `_top` takes both over pixels.
    """
    down, across = (2.0 * np.pi * one.ravel() for one in _waves(side))
    right, low = np.sin(across), np.sin(down)
    slopes = np.stack([right * right, right * low, low * low])
    bends = np.stack([2.0 - 2.0 * np.cos(across), right * low, 2.0 - 2.0 * np.cos(down)])
    return read_only(slopes.astype(np.float32)), read_only(bends.astype(np.float32))


@lru_cache(maxsize=8)
def _detail(side: int) -> Grey:
    """Weights of a square's frequencies: what is coarse stays with the lens and the light.

    A dark corner, or lamps that warm up, would pass for ground that does not move; what is
    finer than four pixels is mostly noise.
    """
    down, across = _waves(side)
    squared = down**2 + across**2
    coarse = (_COARSE / side) ** 2
    return read_only(
        np.asarray((1.0 - np.exp(-squared / coarse)) * np.exp(-squared / _FINE**2), np.float32)
    )


@lru_cache(maxsize=8)
def _hann(side: int) -> Grey:
    window = np.hanning(side)
    return read_only(np.asarray(np.outer(window, window), dtype=np.float32))
