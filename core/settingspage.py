"""The short list of settings as a page to read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from core import words
from core.choice import Choice, Settings
from core.findings import CHECK_RULES
from core.language import say, say_as
from core.outlook import Outlook
from core.packing import Packed, packed_text
from core.pages import joined, title, wrapped
from core.plan import Plan
from core.takewords import take_texts
from core.tradeoff import IntervalTrade
from core.wish import Aim, Wish
from core.words import NOTHING, spare_text

AIM_WORDS: dict[Aim, str] = {
    "surest": say("the surest take"),
    "longest": say("the longest clip"),
    "mixed_light": say("the most mixed light"),
    "minute": say("a take that holds the minute"),
}
_INDENT = "  "


def settings_page(
    plan: Plan,
    seen: Outlook,
    wish: Wish,
    found: Settings,
    pack: Sequence[Packed],
    curve: Sequence[IntervalTrade],
) -> str:
    """Return the ranked short list with what each costs, the filters, and the trade-off."""
    sections = (
        [title(plan, seen), *wrapped(_asked(seen, wish))],
        list(_choices(seen, found)),
        [say("Filters to pack"), *_pack(seen, found, pack)],
        [
            say("Interval against this battery's longest clip, no minute to spare"),
            *_curve(seen, curve),
        ],
        [CHECK_RULES],
    )
    return joined(sections)


def _asked(seen: Outlook, wish: Wish) -> str:
    aim = AIM_WORDS[wish.aim]
    if wish.aim == "minute" and wish.moment_s is not None:
        clock = words.clock_text(seen.night.clock(wish.moment_s))
        aim = say("a take that holds the minute {clock}", clock=clock)
    if wish.earliest_s is not None and wish.earliest_s == wish.latest_s:
        start = words.clock_text(seen.night.clock(wish.earliest_s), seconds=True)
        return say("Settings for {aim}, started at {start}, the best first.", aim=aim, start=start)
    return say("Settings for {aim}, the best first.", aim=aim)


def _choices(seen: Outlook, found: Settings) -> Iterator[str]:
    if found.reason is not None:
        yield from wrapped(found.reason)
    for place, choice in enumerate(found.choices, 1):
        lead = f"{place:>2}  "
        yield from wrapped(_settings_text(seen, choice), lead, " " * len(lead))
        yield from wrapped(_given_text(choice), " " * len(lead))
        for cost in choice.costs or (say("nothing: all as wanted"),):
            yield from wrapped(f"− {cost}", " " * len(lead), " " * (len(lead) + 2))


def _settings_text(seen: Outlook, choice: Choice) -> str:
    start = words.clock_text(seen.night.clock(choice.start_s), seconds=True)
    said = take_texts(choice, choice.interval_s, choice.frames, choice.clip_length_s)
    return ", ".join((start, *said))


def _given_text(choice: Choice) -> str:
    slack = words.slack_text(choice.slack_stops)
    return say(
        "holds {chance}, slack {slack}, mixed light {share} of the take, "
        "shutter angle {angle}, battery margin {spare} min",
        chance=words.chance_text(choice.p_hold),
        slack=slack,
        share=words.share_text(choice.mixed_light_share),
        angle=words.degrees_text(choice.shutter_angle_deg),
        spare=spare_text(choice.margin_min),
    )


def _pack(seen: Outlook, found: Settings, pack: Sequence[Packed]) -> Iterator[str]:
    if not pack:
        yield _INDENT + (say("None is needed.") if found.choices else NOTHING)
    for packed in pack:
        yield from wrapped(packed_text(seen.night, packed), _INDENT, _INDENT * 2)


def _curve(seen: Outlook, curve: Sequence[IntervalTrade]) -> Iterator[str]:
    if not curve:
        yield from wrapped(seen.flight.error or NOTHING, _INDENT)
        return
    head = (
        say_as("column", "every"), say("frames"), say("clip"), say("shooting"), say("margin"),
        say("longest shutter"),
    )  # fmt: skip
    rows = [
        (
            words.seconds_text(trade.interval_s),
            words.number_text(trade.frames),
            f"{words.number_text(trade.clip_length_s, 1)} s",
            say("{shooting} min", shooting=words.duration_text(60.0 * trade.shooting_min)),
            say("{spare} min", spare=spare_text(trade.margin_min)),
            NOTHING
            if trade.longest_shutter_s is None
            else words.shutter_text(trade.longest_shutter_s),
        )
        for trade in curve
    ]
    widths = [max(len(cell) for cell in column) for column in zip(head, *rows, strict=True)]
    for row in (head, *rows):
        yield _INDENT + "  ".join(f"{cell:>{w}}" for cell, w in zip(row, widths, strict=True))
