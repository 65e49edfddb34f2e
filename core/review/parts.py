"""From counts of tones to the tones of the parts: land, street and sky of each frame.

The path's geometry says what is ground. Lamplit ground stands out from the rest once the
lamps are much brighter than the daylight on the land; until then all ground is land.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from core.exposure import FloatArray
from core.review.measure import BIN_STOPS, Counts, Look

#: Street and land are told apart when their tones, in their own spread, are so far apart.
APART_STOPS, APART_SIGMAS = 1.0, 2.2
#: Of the ground, at least so much must be street, and so much land.
_LEAST_PART = 0.02
_ROUNDS = 25
#: A part with fewer pixels has no tone.
LEAST_PIXELS = 60
#: Tones so near white may be any light; a part with more of them than this tells none.
_BURNT, _MOST_BURNT = BIN_STOPS > 2.35, 0.03


def mean_stops(counts: FloatArray, stops: FloatArray) -> float:
    """Tone of the mean light of pixels counted by tone; NaN where they are few, or burnt."""
    total = counts.sum()
    if total < LEAST_PIXELS or counts[_BURNT].sum() > _MOST_BURNT * total:
        return float("nan")
    return float(np.log2((counts * np.exp2(stops)).sum() / total))


def exceeded_stops(counts: Counts, share: float) -> float:
    """The tone that a share (0 to 1) of counted pixels exceed, on the display; NaN for few."""
    total = counts.sum()
    if total < LEAST_PIXELS:
        return float("nan")
    above = np.cumsum(counts[::-1])[::-1] / total
    return float(np.interp(share, above[::-1], BIN_STOPS[::-1]))


def level_stops(counts: Counts, stops: FloatArray) -> float:
    """The middle of counted pixels' tones: their mean without the brightest and darkest sixth.

    Flicker moves it as it moves every pixel, burnt and black ones aside.
    """
    total = counts.sum()
    if total < LEAST_PIXELS:
        return float("nan")
    upto = np.cumsum(counts) / total
    kept = np.diff(np.clip(np.concatenate([[0.0], upto]), 1.0 / 6.0, 5.0 / 6.0))
    return float((kept * stops).sum() / kept.sum())


def lit_weights(looks: Sequence[Look | None], lit_share: float) -> list[FloatArray | None]:
    """How far the ground's pixels of each tone are lamplit, 0 to 1, frame by frame.

    None where no part of the ground stands out.

    Parameters
    ----------
    lit_share
        Share of the ground that the plan has as lamplit, the first guess.
    """
    return [
        None if look is None or look.ground.sum() < LEAST_PIXELS
        else _lit_weight(look.ground.astype(float), lit_share)
        for look in looks
    ]  # fmt: skip


def ground_parts(
    looks: Sequence[Look | None], lit: Sequence[FloatArray | None], stops: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Tones of land and street of each frame, in stops from mid-grey of the scene.

    Street is NaN where it does not stand out; land then is the mean of all ground.

    Parameters
    ----------
    lit
        From `lit_weights`.
    stops
        The scene's tone behind each of `BIN_STOPS`.
    """
    land, street = np.full(len(looks), np.nan), np.full(len(looks), np.nan)
    for k, (look, weight) in enumerate(zip(looks, lit, strict=True)):
        if look is None:
            continue
        counts = look.ground.astype(float)
        land[k] = mean_stops(counts if weight is None else counts * (1.0 - weight), stops)
        street[k] = np.nan if weight is None else mean_stops(counts * weight, stops)
    return land, street


def _lit_weight(counts: FloatArray, lit_share: float) -> FloatArray | None:
    """How far each bin's pixels are lamplit, 0 to 1; None where no part stands out.

    Two normal figures laid through the tones by expectation and maximisation (Dempster,
    Laird and Rubin 1977, J. R. Stat. Soc. B 39:1), from the plan's lit share on.
    """
    if lit_share <= 0.0:
        return None
    total = counts.sum()
    above = np.cumsum(counts[::-1])[::-1] / total
    lit = (above <= max(lit_share, _LEAST_PART)).astype(float)
    for _ in range(_ROUNDS):
        shares, means, sigmas = _two(counts, lit)
        if shares.min() < _LEAST_PART:
            return None
        z = (BIN_STOPS[:, None] - means) / sigmas
        like = np.log(shares / sigmas) - z**2 / 2.0
        lit = 1.0 / (1.0 + np.exp(np.clip(like[:, 0] - like[:, 1], -60.0, 60.0)))
        # Of two widths the wider wins at both ends; but nothing dim is lamplit.
        lit[means[0] > BIN_STOPS], lit[means[1] < BIN_STOPS] = 0.0, 1.0
    apart = float(means[1] - means[0])
    if apart < max(APART_STOPS, APART_SIGMAS * float(sigmas.mean())):
        return None
    return np.asarray(lit)


def _two(counts: FloatArray, lit: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Share, mean and 1-sigma in stops of what is not lamplit and of what is."""
    weights = counts[:, None] * np.stack([1.0 - lit, lit], axis=1)
    sums = np.maximum(weights.sum(axis=0), 1e-9)
    means = (weights * BIN_STOPS[:, None]).sum(axis=0) / sums
    spread = (weights * (BIN_STOPS[:, None] - means) ** 2).sum(axis=0) / sums
    return sums / counts.sum(), means, np.sqrt(np.maximum(spread, 0.15**2))
