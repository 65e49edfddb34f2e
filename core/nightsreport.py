"""Many nights as plain values, as a table, and as a page to read."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence

from core.clocks import seconds_texts, span_texts
from core.findings import CHECK_RULES
from core.language import say
from core.lightwords import LIMIT_WORDS
from core.names import twilight_text
from core.night import Night
from core.nights import Flag, NightSeen, clock_moves_s
from core.pages import joined, wrapped
from core.plainvalues import Values, figure, iso_time
from core.plan import Plan, ShootName
from core.words import (
    NOTHING,
    clock_text,
    cut_down,
    cut_up,
    number_text,
    share_text,
    short_text,
    signed_text,
)

Row = tuple[object, ...]

NIGHT_COLUMNS = (
    "date", "twilight", "event", "event_time", "utc_offset_min", "earliest", "latest", "best",
    "slack_stops", "limit", "p_hold", "max_frames", "clip_length_s", "decay_stops_per_min",
    "moon_lit_share", "moon_up", "flags", "reason", "event_reason",
)  # fmt: skip
_HEAD = (
    say("night"), say("event"), say("span"), say("best"), say("chance"), say("slack"),
    say("stops/min"), say("moon"), "",
)  # fmt: skip
#: Of flags that say the same of every night.
_FLAG_WORDS: dict[Flag, str] = {
    "moon": say("moonlit"),
    "no_civil_end": say("no civil end"),
    "past_midnight": say("runs past midnight"),
}
#: What stands elsewhere on the page than behind a line.
_ELSEWHERE: frozenset[Flag] = frozenset({"moon", "clock_change", "battery"})
#: A chance is never told as more than this; light is never surer.
_MOST_CHANCE = 0.9


def nights_report(seen: Iterable[NightSeen]) -> Values:
    """Return the nights as plain values, ready for JSON."""
    listing = [
        _figures(night)
        | {
            "moon": {"lit_share": figure(night.moon_share), "up": night.moon_up},
            "flags": list(night.flags),
        }
        for night in seen
    ]
    return {"nights": listing}


def night_rows(seen: Iterable[NightSeen]) -> list[Row]:
    """Return the table of nights, one row a night, in the order of `NIGHT_COLUMNS`."""
    return [_row(night) for night in seen]


def nights_page(plan: Plan, name: ShootName, seen: Sequence[NightSeen]) -> str:
    """Return the nights as a page: a line each, and the days on which clocks change."""
    without = sum(night.best_s is None for night in seen)
    kept = (
        say(
            "On {without} of {nights} nights no start keeps the light.",
            without=without,
            nights=len(seen),
        )
        if without
        else say("Each night has a start that keeps the light.")
    )
    return joined(
        [
            [_title(plan, name, seen)],
            list(_table(seen)),
            wrapped(f"{kept} {_battery(seen[0])}"),
            [CHECK_RULES],
        ],
    )


def flag_words(seen: NightSeen, without: Collection[Flag] = ()) -> str:
    """What to look out for in a night, in words: 'moonlit, runs past midnight'."""
    return ", ".join(_flag_text(seen, flag) for flag in _told_flags(seen) if flag not in without)


def clock_change_words(seen: NightSeen) -> str | None:
    """How the clocks change on the day of a night: 'clocks are put forward 60 min'; None if not."""
    moved_min = clock_moves_s(seen.night.date, seen.night.time_zone) / 60.0
    if moved_min == 0.0:
        return None
    moved = number_text(abs(moved_min), 0)
    if moved_min > 0.0:
        return say("clocks are put forward {moved} min", moved=moved)
    return say("clocks are put back {moved} min", moved=moved)


def chance_figure(p_hold: float) -> str:
    """Write a chance in tenths, cut down: '0.7'; never more than 0.9."""
    return number_text(min(cut_down(p_hold, 0.1), _MOST_CHANCE), 1)


def _told_flags(seen: NightSeen) -> tuple[Flag, ...]:
    """The flags that say something: a sun that stays up leaves twilight nothing to tell."""
    stays_up = seen.night.event.name == "midnight"
    return tuple(flag for flag in seen.flags if not (stays_up and flag == "no_civil_end"))


def _flag_text(seen: NightSeen, flag: Flag) -> str:
    texts: dict[Flag, Callable[[NightSeen], str | None]] = {
        "no_start": _no_start_text,
        "battery": _battery_text,
        "no_event": _no_event_text,
        "clock_change": clock_change_words,
    }
    return _FLAG_WORDS.get(flag) or texts[flag](seen) or ""


def _no_event_text(seen: NightSeen) -> str:
    return say("sun stays up") if seen.night.event.name == "midnight" else say("sun stays down")


def _no_start_text(seen: NightSeen) -> str:
    if seen.limit is None:
        return say("no start holds")
    return say(
        "{limit}, {short} short",
        limit=LIMIT_WORDS[seen.limit],
        short=short_text(-seen.slack_stops),
    )


def _battery_text(seen: NightSeen) -> str:
    if seen.clip_length_s is None:
        return say("the flight cannot be flown")
    return say(
        "the battery ends after {length} s of clip",
        length=number_text(cut_down(seen.clip_length_s, 0.1), 1),
    )


def _figures(seen: NightSeen) -> Values:
    night = seen.night
    return {
        "date": night.date.isoformat(),
        "twilight": night.twilight,
        "event": night.event.name,
        "event_time": iso_time(night, night.event.time_s),
        "utc_offset_min": figure(seen.utc_offset_s / 60.0),
        "earliest": iso_time(night, seen.earliest_s),
        "latest": iso_time(night, seen.latest_s),
        "best": iso_time(night, seen.best_s),
        "slack_stops": figure(seen.slack_stops),
        "limit": seen.limit,
        "p_hold": figure(seen.p_hold),
        "max_frames": seen.max_frames,
        "clip_length_s": figure(seen.clip_length_s),
        "decay_stops_per_min": figure(seen.decay_stops_per_min),
        "reason": seen.reason,
        "event_reason": night.reason,
    }


def _row(seen: NightSeen) -> Row:
    flat = _figures(seen) | {
        "moon_lit_share": figure(seen.moon_share),
        "moon_up": "yes" if seen.moon_up else "no",
        "flags": "; ".join(seen.flags),
    }
    return tuple(flat[column] for column in NIGHT_COLUMNS)


def _battery(seen: NightSeen) -> str:
    if seen.max_frames is None or seen.clip_length_s is None:
        return say("The flight cannot be flown as planned; 'duskwright forecast' says why.")
    length = number_text(cut_down(seen.clip_length_s, 0.1), 1)
    frames = number_text(seen.max_frames)
    return say(
        "The battery gives {frames} frames, {length} s of clip, in the weather typed.",
        frames=frames,
        length=length,
    )


def _title(plan: Plan, name: ShootName, seen: Sequence[NightSeen]) -> str:
    # A name may hold line breaks or control characters; a terminal would act on them.
    place = "".join(c if c.isprintable() else " " for c in plan.place.name)
    first, last = seen[0].night, seen[-1].night
    return say(
        "{place} · {twilight}, {first} to {last} · shoot {name} · {time_zone}",
        place=" ".join(place.split()),
        twilight=twilight_text(first.twilight),
        first=first.date.isoformat(),
        last=last.date.isoformat(),
        name=name,
        time_zone=first.time_zone,
    )


def _table(seen: Sequence[NightSeen]) -> Iterator[str]:
    rows = [_cells(night) for night in seen]
    widths = [max(len(cell) for cell in column) for column in zip(_HEAD, *rows, strict=True)]
    for cells, night in zip((_HEAD, *rows), (None, *seen), strict=True):
        yield "  ".join(f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        change = None if night is None else clock_change_words(night)
        if change is not None:
            yield " " * (widths[0] + 2) + say("{change} on this day", change=change)


def _span_texts(night: Night, first_s: float, last_s: float, best_s: float) -> tuple[str, str]:
    """Both ends in minutes; with seconds where the best start would lie outside them."""
    if cut_up(first_s, 60.0) <= best_s <= cut_down(last_s, 60.0):
        return span_texts(night, first_s, last_s)
    return seconds_texts(night, first_s, last_s)


def _moon_text(seen: NightSeen) -> str:
    share = share_text(seen.moon_share)
    return say("{share} up", share=share) if seen.moon_up else say("{share} down", share=share)


def _cells(seen: NightSeen) -> tuple[str, ...]:
    night = seen.night
    span = best = chance = NOTHING
    if seen.best_s is not None and seen.earliest_s is not None and seen.latest_s is not None:
        first, last = _span_texts(night, seen.earliest_s, seen.latest_s, seen.best_s)
        span = first if first == last else f"{first}{NOTHING}{last}"
        best = clock_text(night.clock(seen.best_s), seconds=True)
        chance = chance_figure(seen.p_hold or 0.0)
    return (
        night.date.isoformat(),
        clock_text(night.clock(night.event.time_s)),
        span,
        best,
        chance,
        signed_text(cut_down(seen.slack_stops, 0.1), 1)
        if math.isfinite(seen.slack_stops)
        else NOTHING,
        signed_text(seen.decay_stops_per_min, 2),
        _moon_text(seen),
        flag_words(seen, without=_ELSEWHERE),
    )
