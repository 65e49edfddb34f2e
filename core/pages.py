"""What every page of text has: its first line, lines of one width, a typed setting."""

from __future__ import annotations

import json
import shlex
import textwrap
from collections.abc import Iterable, Sequence

import msgspec

from core.dates import dated
from core.language import say
from core.names import twilight_text
from core.outlook import Outlook
from core.place import offset_text
from core.plan import Plan

WIDTH = 88
# A figure and its percent sign stay on one line.
_PERCENT = "\N{NO-BREAK SPACE}%"


def title(plan: Plan, seen: Outlook) -> str:
    """Say which place, night and shoot a page is about, and in which zone its clocks are."""
    # A name may hold line breaks or control characters; a terminal would act on them.
    name = "".join(c if c.isprintable() else " " for c in plan.place.name)
    zone = offset_text(seen.night.time_zone, seen.press_s)
    return say(
        "{place} · {twilight} of {date} · shoot {name} · {zone}",
        place=" ".join(name.split()),
        twilight=twilight_text(seen.night.twilight),
        date=dated(seen.night.date),
        name=seen.name,
        zone=zone,
    )


def wrapped(text: str, lead: str = "", hanging: str | None = None) -> list[str]:
    """Break a text into lines; `hanging` begins all but the first, `lead` if left out."""
    rest = lead if hanging is None else hanging
    lines = textwrap.wrap(
        text.replace(" %", _PERCENT),
        WIDTH,
        initial_indent=lead,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_PERCENT, " %") for line in lines]


def joined(sections: Iterable[Sequence[str]]) -> str:
    """Put sections of lines below one another, an empty line between; empty ones are left out."""
    blocks = ("\n".join(line.rstrip() for line in section) for section in sections if section)
    return "\n\n".join(blocks) + "\n"


def typed_changes(changes: Iterable[tuple[str, object]]) -> str:
    """Write new values of dotted keys as the command line takes them: '--set shoots.A.iso=200'."""
    return " ".join(f"--set {_typed(key, value)}" for key, value in changes)


def _typed(key: str, value: object) -> str:
    plain = msgspec.to_builtins(value)
    if isinstance(plain, float):
        plain = float(f"{plain:.7g}")
    return shlex.quote(f"{key}={plain if isinstance(plain, str) else json.dumps(plain)}")
