"""What a reading or a lesson moves: a shoot's good starts before and after, in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.clocks import span_words
from core.dates import day_text
from core.events import crossings
from core.forecast import outlook, starts
from core.language import say
from core.lastnight import as_flown
from core.memory import Memory
from core.night import Night
from core.plan import Plan, ShootName, Take
from core.starts import Starts
from core.verdict import best_chance_text
from core.words import clock_text, degrees_text, minutes_text, short_text

#: Less than this between two starts is no move worth telling.
SAME_START_S = 15.0


@dataclass(frozen=True)
class Moved:
    """A shoot's starts before and after a change of what is known; `night` is the later one's.

    `best_min` is by how many minutes the best start moves, negative for earlier; None where
    one of the two has none. `sentence` says it.
    """

    before: Starts
    after: Starts
    best_min: float | None
    sentence: str


def moved(before: Plan, after: Plan, name: ShootName, memory: Memory) -> Moved:
    """Compare a shoot's starts in two plans of the same night."""
    first, second = starts(before, name, memory), starts(after, name, memory)
    night = outlook(after, name, memory).night
    best_min = None
    if first.best_s is not None and second.best_s is not None:
        best_min = (second.best_s - first.best_s) / 60.0
    return Moved(first, second, best_min, _sentence(first, second, night))


def at_same_sun_s(sun_altitude_deg: float, night: Night) -> float | None:
    """UTC seconds at which the sun stands at an altitude on a night's side of solar midnight.

    None where it does not reach it: the same light does not come that night.
    """
    dusk = night.twilight == "dusk"
    side = (night.start_s, night.darkest_s) if dusk else (night.darkest_s, night.end_s)
    found = crossings(lambda time_s: night.sun(time_s)[0], (sun_altitude_deg,), *side)
    return float(found[0].time_s) if found else None


def tonight_sentence(plan: Plan, take: Take, name: ShootName, memory: Memory) -> str:
    """Tonight beside a flown take: the same sun on tonight's clock, and tonight's best start."""
    then, now = as_flown(plan, take, memory), outlook(plan, name, memory)
    sun_deg = float(then.tones.sun_altitude_deg[0])
    pressed = clock_text(then.night.clock(then.press_s), seconds=True)
    same_s = at_same_sun_s(sun_deg, now.night)
    told = {"clock": pressed, "sun": degrees_text(sun_deg, 1), "day": day_text(now.night.date)}
    if same_s is None:
        return say(
            "The take began at {clock} with the sun at {sun}; on {day} the sun does not stand "
            "there.",
            **told,
        )
    same = say(
        "The take began at {clock} with the sun at {sun}, which is {same} on {day}.",
        same=clock_text(now.night.clock(same_s), seconds=True),
        **told,
    )
    best_s = starts(plan, name, memory).best_s
    if best_s is None:
        nothing = say("No start of this night holds.")
        return f"{same} {nothing}"
    best = say(
        "The best start is {clock}, {step}.",
        clock=clock_text(now.night.clock(best_s), seconds=True),
        step=_step_text((best_s - same_s) / 60.0),
    )
    return f"{same} {best}"


def _sentence(before: Starts, after: Starts, night: Night) -> str:
    if after.best_s is None:
        nearest = {
            "clock": clock_text(night.clock(after.nearest_s)),
            "stops": short_text(-after.nearest_slack_stops),
        }
        if before.best_s is None:
            return say("No start holds; the nearest, {clock}, lacks {stops}.", **nearest)
        return say("No start holds any more; the nearest, {clock}, lacks {stops}.", **nearest)
    best = clock_text(night.clock(after.best_s), seconds=True)
    span = say("good {span}", span=_span_text(after, night))
    chance = say("holds {chance}", chance=best_chance_text(after))
    if before.best_s is None:
        return say(
            "A start holds now: {best}, {span}; {chance}.", best=best, span=span, chance=chance
        )
    was = say(
        "was good {span}, {chance}",
        span=_span_text(before, night),
        chance=best_chance_text(before),
    )
    if abs(after.best_s - before.best_s) < SAME_START_S:
        return say(
            "The best start stays at {best}, {span} ({was}); {chance}.",
            best=best,
            span=span,
            was=was,
            chance=chance,
        )
    step = _step_text((after.best_s - before.best_s) / 60.0)
    return say(
        "The best start moves to {best}, {step}; {span} ({was}); {chance}.",
        best=best,
        step=step,
        span=span,
        was=was,
        chance=chance,
    )


def _span_text(found: Starts, night: Night) -> str:
    edges = [edge for edge in (found.earliest_s, found.latest_s) if edge is not None]
    return span_words(night, edges[0], edges[-1], lead="from ")


def _step_text(minutes: float) -> str:
    if abs(minutes) * 60.0 < SAME_START_S:
        return say("the same minute in the light")
    length = minutes_text(float(np.abs(minutes)))
    return (
        say("{minutes} later", minutes=length)
        if minutes > 0.0
        else say("{minutes} earlier", minutes=length)
    )
