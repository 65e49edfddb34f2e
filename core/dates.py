"""Dates as a pilot reads them, in English whatever the computer's language is."""

from __future__ import annotations

import datetime as dt

from core.datetyped import MONTHS

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def long_date(date: dt.date) -> str:
    """Write 'Saturday 10 October 2026'."""
    return f"{_DAYS[date.weekday()]} {dated(date)}"


def weekday_text(date: dt.date) -> str:
    """Write 'Sat 10 Oct'."""
    return f"{_DAYS[date.weekday()][:3]} {short_date(date)}"


def date_text(date: dt.date) -> str:
    """Write 'Sat 10 Oct 2026'."""
    return f"{weekday_text(date)} {date.year}"


def short_date(date: dt.date) -> str:
    """Write '10 Oct'."""
    return f"{date.day} {MONTHS[date.month - 1][:3]}"


def day_text(date: dt.date) -> str:
    """Write '6 December'."""
    return f"{date.day} {MONTHS[date.month - 1]}"


def dated(date: dt.date) -> str:
    """Write '6 December 2026'."""
    return f"{day_text(date)} {date.year}"
