"""The command `review`: the stills of a take measured, and what they teach the plan."""

from __future__ import annotations

import argparse
import dataclasses
import os
from pathlib import Path

from app.cli_parts import as_json, format_of, plan_of, shoot_of
from core.edit import PlanError
from core.memory import Memory
from core.plainvalues import as_csv
from core.planfile import read, save
from core.review.learn import taught_by
from core.review.report import (
    REVIEW_COLUMNS,
    review_page,
    review_report,
    review_rows,
    table_name,
    write_table,
)
from core.review.result import TakeReview, review_take
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
            "--learn keeps what the take taught in the plan's file, --set is for this run alone;"
            " use one of them."
        )
    memory = Memory()
    seen = review_take(plan_of(words), name, words.folder, memory, processes=processes())
    if words.learn:
        _keep(Path(words.plan), seen, memory)
    if form == "json":
        return as_json(review_report(seen, kept=words.learn))
    if form == "csv":
        return as_csv(REVIEW_COLUMNS, review_rows(seen))
    keep = f"Nothing was learned yet; '--learn' keeps it in {file_name(words.plan)}."
    return review_page(seen, kept=None if words.learn else keep)


def processes() -> int:
    """In how many processes stills are read."""
    return max(1, min(2, os.cpu_count() or 1))


def _keep(path: Path, seen: TakeReview, memory: Memory) -> None:
    """Keep what a take taught: its frames in a table beside the plan, then the plan."""
    if seen.taught is None:
        raise PlanError(seen.advice)
    table = path.with_name(table_name(path.stem, seen))
    known = read(path)
    taught = taught_by(seen.shown, known.plan, memory, " ".join(seen.verdict), table.name)
    write_table(seen, table)
    save(dataclasses.replace(known, plan=taught.lesson.plan), path)
