"""What the rows of the settings show: pure functions of the plan and its outlook."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from app.widgets.scale_slider import SliderState
from app.widgets.setting_row import RowState
from core.clocks import span_texts
from core.fields import field_of
from core.judge import Limit
from core.language import say, say_as
from core.night import Night
from core.outlook import Outlook
from core.phrases import EVENT_NAMES, within
from core.plan import Camera, Plan, Shoot, ShootName
from core.runs import runs_of
from core.scales import SettingKey, scale_of
from core.starts import Starts, starts_window_s
from core.words import (
    MINUS,
    clock_text,
    cut_down,
    cut_up,
    f_number_text,
    filter_text,
    number_text,
    seconds_text,
    shutter_name,
    shutter_text,
)

#: What a limit means beside a setting, in a word or two.
LIMITS_IN_SHORT: Final[dict[Limit, str]] = {
    "street_high": say("street burns"),
    "street_low": say("street dark"),
    "land_high": say("land burns"),
    "land_low": say("land dark"),
    "sky_clip": say("sky burns"),
    "lamps": say("lamps off"),
}
START_STEP_S: Final = 10
_START_PAGE = 6
_BEFORE_EVENT_S = 600
_ROUND_S = 600


def _filter_text(nd_stops: float) -> str:
    return say_as("filter", "none") if nd_stops == 0.0 else filter_text(nd_stops)


def _spoken_seconds(text: str) -> str:
    if text == "1" or text.startswith("1/"):
        return say("{number} second", number=text)
    return say("{number} seconds", number=text)


@dataclass(frozen=True)
class Setting:
    """A setting with a scale: its key in a shoot, its name, and its value as text and as words."""

    key: SettingKey
    name: str
    text: Callable[[float], str]
    spoken: Callable[[float], str]

    @property
    def label(self) -> str:
        """The name inside a sentence or a step of undo."""
        return within(self.name)

    def value(self, shoot: Shoot) -> float:
        """The value in a shoot."""
        number: float = getattr(shoot, self.key)
        return number


SETTINGS: Final[tuple[Setting, ...]] = (
    Setting("interval_s", say("Interval"), seconds_text, lambda v: _spoken_seconds(number_text(v))),
    Setting(
        "clip_length_s",
        say("Clip length"),
        lambda v: f"{number_text(v, 1)} s",
        lambda v: _spoken_seconds(number_text(v, 1)),
    ),
    Setting("shutter_s", say("Shutter"), shutter_text, lambda v: _spoken_seconds(shutter_name(v))),
    Setting("iso", "ISO", number_text, number_text),
    Setting("f_number", say("f-number"), f_number_text, f_number_text),
    Setting("nd_stops", say("Filter"), _filter_text, filter_text),
    Setting(
        "frame_rate_fps",
        say("Frame rate"),
        lambda v: say("{number} per s", number=number_text(v)),
        lambda v: say("{number} frames per second", number=number_text(v)),
    ),
)


def has_choice(camera: Camera, key: SettingKey) -> bool:
    """Whether a setting can be set at all: a lens of one aperture has no row for it."""
    return key not in ("f_number", "nd_stops") or len(scale_of(camera, key)) > 1


def place_on(scale: Sequence[float], value: float) -> float:
    """Where a value stands on a scale, in steps from 0; between two where it is none of them."""
    return float(np.interp(value, scale, np.arange(len(scale))))


def stepped(scale: Sequence[float], value: float, steps: int) -> float:
    """The value so many real steps on; from between two, the first step goes to the next one."""
    at = place_on(scale, value)
    whole = math.floor(at + 1e-6) if steps > 0 else math.ceil(at - 1e-6)
    return scale[min(max(whole + steps, 0), len(scale) - 1)]


def fine_step(setting: Setting, shoot: Shoot, scale: Sequence[float], steps: int) -> float:
    """The value so many of the finest steps on: one frame of the clip, 1 per s of the rate.

    A camera has nothing finer than its own scale.
    """
    value = setting.value(shoot)
    if setting.key == "clip_length_s":
        frames = max(1, round(value * shoot.frame_rate_fps) + steps)
        return frames / shoot.frame_rate_fps
    if setting.key == "frame_rate_fps":
        return max(1.0, round(value) + float(steps))
    return stepped(scale, value, steps)


def default_of(setting: Setting, scale: Sequence[float]) -> float:
    """The value of a new shoot, as near as this camera has it."""
    field = field_of(f"shoots.A.{setting.key}")
    wanted = field.default if field else None
    if not isinstance(wanted, (int, float)):
        return scale[0]
    if setting.key in ("clip_length_s", "frame_rate_fps"):
        return float(wanted)
    return min(scale, key=lambda value: abs(math.log2((value + 1e-3) / (wanted + 1e-3))))


def runs(good: Sequence[bool]) -> tuple[tuple[int, int], ...]:
    """First and last place of every run of good values."""
    return tuple((run.start, run.stop - 1) for run in runs_of(np.asarray(good, dtype=bool)))


def failing_words(seen: Outlook) -> str:
    """What fails first in a shoot, in a word or two; empty where all holds."""
    if seen.clip.write == "skips":
        return say("skips frames")
    if seen.judgement.slack_stops < 0.0 and seen.judgement.limit is not None:
        return LIMITS_IN_SHORT[seen.judgement.limit]
    return "" if seen.flight.fits else say("battery short")


def row_state(
    setting: Setting,
    plan: Plan,
    seen: Outlook,
    good: Sequence[bool] | None,
    *,
    locked: bool = False,
    before: Shoot | None = None,
) -> RowState:
    """What the row of a setting shows.

    Parameters
    ----------
    good
        Which steps hold; None while it is not known.
    before
        The shoot before a search changed it, if that was the last edit.
    """
    scale = scale_of(plan.camera, setting.key)
    value = setting.value(seen.shoot)
    at = place_on(scale, value)
    found = None if good is None else runs(good)
    outside = bool(found) and not any(a - 0.5 <= at <= b + 0.5 for a, b in found or ())
    fails = failing_words(seen) if outside else ""
    other = plan.shoot("B" if seen.name == "A" else "A")
    return RowState(
        value=setting.text(value),
        slider=SliderState(
            count=len(scale),
            position=at,
            shoot=seen.name,
            other=place_on(scale, setting.value(other)),
            good=found,
            outside=bool(fails),
            locked=locked,
        ),
        note=_note(setting, plan, value, before),
        fails=fails,
        spoken=setting.spoken(value),
        good=_good_words(setting, scale, found),
        locked=locked,
    )


def _note(setting: Setting, plan: Plan, value: float, before: Shoot | None) -> str:
    if before is not None and setting.value(before) != value:
        return say("was {value}", value=setting.text(setting.value(before)))
    apertures = plan.camera.f_numbers
    if setting.key == "shutter_s" and len(apertures) == 1:
        return say("{f_number} fixed", f_number=f_number_text(apertures[0]))
    return ""


def _good_words(
    setting: Setting, scale: Sequence[float], found: tuple[tuple[int, int], ...] | None
) -> str:
    if found is None:
        return ""
    if not found:
        return say("no value of it holds alone")
    spans = (
        say("at {value}", value=setting.spoken(scale[a]))
        if a == b
        else say(
            "from {first} to {last}", first=setting.text(scale[a]), last=setting.spoken(scale[b])
        )
        for a, b in found
    )
    return say("good {spans}", spans=say(" and ").join(spans))


# ---- the start, in seconds of the clock ----


def start_range_s(seen: Outlook, starts: Starts | None) -> tuple[int, int]:
    """First and last start of the slider, UTC seconds, in whole ten minutes from the event.

    From a little before sunset to the sun at -12 degrees (at dawn the other way round), wider
    where the good span or the start itself lies beyond.
    """
    event = seen.night.event.time_s
    first, last = _useful_s(seen)
    wanted = [seen.press_s]
    if starts is not None and starts.earliest_s is not None and starts.latest_s is not None:
        wanted += [starts.earliest_s, starts.latest_s]
    first, last = min(first, *wanted), max(last, *wanted)
    low = event + _ROUND_S * math.floor((first - event) / _ROUND_S)
    high = event + _ROUND_S * math.ceil((last - event) / _ROUND_S)
    return math.floor(low), math.ceil(high)


def _useful_s(seen: Outlook) -> tuple[float, float]:
    night = seen.night
    event = night.event.time_s
    deep = next((m.time_s for m in night.moments if m.name == "nautical"), None)
    if deep is None:
        return starts_window_s(night, seen.light)
    if night.twilight == "dusk":
        return event - _BEFORE_EVENT_S, deep
    return deep, event + _BEFORE_EVENT_S


def minutes_at(night: Night, time_s: float) -> float:
    """A start at a whole second of the clock, in minutes after the event."""
    return (round(time_s) - night.event.time_s) / 60.0


def minutes_in_span(night: Night, span_s: tuple[float, float], time_s: float) -> float:
    """Minutes after the event of the whole second in a span that is nearest to a time in it.

    The time itself where no whole second lies in the span: what is pressed then is a
    fraction off, and what is shown holds.
    """
    first, last = cut_up(span_s[0]), cut_down(span_s[1])
    inside = min(max(round(time_s), first), last) if first <= last else time_s
    return (inside - night.event.time_s) / 60.0


def start_stepped_s(press_s: float, steps: int, *, fine: bool) -> int:
    """The start so many steps on: ten seconds on the clock's tens, or single seconds."""
    whole = round(press_s)
    if fine:
        return whole + steps
    tens = whole // START_STEP_S if steps > 0 else -(-whole // START_STEP_S)
    return (tens + steps) * START_STEP_S


def start_note(seen: Outlook) -> str:
    """The start counted from the sun's event: 'sunset + 43', 'solar noon + 176'."""
    minutes = seen.shoot.start_after_event_min
    sign = MINUS if minutes < 0.0 else "+"
    return f"{EVENT_NAMES[seen.night.event.name]} {sign} {number_text(abs(minutes), 0)}"


def start_state(
    plan: Plan, seen: Outlook, starts: Starts | None, *, locked: bool = False
) -> RowState:
    """What the row of the start shows; its good range is about light alone."""
    first, last = start_range_s(seen, starts)
    name: ShootName = "B" if seen.name == "A" else "A"
    other_s = seen.night.event.time_s + 60.0 * plan.shoot(name).start_after_event_min
    span = _span_s(starts)
    fails = ""
    if span and seen.judgement.slack_stops < 0.0 and seen.judgement.limit is not None:
        fails = LIMITS_IN_SHORT[seen.judgement.limit]
    clock = clock_text(seen.night.clock(seen.press_s), seconds=True)
    return RowState(
        value=clock,
        slider=SliderState(
            count=last - first + 1,
            position=seen.press_s - first,
            shoot=seen.name,
            other=other_s - first if first <= other_s <= last else None,
            good=None if span is None else tuple((a - first, b - first) for a, b in span),
            outside=bool(fails),
            notches=False,
            step=START_STEP_S,
            page=_START_PAGE,
            locked=locked,
        ),
        locked=locked,
        note=start_note(seen),
        fails=fails,
        spoken=say("{clock}, {after} minutes", clock=clock, after=start_note(seen)),
        good=_start_words(seen, span),
    )


def _span_s(starts: Starts | None) -> tuple[tuple[float, float], ...] | None:
    if starts is None:
        return None
    if starts.earliest_s is None or starts.latest_s is None:
        return ()
    return ((starts.earliest_s, starts.latest_s),)


def _start_words(seen: Outlook, span: tuple[tuple[float, float], ...] | None) -> str:
    if span is None:
        return ""
    if not span:
        return say("no start of this night holds")
    first, last = span_texts(seen.night, *span[0])
    if first == last:
        return say("good at {clock}", clock=first)
    return say("good from {first} to {last}", first=first, last=last)
