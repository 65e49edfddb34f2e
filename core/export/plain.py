"""What several exports say, in characters that every format can hold."""

from __future__ import annotations

import hashlib

from core.language import say
from core.names import twilight_text
from core.outlook import Outlook
from core.plan import Place, Plan
from core.stepwords import settings_text
from core.verdict import press_text
from core.words import number_text, seconds_text

PROGRAM = "Duskwright"


def plain(text: str) -> str:
    """A text without the characters that neither XML 1.0 (section 2.2) nor RFC 5545 can hold.

    Line breaks of any kind become new lines, a tab a space.
    """
    lines = "\n".join(text.replace("\t", " ").splitlines())
    return "".join(c for c in lines if c == "\n" or (c >= " " and not _forbidden(c)))


def place_digest(place: Place) -> str:
    """A short name for a place by what it is called and where it lies, the same for ever."""
    where = f"{place.latitude_deg:.6f} {place.longitude_deg:.6f} {place.name}"
    return hashlib.sha256(where.encode()).hexdigest()[:16]


def headline(plan: Plan, seen: Outlook) -> str:
    """Which place, night and shoot: 'Quay, dusk of 2026-10-17, shoot A'."""
    name = " ".join(plain(plan.place.name).split())
    return say(
        "{place}, {twilight} of {date}, shoot {name}",
        place=name,
        twilight=twilight_text(seen.night.twilight),
        date=seen.night.date.isoformat(),
        name=seen.name,
    )


def summary(seen: Outlook) -> str:
    """The minute and what to lock, in a sentence."""
    clip = seen.clip
    return say(
        "Press at {press}. {settings}; {frames} frames, one every {interval}.",
        press=press_text(seen),
        settings=settings_text(seen),
        frames=number_text(clip.frames),
        interval=seconds_text(seen.shoot.interval_s),
    )


def _forbidden(character: str) -> bool:
    return character in "\x7f\ufffe\uffff" or "\x80" <= character <= "\x9f"
