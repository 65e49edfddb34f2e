"""A date as it is typed: year first, day first, or with the name of the month."""

from __future__ import annotations

import calendar
import datetime as dt
import re

from core.amounts import plain_text
from core.dates import MONTHS, month_comes_first, month_names
from core.edit import PlanError
from core.language import say
from core.plan import FIRST_DATE, LAST_DATE
from core.sentences import shown

# ISO 8601 puts the year first; a slash or a dot instead of its hyphen changes no order.
_YEAR_FIRST = re.compile(
    r"(?P<y>[0-9]{4})(?P<mark>[-/.])(?P<m>[0-9]{1,2})(?P=mark)(?P<d>[0-9]{1,2})"
)
_DAY_FIRST = re.compile(
    r"(?P<d>[0-9]{1,2})(?P<mark>[-/.]) ?(?P<m>[0-9]{1,2})(?P=mark) ?(?P<y>[0-9]{4})"
)
_WEEKDAY = r"(?:[^\W\d_]{2,12}\.?,? )?"
_DAY, _MONTH, _YEAR = (
    r"(?P<d>[0-9]{1,2})\.?",
    r"(?:de )?(?P<m>[^\W\d_]{3,12})\.?",
    r"(?:,? (?:de )?(?P<y>[0-9]{4}))?",
)
_WORDED = (
    re.compile(f"{_WEEKDAY}{_DAY} {_MONTH}{_YEAR}"),
    re.compile(f"{_WEEKDAY}{_MONTH} {_DAY}{_YEAR}"),
)
_WANTED = say(
    "a date from {first_date} to {last_date} such as 10 Oct 2026",
    first_date=FIRST_DATE,
    last_date=LAST_DATE,
)


def typed_date(text: str, year: int | None = None) -> dt.date:
    """Return the date that is typed: '2026-10-25', '25 Oct 2026', '25.10.2026', '25/10/2026'.

    Numbers are read year first or day first. With slashes or hyphens some write the month
    first: in a region that does they are read so, elsewhere a date that both orders give is
    refused. Dots are read day first. Months may have the names of the region too.

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
            return _of_calendar(text, int(worded["y"] or year or 0), month, int(worded["d"]))
    found = _YEAR_FIRST.fullmatch(plain) or _DAY_FIRST.fullmatch(plain)
    if not found:
        raise _refused(text, say("was not understood"))
    y, m, d = int(found["y"]), int(found["m"]), int(found["d"])
    day_first = found.re is _DAY_FIRST
    if day_first and found["mark"] != "." and m != d and month_comes_first():
        m, d = d, m
    elif day_first and found["mark"] != "." and m != d and 1 <= m <= 12 and 1 <= d <= 12:
        one, other = f"{d} {MONTHS[m - 1]}", f"{m} {MONTHS[d - 1]}"
        wanted = say(
            "a month by its name as in {d} {months} {y}, or {y}-{m:02d}-{d:02d},",
            d=d,
            months=MONTHS[m - 1][:3],
            y=y,
            m=m,
        )
        raise _refused(text, say("can be {one} or {other}", one=one, other=other), wanted)
    return _of_calendar(text, y, m, d)


def _of_calendar(text: str, year: int, month: int, day: int) -> dt.date:
    if not 1 <= month <= 12:
        raise _refused(text, say("has no month {month}", month=month))
    if year < dt.MINYEAR:
        raise _refused(text, say("was not understood"))
    last = calendar.monthrange(year, month)[1]
    if not 1 <= day <= last:
        raise _refused(
            text,
            say(
                "is not in the calendar, {months} {year} has {last} days",
                months=MONTHS[month - 1],
                year=year,
                last=last,
            ),
        )
    return dt.date(year, month, day)


def _refused(text: str, why: str, wanted: str = _WANTED) -> PlanError:
    return PlanError(
        say("Date {shown} {why}; {wanted} was expected.", shown=shown(text), why=why, wanted=wanted)
    )


def _month(word: str) -> int | None:
    """The number of a month by its name or the first three letters of it."""
    for spelling in month_names():
        for number, name in enumerate(spelling, 1):
            if name.casefold().startswith(word):
                return number
    return None
