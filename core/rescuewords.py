"""What a pilot on site is told of an option: what to do, until when, and what it loses."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from core.clocks import clock_cut
from core.dates import day_text
from core.flight import Flight
from core.judge import LIMITS
from core.language import say, say_count
from core.lightwords import LIMIT_WORDS, frames_text
from core.names import twilight_text
from core.option import Option
from core.outlook import Outlook
from core.starts import starts_window_s
from core.takewords import every_text
from core.words import (
    after_event_text,
    chance_text,
    clock_text,
    cut_up,
    f_number_text,
    filter_text,
    iso_text,
    kept_text,
    number_text,
    percent_text,
    shutter_text,
    spare_text,
    wait_text,
)

#: Sooner than this is now.
NOW_MIN = 0.1
_SETTING_TEXTS: dict[str, Callable[[float], str]] = {
    "shutter_s": shutter_text,
    "iso": iso_text,
    "f_number": f_number_text,
    "nd_stops": filter_text,
    "interval_s": every_text,
}


def sentence_of(option: Option, seen: Outlook, *, in_the_air: bool) -> str:
    """One sentence for the pilot.

    Parameters
    ----------
    seen
        The forecast of the option's plan.
    """
    do = _in_the_air(option, seen) if in_the_air else _from_the_ground(option, seen)
    margin = say("battery margin {spare} min", spare=spare_text(option.margin_min))
    return f"{_lead(option, seen)}: {do}{_latest(option, seen)}; {_keeps(option, seen)}, {margin}."


def settings_text(option: Option, seen: Outlook) -> str:
    """The settings that have to be changed, as they are called on the camera; may be empty."""
    changed = {key.rpartition(".")[2] for key, _ in option.changes}
    said = [
        text(getattr(seen.shoot, key)) for key, text in _SETTING_TEXTS.items() if key in changed
    ]
    if "clip_length_s" in changed:
        said.append(_clip_text(option))
    if "path_reversed" in changed:
        said.append(say("the path the other way"))
    return ", ".join(said)


def nothing_reason(
    seen: Outlook, ready_s: float | None, tonight: Sequence[Option], later: Option | None
) -> str:
    """Say plainly that tonight will hardly hold, what loses least, and when it would hold.

    Parameters
    ----------
    seen
        The take as planned.
    ready_s
        The earliest press, None where the flight cannot be flown.
    tonight
        What can be flown tonight, best first, none of it likely to hold.
    later
        Another night that holds, if any.
    """
    if ready_s is None:
        return seen.flight.error or say("This flight leaves no minutes for a take.")
    return f"{_tonight_text(seen, ready_s, tonight)} {_later_text(seen, later)}"


def _tonight_text(seen: Outlook, ready_s: float, tonight: Sequence[Option]) -> str:
    _, last_s = starts_window_s(seen.night, seen.light)
    if ready_s > last_s:
        clock = clock_text(seen.night.clock(last_s))
        return say(
            "This {twilight} is over: its last start was {clock}.",
            twilight=twilight_text(seen.night.twilight),
            clock=clock,
        )
    clock = clock_text(seen.night.clock(ready_s))
    if not tonight:
        return say(
            "From {clock} on there is no take that the battery brings home and the "
            "camera can store.",
            clock=clock,
        )
    chances = [option.p_hold or 0.0 for option in tonight if option.holds]
    if chances:
        return say(
            "From {clock} on a take holds {chance} at the best.",
            clock=clock,
            chance=chance_text(max(chances)),
        )
    most = max(option.kept_share for option in tonight)
    return say(
        "Nothing keeps the light with a press from {clock} on; the least bad keeps "
        "{most} of its frames.",
        clock=clock,
        most=kept_text(most),
    )


def _later_text(seen: Outlook, later: Option | None) -> str:
    if later is None:
        return say("None of the next nights keeps it either, with the air as typed.")
    clock = clock_text(seen.night.clock(later.start_s), seconds=True)
    return say(
        "{date} keeps it with a press at {clock}, with the air as typed.",
        date=day_text(later.date),
        clock=clock,
    )


def _lead(option: Option, seen: Outlook) -> str:
    changed = settings_text(option, seen)
    match option.kind:
        case "as_planned":
            return say("Keep the plan")
        case "press_now" | "wait":
            return say("Keep the settings")
        case "shorten":
            return say("Shorten it to {clip}", clip=_clip_text(option))
        case "reverse":
            return say("Fly the path the other way")
        case "another_night":
            return _come_back(day_text(option.date), changed)
        case _:
            return say("Change to {changed}", changed=changed)


def _come_back(date: str, changed: str) -> str:
    if not changed:
        return say("Come back on {date}", date=date)
    return say("Come back on {date} with {changed}", date=date, changed=changed)


def _clip_text(option: Option) -> str:
    return say_count(
        "a clip of {length} s, {count} frame",
        "a clip of {length} s, {count} frames",
        option.frames,
        length=number_text(option.clip_length_s, 1),
    )


def _from_the_ground(option: Option, seen: Outlook) -> str:
    press = _clock(seen, option.start_s)
    take_off = clock_cut(seen.night, option.take_off_s)
    if option.kind == "another_night":
        after = after_event_text(seen.night.event.name, seen.shoot.start_after_event_min)
        return say(
            "take off at {take_off} and press at {press}, {after}",
            take_off=take_off,
            press=press,
            after=after,
        )
    if option.wait_min < NOW_MIN:
        return say("take off now and press at {press}", press=press)
    return say(
        "wait {wait}, take off at {take_off} and press at {press}",
        wait=wait_text(option.wait_min),
        take_off=take_off,
        press=press,
    )


def _in_the_air(option: Option, seen: Outlook) -> str:
    press = _clock(seen, option.start_s)
    if option.wait_min < NOW_MIN:
        return say("press now, at {press}", press=press)
    used = percent_text(cut_up(option.wait_min * _percent_per_min(seen.flight)))
    return say(
        "hover {wait} for {used} of charge and press at {press}",
        wait=wait_text(option.wait_min),
        used=used,
        press=press,
    )


def _percent_per_min(flight: Flight) -> float:
    # A minute of hover costs what a minute of the take does.
    return flight.take_percent_per_min or 0.0


def _latest(option: Option, seen: Outlook) -> str:
    if option.latest_s is None:
        return ""
    if option.latest_s - option.start_s < 1.0:
        return say(" and not a second later")
    return say(", {clock} at the latest", clock=clock_cut(seen.night, option.latest_s))


def _keeps(option: Option, seen: Outlook) -> str:
    if option.holds:
        if option.p_hold is None:
            return say("holds")
        return say("holds {chance}", chance=chance_text(option.p_hold))
    lost = option.frames - round(option.kept_share * option.frames)
    # Told by the limit that most of them break.
    limit = max(LIMITS, key=lambda one: seen.judgement.failing[one].size)
    where = frames_text(seen.judgement.failing[limit], option.frames)
    return say(
        "loses {lost} of {frames} frames because {limit} {where}",
        lost=number_text(lost),
        frames=number_text(option.frames),
        limit=LIMIT_WORDS[limit],
        where=where,
    )


def _clock(seen: Outlook, time_s: float) -> str:
    return clock_text(seen.night.clock(time_s), seconds=True)
