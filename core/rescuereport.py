"""What can still be done, as plain values for other programs and as a page to read."""

from __future__ import annotations

from collections.abc import Iterator

from core import words
from core.dates import day_text
from core.findings import CHECK_RULES
from core.language import say
from core.option import Option
from core.pages import joined, title, typed_changes, wrapped
from core.plainvalues import Values, changes_values, figure, iso_time
from core.plan import Plan
from core.rescue import Rescue

OPTION_COLUMNS = (
    "kind", "date", "start", "take_off", "latest", "wait_min", "holds", "slack_stops", "limit",
    "p_hold", "kept_share", "mixed_light_share", "frames", "clip_length_s", "margin_min", "set",
    "text",
)  # fmt: skip
_INDENT = "    "


def rescue_report(found: Rescue) -> Values:
    """Return what can still be done as plain values, ready for JSON."""
    night, planned = found.planned.night, found.planned
    return {
        "now": iso_time(night, found.now_s),
        "airborne": found.airborne,
        "planned": {
            "take_off": iso_time(night, planned.take_off_s),
            "start": iso_time(night, planned.press_s),
        },
        "earliest_start": iso_time(night, found.ready_s),
        "reason": found.reason,
        "options": [_option(found, option) for option in found.options],
    }


def option_rows(found: Rescue) -> list[tuple[object, ...]]:
    """Return the options, one row each, in the order of `OPTION_COLUMNS`."""
    rows = (
        _option(found, option) | {"set": typed_changes(option.changes)} for option in found.options
    )
    return [tuple(row[name] for name in OPTION_COLUMNS) for row in rows]


def rescue_page(plan: Plan, found: Rescue) -> str:
    """Return what can still be done as a page, the best first."""
    head = [title(plan, found.planned), *wrapped(_now_text(found))]
    reason = wrapped(found.reason) if found.reason else []
    return joined([head, reason, list(_options(found)), [CHECK_RULES]])


def _option(found: Rescue, option: Option) -> Values:
    night = found.planned.night
    return {
        "kind": option.kind,
        "date": option.date.isoformat(),
        "start": iso_time(night, option.start_s),
        "take_off": iso_time(night, option.take_off_s),
        "latest": iso_time(night, option.latest_s),
        "wait_min": figure(option.wait_min),
        "holds": option.holds,
        "slack_stops": figure(option.slack_stops),
        "limit": option.limit,
        "p_hold": figure(option.p_hold),
        "kept_share": figure(option.kept_share),
        "mixed_light_share": figure(option.mixed_light_share),
        "frames": option.frames,
        "clip_length_s": figure(option.clip_length_s),
        "margin_min": figure(option.margin_min),
        "set": changes_values(option.changes),
        "text": option.sentence,
    }


def _now_text(found: Rescue) -> str:
    seen = found.planned

    def clock(time_s: float) -> str:
        return words.clock_text(seen.night.clock(time_s), seconds=True)

    where = say("in the air") if found.airborne else say("on the ground")
    now, today = clock(found.now_s), seen.night.clock(found.now_s).date()
    here = (
        say("Now {clock}, {where}.", clock=now, where=where)
        if today == seen.night.date
        else say("Now {clock} on {date}, {where}.", clock=now, date=day_text(today), where=where)
    )
    parts = [say("Planned press {clock}", clock=clock(seen.press_s))]
    if seen.take_off_s is not None:
        parts.append(say("take-off {clock}", clock=clock(seen.take_off_s)))
        parts += _late_texts(found.now_s - seen.take_off_s)
    planned = ", ".join(parts)
    if found.ready_s is not None:
        ready = clock(found.ready_s)
        planned = say("{planned}; the earliest press is {clock}.", planned=planned, clock=ready)
    return f"{here} {planned}"


def _late_texts(late_s: float) -> Iterator[str]:
    """How long ago an instant was or in how long it comes, where half a minute or more."""
    if abs(late_s) < 30.0:
        return
    wait = words.wait_text(abs(late_s) / 60.0)
    yield say("{wait} ago", wait=wait) if late_s > 0.0 else say("in {wait}", wait=wait)


def _options(found: Rescue) -> Iterator[str]:
    for place, option in enumerate(found.options, 1):
        yield from wrapped(option.sentence, f"{place:>2}  ", _INDENT)
        yield from wrapped(option_figures(option), _INDENT)
        if option.changes:
            yield from wrapped(typed_changes(option.changes), _INDENT, _INDENT + "  ")


def option_figures(option: Option) -> str:
    """What an option keeps beside what its sentence tells."""
    kept = say("{share} of the frames kept", share=words.kept_text(option.kept_share))
    mixed = say(
        "mixed light {share} of the take",
        share=words.share_text(option.mixed_light_share),
    )
    return say(
        "{kept}, slack {slack}, {mixed}",
        kept=kept,
        slack=words.slack_text(option.slack_stops),
        mixed=mixed,
    )
