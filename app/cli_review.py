"""The command `review`: the stills of a take measured, and what they teach the plan."""

from __future__ import annotations

import argparse
import dataclasses
import datetime as dt
import os
from pathlib import Path

import msgspec

from app.cli_parts import as_json, format_of, plan_of, shoot_of
from core.edit import PlanError
from core.memory import Memory
from core.moved import moved
from core.plainvalues import as_csv
from core.plan import Plan, ShootName
from core.planfile import read, save
from core.review.learn import Shown, Taught, shown_of, taught_by
from core.review.report import (
    REVIEW_COLUMNS,
    review_page,
    review_report,
    review_rows,
)
from core.review.review import review
from core.review.words import verdict_sentences
from core.safewrite import file_name, reason_text, write_whole
from core.scales import with_shoot


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
            "--learn keeps what the take taught in the plan's file, --set is for this run alone;"
            " use one of them."
        )
    plan, memory = plan_of(words), Memory()
    processes = max(1, min(2, os.cpu_count() or 1))
    shown = shown_of(review(plan, name, words.folder, memory, processes=processes))
    taught, advice = (
        None,
        f"Nothing was learned yet; '--learn' keeps it in {file_name(words.plan)}.",
    )
    if words.learn:
        taught = _learned(words.plan, shown, memory)
        advice = _advice(plan, taught.lesson.plan, name, memory)
    if form == "json":
        return as_json(review_report(shown, taught, advice))
    if form == "csv":
        return as_csv(REVIEW_COLUMNS, review_rows(shown))
    return review_page(shown, taught, advice)


def _learned(plan_path: str, shown: Shown, memory: Memory) -> Taught:
    """Keep what a take taught: its frames in a table beside the plan, then the plan."""
    path = Path(plan_path)
    table = path.with_name(f"{path.stem}.{shown.reviewed.take.id}.csv")
    summary = " ".join(verdict_sentences(shown))
    taught = taught_by(shown, memory, summary, table.name)
    try:
        write_whole(table, as_csv(REVIEW_COLUMNS, review_rows(shown)).encode())
    except OSError as refusal:
        raise PlanError(
            f"{file_name(table)} was not saved: {reason_text(refusal)}; nothing was learned."
        ) from None
    save(dataclasses.replace(read(path), plan=taught.lesson.plan), path)
    return taught


def _advice(before: Plan, after: Plan, name: ShootName, memory: Memory) -> str:
    """By how many minutes the best start moves.

    Of a shoot on the night of a take, it is that of the day after: that night is over.
    """
    shoot = before.shoot(name)
    days = {take.flown.date for take in after.takes if take.flown is not None}
    if shoot.date in days:
        shoot = msgspec.structs.replace(shoot, date=max(days) + dt.timedelta(days=1))
    tonight, then = (with_shoot(plan, name, shoot) for plan in (before, after))
    return moved(tonight, then, name, memory).sentence
