"""What readings and takes taught, in the pilot's words."""

from __future__ import annotations

import datetime as dt

from core.belief import Belief, Unknown, narrowed
from core.language import say
from core.lastnight import Lesson
from core.readings import KEPT
from core.skies import HAZE_SIGMA_DOUBLINGS
from core.words import clock_text, number_text

#: Less than this is told as no change.
_SAME_STOPS = 0.05

_MORE_LESS: dict[Unknown, tuple[str, str, str]] = {
    "level": (
        say("The place shows"),
        say("brighter by day than reckoned"),
        say("darker by day than reckoned"),
    ),
    "lamps": (say("The lamplit street is"), say("brighter than typed"), say("darker than typed")),
    "weather": (
        say("That night's daylight was"),
        say("brighter than typed"),
        say("darker than typed"),
    ),
    "haze": (say("That night's air was"), "", ""),
    "sky": (
        say("That night's sky was"),
        say("brighter than the model"),
        say("darker than the model"),
    ),
}


def lesson_sentences(lesson: Lesson) -> tuple[str, ...]:
    """What a take taught: what stays with the place, what went with the night, what it replaced."""
    taught = tuple(
        say(
            "{figure}; {lasting}.",
            figure=_sentence(name, lesson.before, lesson.after),
            lasting=say("that stays") if name in KEPT else say("that went with the night"),
        )
        for name in _in_order(lesson.before, lesson.after)
    )
    replaced = (
        say(
            "The take begun at {fromisoformat} ran at the same time and is replaced; undo "
            "brings it back.",
            fromisoformat=clock_text(dt.datetime.fromisoformat(take.start), seconds=True),
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
    return tuple(f"{_sentence(name, before, after)}." for name in _in_order(before, after))


def _in_order(before: Belief, after: Belief) -> tuple[Unknown, ...]:
    """What is known better: first what stays with the place."""
    return tuple(sorted(narrowed(before, after), key=lambda name: name not in KEPT))


def _sentence(name: Unknown, before: Belief, after: Belief) -> str:
    subject, more, less = _MORE_LESS[name]
    mean = after.of(name)
    if abs(mean) < _SAME_STOPS:
        return say("{subject} as {expected}", subject=subject, expected=_expected(name))
    if name == "haze":
        times = 2.0 ** (HAZE_SIGMA_DOUBLINGS * mean)
        return say(
            "{subject} {times} times as hazy as typed", subject=subject, times=number_text(times, 1)
        )
    doubt, was = (number_text(one.sigma_of(name), 1) for one in (after, before))
    doubted = f"±{doubt}" if doubt == was else say("±{doubt} (was ±{was})", doubt=doubt, was=was)
    unit = "stop" if abs(mean) < 1.05 else "stops"
    side = more if mean > 0.0 else less
    return f"{subject} {number_text(abs(mean), 1)} {unit} {side}, {doubted}"


def _expected(name: Unknown) -> str:
    return {"level": "reckoned", "sky": say("the model has it")}.get(name, "typed")
