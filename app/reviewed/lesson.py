"""What a window has worked out behind it of a measured take: its lesson, a draft of its clip."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from app.reviewed.measuring import Measured
from core.edit import PlanError
from core.language import say
from core.memory import Memory
from core.plan import Plan
from core.review.draft import write_clip
from core.review.learn import Taught, taught_by
from core.review.powerused import Charges
from core.review.result import TakeReview
from core.review.words import clip_sentence
from core.safewrite import file_name


@dataclass(frozen=True, eq=False)
class LessonAsked:
    """What is to be learned, and whether to keep it: plan, take, charges, table."""

    plan: Plan
    measured: Measured
    charges: Charges | None
    table: Path | None
    keep: bool


def holds_take(plan: Plan, measured: Measured) -> bool:
    """Whether a plan has learned from this take."""
    wanted = measured.seen.shown.reviewed.take.id
    return any(take.id == wanted and take.summary is not None for take in plan.takes)


def taught_of(asked: LessonAsked) -> Taught | str:
    """The lesson, or why there is none."""
    seen, table = asked.measured.seen, asked.table
    try:
        taught = taught_by(
            seen.shown,
            asked.plan,
            Memory(),
            charges=asked.charges,
            words=" ".join(seen.verdict),
            table=table.name if table else None,
        )
    except PlanError as refusal:
        return str(refusal)
    return taught


def drafted(
    seen: TakeReview,
    target: Path,
    told: Callable[[int, int], None],
    cancelled: Callable[[], bool],
) -> str:
    """Write the draft clip; what became of it, in a sentence."""
    try:
        place = write_clip(seen.shown, target, progress=told, cancelled=cancelled)
    except PlanError as refusal:
        return str(refusal)
    if place is None:
        return say("Stopped; no clip was written.")
    return say(
        "{file} is written: {clip}",
        file=file_name(place),
        clip=clip_sentence(seen.shown),
    )
