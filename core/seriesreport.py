"""A series of takes, as plain values for other programs and as a page to read."""

from __future__ import annotations

from collections.abc import Iterator

from core import words
from core.clocks import clock_cut
from core.findings import CHECK_RULES
from core.language import say, say_count
from core.option import changes_of
from core.pages import joined, title, typed_changes, wrapped
from core.plainvalues import Values, changes_values, figure, iso_time
from core.plan import Plan
from core.series import Series, SeriesTake
from core.takewords import take_texts
from core.words import spare_text

TAKE_COLUMNS = (
    "number", "visit", "take_off", "start", "last_frame", "landing", "interval_s", "shutter_s",
    "iso", "f_number", "nd_stops", "frames", "clip_length_s", "slack_stops", "limit", "p_hold",
    "mixed_light_share", "margin_min", "set",
)  # fmt: skip
_SETTINGS = ("interval_s", "shutter_s", "iso", "f_number", "nd_stops")
_INDENT = "    "


def series_report(plan: Plan, found: Series) -> Values:
    """Return a series as plain values, ready for JSON."""
    return {
        "batteries": found.asked,
        "swap_min": figure(found.swap_min),
        "now": None if found.earliest_s is None else iso_time(found.seen.night, found.earliest_s),
        "turnaround_min": figure(found.turnaround_min),
        "reason": found.reason,
        "takes": [_take(plan, found, take) for take in found.takes],
    }


def take_rows(plan: Plan, found: Series) -> list[tuple[object, ...]]:
    """Return the takes, one row each, in the order of `TAKE_COLUMNS`."""
    name = found.seen.name
    rows = (
        _take(plan, found, take) | {"set": typed_changes(changes_of(plan, take.plan, name))}
        for take in found.takes
    )
    return [tuple(row[column] for column in TAKE_COLUMNS) for row in rows]


def series_page(plan: Plan, found: Series) -> str:
    """Return a series as a page, in the order in which it is flown."""
    head = [title(plan, found.seen), *wrapped(_asked(found))]
    reason = wrapped(found.reason) if found.reason else []
    return joined([head, reason, list(_takes(plan, found)), [CHECK_RULES]])


def _asked(found: Series) -> str:
    batteries = say_count("{count} battery", "{count} batteries", found.asked)
    swap = words.minutes_text(found.swap_min)
    if found.earliest_s is None:
        return say("{batteries}, {swap} for each swap.", batteries=batteries, swap=swap)
    return say(
        "{batteries}, {swap} for each swap, from {clock} on.",
        batteries=batteries,
        swap=swap,
        clock=words.clock_text(found.seen.night.clock(found.earliest_s), seconds=True),
    )


def _take(plan: Plan, found: Series, take: SeriesTake) -> Values:
    night = found.seen.night
    return {
        "number": take.number,
        "visit": take.shoot.visit,
        "take_off": iso_time(night, take.take_off_s),
        "start": iso_time(night, take.start_s),
        "last_frame": iso_time(night, take.last_frame_s),
        "landing": iso_time(night, take.landing_s),
        **{key: figure(getattr(take.shoot, key)) for key in _SETTINGS},
        "frames": take.frames,
        "clip_length_s": figure(take.clip_length_s),
        "slack_stops": figure(take.slack_stops),
        "limit": take.limit,
        "p_hold": figure(take.p_hold),
        "mixed_light_share": figure(take.mixed_light_share),
        "margin_min": figure(take.margin_min),
        "set": changes_values(changes_of(plan, take.plan, found.seen.name)),
    }


def _takes(plan: Plan, found: Series) -> Iterator[str]:
    for take in found.takes:
        yield from wrapped(_clocks(found, take), f"{take.number:>2}  ", _INDENT)
        yield from wrapped(take_settings(take), _INDENT)
        yield from wrapped(take_figures(take), _INDENT)
        changes = changes_of(plan, take.plan, found.seen.name)
        yield from wrapped(typed_changes(changes), _INDENT, _INDENT + "  ")


def _clocks(found: Series, take: SeriesTake) -> str:
    night = found.seen.night
    press = words.clock_text(night.clock(take.start_s), seconds=True)
    last, landing = (
        words.clock_text(night.clock(words.cut_up(at_s)), seconds=True)
        for at_s in (take.last_frame_s, take.landing_s)
    )
    take_off = clock_cut(night, take.take_off_s)
    return say(
        "take off at {take_off}, press at {press}, last frame {last}, landed {landing}",
        take_off=take_off,
        press=press,
        last=last,
        landing=landing,
    )


def take_settings(take: SeriesTake) -> str:
    """What to set for a take."""
    shoot = take.shoot
    return ", ".join(take_texts(shoot, shoot.interval_s, take.frames, take.clip_length_s))


def take_figures(take: SeriesTake) -> str:
    """What a take keeps."""
    return say(
        "holds {chance}, slack {slack}, mixed light {share} of the take, "
        "battery margin {spare} min",
        chance=words.chance_text(take.p_hold),
        slack=words.slack_text(take.slack_stops),
        share=words.share_text(take.mixed_light_share),
        spare=spare_text(take.margin_min),
    )
