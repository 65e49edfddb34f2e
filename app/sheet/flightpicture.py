"""Pictures of the flights along the clock and of the active flight's charge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.sheet.clock import MINUTE_S, Axis
from app.sheet.pictures import View
from core.clocks import clock_cut
from core.exposure import FloatArray
from core.flight import Flight
from core.language import say
from core.outlook import Outlook
from core.plan import ShootName
from core.words import clock_text, cut_down, cut_up, duration_text, minutes_text, percent_text


@dataclass(frozen=True)
class FlightPicture:
    """One flight on the clock, in axis seconds; `error` says why it cannot be flown.

    `empty_s` is where the battery is empty before the craft is down; None where it lasts.

    Words stand with the shorter ones after them, for where there is no room.
    """

    name: ShootName
    first_s: float
    last_s: float
    take_s: tuple[float, float]
    legs_s: tuple[float, ...]
    take_words: tuple[str, ...]
    take_off_words: tuple[str, ...]
    down_words: tuple[str, ...]
    empty_s: float | None
    error: str
    error_words: tuple[str, ...]
    description: str


def flight_picture(view: View, name: ShootName, axis: Axis) -> FlightPicture:
    """The flight of a shoot: take-off, legs, take, landing."""
    outlook = view.outlooks[name]
    take_s = (axis.of(outlook.press_s, name), axis.of(outlook.last_frame_s, name))
    shooting = duration_text(outlook.clip.shooting_s)
    words = (say("take {shooting}", shooting=shooting), shooting)
    if outlook.take_off_s is None:
        unflown = outlook.flight.unflown
        error = "" if unflown is None else unflown.text
        said = () if unflown is None else _error_words(unflown.fact)
        return FlightPicture(name, *take_s, take_s, (), words, (), (), None, error, said, error)
    flight = outlook.flight
    first_s = axis.of(outlook.take_off_s, name)
    ends = tuple(first_s + part.starts_min * MINUTE_S for part in flight.segments)
    total_min = flight.segments[-1].starts_min + flight.segments[-1].minutes
    off = clock_cut(outlook.night, outlook.take_off_s)
    empty_min = flight.empty_min
    if empty_min is None:
        at_end = down_words(outlook, total_min)
    else:
        at_end = empty_words(outlook, empty_min)
    return FlightPicture(
        name=name,
        first_s=first_s,
        last_s=first_s + total_min * MINUTE_S,
        take_s=take_s,
        legs_s=tuple(end for end in ends if not take_s[0] <= end <= take_s[1])[1:],
        take_words=words,
        take_off_words=(say("take-off {off}", off=off), off),
        down_words=at_end,
        empty_s=None if empty_min is None else first_s + empty_min * MINUTE_S,
        error="",
        error_words=(),
        description=say(
            "Take-off {off}, take {shooting}, {down}.", off=off, shooting=shooting, down=at_end[0]
        ),
    )


def empty_words(outlook: Outlook, empty_min: float) -> tuple[str, str]:
    """When the battery is empty, cut down to the minute; shorter for where room is short."""
    empty_s = cut_down((outlook.take_off_s or 0.0) + empty_min * MINUTE_S, MINUTE_S)
    clock = clock_text(outlook.night.clock(empty_s))
    return (
        say("empty {clock}, before it is down", clock=clock),
        say("empty {clock}", clock=clock),
    )


def _error_words(fact: str) -> tuple[str, ...]:
    """The fact alone, then shorter: the whole of it stands among the findings."""
    return fact, say("cannot be flown, see the findings"), say("cannot be flown")


def down_words(outlook: Outlook, total_min: float) -> tuple[str, str]:
    """When the craft is down and how long it flew, both up: 'down 19:36, 16.6 min'; shorter."""
    down_s = (outlook.take_off_s or 0.0) + total_min * MINUTE_S
    clock = clock_text(outlook.night.clock(cut_up(down_s, MINUTE_S)))
    total = minutes_text(cut_up(total_min, 0.1))
    return say("down {clock}, {total}", clock=clock, total=total), say("down {clock}", clock=clock)


@dataclass(frozen=True)
class ChargeHead:
    """The charge track's head: clock time to stop by, then the charge on the gauge."""

    clock: str
    seconds: str
    percent: str


@dataclass(frozen=True)
class ChargePicture:
    """The active flight's charge as its gauge shows it, [%], over axis seconds.

    `flown` runs from take-off to landing, or to the latest stop where the take does not
    fit; `beyond` goes on dotted from there. The foot is the latest last frame.
    """

    name: ShootName
    head: ChargeHead
    flown_s: FloatArray
    flown_percent: FloatArray
    beyond_s: FloatArray
    beyond_percent: FloatArray
    reserve_percent: float
    reserve_words: str
    stop_percent: float
    stop_words: str
    bracket_s: tuple[float, float]
    margin_words: str
    by_words: str
    short: bool
    landing_words: str
    description: str

    def at(self, axis_s: float) -> float | None:
        """What the gauge shows at a place of the axis, [%]; None outside the flight."""
        if not self.flown_s[0] <= axis_s <= self.flown_s[-1]:
            return None
        return float(np.interp(axis_s, self.flown_s, self.flown_percent))


def charge_picture(view: View, axis: Axis) -> ChargePicture | None:
    """The charge along the active flight; None where it cannot be flown."""
    outlook, flight = view.outlook, view.outlook.flight
    if (
        outlook.take_off_s is None
        or outlook.latest_stop_s is None
        or flight.stop_at_exact_percent is None
        or flight.stop_at_percent is None
        or flight.margin_min is None
        or flight.landing_percent is None
    ):
        return None
    name = outlook.name
    first_s = axis.of(outlook.take_off_s, name)
    last_frame_s, foot_s = (
        axis.of(time_s, name) for time_s in (outlook.last_frame_s, outlook.latest_stop_s)
    )
    short = flight.margin_min < 0.0
    stop = flight.stop_at_exact_percent
    whole_s, whole = _line(flight, first_s)
    flown_s, flown = _until(whole_s, whole, foot_s) if short else (whole_s, whole)
    beyond_s, beyond = _slope(flight, first_s, last_frame_s, foot_s, stop, short=short)
    clock = clock_cut(outlook.night, outlook.latest_stop_s)
    margin, by = margin_words(flight.margin_min), say("last frame by {clock}", clock=clock)
    percent = percent_text(flight.stop_at_percent)
    return ChargePicture(
        name=name,
        head=_head(clock, percent),
        flown_s=flown_s,
        flown_percent=flown,
        beyond_s=beyond_s,
        beyond_percent=beyond,
        reserve_percent=_reading(flight, view.plan.flight.reserve_percent),
        reserve_words=reserve_words(flight, view.plan.flight.reserve_percent),
        stop_percent=stop,
        stop_words=say("stop at {percent}", percent=percent),
        bracket_s=(min(last_frame_s, foot_s), max(last_frame_s, foot_s)),
        margin_words=margin,
        by_words=by,
        short=short,
        landing_words="" if short else landing_words(flight, flight.landing_percent),
        description=say(
            "Stop by {clock} at {percent} on the gauge; {margin}.",
            clock=clock,
            percent=percent,
            margin=margin,
        ),
    )


def _head(clock: str, percent: str) -> ChargeHead:
    """The head, its clock parted before the seconds: '19:35' and ':46', '7:35' and ':46 pm'."""
    minute, colon, seconds = clock.rpartition(":")
    return ChargeHead(minute, colon + seconds, percent)


def margin_words(margin_min: float) -> str:
    """Minutes to spare, cut down; a shortage goes up: '1.6 min to spare', '1.4 min short'."""
    if margin_min < 0.0:
        return say("{minutes} short", minutes=minutes_text(cut_up(-margin_min, 0.1)))
    return say("{minutes} to spare", minutes=minutes_text(cut_down(margin_min, 0.1)))


def landing_words(flight: Flight, landing_percent: float) -> str:
    """True charge after landing, cut down, and what the gauge shows where it reads higher."""
    return say(
        "lands with {charge}",
        charge=_true_and_shown(flight, cut_down(landing_percent), landing_percent),
    )


def reserve_words(flight: Flight, reserve_percent: float) -> str:
    """The charge that is never planned, and what the gauge shows where it reads higher."""
    return say(
        "reserve {charge}, never planned",
        charge=_true_and_shown(flight, reserve_percent, reserve_percent),
    )


def _true_and_shown(flight: Flight, figure: float, charge_percent: float) -> str:
    shown = cut_up(_reading(flight, charge_percent))
    text = percent_text(figure)
    return (
        text
        if shown - charge_percent < 1.0
        else say("{charge}, shown as {reading}", charge=text, reading=percent_text(shown))
    )


def _reading(flight: Flight, charge_percent: float) -> float:
    return flight.gauge.reading_percent(charge_percent)


def _line(flight: Flight, first_s: float) -> tuple[FloatArray, FloatArray]:
    """The gauge from take-off to landing."""
    first = flight.segments[0]
    minutes = np.array(
        [first.starts_min, *(part.starts_min + part.minutes for part in flight.segments)]
    )
    return first_s + minutes * MINUTE_S, flight.gauge_at(minutes)


def _until(axis_s: FloatArray, percent: FloatArray, last_s: float) -> tuple[FloatArray, FloatArray]:
    kept = axis_s < last_s
    end = np.interp(last_s, axis_s, percent)
    return np.append(axis_s[kept], last_s), np.append(percent[kept], end)


def _slope(
    flight: Flight,
    first_s: float,
    last_frame_s: float,
    foot_s: float,
    stop_percent: float,
    *,
    short: bool,
) -> tuple[FloatArray, FloatArray]:
    """The take's slope beyond the line: down to the foot, or below it to the last frame."""
    ends = np.array([foot_s, last_frame_s] if short else [last_frame_s, foot_s])
    at_frame = float(flight.gauge_at(np.array((last_frame_s - first_s) / MINUTE_S)))
    percent = [stop_percent, at_frame] if short else [at_frame, stop_percent]
    return ends, np.array(percent)
