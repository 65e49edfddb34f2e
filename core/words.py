"""Figures, clocks and settings as they stand on screens, cards and in sentences.

Minus is the real minus sign; thousands are set apart by a thin space from five
digits on (SI Brochure, 9th edition, 5.4.4).
"""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Literal

from core.language import decimal_mark, say, say_as, say_count
from core.manner import manner

THIN_SPACE = "\u2009"
#: Between a clock and its half of the day; no line breaks there.
NARROW_SPACE = "\u202f"
MINUS = "\u2212"
#: What stands where there is nothing to show.
NOTHING = "\N{EN DASH}"
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°C|°F|m/s|mph|min|mm|km|mi|ft|GB|MB|px|lx|kg|lb|am|pm|[msh])(?!\w))"
    r"|(?<=ISO) (?=\d)"
)

# The names engraved on shutter dials, third by third, beside the exact times
# 2^(k/3) s that cameras make of them; k counts up from the first.
_FIRST_THIRD = -39
_TRADE_NAMES = (
    "1/8000", "1/6400", "1/5000", "1/4000", "1/3200", "1/2500", "1/2000", "1/1600", "1/1250",
    "1/1000", "1/800", "1/640", "1/500", "1/400", "1/320", "1/250", "1/200", "1/160", "1/125",
    "1/100", "1/80", "1/60", "1/50", "1/40", "1/30", "1/25", "1/20", "1/15", "1/13",
    "1/10", "1/8", "1/6", "1/5", "1/4", "0.3", "0.4", "0.5", "0.6", "0.8",
    "1", "1.3", "1.6", "2", "2.5", "3.2", "4", "5", "6", "8",
    "10", "13", "15", "20", "25", "30", "40", "50", "60", "80", "100",
)  # fmt: skip
SHUTTERS_BY_NAME: dict[str, float] = {
    name: round(2.0 ** (k / 3.0), 6) for k, name in enumerate(_TRADE_NAMES, _FIRST_THIRD)
}
# A mark is 26 % from its neighbour and at least 0.79 % from its own name.
_MARK_TOLERANCE = 0.005
# Waits shorter than this are told to the tenth of a minute.
_TENTHS_MIN = 10.0
#: From here on pixels are told whole.
_MANY_PX = 10.0
# Decimals that a pilot types: what has more is taken for a conversion's.
_TYPED_PLACES = 3


# Rounding that arithmetic leaves behind must not push a figure over a step.
_NEAR = 1e-6


def cut_up(value: float, step: float = 1.0) -> float:
    """Return the next step at or above a value."""
    return math.ceil(value / step - _NEAR) * step


def cut_down(value: float, step: float = 1.0) -> float:
    """Return the next step at or below a value."""
    return math.floor(value / step + _NEAR) * step


def number_text(value: float, digits: int | None = None) -> str:
    """Write a number with real minus and thin thousands.

    Parameters
    ----------
    value
        Any finite number.
    digits
        Digits after the point; None shows up to six significant ones and no
        trailing zeros.

    Raises
    ------
    ValueError
        For a value that is not finite: what does not exist is not shown as a number.
    """
    if not math.isfinite(value):
        raise ValueError("Only a finite number has a text.")
    places = _places(value) if digits is None else digits
    plain = f"{abs(value):.{places}f}"
    if digits is None and "." in plain:
        plain = plain.rstrip("0").rstrip(".")
    sign = MINUS if value < 0.0 and plain.strip("0.") else ""
    return sign + _grouped(plain).replace(".", decimal_mark())


def shortage_text(margin_min: float) -> str:
    """Minutes missing, rounded up to a tenth: battery figures go to the unlucky side."""
    return number_text(cut_up(-margin_min, 0.1), 1)


def battery_short_text(margin_min: float) -> str:
    """Say by how much the battery is short, for a margin below zero in minutes."""
    return say(
        "The battery ends {shortage} min before the last frame.",
        shortage=shortage_text(margin_min),
    )


def spare_text(margin_min: float) -> str:
    """Minutes to spare, rounded down to a tenth."""
    return number_text(cut_down(margin_min, 0.1), 1)


def amount_text(value: float, digits: int | None) -> str:
    """Write a number as typed, or what a conversion left behind with so many decimals.

    A value of up to three decimals stands as it is: '3.77'. Another is rounded to `digits`
    decimals, or to two significant figures where those are finer: 40 km/h is '11.1' m/s.
    None for `digits` shows six significant figures.
    """
    if digits is None or math.isclose(value, round(value, _TYPED_PLACES), rel_tol=1e-12):
        return number_text(value)
    return number_text(round(value, max(digits, _places(value) - 4)))


def _places(value: float) -> int:
    """Return the digits after the point that show six significant figures."""
    size = math.floor(math.log10(abs(value))) if value else 0
    return max(0, 5 - size)


def _grouped(plain: str) -> str:
    whole, point, rest = plain.partition(".")
    if len(whole) > 4:  # four digits stay together (SI Brochure 5.4.4)
        whole = f"{int(whole):,}".replace(",", THIN_SPACE)
    return whole + point + rest


def signed_text(value: float, digits: int = 1) -> str:
    """Write a number that always shows its sign, as stops do: '+2.2', '−2.4', '0.0'."""
    text = number_text(value, digits)
    return text if text.startswith(MINUS) or not text.strip("0.,") else f"+{text}"


def short_text(stops: float) -> str:
    """Write how far past a limit something is, cut up to the tenth: '0.4 stop', '1.3 stops'."""
    cut = cut_up(stops, 0.1)
    return stops_text(number_text(cut, 1), cut)


def stops_text(figure: str, stops: float) -> str:
    """Put the word behind a figure of so many stops: '0.4 stop', '−1.3 stops'."""
    count = 1 if abs(stops) < 1.05 else 2
    return say_count("{stops} stop", "{stops} stops", count, stops=figure)


def slack_text(stops: float) -> str:
    """Write the distance to a limit, cut down to the tenth: '+0.7 stop', '−1.3 stops'.

    '–' where nothing limits, and the distance is infinite.
    """
    if not math.isfinite(stops):
        return NOTHING
    cut = cut_down(stops, 0.1)
    return stops_text(signed_text(cut), cut)


def shutter_name(shutter_s: float) -> str:
    """Return what the dial says for a shutter time in seconds (> 0), without the unit.

    A time within 0.5 % of a third-stop 2^(k/3) s has the mark's trade name
    (1/60 for 1/64 s); another is shown as the fraction or decimal it is.
    """
    mark = _mark_name(shutter_s)
    whole = round(1.0 / shutter_s)
    if not mark and whole >= 4 and abs(shutter_s * whole - 1.0) < 0.001:
        return f"1/{whole}"
    # What is shown is typed again: cut to three figures, a time may come to a mark.
    cut_s = float(f"{shutter_s:.3g}")
    return mark or _mark_name(cut_s) or number_text(cut_s)


def _mark_name(shutter_s: float) -> str:
    """The trade name of a time on a mark of the dial; '' beside the marks."""
    thirds = round(3.0 * math.log2(shutter_s))
    on_mark = abs(shutter_s / 2.0 ** (thirds / 3.0) - 1.0) < _MARK_TOLERANCE
    if on_mark and 0 <= thirds - _FIRST_THIRD < len(_TRADE_NAMES):
        return _TRADE_NAMES[thirds - _FIRST_THIRD].replace(".", decimal_mark())
    return ""


def shutter_text(shutter_s: float) -> str:
    """Write a shutter time as the trade writes it: '1/4 s', '0.3 s', '1 s', '1.3 s'."""
    return f"{shutter_name(shutter_s)} s"


def seconds_text(value_s: float) -> str:
    """Write seconds: '3 s', '2.5 s'."""
    return f"{number_text(value_s)} s"


def minutes_text(value_min: float, digits: int = 1) -> str:
    """Write minutes to a tenth: '1.4 min'."""
    return say("{minutes} min", minutes=number_text(value_min, digits))


def wait_text(wait_min: float) -> str:
    """Write a wait, cut down so that nobody comes late: '4.5 min', '45 min', '2 h 10 min'."""
    if wait_min < _TENTHS_MIN:
        return minutes_text(cut_down(wait_min, 0.1))
    hours, minutes = divmod(int(cut_down(wait_min)), 60)
    return (
        say("{hours} h {minutes} min", hours=hours, minutes=minutes)
        if hours
        else say("{minutes} min", minutes=minutes)
    )


def unbroken(text: str) -> str:
    """Return a text whose figures stay with their units where it breaks: '109 m', 'ISO 100'."""
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)


def utc_text(time_s: float) -> str:
    """Write the clock of UTC at an instant to the second, whatever clock the pilot keeps."""
    return f"{dt.datetime.fromtimestamp(round(time_s), dt.UTC):%H:%M:%S}"


def duration_text(duration_s: float) -> str:
    """Write minutes and seconds, hours where needed: '11:57', '1:02:05', '−0:20'."""
    whole_s = round(abs(duration_s))
    minutes, seconds = divmod(whole_s, 60)
    hours, minutes = divmod(minutes, 60)
    sign = MINUS if duration_s < 0.0 and whole_s else ""
    if hours:
        return f"{sign}{hours}:{minutes:02d}:{seconds:02d}"
    return f"{sign}{minutes}:{seconds:02d}"


def clock_text(moment: dt.datetime, *, seconds: bool = False) -> str:
    """Write the clock at an aware moment, rounded to the minute or second.

    '19:22:10', or '7:22:10 pm' for a pilot of a clock of twelve hours.

    Seconds belong only to something to press.
    """
    step_s = 1 if seconds else 60
    # Rounded on the instant, so that a change of the clock in between is kept.
    rounded_s = math.floor(moment.timestamp() / step_s + 0.5) * step_s
    clock = dt.datetime.fromtimestamp(rounded_s, moment.tzinfo)
    return time_text(clock.time(), seconds=seconds)


def plain_time(time: dt.time) -> str:
    """Write a time of day as files have it: '18:00', '06:30:15' where it has seconds."""
    return time.isoformat("seconds" if time.second else "minutes")


def time_text(time: dt.time, *, seconds: bool | None = None) -> str:
    """Write a time of day: '18:00', '6:00 pm'; with its seconds, where it has any, for None."""
    rest = f":{time.minute:02d}"
    if seconds or (seconds is None and time.second):
        rest += f":{time.second:02d}"
    if manner().hours == "24":
        return f"{time.hour:02d}{rest}"
    half = "am" if time.hour < 12 else "pm"
    return f"{time.hour % 12 or 12}{rest}{NARROW_SPACE}{half}"


def event_text(event: str) -> str:
    """Name the event that a night's starts count from: 'sunset', 'solar noon'."""
    solar = {"midnight": say("solar midnight"), "noon": say("solar noon")}
    return solar.get(event) or event_name(event)


def event_name(event: str) -> str:
    """Name an event of the sun where no other is near: 'sunset', 'noon'."""
    names = {
        "sunset": say("sunset"),
        "sunrise": say("sunrise"),
        "midnight": say_as("of the sun", "midnight"),
        "noon": say_as("of the sun", "noon"),
    }
    return names[event]


def after_event_text(event: str, minutes: float) -> str:
    """Write a start counted from the sun's event: '19 min after sunset'."""
    figure, named = number_text(abs(minutes), 0), event_text(event)
    if minutes < 0.0:
        return say("{minutes} min before {event}", minutes=figure, event=named)
    return say("{minutes} min after {event}", minutes=figure, event=named)


def frames_count_text(frames: int) -> str:
    """Write so many frames: '1 frame', '300 frames'."""
    return say_count("{count} frame", "{count} frames", frames)


def degrees_text(angle_deg: float, digits: int = 0) -> str:
    """Write an angle: '−15°', '−6.2°' with `digits` = 1."""
    return f"{number_text(angle_deg, digits)}°"


def coordinate_text(angle_deg: float) -> str:
    """Write a latitude or longitude to 0.00001°, about a metre: '−45.12345°'."""
    plain = number_text(angle_deg, 5).rstrip("0").rstrip(".,")
    return f"{plain}°"


def bearing_text(bearing_deg: float) -> str:
    """Write a course or azimuth in three figures, any angle taken round: '050°'."""
    return f"{round(bearing_deg) % 360:03d}°"


_FIRST, _LAST = say_as("station", "first"), say_as("station", "last")
_ORDER = (
    say_as("station", "second"),
    say_as("station", "third"),
    say_as("station", "fourth"),
    say_as("station", "fifth"),
    say_as("station", "sixth"),
    say_as("station", "seventh"),
    say_as("station", "eighth"),
    say_as("station", "ninth"),
    say_as("station", "tenth"),
)


def station_word(place: int, count: int) -> str:
    """Name a station by its place on the path, counted from 0: 'first', 'second', 'last'."""
    if place == 0:
        return _FIRST
    if place == count - 1:
        return _LAST
    return _ORDER[place - 1] if place <= len(_ORDER) else say("{place}th", place=place + 1)


def percent_text(percent: float, digits: int = 0) -> str:
    """Write a percentage of 0..100: '36 %'."""
    return f"{number_text(percent, digits)} %"


def px_text(px: float) -> str:
    """Write pixels, with a tenth while they are few: '3.4 px', '12 px'."""
    return say("{px} px", px=number_text(px, 1 if px < _MANY_PX else 0))


def share_text(share: float, digits: int = 0) -> str:
    """Write a share of 0..1 as a percentage: '17 %'."""
    return percent_text(100.0 * share, digits)


def burnt_text(share: float) -> str:
    """Write a burnt share of 0..1, cut up to the percent: '9 %' for 0.083."""
    return percent_text(cut_up(100.0 * share))


def kept_text(share: float) -> str:
    """Write a share of 0..1 that is kept or holds, cut down to the percent: '99 %' for 0.996."""
    return percent_text(cut_down(100.0 * share))


def chance_text(chance: float) -> str:
    """Write a chance of 0..1 in whole tenths, cut down, never more than nine: '7 times in 10'.

    Below a tenth it is 'less than once in 10'; and light is never surer than nine.
    """
    tenths = min(9, math.floor(10.0 * chance + _NEAR))
    if tenths < 1:
        return say("less than once in 10")
    return say("once in 10") if tenths == 1 else say("{tenths} times in 10", tenths=tenths)


def iso_text(iso: float) -> str:
    """Write a sensitivity: 'ISO 1600'."""
    return say("ISO {iso}", iso=number_text(iso))


def f_number_text(f_number: float) -> str:
    """Write an aperture: 'f/1.8'."""
    return f"f/{number_text(f_number)}"


def filter_text(nd_stops: float) -> str:
    """Write a neutral filter by its factor: 'no filter', 'ND 8' (3 stops), '3.3 stops'.

    Ten stops are sold as ND 1000 (common practice, no source).
    """
    nd_stops = round(nd_stops, 2)
    if nd_stops == 0.0:
        return say("no filter")
    if not nd_stops.is_integer():
        return say("{stops} stops", stops=amount_text(nd_stops, 2))
    factor = 1000 if nd_stops == 10.0 else 2 ** int(nd_stops)
    return say("ND {factor}", factor=factor)


def listed(words: tuple[str, ...], last: Literal["or", "and"] = "or") -> str:
    """Join words in a sentence: 'level, clock or offset'."""
    if len(words) < 2:
        return "".join(words)
    first, end = ", ".join(words[:-1]), words[-1]
    if last == "and":
        return say("{first} and {last}", first=first, last=end)
    return say("{first} or {last}", first=first, last=end)
