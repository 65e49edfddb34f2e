"""What the commands share: options every one of them has, and the formats they answer in."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from typing import Literal

from core.edit import PlanError, with_values
from core.language import say
from core.plainvalues import as_json
from core.plan import SHOOT_NAMES, Plan, ShootName
from core.planfile import load
from core.sentences import shown
from core.words import listed

__all__ = [
    "FORMATS", "Format", "as_json", "format_of", "key_values", "plan_of", "shoot_of",
]  # fmt: skip

Format = Literal["text", "json", "csv"]
FORMATS: tuple[Format, ...] = ("text", "json", "csv")


def shoot_of(words: argparse.Namespace) -> ShootName:
    """The shoot asked for; PlanError for another name."""
    for name in SHOOT_NAMES:
        if words.shoot == name:
            return name
    raise not_among("--shoot", words.shoot, SHOOT_NAMES)


def format_of(words: argparse.Namespace, among: tuple[Format, ...] = FORMATS) -> Format:
    """The format asked for; PlanError for another one."""
    for form in among:
        if words.format == form:
            return form
    raise not_among("--format", words.format, among)


def not_among(option: str, typed: str, among: tuple[str, ...]) -> PlanError:
    """What is told of a word after an option that is none of those it may have."""
    return PlanError(
        say(
            "{option} has {typed}; {names} was expected.",
            option=option,
            typed=shown(typed),
            names=listed(among),
        )
    )


def plan_of(words: argparse.Namespace) -> Plan:
    """The plan's file with this run's values.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when the file or a value cannot be used.
    """
    plan = load(words.plan)
    values = key_values("--set", "shoots.A.iso=200", words.set)
    # They are written as in the plan's file.
    return with_values(plan, values, "file") if values else plan


def key_values(option: str, example: str, texts: Iterable[str]) -> dict[str, object]:
    """Keys and values of KEY=VALUE; a value is JSON, or plain text where JSON fails.

    Raises
    ------
    core.edit.PlanError
        When there is no key or no equals sign.
    """
    return dict(_key_value(option, example, text) for text in texts)


def _key_value(option: str, example: str, text: str) -> tuple[str, object]:
    key, equals, value = text.partition("=")
    if not (key.strip() and equals):
        raise PlanError(
            say(
                "{option} has {typed}; KEY=VALUE such as {example} was expected.",
                option=option,
                typed=shown(text),
                example=example,
            )
        )
    try:
        return key.strip(), json.loads(value)
    except (ValueError, RecursionError):
        return key.strip(), value
