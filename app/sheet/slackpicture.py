"""The slack track's picture: stops to the nearest limit for every start of the night."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.sheet.clock import Axis
from app.sheet.pictures import View, minute_of
from core.clocks import span_words
from core.exposure import FloatArray
from core.language import say
from core.lightwords import LIMIT_WORDS
from core.night import Night
from core.outlook import Outlook
from core.phrases import leading
from core.plan import ShootName
from core.starts import Starts
from core.verdict import best_chance_text
from core.words import chance_text, cut_up, short_text, slack_text

_STEP_S = 5.0
_MOST_POINTS = 900


@dataclass(frozen=True)
class SlackPicture:
    """All that the slack track shows of the active shoot; the span is in axis seconds.

    Words stand with the shorter ones after them, for where there is no room.
    """

    name: ShootName
    axis_s: FloatArray
    slack_stops: FloatArray
    scale_stops: float
    lack_stops: float
    span_s: tuple[float, float] | None
    good_words: tuple[str, ...]
    chance: FloatArray
    sure_s: tuple[float, float] | None
    sure_words: str
    nearest_s: float
    earlier_words: str
    later_words: str
    start_s: float
    start_words: tuple[str, ...]
    description: str


def slack_picture(view: View, axis: Axis) -> SlackPicture | None:
    """The slack of every start; None while the starts are not those of the plan."""
    outlook, starts = view.outlook, view.starts
    if starts is None:
        return None
    name = outlook.name
    axis_s = axis.of(starts.time_s, name)
    shown = (axis_s >= axis.first_s - _STEP_S) & (axis_s <= axis.last_s + _STEP_S)
    stride = max(1, int(shown.sum()) // _MOST_POINTS)
    good = good_words(outlook.night, starts)
    start = start_words(outlook, starts)
    span = None
    if starts.earliest_s is not None and starts.latest_s is not None:
        span = (axis.of(starts.earliest_s, name), axis.of(starts.latest_s, name))
    sure = None
    if starts.sure_s is not None:
        sure = (axis.of(starts.sure_s[0], name), axis.of(starts.sure_s[1], name))
    earlier, later = _beyond(starts)
    return SlackPicture(
        name=name,
        axis_s=axis_s[shown][::stride],
        slack_stops=starts.slack_stops[shown][::stride],
        scale_stops=scale_of_slack(starts.nearest_slack_stops),
        lack_stops=max(-starts.nearest_slack_stops, 0.0),
        span_s=span,
        good_words=good,
        chance=starts.p_hold[shown][::stride],
        sure_s=sure,
        sure_words=sure_words(outlook.night, starts),
        nearest_s=axis.of(starts.nearest_s, name),
        earlier_words=earlier,
        later_words=later,
        start_s=axis.of(outlook.press_s, name),
        start_words=start,
        description=f"{leading(good[0])}, {sure_words(outlook.night, starts)}. {start[0]}.",
    )


def scale_of_slack(most_stops: float) -> float:
    """Stops that the height of the area stands for: 1, 1.5, 2 and so on."""
    if not np.isfinite(most_stops):
        return 1.0
    return max(1.0, cut_up(most_stops, 0.5))


def good_words(night: Night, starts: Starts) -> tuple[str, ...]:
    """The span in words, cut inward, and without a word; or the nearest start and what it lacks."""
    if starts.earliest_s is None or starts.latest_s is None:
        short = short_text(-starts.nearest_slack_stops)
        clock = minute_of(night, starts.nearest_s)
        return (say("nearest {clock}, {short} short", clock=clock, short=short),)
    span = span_words(night, starts.earliest_s, starts.latest_s)
    return say("good {span}", span=span), span


def sure_words(night: Night, starts: Starts) -> str:
    """The sure starts, cut inward to the minute; or that there are none."""
    if starts.sure_s is None:
        return say("none is sure (best {chance})", chance=best_chance_text(starts))
    return say("sure {span}", span=span_words(night, *starts.sure_s))


def start_words(outlook: Outlook, starts: Starts) -> tuple[str, ...]:
    """The chosen start's chance and slack: 'A holds 9 times in 10, +0.7 stop'; the chance alone."""
    limited = outlook.judgement.limit is not None
    slack = slack_text(outlook.judgement.slack_stops) if limited else say("no limit")
    chance = starts.chance_at(outlook.press_s)
    if chance is None:
        return (f"{outlook.name} {slack}",)
    holds = say("{name} holds {chance}", name=outlook.name, chance=chance_text(chance))
    return f"{holds}, {slack}", holds


def _beyond(starts: Starts) -> tuple[str, str]:
    """What fails on each side of the span; nothing where the night ends good."""
    if starts.earliest_s is None or starts.latest_s is None:
        return "", ""
    earlier = starts.limit_at(starts.earliest_s - _STEP_S)
    later = starts.limit_at(starts.latest_s + _STEP_S)
    if starts.earliest_s <= starts.time_s[0]:
        earlier = None
    if starts.latest_s >= starts.time_s[-1]:
        later = None
    return (
        "" if earlier is None else say("earlier: {limit}", limit=LIMIT_WORDS[earlier]),
        "" if later is None else say("later: {limit}", limit=LIMIT_WORDS[later]),
    )
