"""The clock track's picture: the night's moments and how instants are written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from app.sheet.clock import MINUTE_S, Axis
from app.sheet.pictures import View, clock_of
from core.language import say
from core.night import Night
from core.outlook import Outlook
from core.phrases import EVENT_NAMES, MOMENT_NAMES
from core.place import offset_text
from core.plan import SHOOT_NAMES, ShootName
from core.words import MINUS, clock_text

# Where names crowd, those of the lower rank go.
_SUN_RANK, _LAMPS_RANK, _RANK = 3, 2, 1


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
    placed = ((words, axis.of(at_s, outlook.name), rank) for words, at_s, rank in _named(outlook))
    return tuple(
        Named(words, axis_s, rank)
        for words, axis_s, rank in sorted(placed, key=lambda one: one[1])
        if axis.first_s <= axis_s <= axis.last_s
    )


def _named(outlook: Outlook) -> Iterator[tuple[str, float, int]]:
    """Name, UTC seconds and rank of every moment of a night."""
    night, light = outlook.night, outlook.light
    for moment in night.moments:
        rank = _SUN_RANK if moment.name in ("sunset", "sunrise") else _RANK
        yield MOMENT_NAMES[moment.name], moment.time_s, rank
    if night.event.name in ("midnight", "noon"):
        yield EVENT_NAMES[night.event.name], night.event.time_s, _RANK
    if night.twilight == "dusk" and light.lamps_on_s is not None:
        yield say("lamps on"), light.lamps_on_s, _LAMPS_RANK
    if night.twilight == "dawn" and light.lamps_off_s is not None:
        yield say("lamps off"), light.lamps_off_s, _LAMPS_RANK


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
            "Local time, {offset}, from {first} to {last}.", offset=second, first=first, last=last
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
