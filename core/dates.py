"""Dates as a pilot reads them: in the manner of the pilot's region, or plainly day first."""

from __future__ import annotations

import datetime as dt

from core.manner import manner

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August",
    "September", "October", "November", "December",
)  # fmt: skip
_IN_NUMBERS = {"d": "25", "m": "11", "y": "2026"}
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def long_date(date: dt.date) -> str:
    """Write 'Saturday 10 October 2026'."""
    return _of_region(date, "full") or f"{_DAYS[date.weekday()]} {dated(date)}"


def weekday_text(date: dt.date) -> str:
    """Write 'Sat 10 Oct'."""
    return _of_region(date, "MMMEd") or f"{_DAYS[date.weekday()][:3]} {short_date(date)}"


def date_text(date: dt.date) -> str:
    """Write 'Sat 10 Oct 2026'."""
    return _of_region(date, "yMMMEd") or f"{weekday_text(date)} {date.year}"


def short_date(date: dt.date) -> str:
    """Write '10 Oct'."""
    return _of_region(date, "MMMd") or f"{date.day} {month_text(date)}"


def day_text(date: dt.date) -> str:
    """Write '6 December'."""
    return _of_region(date, "MMMMd") or f"{date.day} {MONTHS[date.month - 1]}"


def dated(date: dt.date) -> str:
    """Write '6 December 2026'."""
    return _of_region(date, "yMMMMd") or f"{day_text(date)} {date.year}"


def spelt_date(date: dt.date) -> str:
    """Write '10 Oct 2026', without the day of the week."""
    return _of_region(date, "yMMMd") or f"{short_date(date)} {date.year}"


def month_text(date: dt.date) -> str:
    """Write the month in three letters or so: 'Oct'."""
    return _of_region(date, "LLL") or MONTHS[date.month - 1][:3]


def month_name(month: int) -> str:
    """Write the name of a month, 1 to 12: 'October'."""
    return _of_region(dt.date(2000, month, 1), "LLLL") or MONTHS[month - 1]


def month_names() -> tuple[tuple[str, ...], ...]:
    """Twelve names of the months, in each spelling that may be typed."""
    own = (MONTHS, tuple(name[:3] for name in MONTHS))
    if not manner().dates:
        return own
    from babel.dates import get_month_names

    spellings = (
        get_month_names(width, context, manner().dates)
        for width in ("wide", "abbreviated")
        for context in ("format", "stand-alone")
    )
    return (*own, *(tuple(names[number] for number in range(1, 13)) for names in spellings))


def order_of_numbers() -> str:
    """Return the order of a date in numbers: 'dmy', 'mdy' or 'ymd'; '' without a region."""
    written = _of_region(dt.date(2026, 11, 25), "yMd")
    if not written:
        return ""
    return "".join(sorted("dmy", key=lambda part: written.find(_IN_NUMBERS[part])))


def _of_region(date: dt.date, skeleton: str) -> str:
    """A date as the CLDR writes a pattern or skeleton (UTS 35, part 4) in the region, or ''."""
    if not manner().dates:
        return ""
    # Late: it reads the region's data.
    from babel.dates import format_date, format_skeleton

    region = manner().dates
    if skeleton in ("LLL", "LLLL", "full"):
        return format_date(date, skeleton, locale=region)
    return format_skeleton(skeleton, date, locale=region)
