"""A camera of our own: what it makes of light, from mid-grey's luminance to the stored value."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tests.practice.tiles import Pixels
from tests.practice.truth import Curve, Lasting

#: How far a curve pulls values away from mid-grey (above 0) or toward it.
_PULL: dict[Curve, float] = {"plain": 0.0, "contrasty": 0.6, "flat": -0.5}
_MID_SHARE = 0.18
#: The table of a curve: from so many stops under mid-grey to so many above, steps a stop.
_LOWEST, _HIGHEST, _STEPS = -14.0, 8.0, 256
#: Variance of shot noise at mid-grey, and 1-sigma of the noise in the dark, both at ISO 100.
_SHOT_VARIANCE, _READ_SIGMA = 6e-4, 2e-3
_BANK = 1 << 20


def encoded(relative: NDArray[np.float64], lasting: Lasting) -> NDArray[np.float64]:
    """Value 0 to 255, not rounded, for light relative to mid-grey.

    Mid-grey becomes 118 and the highlight limit 255 for every curve. A plain one saturates
    as film does, 1 - exp(-b x), and is stored by IEC 61966-2-1; with the limit 2.47 stops up it
    is that standard's curve alone. The others bend the stored value about mid-grey.
    """
    limit = 2.0**lasting.highlight_stops
    y = _saturated(np.clip(relative, 0.0, limit), limit)
    stored, middle = _stored(y), float(_stored(np.array(_MID_SHARE)))
    bent = stored - _PULL[lasting.curve] * stored * (1.0 - stored) * (middle - stored)
    return np.asarray(255.0 * bent)


def _stored(y: NDArray[np.float64]) -> NDArray[np.float64]:
    """IEC 61966-2-1:1999, 0 to 1."""
    return np.where(
        y <= 0.0031308, 12.92 * y, 1.055 * np.maximum(y, 0.0031308) ** (1 / 2.4) - 0.055
    )


def _saturated(x: NDArray[np.float64], limit: float) -> NDArray[np.float64]:
    """expm1(-b x) / expm1(-b limit) with b such that 1 becomes `_MID_SHARE`."""
    low, high = -3.0, 3.0
    for _ in range(60):
        b = (low + high) / 2.0 or 1e-9
        low, high = (b, high) if np.expm1(-b) / np.expm1(-b * limit) < _MID_SHARE else (low, b)
    return np.asarray(np.expm1(-b * x) / np.expm1(-b * limit))


@lru_cache(maxsize=8)
def _table(lasting: Lasting) -> Pixels:
    stops = np.arange(_LOWEST, _HIGHEST, 1.0 / _STEPS) + 0.5 / _STEPS
    return encoded(np.exp2(stops), lasting).astype(np.float32)


@lru_cache(maxsize=1)
def _bank() -> Pixels:
    return np.random.default_rng(0).standard_normal(_BANK, dtype=np.float32)


def vignette(across: Pixels, up: Pixels, corner: float, lasting: Lasting) -> Pixels:
    """Share of the light that reaches a pixel; `corner` is the tangent of the corner's ray."""
    loss = lasting.vignette_stops / corner**2
    lost: Pixels = np.exp2(np.float32(-loss) * (across**2 + up**2))
    return lost


def developed(
    relative: Pixels, iso: float, lasting: Lasting, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Stored values for light relative to mid-grey, of one shape, with a sensitivity's noise."""
    gain = np.float32(iso / 100.0)
    # A stretch of a store of noise that begins anywhere: drawing afresh costs more than all else.
    places = np.arange(relative.size) + int(rng.integers(_BANK))
    noise = _bank().take(places, mode="wrap")
    spread = np.sqrt(gain * np.float32(_SHOT_VARIANCE) * relative + gain**2 * _READ_SIGMA**2)
    light = relative + spread * noise.reshape(relative.shape)
    stops = np.log2(np.maximum(light, np.float32(2.0**_LOWEST)))
    step = ((stops - np.float32(_LOWEST)) * np.float32(_STEPS)).astype(np.int32)
    table = np.rint(_table(lasting)).astype(np.uint8)
    return np.asarray(table.take(step, mode="clip"))
