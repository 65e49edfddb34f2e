"""Departures of a whole take, chained from those that its runs of frames were measured in."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from core.exposure import FloatArray
from core.review.departure import STAYED, Departure, departure_px
from core.review.geometry import Lens, Pose
from core.review.measure import Job, Look, look_at

#: By the place of each run that was looked at, its frames' departures from its key.
Within: TypeAlias = dict[int, list[Departure | None]]
Step: TypeAlias = Callable[[Job], Departure]


def step_between(pair: Job) -> Departure:
    """Departure of a second frame from the first; none where it cannot be followed."""
    look = look_at(pair)[1]
    return (look.departure if isinstance(look, Look) else None) or STAYED


def chained(
    jobs: Sequence[Job], firsts: Sequence[int], within: Within, step: Step = step_between
) -> list[Departure | None]:
    """Departures of all frames from the first that was followed; None where one was not.

    Runs share a frame. Where that one could not be followed, the step from the last frame before
    it to the key of the run is measured by `step`.

    Parameters
    ----------
    jobs
        Runs of frames, and `firsts` the place of each one's first frame in the take.
    """
    out: list[Departure | None] = [None] * (firsts[-1] + len(jobs[-1].paths))
    held, last = STAYED, None
    for at, first in enumerate(firsts):
        seen = [(first + k, one) for k, one in enumerate(within.get(at, ())) if one is not None]
        if not seen:
            continue
        key = seen[0][0]
        if last is not None and key > last:
            held += step(_pair(jobs, firsts, last, key))
        for frame, one in seen:
            # A frame that two runs share was measured in the first and is the key of the second.
            out[frame] = out[frame] or held + one
        held, last = held + seen[-1][1], seen[-1][0]
    return out


def _pair(jobs: Sequence[Job], firsts: Sequence[int], one: int, other: int) -> Job:
    """Two frames of a take as a run of their own."""
    runs = [bisect_right(firsts, frame) - 1 for frame in (one, other)]
    parts = [(jobs[at], frame - firsts[at]) for at, frame in zip(runs, (one, other), strict=True)]
    return replace(
        jobs[0],
        paths=tuple(job.paths[k] for job, k in parts),
        poses=tuple(job.poses[k] for job, k in parts),
        sky=np.stack([job.sky[k] for job, k in parts]),
        ground=np.stack([job.ground[k] for job, k in parts]),
    )


def departures_px(
    at: Sequence[tuple[Lens, Pose]], departures: Sequence[Departure | None]
) -> tuple[FloatArray, FloatArray]:
    """Departures in pixels of each lens, (frame, right and down), and their 1-sigmas."""
    out = np.full((2, len(at), 2), np.nan)
    for k, departure in enumerate(departures):
        if departure is not None:
            out[0, k], spread = departure_px(*at[k], departure)
            out[1, k] = np.sqrt(np.diag(spread))
    return out[0], out[1]
