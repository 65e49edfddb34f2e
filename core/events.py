"""When a smooth curve crosses a level: one search for every rise and set."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
Curve = Callable[[FloatArray], FloatArray]

_STEP_S = 600.0
_HALVINGS = 24  # two steps of ten minutes down to 0.1 ms


@dataclass(frozen=True)
class Crossing:
    """An instant at which a curve passes a level, upwards when `rising`."""

    level: float
    time_s: float
    rising: bool


def crossings(
    curve: Curve, levels: Sequence[float], start_s: float, end_s: float
) -> tuple[Crossing, ...]:
    """Find every crossing of every level between two instants, in time order.

    Parameters
    ----------
    curve : callable
        Vectorised function of UTC seconds, smooth, with turning points more
        than twenty minutes apart.
    levels : sequence of float
        Levels in the curve's unit.
    start_s, end_s : float
        UTC seconds, start before end. The end itself counts, the start does not.

    Returns
    -------
    tuple of Crossing
        Times to better than 1 ms of the root. A curve that dips through a level
        for seconds only is found too: the search steps from turning point to
        turning point.
    """
    knots = _monotone_knots(curve, start_s, end_s)
    above = curve(knots)[np.newaxis, :] >= np.asarray(levels, dtype=np.float64)[:, np.newaxis]
    which, before = np.nonzero(above[:, 1:] != above[:, :-1])
    level = np.asarray(levels, dtype=np.float64)[which]
    times = _bisect(lambda t: curve(t) - level, knots[before], knots[before + 1])
    rising = above[which, before + 1]
    found = zip(level.tolist(), times.tolist(), rising.tolist(), strict=True)
    return tuple(sorted((Crossing(*one) for one in found), key=lambda one: one.time_s))


def _monotone_knots(curve: Curve, start_s: float, end_s: float) -> FloatArray:
    """Instants between which the curve only rises or only falls."""
    steps = max(2, int(np.ceil((end_s - start_s) / _STEP_S)))
    grid = np.linspace(start_s, end_s, steps + 1)
    climbs = np.diff(curve(grid)) > 0.0
    turn = np.flatnonzero(climbs[1:] != climbs[:-1])
    turns = _bisect(lambda t: curve(t + 0.5) - curve(t - 0.5), grid[turn], grid[turn + 2])
    return np.sort(np.concatenate((grid, turns)))


def _bisect(curve: Curve, left: FloatArray, right: FloatArray) -> FloatArray:
    """Halve all brackets at once until each holds its sign change to 0.1 ms."""
    left, right = left.copy(), right.copy()
    positive = curve(left) >= 0.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (left + right)
        same = (curve(middle) >= 0.0) == positive
        left, right = np.where(same, middle, left), np.where(same, right, middle)
    return 0.5 * (left + right)
