"""Measuring a folder of stills behind the window, and the pictures that go with it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.edit import PlanError
from core.memory import Memory
from core.path import Tilt, poses_along
from core.plan import Plan, ShootName
from core.preview import develop, frame_indices, frame_size, linear_frames
from core.review.geometry import Pose, each_pose
from core.review.learn import Shown, expects_the_same
from core.review.measure import in_frame
from core.review.result import TakeReview, review_take
from core.review.review import Cancelled, Progress
from core.review.stills import StillRefusedError, opened, pixels

#: Frames of the strips, and their height in pixels of the screen at 200 %.
STRIP_FRAMES, STRIP_ROWS = 8, 96
#: The least width in pixels of a frame that is looked at closely.
CLOSE_PX = 400

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Asked:
    """Which stills are measured as a take of which shoot of a plan, the camera off by a tilt.

    Without a tilt it is the one that the plan holds of the take, or none.
    """

    plan: Plan
    name: ShootName
    folder: Path
    tilt: Tilt | None = None


@dataclass(frozen=True)
class Pair:
    """A frame as it was predicted and as it came out, sRGB; None where it cannot be read.

    `close` is the frame of the plan out of what came out, larger; `pose` the planned one.
    """

    at: int
    predicted: Picture
    measured: Picture | None
    close: Picture | None
    pose: Pose


@dataclass(frozen=True)
class Measured:
    """A take reviewed, what it was asked of, and some of its frames."""

    asked: Asked
    seen: TakeReview
    pairs: tuple[Pair, ...]


def measured_of(asked: Asked, progress: Progress, cancelled: Cancelled) -> Measured:
    """Measure a take; raises PlanError where the folder holds none."""
    seen = review_take(
        asked.plan, asked.name, asked.folder, Memory(),
        tilt=asked.tilt, progress=progress, cancelled=cancelled,
    )  # fmt: skip
    return Measured(asked, seen, _pairs(asked.folder, seen.shown))


def answer_of(asked: Asked, progress: Progress, cancelled: Cancelled) -> Measured | str:
    """The measured take, or one sentence about why there is none; empty where it was stopped."""
    try:
        measured = measured_of(asked, progress, cancelled)
    except PlanError as refusal:
        # Of a folder that was left before its stills were known nothing can be said.
        return "" if cancelled() else str(refusal)
    return measured if any(measured.seen.shown.reviewed.looks) or not cancelled() else ""


def still_holds(plan: Plan, measured: Measured) -> bool:
    """Whether a plan still expects of the take what it was measured against."""
    return expects_the_same(plan, measured.asked.plan)


def _pairs(folder: Path, shown: Shown) -> tuple[Pair, ...]:
    """Some frames along the take, as predicted and as they came out."""
    reviewed = shown.reviewed
    plan, seen, frames = reviewed.plan, reviewed.seen, reviewed.frames
    places = tuple(frame_indices(len(frames), min(STRIP_FRAMES, len(frames))))
    rows, columns = frame_size(plan.camera, STRIP_ROWS)
    planned = tuple(min(frames[at].index, seen.clip.frames - 1) for at in places)
    linear = linear_frames(plan, seen, planned, rows, columns)
    predicted = develop(linear, reviewed.mid, plan.camera.highlight_stops)
    poses = each_pose(poses_along(seen.path, reviewed.tones.way[list(places)]))
    pairs = []
    for at, picture, pose in zip(places, predicted, poses, strict=True):
        still = _still(folder / frames[at].still.file)
        if still is None:
            pairs.append(Pair(at, picture, None, None, pose))
        else:
            small, close = _smaller(still, rows), in_frame(still, columns / rows)
            pairs.append(Pair(at, picture, small, close, pose))
    return tuple(pairs)


def _still(path: Path) -> Picture | None:
    """A still, hardly larger than it is shown."""
    try:
        with opened(path) as image:
            return pixels(image, CLOSE_PX)[0]
    except StillRefusedError:
        return None


def _smaller(picture: Picture, rows: int) -> Picture:
    """A picture of no fewer rows than asked for, unless it has fewer."""
    step = max(1, picture.shape[0] // rows)
    return np.ascontiguousarray(picture[::step, ::step])
