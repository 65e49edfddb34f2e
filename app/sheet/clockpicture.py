"""The clock track's picture: the night's moments and how instants are written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from app.sheet.clock import MINUTE_S, Axis
from app.sheet.pictures import View, clock_of
from core.language import say
from core.night import MomentName, Night
from core.outlook import Outlook
from core.place import offset_text
from core.plan import SHOOT_NAMES, ShootName
from core.words import MINUS, clock_text

_NAMES: Final[dict[MomentName, str]] = {
    "sunset": "sunset",
    "sunrise": "sunrise",
    "civil": say("sun {minus}6°", minus=MINUS),
    "nautical": say("sun {minus}12°", minus=MINUS),
    "astronomical": say("sun {minus}18°", minus=MINUS),
    "moonrise": "moonrise",
    "moonset": "moonset",
}
_STAND_INS: Final = {"midnight": say("solar midnight"), "noon": say("solar noon")}
# Where names crowd, those of the lower rank go.
_RANKS: Final[dict[str, int]] = {"sunset": 3, "sunrise": 3, "lamps on": 2, "lamps off": 2}


@dataclass(frozen=True)
class Named:
    """A moment of the night on the axis; the higher rank keeps its name where they crowd."""

    words: str
    axis_s: float
    rank: int


@dataclass(frozen=True)
class ClockPicture:
    """What the clock track shows beside its ticks."""

    second_line: str
    moments: tuple[Named, ...]
    offset_s: float
    description: str


def moments_of(outlook: Outlook, axis: Axis) -> tuple[Named, ...]:
    """The moments of the active shoot's night that lie on the axis, in time order."""
    night, light = outlook.night, outlook.light
    named = [(_NAMES[moment.name], moment.time_s) for moment in night.moments]
    if night.event.name in _STAND_INS:
        named.append((_STAND_INS[night.event.name], night.event.time_s))
    if night.twilight == "dusk" and light.lamps_on_s is not None:
        named.append((say("lamps on"), light.lamps_on_s))
    if night.twilight == "dawn" and light.lamps_off_s is not None:
        named.append((say("lamps off"), light.lamps_off_s))
    placed = ((words, axis.of(time_s, outlook.name)) for words, time_s in named)
    return tuple(
        Named(words, axis_s, _RANKS.get(words, 1))
        for words, axis_s in sorted(placed, key=lambda pair: pair[1])
        if axis.first_s <= axis_s <= axis.last_s
    )


def clock_picture(view: View, axis: Axis) -> ClockPicture:
    """The clock under the plot, by the active shoot's night."""
    outlook = view.outlook
    night = outlook.night
    if axis.event is None:
        second = offset_text(night.time_zone, outlook.press_s).replace("-", MINUS)
        offset = night.clock(axis.first_s).utcoffset()
        offset_s = offset.total_seconds() if offset is not None else 0.0
        first, last = (clock_text(night.clock(t)) for t in (axis.first_s, axis.last_s))
        description = say(
            "Local time, {second}, from {first} to {last}.", second=second, first=first, last=last
        )
    else:
        second, offset_s = say("min from {event}", event=axis.event), 0.0
        first, last = (tick_text(night, axis, t) for t in (axis.first_s, axis.last_s))
        description = say(
            "Minutes from {event}, from {first} to {last}.",
            event=axis.event,
            first=first,
            last=last,
        )
    return ClockPicture(second, moments_of(outlook, axis), offset_s, description)


def tick_text(night: Night, axis: Axis, axis_s: float) -> str:
    """What stands at a tick: '19:20', or '+40' where the axis counts from an event."""
    if axis.event is None:
        return clock_text(night.clock(axis_s))
    minutes = round(axis_s / MINUTE_S)
    return f"+{minutes}" if minutes > 0 else str(minutes).replace("-", MINUS)


def cursor_text(night: Night, axis: Axis, axis_s: float) -> str:
    """What the cursor's chip says: '19:29:34', or '+52:00' from an event."""
    if axis.event is None:
        return clock_of(night, axis_s)
    minutes, seconds = divmod(round(abs(axis_s)), 60)
    sign = MINUS if axis_s < 0.0 else "+"
    return f"{sign}{minutes}:{seconds:02d}"


def both_clocks(view: View, axis: Axis, axis_s: float) -> tuple[tuple[ShootName, str], ...]:
    """Each shoot's own clock at a place of an axis that counts from events."""
    at_s = {name: axis.utc_s(axis_s, name) for name in SHOOT_NAMES}
    return tuple((name, clock_of(view.outlooks[name].night, at_s[name])) for name in SHOOT_NAMES)
