"""Dates as a pilot reads and types them, in English whatever the computer's language is."""

from __future__ import annotations

import datetime as dt
import re

from core.edit import PlanError
from core.sentences import shown

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August",
    "September", "October", "November", "December",
)  # fmt: skip
_ISO = re.compile(r"(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})", re.ASCII)
_WORDED = re.compile(
    r"(?:[a-z]{2,9},? )?(?P<d>\d{1,2})\.? (?P<m>[a-z]{3,9})\.?(?: (?P<y>\d{4}))?", re.ASCII
)


def long_date(date: dt.date) -> str:
    """Write 'Saturday 10 October 2026'."""
    return f"{_DAYS[date.weekday()]} {date.day} {_MONTHS[date.month - 1]} {date.year}"


def date_text(date: dt.date) -> str:
    """Write 'Sat 10 Oct 2026'."""
    return f"{_DAYS[date.weekday()][:3]} {short_date(date)} {date.year}"


def short_date(date: dt.date) -> str:
    """Write '10 Oct'."""
    return f"{date.day} {_MONTHS[date.month - 1][:3]}"


def typed_date(text: str, year: int) -> dt.date:
    """Return the date that is typed: '2026-10-10', '10 Oct 2026', or '10 Oct' of `year`.

    Raises
    ------
    PlanError
        When the text is no date of the calendar.
    """
    plain = " ".join(text.casefold().split())
    found = _ISO.fullmatch(plain)
    worded = _WORDED.fullmatch(plain)
    try:
        if found:
            return dt.date(int(found["y"]), int(found["m"]), int(found["d"]))
        if worded:
            return dt.date(int(worded["y"] or year), _month(worded["m"]), int(worded["d"]))
    except ValueError:
        pass
    raise PlanError(
        f"Date {shown(text)} was not understood; a date such as 10 Oct 2026 or 2026-10-10"
        " was expected."
    )


def _month(word: str) -> int:
    """The number of a month by its name or the first three letters of it."""
    for number, name in enumerate(_MONTHS, 1):
        if name.casefold().startswith(word):
            return number
    raise ValueError(word)
