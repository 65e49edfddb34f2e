"""What the pilot asks the search for: an aim, and when the take may start."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from core.preferences import TRADE, Preferences
from core.scales import SettingKey

Aim = Literal["surest", "longest", "mixed_light", "minute"]
AIMS: tuple[Aim, ...] = get_args(Aim)


@dataclass(frozen=True)
class Wish:
    """What is asked for; instants are UTC seconds.

    `earliest_s` and `latest_s` bound the start: both equal means this start alone, None the
    whole night. `moment_s` must lie within the take under the aim 'minute', between its first
    and its last frame; under another aim, or as None, it asks for nothing.
    """

    aim: Aim = "surest"
    earliest_s: float | None = None
    latest_s: float | None = None
    moment_s: float | None = None
    preferences: Preferences = TRADE
    held: frozenset[SettingKey] = frozenset()
