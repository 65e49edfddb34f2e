"""Which frames of a take are shown, what they are drawn from, and in which order to draw them.

Frames are drawn in batches. A batch is known by the values that its pictures depend on, so
what was drawn for another plan is never taken for this one. While a hand moves a start, the
picture between two starts on whole steps of the clock lies between theirs: path and town are
the same, only the light differs. So those at both sides are drawn first, and a moving hand
sees every start in between.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, TypeAlias

import numpy as np

from core.outlook import Outlook
from core.plan import Plan
from core.preview import LinearFrames, frame_indices, frames_key, linear_frames
from core.tones import tones_of

_BATCH: Final = 5
#: Between starts so far apart, light changes by 0.7 stop at most, and the straight line
#: between them misses it by less than two steps of a picture's 255.
STEP_S: Final = 120.0
_NO_SHARES = np.zeros((0, 0, 0), dtype=np.float32)


class Family:
    """All that the linear light of some frames depends on but the start of their take.

    Asked for dozens of times under a moving hand: what it holds is looked through once.
    """

    def __init__(self, values: Hashable) -> None:
        self._values = values
        self._hash = hash(values)

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        return isinstance(other, Family) and self._values == other._values


@dataclass(frozen=True, eq=False)
class Batch:
    """Some frames of one take that starts at `press_s`, UTC seconds."""

    family: Family
    plan: Plan
    seen: Outlook
    press_s: float
    indices: tuple[int, ...]
    rows: int
    cols: int

    @property
    def key(self) -> Hashable:
        """All that their linear light depends on."""
        return self.press_s, self.family

    def started_at(self, press_s: float) -> Batch:
        """The same frames of the take with another start, UTC seconds."""
        return replace(self, press_s=press_s)


#: Draws the frames of a batch.
Draw: TypeAlias = Callable[[Batch], LinearFrames]


def batches_of(plan: Plan, seen: Outlook, count: int, size: tuple[int, int]) -> tuple[Batch, ...]:
    """Up to `count` frames of a take, from the first to the last, as pictures of (rows, cols)."""
    indices = frame_indices(seen.clip.frames, count)
    firsts = (*range(0, len(indices), _BATCH), len(indices))
    parts = (indices[first:last] for first, last in pairwise(firsts))
    return tuple(
        Batch(Family(frames_key(plan, seen, part)), plan, seen, seen.press_s, part, *size)
        for part in parts
    )


def draw_batch(batch: Batch) -> LinearFrames:
    """Draw a batch where it is asked for."""
    return frames_started_at(
        batch.plan, batch.seen, batch.press_s, batch.indices, batch.rows, batch.cols
    )


def frames_started_at(
    plan: Plan, seen: Outlook, press_s: float, indices: tuple[int, ...], rows: int, cols: int
) -> LinearFrames:
    """Draw frames of a take that starts at `press_s`, UTC seconds.

    Of the parts' shares, which no picture shows, nothing is kept.
    """
    if seen.press_s != press_s:
        tones = tones_of(
            seen.shoot, press_s, seen.clip, seen.path, seen.light, seen.framesky,
            plan.ground, plan.bands, plan.camera,
        )  # fmt: skip
        seen = replace(seen, press_s=press_s, tones=tones)
    frames = linear_frames(plan, seen, indices, rows, cols)
    none = _NO_SHARES
    return replace(frames, sky_share=none, street_share=none, land_share=none)


def steps_around(batch: Batch) -> tuple[Batch, Batch]:
    """The batch at the whole steps of the clock before and after its start."""
    before_s = _step_before_s(batch.press_s)
    return batch.started_at(before_s), batch.started_at(before_s + STEP_S)


def between(before: LinearFrames, after: LinearFrames, press_s: float) -> LinearFrames:
    """Frames of a take that starts at `press_s`, from those of an earlier and a later start."""
    moved_s = press_s % STEP_S
    share = np.float32(moved_s / STEP_S)
    rgb = before.rgb + share * (after.rgb - before.rgb)
    return replace(before, time_s=before.time_s + moved_s, rgb=rgb)


@dataclass(frozen=True, eq=False)
class Wishes:
    """What to draw of a take, in order; what may come later waits for the other take's own."""

    now: tuple[Batch, ...] = ()
    later: tuple[Batch, ...] = ()


def wishes_of(batches: Sequence[Batch], *, active: bool, moving: bool) -> Wishes:
    """What to draw so that a take is shown, and stays so when its start is moved.

    Parameters
    ----------
    active
        Whether its start may be moved next: then the steps around it are wanted too.
    moving
        Whether a hand is moving its start: none stays for long enough to be drawn itself.
    """
    own = tuple(batches)
    if not active:
        return Wishes(own)
    before_s = _step_before_s(own[0].press_s)
    steps = tuple(
        batch.started_at(before_s + steps * STEP_S) for steps in (0, 1, -1, 2) for batch in own
    )
    return Wishes(steps) if moving else Wishes(own, steps)


def _step_before_s(press_s: float) -> float:
    """The whole step of the clock at or before a start, UTC seconds."""
    return press_s - press_s % STEP_S
