"""The Nights window in words and figures: its head, its table, the picture of its year."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from core.clocks import seconds_span
from core.dates import date_text, short_date, weekday_text
from core.language import say, say_as, say_count
from core.lightwords import LIMIT_WORDS
from core.moved import at_same_sun_s
from core.names import twilight_text
from core.nights import Flag, NightSeen
from core.nightsreport import flag_words
from core.nightyear import (
    ClockChange,
    YearTones,
    clock_changes,
    clock_hours,
    has_event,
    runs,
    year_tones,
)
from core.outlook import Outlook
from core.plan import Plan, Shoot, ShootName, Twilight
from core.takewords import every_text, locked_texts
from core.words import (
    NOTHING,
    cut_down,
    degrees_text,
    frames_count_text,
    minutes_text,
    seconds_text,
    share_text,
    short_text,
    signed_text,
)
from core.words import clock_text as clock

#: A moon lit less or more than so is called new or full.
_NEW, _FULL = 0.02, 0.98

ColumnKey = Literal[
    "night", "event", "good", "best", "span", "chance", "clip", "decay", "moon", "remarks"
]
COLUMNS: Final[tuple[ColumnKey, ...]] = (
    "night", "event", "good", "best", "span", "chance", "clip", "decay", "moon", "remarks",
)  # fmt: skip
_HEADS: Final[dict[ColumnKey, str]] = {
    "night": say("Night"),
    "good": say("Good starts"),
    "best": say("Best"),
    "span": say("Span"),
    "chance": say("Chance"),
    "clip": say("Clip fits"),
    "decay": say("Light lost"),
    "moon": say("Moon"),
    "remarks": say("Remarks"),
}
#: Flags that ask for care; the others only tell.
CAUTIONS: Final[frozenset[Flag]] = frozenset({"moon", "past_midnight"})
#: What the battery gives is the same on every night, and has its column.
_WITH_COLUMN: Final[frozenset[Flag]] = frozenset({"battery"})


@dataclass(frozen=True)
class NightRow:
    """One line of the table: each cell's text, and the figure it is sorted by."""

    seen: NightSeen
    texts: dict[ColumnKey, str]
    figures: dict[ColumnKey, float]
    caution: bool


@dataclass(frozen=True)
class Ribbon:
    """A run of nights drawn as one: their indices, and two hours of the clock for each."""

    first: int
    low_h: tuple[float, ...]
    high_h: tuple[float, ...]


@dataclass(frozen=True)
class Hatched:
    """A run of nights without a start, and why in words."""

    first: int
    last: int
    words: str


@dataclass(frozen=True)
class YearPicture:
    """All that the picture of many nights shows; hours are those of `core.nightyear`."""

    name: ShootName
    seen: tuple[NightSeen, ...]
    tones: YearTones
    ribbons: tuple[Ribbon, ...]
    events: tuple[Ribbon, ...]
    hatched: tuple[Hatched, ...]
    changes: tuple[ClockChange, ...]
    event_word: str
    description: str


def heads(rows: Sequence[NightRow]) -> dict[ColumnKey, str]:
    """The heads of the columns; the event's is that of most of the nights."""
    dusk = not rows or rows[0].seen.night.twilight == "dusk"
    return {**_HEADS, "event": say("Sunset") if dusk else say("Sunrise")}


def night_row(seen: NightSeen) -> NightRow:
    """A night as a line of the table."""
    texts: dict[ColumnKey, str] = {
        "night": weekday_text(seen.night.date),
        "event": _event_words(seen),
        **_span_texts(seen),
        "clip": _clip_words(seen),
        "decay": say("{stops} stop/min", stops=signed_text(seen.decay_stops_per_min, 2)),
        "moon": _moon_words(seen),
        "remarks": flag_words(seen, without=_WITH_COLUMN),
    }
    nowhere = float("inf")
    figures: dict[ColumnKey, float] = {
        "night": seen.night.date.toordinal(),
        "event": clock_hours(seen, seen.night.event.time_s),
        "good": nowhere if seen.earliest_s is None else clock_hours(seen, seen.earliest_s),
        "best": nowhere if seen.best_s is None else clock_hours(seen, seen.best_s),
        "span": span_min(seen),
        "chance": -1.0 if seen.p_hold is None else seen.p_hold,
        "clip": -1.0 if seen.clip_length_s is None else seen.clip_length_s,
        "decay": seen.decay_stops_per_min,
        "moon": seen.moon_share,
        "remarks": -float(len(set(seen.flags) - _WITH_COLUMN)),
    }
    return NightRow(seen, texts, figures, bool(CAUTIONS & set(seen.flags)))


def span_min(seen: NightSeen) -> float:
    """Minutes from the first good start to the last; -1 without any."""
    if seen.earliest_s is None or seen.latest_s is None:
        return -1.0
    return (seen.latest_s - seen.earliest_s) / 60.0


def year_picture(plan: Plan, name: ShootName, seen: tuple[NightSeen, ...]) -> YearPicture:
    """The picture of some nights that follow one another; one at least."""
    changes = clock_changes(seen)
    return YearPicture(
        name=name,
        seen=seen,
        tones=year_tones(plan, name, seen),
        ribbons=tuple(
            Ribbon(
                first,
                tuple(clock_hours(one, one.earliest_s or 0.0) for one in seen[first : last + 1]),
                tuple(clock_hours(one, one.latest_s or 0.0) for one in seen[first : last + 1]),
            )
            for first, last in _parted(runs(seen, lambda one: one.best_s is not None), changes)
        ),
        events=tuple(
            Ribbon(first, hours, hours)
            for first, last in _parted(runs(seen, has_event), changes)
            for hours in [
                tuple(clock_hours(one, one.night.event.time_s) for one in seen[first : last + 1])
            ]
        ),
        hatched=tuple(
            Hatched(first, last, _why(seen[first : last + 1]))
            for first, last in runs(seen, lambda one: one.best_s is None)
        ),
        changes=changes,
        event_word=say("sunset") if seen[0].night.twilight == "dusk" else say("sunrise"),
        description=head_words(name, seen),
    )


def head_words(name: ShootName, seen: Sequence[NightSeen]) -> str:
    """How many nights hold a start, as '305 of 366 nights hold a start for A'."""
    good = sum(night.best_s is not None for night in seen)
    if len(seen) == 1:
        if good:
            return say("This night holds a start for {name}.", name=name)
        return say("This night holds no start for {name}.", name=name)
    if good == len(seen):
        return say("All {good} nights hold a start for {name}.", good=good, name=name)
    if not good:
        return say("None of {nights} nights holds a start for {name}.", nights=len(seen), name=name)
    return say_count(
        "{count} of {nights} nights holds a start for {name}.",
        "{count} of {nights} nights hold a start for {name}.",
        good,
        nights=len(seen),
        name=name,
    )


def about_words(plan: Plan, name: ShootName, seen: Sequence[NightSeen]) -> str:
    """What the nights were asked for, and which has the longest span."""
    place = " ".join("".join(c if c.isprintable() else " " for c in plan.place.name).split())
    told = say(
        "{place}, {twilight}. {name}: {settings}, in the weather typed for it on every night.",
        place=place,
        twilight=twilight_text(seen[0].night.twilight),
        name=name,
        settings=_settings_words(plan.shoot(name)),
    )
    longest = max(seen, key=span_min)
    if longest.best_s is None:
        return told
    minutes = minutes_text(cut_down(span_min(longest), 0.1))
    return say(
        "{told} The longest span is {minutes} on {date}.",
        told=told,
        minutes=minutes,
        date=short_date(longest.night.date),
    )


@dataclass(frozen=True)
class SameSun:
    """The sun at a shoot's planned start, to be looked for on other nights."""

    name: ShootName
    date: dt.date
    twilight: Twilight
    clock: str
    altitude_deg: float

    @classmethod
    def of(cls, name: ShootName, seen: Outlook) -> SameSun:
        """The sun at the start of a shoot as it is planned."""
        night, press_s = seen.night, seen.press_s
        pressed = clock(night.clock(press_s), seconds=True)
        return cls(name, night.date, night.twilight, pressed, float(night.sun(press_s)[0]))

    def start_s(self, seen: NightSeen) -> float | None:
        """When the sun stands as high in another night, UTC seconds; None where it does not."""
        return at_same_sun_s(self.altitude_deg, seen.night)

    def words(self, seen: NightSeen) -> str:
        """When that is: 'same sun as 10 Oct at 19:19:04'; nothing for the shoot's own night."""
        if (seen.night.date, seen.night.twilight) == (self.date, self.twilight):
            return ""
        start_s, date = self.start_s(seen), short_date(self.date)
        if start_s is None:
            return say("no sun as {date}", date=date)
        start = clock(seen.night.clock(start_s), seconds=True)
        return say("same sun as {date} at {clock}", date=date, clock=start)

    def about(self) -> str:
        """What is looked for, in a sentence."""
        return say(
            "The sun as at the start of {name}, {date} {clock}, at {altitude}: its "
            "clock on each night leads the remarks and is what loads.",
            name=self.name,
            date=date_text(self.date),
            clock=self.clock,
            altitude=degrees_text(self.altitude_deg, 1),
        )

    def missing(self, seen: NightSeen) -> str:
        """Why a night cannot be loaded by it, and what to do, in a sentence."""
        return say(
            "On {date} the sun does not come to {altitude}; choose another night, or "
            "load its best start.",
            date=date_text(seen.night.date),
            altitude=degrees_text(self.altitude_deg, 1),
        )


def picked_words(seen: NightSeen) -> str:
    """The figures of one night beside its line in the picture."""
    if seen.best_s is None or seen.earliest_s is None or seen.latest_s is None:
        nearest = clock(seen.night.clock(seen.nearest_s))
        short = short_text(-seen.slack_stops)
        return say("nearest {clock}, {short} short", clock=nearest, short=short)
    best = clock(seen.night.clock(seen.best_s), seconds=True)
    span = seconds_span(seen.night, seen.earliest_s, seen.latest_s)
    return say("{span}, best {clock}", span=span, clock=best)


def change_words(change: ClockChange) -> str:
    """How the clocks change: 'clocks +1 h'."""
    return say(
        "clocks {hours} h",
        hours=signed_text(change.forward_h, 0 if change.forward_h.is_integer() else 1),
    )


def _settings_words(shoot: Shoot) -> str:
    frames = round(shoot.clip_length_s * shoot.frame_rate_fps)
    return ", ".join(
        (
            *locked_texts(shoot),
            every_text(shoot.interval_s),
            frames_count_text(frames),
        )
    )


def _event_words(seen: NightSeen) -> str:
    return (
        clock(seen.night.clock(seen.night.event.time_s))
        if has_event(seen)
        else say_as("event", "none")
    )


def _span_texts(seen: NightSeen) -> dict[ColumnKey, str]:
    keys: tuple[ColumnKey, ...] = ("good", "best", "span", "chance")
    if seen.best_s is None or seen.earliest_s is None or seen.latest_s is None:
        return dict.fromkeys(keys, NOTHING)
    # As everywhere: whole tenths, cut down, never more than nine.
    tenths = min(9, int(cut_down(10.0 * (seen.p_hold or 0.0))))
    texts = (
        # To the second: cut to the minute, a short span would leave its best start out.
        seconds_span(seen.night, seen.earliest_s, seen.latest_s),
        clock(seen.night.clock(seen.best_s), seconds=True),
        minutes_text(cut_down(span_min(seen), 0.1)),
        say("{tenths} in 10", tenths=tenths) if tenths else say("below 1 in 10"),
    )
    return dict(zip(keys, texts, strict=True))


def _clip_words(seen: NightSeen) -> str:
    if seen.clip_length_s is None:
        return say("no flight")
    return seconds_text(cut_down(seen.clip_length_s, 0.1))


def _moon_words(seen: NightSeen) -> str:
    if seen.moon_share <= _NEW:
        return say_as("moon", "new")
    full = seen.moon_share >= _FULL
    lit = say_as("moon", "full") if full else share_text(seen.moon_share)
    return say("{moon}, up", moon=lit) if seen.moon_up else say("{moon}, down", moon=lit)


def _why(seen: Sequence[NightSeen]) -> str:
    limits = [night.limit for night in seen if night.limit is not None]
    if not limits:
        return say("no start holds")
    limit = max(set(limits), key=limits.count)
    return say("no start holds: {limit}", limit=LIMIT_WORDS[limit])


def _parted(
    parts: Sequence[tuple[int, int]], changes: Sequence[ClockChange]
) -> tuple[tuple[int, int], ...]:
    """Runs of nights, parted where the clocks change between two of them."""
    found = []
    for first, last in parts:
        cuts = [change.index for change in changes if first < change.index <= last]
        found += list(zip([first, *cuts], [*(cut - 1 for cut in cuts), last], strict=True))
    return tuple(found)
