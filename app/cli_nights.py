"""The command `nights`: many nights at once, as a page, a table or a calendar."""

from __future__ import annotations

import argparse
import datetime as dt

from app.cli_parts import as_json, not_among, plan_of, shoot_of
from app.nightwork import nights_in_two
from core.clip import clip_of
from core.datetyped import typed_date
from core.ical import nights_calendar
from core.nightsreport import NIGHT_COLUMNS, night_rows, nights_page, nights_report
from core.plainvalues import as_csv
from core.plan import Twilight

_FORMATS = ("text", "json", "csv", "ics")
_TWILIGHTS: tuple[Twilight, ...] = ("dusk", "dawn")


def nights_answer(words: argparse.Namespace) -> str:
    """Work out the nights that a parsed command asks for and return what it prints.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used.
    """
    if words.format not in _FORMATS:
        raise not_among("--format", words.format, _FORMATS)
    twilight, first, last = _twilight(words), typed_date(words.first), typed_date(words.last)
    name, plan = shoot_of(words), plan_of(words)
    seen = nights_in_two(plan, name, first, last, twilight)
    match words.format:
        case "json":
            return as_json(nights_report(seen))
        case "csv":
            return as_csv(NIGHT_COLUMNS, night_rows(seen))
        case "ics":
            shooting_s = clip_of(plan.shoot(name), plan.camera).shooting_s
            made_s = dt.datetime.now(dt.UTC).timestamp()
            return nights_calendar(plan, name, seen, shooting_s, made_s).decode()
        case _:
            return nights_page(plan, name, seen)


def _twilight(words: argparse.Namespace) -> Twilight:
    for twilight in _TWILIGHTS:
        if words.twilight == twilight:
            return twilight
    raise not_among("--twilight", words.twilight, _TWILIGHTS)
