"""Several takes in one evening: one path, as many batteries, each take with its own settings.

The rule: as many takes as can hold, each with a chance of `LEAST_CHANCE` or more; of those
series the one whose takes have the most points of `core.ranking` together, where the chance
weighs most. Every take has its own start, shutter, ISO, aperture, filter, interval and length of
clip; the path is set up for the first and stored for the others, so that they are set up sooner.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.forecast import outlook, starts
from core.judge import Limit
from core.language import say, say_count
from core.memory import Memory
from core.names import twilight_text
from core.night import Night
from core.outlook import Outlook
from core.plan import Plan, Shoot, ShootName
from core.preferences import Preferences
from core.sentences import shown
from core.seriestable import Row, rows_of
from core.standpoint import changed, started
from core.waysout import for_tonight
from core.words import chance_text, clock_text, cut_up, minutes_text, number_text

MOST_TAKES, LONGEST_SWAP_MIN = 4, 120.0
#: A take less likely than this is no reason to take off again.
LEAST_CHANCE = 0.2


@dataclass(frozen=True)
class SeriesTake:
    """One take of a series; every figure is that of the forecast of `plan`, instants UTC seconds.

    `number` counts from 1. `plan` is the plan with this take as the shoot, `shoot` that shoot.
    `landing_s` is when the craft stands on the ground again.
    """

    number: int
    plan: Plan
    shoot: Shoot
    take_off_s: float
    start_s: float
    last_frame_s: float
    landing_s: float
    frames: int
    clip_length_s: float
    slack_stops: float
    limit: Limit | None
    p_hold: float
    mixed_light_share: float
    margin_min: float


@dataclass(frozen=True)
class Series:
    """The takes of an evening in order; `seen` is the shoot as planned.

    `turnaround_min` lies between a last frame and the next press: way home, swap, way out and
    the shorter set-up; None where the flight cannot be flown. `earliest_s`, UTC seconds, is
    when the first may take off; None for any time of the night. `reason` says why there are
    fewer takes than were asked for.
    """

    seen: Outlook
    asked: int
    swap_min: float
    earliest_s: float | None
    turnaround_min: float | None
    takes: tuple[SeriesTake, ...]
    reason: str | None


_Chain = tuple[float, tuple[Row, ...]]


@dataclass(frozen=True)
class _Evening:
    """The first flight and the later ones, and what lies between two takes."""

    first: Plan
    again: Plan
    name: ShootName
    turnaround_min: float
    memory: Memory

    def take(self, number: int, row: Row) -> SeriesTake | None:
        """A row as a take, judged exactly; None where it does not hold or get home."""
        plan = self.first if number == 1 else self.again
        event_s = outlook(plan, self.name, self.memory).night.event.time_s
        plan = changed(plan, self.name, **dict(row.settings))
        return _take(
            number, started(plan, self.name, (row.start_s - event_s) / 60.0), self.name, self.memory
        )


def series(
    plan: Plan,
    name: ShootName,
    count: int,
    swap_min: float,
    memory: Memory,
    preferences: Preferences,
    earliest_s: float | None = None,
) -> Series:
    """Plan several takes of a shoot's path in its night, a battery each.

    Parameters
    ----------
    count
        Batteries at hand, 1 to `MOST_TAKES`; each starts with the shoot's charge.
    swap_min
        Minutes on the ground between a landing and the next take-off, 0 to `LONGEST_SWAP_MIN`.
    preferences
        What the pilot likes; the clip wanted is the planned one.
    earliest_s
        No craft takes off before it, UTC seconds; any time of the night will do if left out.

    Raises
    ------
    core.edit.PlanError
        When `count` or `swap_min` is out of its range.
    """
    _check(count, swap_min)
    seen = outlook(plan, name, memory)
    again = changed(plan, name, visit="repeat")
    seen_again = outlook(again, name, memory)
    turnaround_min = _turnaround_min(seen_again, swap_min)
    if turnaround_min is None:
        why = seen.flight.error or say("This flight leaves no minutes for a take.")
        return Series(seen, count, swap_min, earliest_s, None, (), why)
    wanted = for_tonight(preferences, seen)
    evening = _Evening(plan, again, name, turnaround_min, memory)
    pressed_s = _earliest_press_s(seen, earliest_s)
    first = _likely(rows_of(plan, seen, wanted, pressed_s))
    later = _likely(rows_of(again, seen_again, wanted, pressed_s)) if count > 1 else []
    takes, first, later = _judged(evening, first, later, count)
    found = Series(seen, count, swap_min, earliest_s, turnaround_min, takes, None)
    if len(takes) == count:
        return found
    return replace(found, reason=_too_few(found, [*first, *later], pressed_s))


def swap_min_of(text: str) -> float:
    """Minutes on the ground between two takes, as typed; PlanError where it is none."""
    minutes = amount_of("swap_min", plain_text(text))
    if minutes is None or not 0.0 <= minutes <= LONGEST_SWAP_MIN:
        raise PlanError(
            say(
                "The time to change a battery cannot be {value}; 0 to {longest} "
                "minutes were expected.",
                value=shown(text),
                longest=number_text(LONGEST_SWAP_MIN),
            )
        )
    return minutes


def _check(count: int, swap_min: float) -> None:
    if not 1 <= count <= MOST_TAKES:
        raise PlanError(
            say(
                "The batteries are {count}; a number from 1 to {most} was expected.",
                count=count,
                most=MOST_TAKES,
            )
        )
    if not 0.0 <= swap_min <= LONGEST_SWAP_MIN:
        raise PlanError(
            say(
                "The swap is {swap} min; from 0 to {longest} min was expected.",
                swap=number_text(swap_min),
                longest=number_text(LONGEST_SWAP_MIN),
            )
        )


def _turnaround_min(seen_again: Outlook, swap_min: float) -> float | None:
    flight = seen_again.flight
    if flight.home_min is None or flight.before_min is None:
        return None
    return flight.home_min + swap_min + flight.before_min


def _earliest_press_s(seen: Outlook, earliest_s: float | None) -> float | None:
    """The first press after a take-off at an instant, on a whole second."""
    before_min = seen.flight.before_min
    if earliest_s is None or before_min is None:
        return None
    return cut_up(earliest_s + 60.0 * before_min)


def _likely(rows: Sequence[Row]) -> list[Row]:
    kept = [row for row in rows if row.p_hold >= LEAST_CHANCE]
    return sorted(kept, key=lambda row: row.start_s)


def _judged(
    evening: _Evening, first: list[Row], later: list[Row], count: int
) -> tuple[tuple[SeriesTake, ...], list[Row], list[Row]]:
    """The best series whose every take holds on a closer look, and the rows left to choose from."""
    known: dict[tuple[bool, Row], SeriesTake | None] = {}
    while True:
        chain = _longest(first, later, count, 60.0 * evening.turnaround_min)
        takes = []
        for number, row in enumerate(chain, 1):
            key = (number == 1, row)
            if key not in known:
                known[key] = evening.take(number, row)
            takes.append(known[key])
        if all(take is not None for take in takes):
            numbered = tuple(take for take in takes if take is not None)
            return _numbered(numbered), first, later
        first = [row for row in first if known.get((True, row), row) is not None]
        later = [row for row in later if known.get((False, row), row) is not None]


def _numbered(takes: tuple[SeriesTake, ...]) -> tuple[SeriesTake, ...]:
    return tuple(replace(take, number=number) for number, take in enumerate(takes, 1))


def _longest(
    first: Sequence[Row], later: Sequence[Row], count: int, turnaround_s: float
) -> tuple[Row, ...]:
    """The best chain of at most `count` rows, each pressed once the one before lets it."""
    starts_s = [row.start_s for row in later]

    def before(row: Row, onward: Sequence[_Chain | None]) -> _Chain | None:
        rest = onward[bisect_left(starts_s, row.start_s + row.shooting_s + turnaround_s)]
        return None if rest is None else (row.points + rest[0], (row, *rest[1]))

    # The best chain of so many takes among the later rows from each one on.
    onward: list[_Chain | None] = [(0.0, ())] * (len(later) + 1)
    best: tuple[Row, ...] = ()
    for _ in range(count):
        whole = [chain for row in first if (chain := before(row, onward)) is not None]
        if not whole:
            return best
        best = max(whole, key=lambda chain: chain[0])[1]
        longer: list[_Chain | None] = [None] * (len(later) + 1)
        for at in range(len(later) - 1, -1, -1):
            here = [chain for chain in (longer[at + 1], before(later[at], onward)) if chain]
            longer[at] = max(here, key=lambda chain: chain[0], default=None)
        onward = longer
    return best


def _take(number: int, plan: Plan, name: ShootName, memory: Memory) -> SeriesTake | None:
    seen = outlook(plan, name, memory)
    flight = seen.flight
    if seen.judgement.slack_stops < 0.0 or not flight.fits or seen.clip.write == "skips":
        return None
    if seen.take_off_s is None or flight.home_min is None or flight.margin_min is None:
        return None
    p_hold = starts(plan, name, memory).chance_at(seen.press_s)
    if p_hold is None or p_hold < LEAST_CHANCE:
        return None
    return SeriesTake(
        number=number,
        plan=plan,
        shoot=seen.shoot,
        take_off_s=seen.take_off_s,
        start_s=seen.press_s,
        last_frame_s=seen.last_frame_s,
        landing_s=seen.last_frame_s + 60.0 * flight.home_min,
        frames=seen.clip.frames,
        clip_length_s=seen.clip.clip_length_s,
        slack_stops=seen.judgement.slack_stops,
        limit=seen.judgement.limit,
        p_hold=p_hold,
        mixed_light_share=float(seen.tones.mixed_light.mean()),
        margin_min=flight.margin_min,
    )


def _too_few(found: Series, rows: Sequence[Row], pressed_s: float | None) -> str:
    """Why no more takes hold: how long the light lasts, and how far apart presses must be."""
    night, least = found.seen.night, chance_text(LEAST_CHANCE)
    if not rows or not found.takes or found.turnaround_min is None:
        return _none_holds(night, pressed_s, least)
    presses = [row.start_s for row in rows]
    first, last = (_clock(night, edge_s) for edge_s in (min(presses), max(presses)))
    apart_min = min(row.shooting_s for row in rows) / 60.0 + found.turnaround_min
    return say_count(
        "{count} of {asked} takes holds: presses that hold {least} or more lie between "
        "{first} and {last}, and from one press to the next it takes {apart} or more, "
        "with the way home, the swap and the way out.",
        "{count} of {asked} takes hold: presses that hold {least} or more lie between "
        "{first} and {last}, and from one press to the next it takes {apart} or more, "
        "with the way home, the swap and the way out.",
        len(found.takes),
        asked=found.asked,
        least=least,
        first=first,
        last=last,
        apart=minutes_text(cut_up(apart_min, 0.1)),
    )


def _none_holds(night: Night, pressed_s: float | None, least: str) -> str:
    twilight = twilight_text(night.twilight)
    if pressed_s is None:
        return say(
            "No take of this {twilight} holds {least} or more with any settings "
            "of this camera; another night or the path the other way may.",
            twilight=twilight,
            least=least,
        )
    return say(
        "No take of this {twilight} pressed from {clock} on holds {least} or more with any "
        "settings of this camera; another night or the path the other way may.",
        twilight=twilight,
        clock=_clock(night, pressed_s),
        least=least,
    )


def _clock(night: Night, time_s: float) -> str:
    return clock_text(night.clock(time_s))
