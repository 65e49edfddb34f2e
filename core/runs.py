"""Runs: stretches of a row in which something holds throughout."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def runs_of(holds: NDArray[np.bool_]) -> tuple[slice, ...]:
    """Find the runs of a row, in order.

    Parameters
    ----------
    holds
        Whether it holds, place by place, (n,).

    Returns
    -------
    tuple
        The places of each run; none overlaps or touches another.
    """
    if holds.all():  # as a rule, and asked for under a moving hand
        return (slice(0, len(holds)),) if len(holds) else ()
    edges = np.flatnonzero(np.diff(holds, prepend=False, append=False))
    return tuple(slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True))
