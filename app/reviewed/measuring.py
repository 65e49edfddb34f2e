"""Measuring a folder of stills behind the window, and the pictures that go with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.edit import PlanError
from core.lastnight import without_take
from core.memory import Memory
from core.plan import Plan, ShootName
from core.preview import develop, frame_indices, frame_size, linear_frames
from core.review.advice import next_sentence
from core.review.faults import Fault, faults_of
from core.review.learn import Shown, Taught, shown_of, taught_by
from core.review.review import review
from core.review.stills import StillRefusedError, opened, pixels
from core.review.words import verdict_sentences

#: Frames of the strips, and their height in pixels of the screen at 200 %.
STRIP_FRAMES, STRIP_ROWS = 8, 96

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Asked:
    """Which stills are measured as a take of which shoot of a plan."""

    plan: Plan
    name: ShootName
    folder: Path


@dataclass(frozen=True)
class Pair:
    """A frame as it was predicted and as it came out, sRGB; None where it cannot be read."""

    at: int
    predicted: Picture
    measured: Picture | None


@dataclass(frozen=True)
class Measured:
    """All that the window shows of a take.

    `taught` is what it would teach the plan, None where `refusal` says why it teaches nothing.
    `sentences` is its verdict, `following` what it means for the next take.
    """

    asked: Asked
    shown: Shown
    faults: tuple[Fault, ...]
    sentences: tuple[str, ...]
    pairs: tuple[Pair, ...]
    taught: Taught | None
    refusal: str
    following: str


def measured_of(
    asked: Asked,
    progress: Callable[[int, int], None],
    cancelled: Callable[[], bool],
    processes: int = 2,
) -> Measured:
    """Measure a take; raises PlanError where the folder holds none."""
    memory = Memory()
    reviewed = review(
        asked.plan, asked.name, asked.folder, memory,
        processes=processes, progress=progress, cancelled=cancelled,
    )  # fmt: skip
    shown = shown_of(reviewed)
    taught, refusal, following = _taught(asked.plan, asked.name, shown, memory)
    return Measured(
        asked=asked,
        shown=shown,
        faults=faults_of(shown),
        sentences=verdict_sentences(shown),
        pairs=_pairs(asked.folder, shown),
        taught=taught,
        refusal=refusal,
        following=following,
    )


def learned_by(plan: Plan, measured: Measured, table: str | None) -> Taught:
    """What a measured take teaches a plan as it stands now; raises PlanError as `taught_by`.

    Parameters
    ----------
    table
        Name of the file beside the plan that is to hold the frames.
    """
    memory = Memory()
    shown = measured.shown
    bare = without_take(plan, shown.reviewed.take.id, memory)
    shown = replace(shown, reviewed=replace(shown.reviewed, plan=bare))
    return taught_by(shown, memory, " ".join(measured.sentences), table)


def still_holds(plan: Plan, measured: Measured) -> bool:
    """Whether a plan still expects of the take what it was measured against."""
    asked = measured.asked.plan
    return msgspec.structs.replace(plan, shoots=asked.shoots, flight=asked.flight) == asked


def _taught(
    plan: Plan, name: ShootName, shown: Shown, memory: Memory
) -> tuple[Taught | None, str, str]:
    try:
        taught = taught_by(shown, memory, " ".join(verdict_sentences(shown)))
    except PlanError as refusal:
        return None, str(refusal), ""
    return taught, "", next_sentence(plan, taught.lesson.plan, name, memory)


def _pairs(folder: Path, shown: Shown) -> tuple[Pair, ...]:
    """Some frames along the take, as predicted and as they came out."""
    reviewed = shown.reviewed
    plan, seen, frames = reviewed.plan, reviewed.seen, reviewed.frames
    places = tuple(frame_indices(len(frames), min(STRIP_FRAMES, len(frames))))
    rows, columns = frame_size(plan.camera, STRIP_ROWS)
    planned = tuple(min(frames[at].index, seen.clip.frames - 1) for at in places)
    linear = linear_frames(plan, seen, planned, rows, columns)
    predicted = develop(linear, reviewed.mid, plan.camera.highlight_stops)
    return tuple(
        Pair(at, picture, _still(folder / frames[at].still.file, rows))
        for at, picture in zip(places, predicted, strict=True)
    )


def _still(path: Path, rows: int) -> Picture | None:
    """A still, as small as it is shown."""
    try:
        with opened(path) as image:
            picture, _ = pixels(image, 2 * rows)
    except StillRefusedError:
        return None
    step = max(1, picture.shape[0] // rows)
    return np.ascontiguousarray(picture[::step, ::step])
