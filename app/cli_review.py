"""The commands `review` and `clip`: what a take's stills show and teach, a draft of its clip."""

from __future__ import annotations

import argparse
import dataclasses
import os
import sys
from pathlib import Path

from app.cli_parts import as_json, format_of, plan_of, shoot_of
from core.amounts import amount_of
from core.edit import PlanError
from core.language import say
from core.memory import Memory
from core.path import Tilt
from core.plainvalues import as_csv
from core.plan import Plan
from core.planfile import read, save
from core.review.draft import clip_place, write_clip
from core.review.learn import expects_the_same, shown_of, taught_by
from core.review.powerused import Charges
from core.review.report import (
    REVIEW_COLUMNS,
    review_page,
    review_report,
    review_rows,
    table_name,
    write_table,
)
from core.review.result import TakeReview, review_take
from core.review.review import review
from core.review.tilt import typed_tilt_deg
from core.review.words import clip_sentence
from core.safewrite import file_name


def review_answer(words: argparse.Namespace) -> str:
    """Review the stills that a parsed command names, learn from them where it asks, and tell.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used or the plan cannot be written.
    """
    form, name = format_of(words), shoot_of(words)
    if words.learn and words.set:
        raise PlanError(
            say(
                "--learn keeps what the take taught in the plan's file, --set is for this "
                "run alone; use one of them."
            )
        )
    memory, charges, tilt, plan = Memory(), _charges(words.charge), _tilt(words), plan_of(words)
    seen = review_take(
        plan,
        name,
        words.folder,
        memory,
        charges=charges,
        tilt=tilt,
        processes=processes(),
        progress=_tell,
    )
    if words.learn:
        _keep(Path(words.plan), plan, seen, charges, memory)
    if form == "json":
        return as_json(review_report(seen, kept=words.learn))
    if form == "csv":
        return as_csv(REVIEW_COLUMNS, review_rows(seen))
    keep = say("Nothing was learned yet; '--learn' keeps it in {file}.", file=file_name(words.plan))
    return review_page(seen, kept=None if words.learn else keep)


def clip_answer(words: argparse.Namespace) -> str:
    """Write the draft clip of the stills that a parsed command names, and say where it lies.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used or the clip cannot be written.
    """
    # A name that cannot be is told before the work.
    clip_place(Path(words.output))
    seen = review(
        plan_of(words),
        shoot_of(words),
        words.folder,
        Memory(),
        tilt=_tilt(words),
        processes=processes(),
        progress=_tell,
    )
    shown = shown_of(seen)
    place = write_clip(shown, Path(words.output), progress=_tell)
    name, sentence = file_name(place or words.output), clip_sentence(shown)
    if place and place.suffix:
        return say("{name} is written; {sentence}", name=name, sentence=sentence) + "\n"
    return (
        say(
            "{name} holds the pictures: it takes the video extra; {sentence}",
            name=name,
            sentence=sentence,
        )
        + "\n"
    )


def _tell(done: int, frames: int) -> None:
    """Tell on a terminal how many frames are done; nothing where nobody watches."""
    if sys.stderr is not None and sys.stderr.isatty():
        sys.stderr.write(
            say("\r{done} of {frames} frames", done=done, frames=frames) + "\n" * (done >= frames)
        )
        sys.stderr.flush()


def processes() -> int:
    """In how many processes stills are read."""
    return max(1, min(2, os.cpu_count() or 1))


def _charges(typed: str | None) -> Charges | None:
    """Two charges in percent, typed as 91:43 or 91%:43%."""
    if typed is None:
        return None
    read = [amount_of("charge_percent", part) for part in typed.split(":")]
    match read:
        # Told before the stills are measured, which takes a while.
        case [float(first), float(last)] if 100.0 >= first > last >= 0.0:
            return first, last
        case _:
            raise PlanError(
                say(
                    "--charge is {typed}; the charges that the craft showed at the first "
                    "frame and at the last one were expected, the last one the lower, as "
                    "91:43.",
                    typed=typed,
                )
            )


def _tilt(words: argparse.Namespace) -> Tilt | None:
    """By how much the camera was off, as typed; None where nothing is said of it."""
    if words.pitch is None and words.roll is None:
        return None
    return Tilt(*(typed_tilt_deg(typed or "0") for typed in (words.pitch, words.roll)))


def _keep(
    path: Path, measured: Plan, seen: TakeReview, charges: Charges | None, memory: Memory
) -> None:
    """Keep what a take taught: its frames in a table beside the plan, then the plan.

    `measured` is the plan that the stills were measured against; the file may hold another by now.
    """
    if seen.taught is None:
        raise PlanError(seen.advice)
    table = path.with_name(table_name(path.stem, seen))
    known = read(path)
    if not expects_the_same(known.plan, measured):
        raise PlanError(
            say(
                "{file} has changed since the stills were measured: review them again.",
                file=file_name(path),
            )
        )
    taught = taught_by(
        seen.shown,
        known.plan,
        memory,
        charges=charges,
        words=" ".join(seen.verdict),
        table=table.name,
    )
    write_table(seen, table)
    save(dataclasses.replace(known, plan=taught.lesson.plan), path, known=known.source)
