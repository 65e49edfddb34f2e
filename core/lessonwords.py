"""What readings and takes taught, in the pilot's words."""

from __future__ import annotations

import datetime as dt

from core.belief import Belief, Unknown, narrowed
from core.language import say
from core.lastnight import Lesson
from core.readings import KEPT
from core.skies import HAZE_SIGMA_DOUBLINGS
from core.words import clock_text, number_text, stops_text

#: Less than this is told as no change.
_SAME_STOPS = 0.05

#: What is said of each: as it was held, and more or less than that.
_TEXTS: dict[Unknown, tuple[str, str, str]] = {
    "level": (
        say("The place shows as reckoned"),
        say("The place shows {stops} brighter by day than reckoned, {doubt}"),
        say("The place shows {stops} darker by day than reckoned, {doubt}"),
    ),
    "lamps": (
        say("The lamplit street is as typed"),
        say("The lamplit street is {stops} brighter than typed, {doubt}"),
        say("The lamplit street is {stops} darker than typed, {doubt}"),
    ),
    "weather": (
        say("That night's daylight was as typed"),
        say("That night's daylight was {stops} brighter than typed, {doubt}"),
        say("That night's daylight was {stops} darker than typed, {doubt}"),
    ),
    "haze": (
        say("That night's air was as typed"),
        say("That night's air was {times} times as hazy as typed"),
        say("That night's air was {times} times as hazy as typed"),
    ),
    "sky": (
        say("That night's sky was as the model has it"),
        say("That night's sky was {stops} brighter than the model, {doubt}"),
        say("That night's sky was {stops} darker than the model, {doubt}"),
    ),
}


def lesson_sentences(lesson: Lesson) -> tuple[str, ...]:
    """What a take taught: what stays with the place, what went with the night, what it replaced."""
    taught = tuple(
        say("{lesson}; that stays.", lesson=_said(name, lesson.before, lesson.after))
        if name in KEPT
        else say(
            "{lesson}; that went with the night.", lesson=_said(name, lesson.before, lesson.after)
        )
        for name in _in_order(lesson.before, lesson.after)
    )
    replaced = (
        say(
            "The take begun at {clock} ran at the same time and is replaced; undo brings it back.",
            clock=clock_text(dt.datetime.fromisoformat(take.start), seconds=True),
        )
        for take in lesson.replaced
    )
    return (*(taught or (_NOTHING,)), *replaced)


#: A fit that believes nothing and one that knew it all end alike.
_NOTHING = say(
    "Nothing is known better by what was said: it is what was held, or it lies too far "
    "from that to be believed. See that part, frame and stops are right."
)


def belief_sentences(before: Belief, after: Belief) -> tuple[str, ...]:
    """By how much each figure is held to be off after a reading, and how sure that is now."""
    return tuple(f"{_said(name, before, after)}." for name in _in_order(before, after))


def _in_order(before: Belief, after: Belief) -> tuple[Unknown, ...]:
    """What is known better: first what stays with the place."""
    return tuple(sorted(narrowed(before, after), key=lambda name: name not in KEPT))


def _said(name: Unknown, before: Belief, after: Belief) -> str:
    same, more, less = _TEXTS[name]
    mean = after.of(name)
    if abs(mean) < _SAME_STOPS:
        return same
    doubt, was = (number_text(one.sigma_of(name), 1) for one in (after, before))
    return (more if mean > 0.0 else less).format(
        times=number_text(2.0 ** (HAZE_SIGMA_DOUBLINGS * mean), 1),
        stops=stops_text(number_text(abs(mean), 1), mean),
        doubt=f"±{doubt}" if doubt == was else say("±{doubt} (was ±{was})", doubt=doubt, was=was),
    )
