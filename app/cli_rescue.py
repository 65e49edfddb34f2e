"""The commands `rescue` and `series`: what can still be done, and several takes in a night."""

from __future__ import annotations

import argparse
from typing import NamedTuple

from app.cli_parts import (
    Format,
    as_json,
    format_of,
    key_values,
    plan_of,
    shoot_of,
)  # fmt: skip
from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.forecast import outlook
from core.language import say
from core.memory import Memory
from core.nowtime import now_of
from core.plainvalues import as_csv
from core.plan import Plan, ShootName
from core.preferences import Preferences, preferences_from
from core.rescue import rescue
from core.rescuereport import OPTION_COLUMNS, option_rows, rescue_page, rescue_report
from core.sentences import shown
from core.series import MOST_TAKES, series, swap_min_of
from core.seriesreport import TAKE_COLUMNS, series_page, series_report, take_rows


class _Asked(NamedTuple):
    form: Format
    plan: Plan
    name: ShootName
    preferences: Preferences


def rescue_answer(words: argparse.Namespace) -> str:
    """Find what can still be done from the moment that a parsed command names, and return it.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used.
    """
    form, plan, name, preferences = _asked(words)
    memory = Memory()
    now_s = _now_s(words.now, plan, name, memory)
    found = rescue(plan, name, now_s, memory, preferences, words.airborne)
    if form == "json":
        return as_json(rescue_report(found))
    if form == "csv":
        return as_csv(OPTION_COLUMNS, option_rows(found))
    return rescue_page(plan, found)


def series_answer(words: argparse.Namespace) -> str:
    """Plan the takes that a parsed command asks for, and return them.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used.
    """
    form, plan, name, preferences = _asked(words)
    count, swap_min, memory = _count(words.batteries), swap_min_of(words.swap_min), Memory()
    now_s = None if words.now is None else _now_s(words.now, plan, name, memory)
    found = series(plan, name, count, swap_min, memory, preferences, now_s)
    if form == "json":
        return as_json(series_report(plan, found))
    if form == "csv":
        return as_csv(TAKE_COLUMNS, take_rows(plan, found))
    return series_page(plan, found)


def _asked(words: argparse.Namespace) -> _Asked:
    """Read the plan with this run's values, the shoot and the preferences."""
    preferred = key_values("--prefer", "iso_accepted=800", words.prefer)
    return _Asked(format_of(words), plan_of(words), shoot_of(words), preferences_from(preferred))


def _now_s(text: str, plan: Plan, name: ShootName, memory: Memory) -> float:
    return now_of(text, outlook(plan, name, memory).night)


def _count(text: str) -> int:
    value = amount_of("", plain_text(text))
    if value is None or value not in range(1, MOST_TAKES + 1):
        raise PlanError(
            say(
                "--batteries has {typed}; a whole number from 1 to {most} was expected.",
                typed=shown(text),
                most=MOST_TAKES,
            )
        )
    return int(value)
