"""The command `settings`: the best settings for a start, or start and settings for an aim."""

from __future__ import annotations

import argparse
import datetime as dt
from typing import Final

from app.cli_parts import as_json, format_of, key_values, not_among, plan_of, shoot_of
from core.edit import PlanError
from core.forecast import outlook
from core.language import say
from core.memory import Memory
from core.outlook import Outlook
from core.packing import filters_to_pack
from core.plainvalues import as_csv
from core.preferences import preferences_from
from core.scales import EXPOSURE_KEYS, SettingKey
from core.sentences import shown
from core.settings import AIMS, Aim, Wish, settings_of
from core.settingspage import settings_page
from core.settingsreport import SETTING_COLUMNS, setting_rows, settings_report
from core.starts import starts_window_s
from core.starttime import Clock, FromEvent, parse_start, start_minutes
from core.tradeoff import trade_off
from core.words import clock_text, time_text

_MOMENTS = ("lamps_on", "lamps_off")


def settings_answer(words: argparse.Namespace) -> str:
    """Search the settings that a parsed command asks for and return what it prints.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used.
    """
    form, name, plan = format_of(words), shoot_of(words), plan_of(words)
    memory = Memory()
    seen = outlook(plan, name, memory)
    wish = _wish(words, seen)
    found = settings_of(plan, name, memory, wish)
    if form == "csv":
        return as_csv(SETTING_COLUMNS, setting_rows(seen.night, found))
    pack, curve = filters_to_pack(plan, name, memory, wish), trade_off(plan, seen)
    if form == "json":
        report = settings_report(seen.night, found, pack, curve)
        return as_json(report)
    return settings_page(plan, seen, wish, found, pack, curve)


def _wish(words: argparse.Namespace, seen: Outlook) -> Wish:
    aim: Aim = next((aim for aim in AIMS if aim == words.aim), "surest")
    _one_of("--aim", words.aim, AIMS)
    start_s = None if words.at is None else _start_s(words.at, seen)
    preferred = key_values("--prefer", "clip_length_s=10", words.prefer)
    return Wish(
        aim=aim,
        earliest_s=start_s,
        latest_s=start_s,
        moment_s=_moment_s(aim, words.moment, seen),
        preferences=preferences_from(preferred),
        held=frozenset(_kept(word) for word in words.keep),
    )


_KEPT: Final[tuple[SettingKey, ...]] = ("interval_s", "clip_length_s", *EXPOSURE_KEYS)


def _kept(word: str) -> SettingKey:
    _one_of("--keep", word, _KEPT)
    return next(key for key in _KEPT if key == word)


def _moment_s(aim: Aim, text: str | None, seen: Outlook) -> float | None:
    """Return the instant that a take must hold; what was typed is understood before all else."""
    example = time_text(dt.time(17, 5))
    if text is None:
        if aim == "minute":
            raise PlanError(
                say(
                    "--aim minute needs the minute; give --moment lamps_on, or a time such as "
                    "{clock}.",
                    clock=example,
                )
            )
        return None
    moment_s = (
        _switched_s(text, seen, example) if text in _MOMENTS else _named_s(text, seen, example)
    )
    if aim != "minute":
        raise PlanError(say("--moment belongs to --aim minute; give both, or neither."))
    return moment_s


def _switched_s(text: str, seen: Outlook, example: str) -> float:
    switched_s = seen.light.lamps_on_s if text == "lamps_on" else seen.light.lamps_off_s
    if switched_s is None:
        raise PlanError(
            say(
                "The lamps do not switch on this night; give --moment a time, as {clock}.",
                clock=example,
            )
        )
    return switched_s


def _named_s(text: str, seen: Outlook, example: str) -> float:
    """Return the instant of a moment that is given as a time."""
    try:
        start = parse_start(text)
    except PlanError:
        raise PlanError(
            say(
                "--moment has {typed}; lamps_on, lamps_off, a clock time such as {clock} or "
                "sunset+19 was expected.",
                typed=shown(text),
                clock=example,
            )
        ) from None
    return _instant_s(start, seen)


def _start_s(text: str, seen: Outlook) -> float:
    """Return the start that is asked for, which has to be one of those that are judged."""
    start_s = _time_s(text, seen)
    first_s, last_s = starts_window_s(seen.night, seen.light)
    if not first_s <= start_s <= last_s:
        first, last = (clock_text(seen.night.clock(edge)) for edge in (first_s, last_s))
        raise PlanError(
            say(
                "--at has {typed}; starts of this night are judged from {first} to {last}.",
                typed=shown(text),
                first=first,
                last=last,
            )
        )
    return start_s


def _time_s(text: str, seen: Outlook) -> float:
    """Return the instant that a clock time, or minutes from the night's event, mean."""
    return _instant_s(parse_start(text), seen)


def _instant_s(start: float | Clock | FromEvent, seen: Outlook) -> float:
    event = seen.night.event
    return event.time_s + 60.0 * start_minutes(start, event.name, seen.night.clock(event.time_s))


def _one_of(option: str, text: str, among: tuple[str, ...]) -> None:
    if text not in among:
        raise not_among(option, text, among)
