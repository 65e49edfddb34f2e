"""The commands `rescue` and `series`: what can still be done, and several takes in a night."""

from __future__ import annotations

import argparse
import csv
import io
import json
from collections.abc import Sequence
from typing import NamedTuple

from core.amounts import amount_of, plain_text
from core.edit import PlanError, with_values
from core.forecast import outlook
from core.memory import Memory
from core.nowtime import now_of
from core.plan import SHOOT_NAMES, Plan, ShootName
from core.planfile import load
from core.preferences import Preferences, preferences_from
from core.rescue import rescue
from core.rescuereport import OPTION_COLUMNS, option_rows, rescue_page, rescue_report
from core.sentences import shown
from core.series import LONGEST_SWAP_MIN, MOST_TAKES, series
from core.seriesreport import TAKE_COLUMNS, series_page, series_report, take_rows
from core.words import listed, number_text

_FORMATS = ("text", "json", "csv")


class _Asked(NamedTuple):
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
    plan, name, preferences = _asked(words)
    memory = Memory()
    now_s = now_of(words.now, outlook(plan, name, memory).night)
    found = rescue(plan, name, now_s, memory, preferences, words.airborne)
    if words.format == "json":
        return _json(rescue_report(found))
    if words.format == "csv":
        return _csv(OPTION_COLUMNS, option_rows(found))
    return rescue_page(plan, found)


def series_answer(words: argparse.Namespace) -> str:
    """Plan the takes that a parsed command asks for, and return them.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used.
    """
    plan, name, preferences = _asked(words)
    count, swap_min = _count(words.batteries), _swap_min(words.swap_min)
    found = series(plan, name, count, swap_min, Memory(), preferences)
    if words.format == "json":
        return _json(series_report(plan, found))
    if words.format == "csv":
        return _csv(TAKE_COLUMNS, take_rows(plan, found))
    return series_page(plan, found)


def _asked(words: argparse.Namespace) -> _Asked:
    """Read the plan with this run's values, the shoot and the preferences."""
    if words.format not in _FORMATS:
        raise PlanError(f"--format has {shown(words.format)}; {listed(_FORMATS)} was expected.")
    name = next((name for name in SHOOT_NAMES if name == words.shoot), None)
    if name is None:
        raise PlanError(f"--shoot has {shown(words.shoot)}; A or B was expected.")
    plan = load(words.plan)
    values = dict(_pair("--set", "shoots.A.iso=200", text) for text in words.set)
    preferred = dict(_pair("--prefer", "iso_accepted=800", text) for text in words.prefer)
    plan = with_values(plan, values) if values else plan
    return _Asked(plan, name, preferences_from(preferred))


def _count(text: str) -> int:
    value = amount_of("", plain_text(text))
    if value is None or value not in range(1, MOST_TAKES + 1):
        raise PlanError(
            f"--batteries has {shown(text)}; a whole number from 1 to {MOST_TAKES} was expected."
        )
    return int(value)


def _swap_min(text: str) -> float:
    value = amount_of("swap_min", plain_text(text))
    if value is None or not 0.0 <= value <= LONGEST_SWAP_MIN:
        most = number_text(LONGEST_SWAP_MIN)
        raise PlanError(f"--swap-min has {shown(text)}; 0 to {most} minutes were expected.")
    return value


def _pair(option: str, example: str, text: str) -> tuple[str, object]:
    """Return key and value of KEY=VALUE; the value is JSON, or plain text where JSON fails."""
    key, equals, value = text.partition("=")
    if not (key.strip() and equals):
        raise PlanError(f"{option} has {shown(text)}; KEY=VALUE such as {example} was expected.")
    try:
        return key.strip(), json.loads(value)
    except (ValueError, RecursionError):
        return key.strip(), value


def _json(values: dict[str, object]) -> str:
    return json.dumps(values, indent=2, allow_nan=False) + "\n"


def _csv(columns: Sequence[str], rows: Sequence[tuple[object, ...]]) -> str:
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return table.getvalue()
