"""A date as it is typed: year first, day first, or with the name of the month."""

from __future__ import annotations

import calendar
import datetime as dt
import re

from core.amounts import plain_text
from core.dates import (
    day_text,
    month_name,
    month_names,
    order_of_numbers,
    short_date,
    spelt_date,
)
from core.edit import PlanError
from core.language import say
from core.plan import FIRST_DATE, LAST_DATE
from core.sentences import shown

# ISO 8601 puts the year first; a slash or a dot instead of its hyphen changes no order.
_YEAR_FIRST = re.compile(
    r"(?P<y>[0-9]{4})(?P<mark>[-/.])(?P<m>[0-9]{1,2})(?P=mark)(?P<d>[0-9]{1,2})"
)
_DAY_FIRST = re.compile(
    r"(?P<d>[0-9]{1,2})(?P<mark>[-/.]) ?(?P<m>[0-9]{1,2})(?P=mark) ?(?P<y>[0-9]{4}|[0-9]{2})"
)
_WEEKDAY = r"(?:[^\W\d_]{2,12}\.?,? )?"
_DAY, _MONTH, _YEAR = (
    r"(?P<d>[0-9]{1,2})\.?",
    r"(?:de )?(?P<m>[^\W\d_]{3,12})\.?",
    r"(?:,? (?:de )?(?P<y>[0-9]{4}|['\u2019]?[0-9]{2}))?",
)
_WORDED = (
    re.compile(f"{_WEEKDAY}{_DAY} {_MONTH}{_YEAR}"),
    re.compile(f"{_WEEKDAY}{_MONTH} {_DAY}{_YEAR}"),
)
_EXAMPLE = dt.date(2026, 10, 10)
_CENTURY = 2000


def typed_date(text: str, year: int | None = None) -> dt.date:
    """Return the date that is typed: '2026-10-25', '25 Oct 2026', '25.10.2026', '25/10/2026'.

    Numbers are read year first or day first. With slashes or hyphens some write the month
    first: in a region that does they are read so, elsewhere a date that both orders give is
    refused. Dots are read day first. Months may have the names of the region too. A year of
    two digits is one of this century and stands last; between hyphens it could be the day, and
    where a region writes the year first so it could anywhere.

    Parameters
    ----------
    year
        The year of a date typed without one, as '10 Oct'; None where it must be typed.

    Raises
    ------
    PlanError
        When the text is no date of the calendar, or could be two.
    """
    plain = plain_text(text)
    for worded in filter(None, (order.fullmatch(plain) for order in _WORDED)):
        month = _month(worded["m"])
        if month and (worded["y"] or year):
            typed = _year(worded["y"]) if worded["y"] else year or 0
            return _of_calendar(text, typed, month, int(worded["d"]))
    found = _YEAR_FIRST.fullmatch(plain) or _DAY_FIRST.fullmatch(plain)
    order = order_of_numbers()
    if not found or (len(found["y"]) == 2 and (found["mark"] == "-" or order.startswith("y"))):
        raise _not_understood(text)
    y, m, d = _year(found["y"]), int(found["m"]), int(found["d"])
    day_first = found.re is _DAY_FIRST
    if day_first and found["mark"] != "." and m != d and order == "mdy":
        m, d = d, m
    elif day_first and found["mark"] != "." and m != d and 1 <= m <= 12 and 1 <= d <= 12:
        raise _two_dates(text, y, m, d)
    return _of_calendar(text, y, m, d)


def _year(digits: str) -> int:
    """A year as typed: 2026, 26 or '26."""
    year = int(digits.lstrip("'\u2019"))
    return year if len(digits) == 4 else _CENTURY + year


def _wanted() -> str:
    """What is expected, as the pilot's region writes dates."""
    return say(
        "a date from {first} to {last} such as {example}",
        first=spelt_date(FIRST_DATE),
        last=spelt_date(LAST_DATE),
        example=spelt_date(_EXAMPLE),
    )


def _of_calendar(text: str, year: int, month: int, day: int) -> dt.date:
    if not 1 <= month <= 12:
        raise PlanError(
            say(
                "Date {shown} has no month {month}; {wanted} was expected.",
                shown=shown(text),
                month=month,
                wanted=_wanted(),
            )
        )
    if year < dt.MINYEAR:
        raise _not_understood(text)
    last = calendar.monthrange(year, month)[1]
    if not 1 <= day <= last:
        raise PlanError(
            say(
                "Date {shown} is not in the calendar, {month} {year} has {days} days; "
                "{wanted} was expected.",
                shown=shown(text),
                month=month_name(month),
                year=year,
                days=last,
                wanted=_wanted(),
            )
        )
    return dt.date(year, month, day)


def _not_understood(text: str) -> PlanError:
    return PlanError(
        say(
            "Date {shown} was not understood; {wanted} was expected.",
            shown=shown(text),
            wanted=_wanted(),
        )
    )


def _two_dates(text: str, year: int, month: int, day: int) -> PlanError:
    # Days up to the twelfth are in the calendar of any year, the typed one may not be.
    one, other = dt.date(2000, month, day), dt.date(2000, day, month)
    return PlanError(
        say(
            "Date {shown} can be {one} or {other}; a month by its name as in {worded} {year}, or "
            "{year}-{month:02d}-{day:02d}, was expected.",
            shown=shown(text),
            one=day_text(one),
            other=day_text(other),
            worded=short_date(one),
            year=year,
            month=month,
            day=day,
        )
    )


def _month(word: str) -> int | None:
    """The number of a month by its name or the first three letters of it."""
    for spelling in month_names():
        for number, name in enumerate(spelling, 1):
            if name.casefold().startswith(word):
                return number
    return None
