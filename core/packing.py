"""Which filters to pack: those that the good choices of the night's useful starts need."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import msgspec
import numpy as np

from core.choice import Choice
from core.language import say
from core.memory import Memory
from core.night import Night
from core.plan import Plan, ShootName
from core.settings import settings_of
from core.wish import Wish
from core.words import clock_text, filter_text, iso_text, seconds_text, shutter_text

#: The night is looked at in stretches so long, from the best start outward.
STRETCH_S = 600.0
#: A start is useful as long as its best choice lacks no more points to the night's best.
USEFUL_POINTS = 5.0
#: In each stretch the best few choices count, as far as they are nearly as good as its best.
COUNTED, NEARLY_POINTS = 3, 2.0
#: More stretches than this on either side are no twilight any more.
MOST_STRETCHES = 9


@dataclass(frozen=True)
class Packed:
    """A filter to pack, by its stops, with the useful starts that need it.

    `first_s` and `last_s` are the first and the last of them in UTC seconds; `why` says what
    it is for and what there would be without it.
    """

    nd_stops: float
    first_s: float
    last_s: float
    why: str


def packed_text(night: Night, packed: Packed) -> str:
    """Write a filter, the starts that need it and why."""
    first, last = (clock_text(night.clock(edge)) for edge in (packed.first_s, packed.last_s))
    starts = (
        say("a start at {first}", first=first)
        if first == last
        else say("starts from {first} to {last}", first=first, last=last)
    )
    return say(
        "{filter}, for {starts}: {why}.",
        filter=filter_text(packed.nd_stops),
        starts=starts,
        why=packed.why,
    )


def filters_to_pack(plan: Plan, name: ShootName, memory: Memory, wish: Wish) -> tuple[Packed, ...]:
    """The filters of the camera's set that the night may ask for, the weakest first.

    Empty where no useful start needs one, or nothing holds at all.
    """
    best = _good(plan, name, memory, wish)
    if not best:
        return ()
    useful = [*best, *_either_side(plan, name, memory, wish, best[0])]
    needed: dict[float, list[Choice]] = {}
    for choice in sorted(useful, key=lambda one: one.start_s):
        if choice.nd_stops > 0.0:
            needed.setdefault(choice.nd_stops, []).append(choice)
    packed = (
        _packed(plan, name, memory, wish, nd_stops, some)
        for nd_stops, some in sorted(needed.items())
    )
    return tuple(one for one in packed if one is not None)


def _good(plan: Plan, name: ShootName, memory: Memory, wish: Wish) -> list[Choice]:
    """The best choices for a wish that are nearly as good as the very best."""
    found = settings_of(plan, name, memory, wish, COUNTED).choices
    return [one for one in found if one.points >= found[0].points - NEARLY_POINTS]


def _either_side(
    plan: Plan, name: ShootName, memory: Memory, wish: Wish, best: Choice
) -> Iterator[Choice]:
    """The good choices of each stretch of useful starts before and after the best."""
    for step in (-1, 1):
        for count in range(1, MOST_STRETCHES + 1):
            middle = best.start_s + step * count * STRETCH_S
            found = _good(plan, name, memory, _between(wish, middle))
            if not found or found[0].points < best.points - USEFUL_POINTS:
                break
            yield from found


def _between(wish: Wish, middle_s: float) -> Wish:
    """The wish for starts of one stretch; its own bounds stay."""
    first, last = middle_s - STRETCH_S / 2.0, middle_s + STRETCH_S / 2.0
    earliest = first if wish.earliest_s is None else max(first, wish.earliest_s)
    latest = last if wish.latest_s is None else min(last, wish.latest_s)
    return replace(wish, earliest_s=earliest, latest_s=latest)


def _packed(
    plan: Plan, name: ShootName, memory: Memory, wish: Wish, nd_stops: float, some: list[Choice]
) -> Packed | None:
    """What a filter is for; None where every start has as good a take so often without it."""
    bare = msgspec.structs.replace(plan.camera, nd_stops=(0.0,))
    without = msgspec.structs.replace(plan, camera=bare)
    pairs = [(choice, _best_at(without, name, memory, wish, choice.start_s)) for choice in some]
    lost = [pair for pair in pairs if not _as_good(*pair)]
    if not lost:
        return None
    choice, instead = max(lost, key=lambda pair: _lost_points(*pair))
    why = (
        say("{take} is the best without", take=_taken(instead))
        if instead
        else say("nothing holds without")
    )
    return Packed(nd_stops, lost[0][0].start_s, lost[-1][0].start_s, f"{_taken(choice)}; {why}")


def _best_at(
    plan: Plan, name: ShootName, memory: Memory, wish: Wish, start_s: float
) -> Choice | None:
    """The best choice for one start; None where nothing holds there."""
    there = replace(wish, earliest_s=start_s, latest_s=start_s)
    return next(iter(settings_of(plan, name, memory, there, 1).choices), None)


def _as_good(choice: Choice, without: Choice | None) -> bool:
    """Whether a take every so many seconds is as good without the filter."""
    if without is None or without.interval_s != choice.interval_s:
        return False
    return without.points >= choice.points


def _lost_points(choice: Choice, without: Choice | None) -> float:
    return np.inf if without is None else choice.points - without.points


def _taken(choice: Choice) -> str:
    shutter, interval = shutter_text(choice.shutter_s), seconds_text(choice.interval_s)
    return say(
        "{shutter} at {iso} every {interval}",
        shutter=shutter,
        iso=iso_text(choice.iso),
        interval=interval,
    )
