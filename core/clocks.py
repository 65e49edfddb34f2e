"""Instants of a night on the clock of its place, cut to the side that promises less.

A clock by which something must be done is cut down; of a span of starts the first is cut
up and the last down, so that every start inside the words is a start inside the span.
"""

from __future__ import annotations

from typing import Literal

from core.language import say
from core.night import Moment, Night
from core.words import clock_text, cut_down, cut_up

_MINUTE_S = 60.0


def clock_cut(night: Night, time_s: float) -> str:
    """Write the clock cut down to the second, as for something to be done by then: '19:35:46'."""
    return clock_text(night.clock(cut_down(time_s)), seconds=True)


def moment_clock(night: Night, moment: Moment) -> str:
    """Write the minute of a moment: '17:09'.

    The sun 6 degrees down bounds the night by many rules: it is cut so that the night is
    told no shorter than it is. Other moments are rounded.
    """
    if moment.name != "civil":
        return clock_text(night.clock(moment.time_s))
    cut = cut_down if night.twilight == "dusk" else cut_up
    return clock_text(night.clock(cut(moment.time_s, _MINUTE_S)))


def span_texts(night: Night, first_s: float, last_s: float) -> tuple[str, str]:
    """Write both ends of a span of starts, cut inward: ('17:11', '17:13').

    Parameters
    ----------
    first_s, last_s
        First and last start, in UTC seconds, in this order; they may be the same.

    Returns
    -------
    tuple of str
        Minutes; with seconds where the span does not reach from one whole minute to
        another. Both are the same where it holds one second at most.
    """
    first, last = cut_up(first_s, _MINUTE_S), cut_down(last_s, _MINUTE_S)
    if first < last:
        return clock_text(night.clock(first)), clock_text(night.clock(last))
    return seconds_texts(night, first_s, last_s)


def seconds_span(night: Night, first_s: float, last_s: float) -> str:
    """Write a span of starts to the second, cut inward: '17:11:04 to 17:13:50'."""
    first, last = seconds_texts(night, first_s, last_s)
    return first if first == last else say("{first} to {last}", first=first, last=last)


def seconds_texts(night: Night, first_s: float, last_s: float) -> tuple[str, str]:
    """Write both ends of a span of starts to the second, cut inward; both same for one second."""
    first, last = cut_up(first_s), cut_down(last_s)
    if first > last:
        # No whole second lies inside: the one nearest to it stands for both.
        first = last = 0.5 * (first_s + last_s)
    return clock_text(night.clock(first), seconds=True), clock_text(night.clock(last), seconds=True)


def span_words(night: Night, first_s: float, last_s: float, lead: Literal["", "from "] = "") -> str:
    """Write a span of starts, cut inward: '17:11 to 17:13', or 'at 17:11:08' for a single one.

    Parameters
    ----------
    first_s, last_s
        First and last start, in UTC seconds, in this order.
    lead
        Stands before two ends, as in 'from 17:11 to 17:13'; not before a single one.
    """
    first, last = span_texts(night, first_s, last_s)
    if first == last:
        return say("at {first}", first=first)
    if lead:
        return say("from {first} to {last}", first=first, last=last)
    return say("{first} to {last}", first=first, last=last)
