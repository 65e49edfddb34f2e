"""A take reviewed, as it is shown: frame by frame, as a whole, and what it teaches.

A window asks for it behind, in a thread of its own, and stays under the hand meanwhile:

- `review_take` opens worker processes itself (`processes`) and answers when they are done.
  `progress(done, frames)` is called in the thread that asked, after each run of some sixteen
  frames: let it emit a signal. `cancelled()` is asked at the same places: let it read a flag
  that the window sets, also as it closes. Cancelled, the answer holds what was measured by then,
  and `complete` is False.
- `TakeReview.taught.lesson.plan` is the plan that keeps the lesson: one edit of the store, so
  undo takes it back. It rests on the plan that was asked with; where that was edited meanwhile,
  `core.review.learn.taught_by` works the lesson out on the plan as it is now, in a second or so.
- The table of frames lies beside the plan file: `core.review.report.write_table`, just before
  the plan is saved or learned into. `core.lastnight.without_take` forgets a take and gives
  back every value that it replaced.
- `core.review.draft.write_clip` makes the clip from the same answer, behind as well.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import msgspec
import numpy as np

from core.edit import PlanError
from core.exposure import FloatArray
from core.memory import Memory
from core.moved import moved
from core.path import Tilt
from core.plan import PARTS, Part, Plan, ShootName
from core.review.faults import Fault, faults_of
from core.review.figures import Figure
from core.review.learn import Shown, Taught, shown_of, taught_by
from core.review.powerused import Charges
from core.review.review import Cancelled, Progress, review
from core.review.stills import Unread
from core.review.words import lesson_lines, verdict_sentences
from core.scales import with_shoot


@dataclass(frozen=True)
class Tone:
    """A part's tone in stops from mid-grey at the take's usual settings, and its 1-sigma."""

    stops: float
    sigma_stops: float


@dataclass(frozen=True)
class FrameSeen:
    """A frame of a take, and what was expected of it.

    `index` counts from 0, missing frames too; `time_s` is UTC. `measured` and `predicted` hold the
    parts that the frame shows; a tone of the sky is the one that the share of the frame which
    may burn exceeds. `clipped_share` has a channel at its top, `black_share` all at the bottom,
    both of the whole frame; None where the pixels could not be read. `drift_px` is how far the
    ground lies right and down of where the plan has it, counted from the first frame, in pixels
    of the still. `level_stops` is the brightness of the frame, `levelled_stops` that of the clip's
    frame made of it. `faults` begin here.
    """

    file: str
    index: int
    time_s: float
    exposure_s: float | None
    iso: float | None
    f_number: float | None
    measured: dict[Part, Tone]
    predicted: dict[Part, Tone]
    clipped_share: float | None
    clipped_expected_share: float
    black_share: float | None
    drift_px: tuple[float, float] | None
    level_stops: float | None
    levelled_stops: float | None
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class TakeReview:
    """A take reviewed; a figure that the stills do not tell is None.

    `missing` are frames by index, `unreadable` files whose pixels or head cannot be read,
    `strangers` stills that are no part of the take, each with its reason. `flicker_stops` is the
    rms, with its 1-sigma; `flicker_after_stops` what levelling leaves. `lamps_on_s` and
    `lamps_half_s` are UTC seconds at which the lamps came on and gave half their light, where
    the take shows it. `learned` is what the take teaches, before and after; `lesson` says it in
    sentences, `advice` what it moves or, where nothing could be learned, why.
    """

    shoot: ShootName
    start_s: float
    frames: tuple[FrameSeen, ...]
    missing: tuple[int, ...]
    unreadable: tuple[Unread, ...]
    strangers: tuple[Unread, ...]
    interval_s: float
    clock_error_s: float | None
    flicker_stops: float | None
    flicker_sigma_stops: float | None
    flicker_after_stops: float | None
    drift_rms_px: float | None
    crop_percent: float | None
    lamps_on_s: float | None
    lamps_half_s: float | None
    learned: tuple[Figure, ...]
    lesson: tuple[str, ...]
    verdict: tuple[str, ...]
    advice: str
    complete: bool
    shown: Shown
    taught: Taught | None


def review_take(
    plan: Plan,
    name: ShootName,
    folder: str | Path,
    memory: Memory,
    *,
    charges: Charges | None = None,
    tilt: Tilt | None = None,
    processes: int = 2,
    progress: Progress = lambda _done, _of: None,
    cancelled: Cancelled = lambda: False,
) -> TakeReview:
    """Review the stills of a folder as a take of a shoot, and work out what it teaches.

    Parameters
    ----------
    charges
        What the craft showed at the first frame and at the last one, %, where that was noted.
    tilt
        By how much the camera was off the planned poses; None takes what the plan holds of the
        take, or that it was not.
    processes
        In which the files are read; 0 for this one.

    Raises
    ------
    PlanError
        When the folder holds no take, or the take is of no night that the plan can reckon.
    """
    reviewed = review(
        plan, name, folder, memory,
        tilt=tilt, processes=processes, progress=progress, cancelled=cancelled,
    )  # fmt: skip
    shown = shown_of(reviewed)
    faults = faults_of(shown)
    verdict = verdict_sentences(shown, faults)
    taught: Taught | None = None
    try:
        taught = taught_by(shown, shown.reviewed.plan, memory, charges=charges)
        advice = advice_of(plan, taught.lesson.plan, name, memory)
    except PlanError as refusal:
        advice = str(refusal)
    return _told(name, shown, faults, verdict, taught, advice)


def advice_of(before: Plan, after: Plan, name: ShootName, memory: Memory) -> str:
    """By how many minutes the best start moves.

    Of a shoot on the night of a take, it is that of the day after: that night is over.
    """
    shoot = before.shoot(name)
    days = {take.flown.date for take in after.takes if take.flown is not None}
    if shoot.date in days:
        shoot = msgspec.structs.replace(shoot, date=max(days) + dt.timedelta(days=1))
    tonight, then = (with_shoot(plan, name, shoot) for plan in (before, after))
    return moved(tonight, then, name, memory).sentence


def _told(
    name: ShootName,
    shown: Shown,
    faults: tuple[Fault, ...],
    verdict: tuple[str, ...],
    taught: Taught | None,
    advice: str,
) -> TakeReview:
    reviewed, timeline, lamps = shown.reviewed, shown.reviewed.timeline, shown.estimated.lamps
    return TakeReview(
        shoot=name,
        start_s=reviewed.seen.press_s,
        frames=tuple(_frame(shown, faults, at) for at in range(len(reviewed.frames))),
        missing=timeline.missing,
        unreadable=reviewed.unreadable,
        strangers=timeline.strangers,
        interval_s=timeline.interval_s,
        clock_error_s=timeline.clock_error_s,
        flicker_stops=known(shown.estimated.flicker.rms_stops),
        flicker_sigma_stops=known(shown.estimated.flicker.rms_sigma_stops),
        flicker_after_stops=known(shown.estimated.flicker.doubt_stops),
        drift_rms_px=known(shown.steadiness.rms_px),
        crop_percent=known(shown.steadiness.crop_percent),
        lamps_on_s=lamps.on_s if lamps else None,
        lamps_half_s=lamps.half_s if lamps else None,
        learned=taught.figures if taught else (),
        lesson=lesson_lines(taught) if taught else (),
        verdict=verdict,
        advice=advice,
        complete=reviewed.complete,
        shown=shown,
        taught=taught,
    )


def _frame(shown: Shown, faults: tuple[Fault, ...], at: int) -> FrameSeen:
    reviewed, estimated = shown.reviewed, shown.estimated
    frame, look, exif = reviewed.frames[at], reviewed.looks[at], reviewed.frames[at].still.exif
    right, down = (known(value) for value in reviewed.departure_px[at])
    measured = {part: estimated.of(part) for part in PARTS}
    return FrameSeen(
        file=frame.still.file,
        index=frame.index,
        time_s=frame.time_s,
        exposure_s=exif.exposure_s,
        iso=exif.iso,
        f_number=exif.f_number,
        measured=_tones({part: (m.stops, m.sigma_stops) for part, m in measured.items()}, at),
        predicted=_tones(reviewed.expected, at),
        clipped_share=look.burnt_share if look else None,
        clipped_expected_share=float(reviewed.tones.clipped_share[at]),
        black_share=look.black_share if look else None,
        drift_px=None if right is None or down is None else (right, down),
        level_stops=known(estimated.level_stops[at]),
        levelled_stops=known(estimated.levelled_stops[at]),
        faults=tuple(fault for fault in faults if fault.at == at),
    )


def _tones(parts: dict[Part, tuple[FloatArray, FloatArray]], at: int) -> dict[Part, Tone]:
    """The parts that have a tone at a frame."""
    return {
        part: Tone(float(stops[at]), float(sigma[at]))
        for part, (stops, sigma) in parts.items()
        if np.isfinite(stops[at])
    }


def known(value: float) -> float | None:
    """A figure, None where it was not found."""
    return float(value) if np.isfinite(value) else None
