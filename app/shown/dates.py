"""Dates as a pilot reads and types them, in English whatever the computer's language is."""

from __future__ import annotations

import datetime as dt

from core.datetyped import MONTHS, typed_date

__all__ = ["date_text", "long_date", "short_date", "typed_date"]

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def long_date(date: dt.date) -> str:
    """Write 'Saturday 10 October 2026'."""
    return f"{_DAYS[date.weekday()]} {date.day} {MONTHS[date.month - 1]} {date.year}"


def date_text(date: dt.date) -> str:
    """Write 'Sat 10 Oct 2026'."""
    return f"{_DAYS[date.weekday()][:3]} {short_date(date)} {date.year}"


def short_date(date: dt.date) -> str:
    """Write '10 Oct'."""
    return f"{date.day} {MONTHS[date.month - 1][:3]}"
