"""What a reviewed take teaches the plan: the same unknowns as a take that is told by hand.

A measured frame is a reading. Readings of one part share the errors of the camera's curve and
of which pixels are the part, so a few of them stand for all frames, each so unsure that
together they are as sure as the part's tone is known.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

import msgspec
import numpy as np

from core.belief import UNKNOWNS, Belief, narrowed
from core.edit import PlanError, checked, with_values
from core.exposure import FloatArray
from core.language import say
from core.lastnight import Lesson, lesson_from, without_same
from core.memory import Memory
from core.plan import Part, Plan, Reading, Take, TakeSummary
from core.readings import KEPT, learned_name, share_as_drawn
from core.review.estimate import LEAST_FRAMES, Estimate, PartSeen, estimate, mean_off
from core.review.figures import (
    Changed,
    Figure,
    highlight_changed,
    lamps_changed,
    learned_of,
    write_time_changed,
)
from core.review.powerused import Charges, practice_changed
from core.review.review import Reviewed
from core.review.steady import Steadiness, steadiness

#: Readings that stand for a part's frames.
READINGS = 5
#: Street is read once its lamps give this share of their light.
_WARM = 0.98
#: No air makes the sky so much darker than expected (our judgement).
_GROUND_FOR_SKY_STOPS = -2.0


@dataclass(frozen=True)
class Shown:
    """A reviewed take with all that was worked out of it."""

    reviewed: Reviewed
    estimated: Estimate
    steadiness: Steadiness


@dataclass(frozen=True)
class Taught:
    """What a reviewed take teaches: the plan that keeps it, and each figure before and after."""

    lesson: Lesson
    figures: tuple[Figure, ...]


def shown_of(reviewed: Reviewed) -> Shown:
    """Work out all that a reviewed take shows."""
    estimated = estimate(reviewed)
    return Shown(reviewed, estimated, steadiness(reviewed))


def sky_is_ground(shown: Shown) -> bool:
    """Whether what was read as sky is so dark that it is ground: the camera looked lower."""
    off = mean_off(shown.estimated.sky, shown.reviewed.tones.sky.limit_stops)
    return off is not None and off[0] < _GROUND_FOR_SKY_STOPS


def expects_the_same(one: Plan, other: Plan) -> bool:
    """Whether two plans expect the same of a flown take: they may differ in what is to be flown."""
    return msgspec.structs.replace(one, shoots=other.shoots, flight=other.flight) == other


def taught_by(
    shown: Shown,
    plan: Plan,
    memory: Memory,
    *,
    charges: Charges | None = None,
    words: str = "",
    table: str | None = None,
) -> Taught:
    """Learn from a reviewed take; what was learned from it before is replaced.

    Parameters
    ----------
    plan
        As it is now: the lesson is put into it.
    charges
        What the craft showed at the first frame and at the last one, %, where that was noted.
    words
        The take in a sentence, for its summary.
    table
        Name of the file beside the plan that holds its frames.

    Raises
    ------
    PlanError
        When no part could be measured, or the charges are none that the take can have had.
    """
    take = shown.reviewed.take
    plan, replaced = without_same(plan, take, memory)
    changes = [one for one in _changes(shown, memory, charges) if one is not None]
    plan = _with_changes(plan, changes, take)
    readings = tuple(_readings(shown))
    if not readings:
        raise PlanError(
            say(
                "None of the frames shows land, street or sky between black and burnt: "
                "there is nothing to learn from."
            )
        )
    # What was noted on site of the same take is kept.
    noted = (one.summary.words for one in replaced if one.summary.frames is None)
    summary = _summary(shown, changes, " ".join(filter(None, (*noted, words))), table)
    told = msgspec.structs.replace(take, summary=summary)
    lesson = lesson_from(plan, told, readings, memory, replaced)
    learned = (*lesson.plan.learned, *(learned_of(change, take.id) for change in changes))
    kept = checked(msgspec.structs.replace(lesson.plan, learned=learned))
    lesson = replace(lesson, plan=kept)
    figures = (*_held(lesson.before, lesson.after), *(change.figure for change in changes))
    return Taught(lesson, figures)


def _changes(shown: Shown, memory: Memory, charges: Charges | None) -> Iterator[Changed | None]:
    if not sky_is_ground(shown):
        yield highlight_changed(shown.reviewed, shown.estimated)
    yield write_time_changed(shown.reviewed)
    if charges is not None:
        yield practice_changed(shown.reviewed, charges)
    if shown.estimated.lamps is not None:
        yield lamps_changed(shown.reviewed, shown.estimated.lamps, memory)


def _with_changes(plan: Plan, changes: list[Changed], take: Take) -> Plan:
    values: dict[str, object] = {one.replaced.key: one.replaced.after for one in changes}
    try:
        return with_values(plan, values) if values else plan
    except PlanError as refusal:
        raise PlanError(
            say(
                "The take of {start} teaches what no plan can hold: {refusal}",
                start=take.start,
                refusal=refusal,
            )
        ) from None


def _readings(shown: Shown) -> Iterator[Reading]:
    estimated, tones = shown.estimated, shown.reviewed.tones
    yield from _part_readings(shown, "land", estimated.land, tones.land.stops)
    warm = np.where(estimated.lamp_output >= _WARM, tones.street.stops, np.nan)
    yield from _part_readings(shown, "street", estimated.street, warm)
    if not sky_is_ground(shown):
        planned_sky = shown.reviewed.planned_sky_stops
        yield from _part_readings(shown, "sky", estimated.sky, tones.sky.limit_stops, planned_sky)


def _part_readings(
    shown: Shown,
    part: Part,
    seen: PartSeen,
    expected: FloatArray,
    planned: FloatArray | None = None,
) -> Iterator[Reading]:
    """A few readings that stand for a part's frames, each at the middle of a run of them.

    Parameters
    ----------
    expected, planned
        Tones that were expected of the camera as it was, and as it was planned, which is how
        the plan will read them; the same where left out.
    """
    planned = expected if planned is None else planned
    reviewed = shown.reviewed
    flown = reviewed.seen.shoot
    off = seen.stops - expected
    known = np.flatnonzero(np.isfinite(off + planned))
    if len(known) < LEAST_FRAMES:
        return
    runs = np.array_split(known, min(READINGS, len(known) // LEAST_FRAMES))
    for run in runs:
        middle = int(run[len(run) // 2])
        time = dt.datetime.fromtimestamp(float(reviewed.tones.time_s[middle]), dt.UTC)
        sigma = float(np.median(seen.sigma_stops[run])) * np.sqrt(len(runs))
        yield Reading(
            time=time.isoformat(),
            part=part,
            stops=float(np.clip(planned[middle] + np.median(off[run]), -20.0, 20.0)),
            sigma_stops=float(np.clip(sigma, 0.01, 5.0)),
            shutter_s=flown.shutter_s,
            iso=flown.iso,
            f_number=flown.f_number,
            nd_stops=flown.nd_stops,
            path_share=share_as_drawn(float(reviewed.tones.way[middle]), flown),
            take_id=reviewed.take.id,
        )


def _summary(shown: Shown, changes: list[Changed], words: str, table: str | None) -> TakeSummary:
    timeline, steady = shown.reviewed.timeline, shown.steadiness
    return TakeSummary(
        words=words,
        frames=float(len(timeline.frames)),
        missing=float(len(timeline.missing)),
        interval_s=round(timeline.interval_s, 4),
        flicker_stops=_figure(shown.estimated.flicker.rms_stops),
        drift_rms_px=_figure(steady.rms_px),
        crop_percent=_figure(steady.crop_percent),
        table=table,
        pitch_off_deg=shown.reviewed.tilt.pitch_deg,
        roll_off_deg=shown.reviewed.tilt.roll_deg,
        replaced=tuple(change.replaced for change in changes),
    )


def _figure(value: float) -> float | None:
    return round(value, 4) if np.isfinite(value) else None


def _held(before: Belief, after: Belief) -> Iterator[Figure]:
    """The unknowns of the night's light that are known better."""
    better = narrowed(before, after)
    for unknown in UNKNOWNS:
        if unknown in better:
            yield Figure(
                learned_name(unknown),
                before.of(unknown),
                before.sigma_of(unknown),
                after.of(unknown),
                after.sigma_of(unknown),
                "sigmas" if unknown == "haze" else "stops",
                "place" if unknown in KEPT else "night",
            )
