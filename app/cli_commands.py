"""What each command answers, as text to be printed."""

from __future__ import annotations

import argparse
import datetime as dt
import os
import shlex
from pathlib import Path
from typing import cast
from zoneinfo import ZoneInfo

from app.cli_parts import as_json, format_of, plan_of, shoot_of
from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.forecast import Forecast, forecast
from core.language import say
from core.newplan import first_plan
from core.parse import parse_value
from core.place import known_time_zone, time_zone_at
from core.plainvalues import as_csv
from core.plan import Plan
from core.planfile import SUFFIX, save
from core.report import (
    FRAME_COLUMNS,
    START_COLUMNS,
    forecast_report,
    frame_rows,
    start_rows,
    starts_report,
)
from core.reporttext import forecast_page, starts_page
from core.safewrite import file_name
from core.sentences import shown
from core.skies import HAZE_WORDS
from core.skyreport import SKY_COLUMNS, sky_rows
from core.startgrid import start_grid
from core.words import number_text


def answer(words: argparse.Namespace) -> str:
    """Run a parsed command and return what it prints.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used.
    """
    match words.command:
        case "new":
            return _new(words)
        case "forecast":
            return _forecast(words)
        case "starts":
            return _starts(words)
        case "sky":
            return _sky(words)
        case _:
            raise PlanError(
                say(
                    "The window opens by '{command}' with nothing between; write a file "
                    "whose name begins with a dash as ./-NAME.duskplan.",
                    command=shlex.join(["duskwright", "open", "PLAN"]),
                )
            )


def today(time_zone: str) -> dt.date:
    """Return today's date on the clock of a zone; in UTC for a zone that is not known."""
    return dt.datetime.now(ZoneInfo(time_zone) if known_time_zone(time_zone) else dt.UTC).date()


def _forecast(words: argparse.Namespace) -> str:
    form = format_of(words)
    plan, seen = _seen(words)
    if form == "json":
        return as_json(forecast_report(seen))
    if form == "csv":
        return as_csv(FRAME_COLUMNS, frame_rows(seen))
    return forecast_page(plan, seen)


def _starts(words: argparse.Namespace) -> str:
    form = format_of(words)
    plan, seen = _seen(words)
    grid = start_grid(plan, seen)
    if form == "json":
        return as_json(starts_report(seen, grid))
    if form == "csv":
        return as_csv(START_COLUMNS, start_rows(seen, grid))
    return starts_page(plan, seen, grid)


def _new(words: argparse.Namespace) -> str:
    path = Path(words.plan)
    _check_new_file(path)
    latitude, longitude = _number("latitude", words), _number("longitude", words)
    zone = words.time_zone or time_zone_at(latitude, longitude)
    date = _date(words.date) if words.date is not None else today(zone)
    elevation = cast("float", parse_value("place.elevation_m", words.elevation_m))
    plan = first_plan(words.name, latitude, longitude, date, zone, elevation)
    save(plan, path)
    shows = shlex.join(["duskwright", "forecast", words.plan])
    return say(
        "{file} is written, for dusk of {date} in {zone}; '{command}' shows it.\n",
        file=file_name(path),
        date=date,
        zone=zone,
        command=shows,
    )


def _sky(words: argparse.Namespace) -> str:
    form = format_of(words, ("csv", "json"))
    sun = _in_range("--sun-altitude", words.sun_altitude, -90.0, 90.0)
    height = _in_range("--height-m", words.height_m, 0.0, 500.0)
    named = HAZE_WORDS.get(words.haze)
    haze = named if named is not None else _in_range("--haze", words.haze, 0.02, 0.6)
    rows = sky_rows(sun, haze, height)
    if form == "json":
        return as_json([dict(zip(SKY_COLUMNS, row, strict=True)) for row in rows])
    return as_csv(SKY_COLUMNS, rows)


def _in_range(option: str, text: str, low: float, high: float) -> float:
    """Return the number typed after an option, in its range."""
    value = amount_of("pitch_deg" if option == "--sun-altitude" else "", plain_text(text))
    if value is None or not low <= value <= high:
        raise PlanError(
            say(
                "{option} is {typed}; a number from {low} to {high} was expected.",
                option=option,
                typed=shown(text),
                low=number_text(low),
                high=number_text(high),
            )
        )
    return value


def _check_new_file(path: Path) -> None:
    name = shown(file_name(path))
    if path.suffix != SUFFIX:
        raise PlanError(
            say(
                "The file to write is {name}; a name that ends in {suffix} was expected.",
                name=name,
                suffix=SUFFIX,
            )
        )
    if os.path.lexists(path):
        raise PlanError(
            say("{name} is there already and stays as it is; give another name.", name=name)
        )
    if not path.parent.is_dir():
        raise PlanError(
            say(
                "The folder for {name} is not there; make it first, or give another one.", name=name
            )
        )


def _number(name: str, words: argparse.Namespace) -> float:
    return cast("float", parse_value(f"place.{name}_deg", getattr(words, name)))


def _date(text: str) -> dt.date:
    return cast("dt.date", parse_value("shoots.A.date", text))


def _seen(words: argparse.Namespace) -> tuple[Plan, Forecast]:
    """The plan with this run's values, and the forecast of the shoot asked for."""
    name, plan = shoot_of(words), plan_of(words)
    return plan, forecast(plan, name)
