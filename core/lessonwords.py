"""What readings and takes taught, in the pilot's words."""

from __future__ import annotations

import datetime as dt

from core.belief import Belief, Unknown, narrowed
from core.lastnight import Lesson
from core.readings import KEPT
from core.skies import HAZE_SIGMA_DOUBLINGS
from core.words import clock_text, number_text

#: Less than this is told as no change.
_SAME_STOPS = 0.05

_MORE_LESS: dict[Unknown, tuple[str, str, str]] = {
    "level": ("The place shows", "brighter by day than reckoned", "darker by day than reckoned"),
    "lamps": ("The lamplit street is", "brighter than typed", "darker than typed"),
    "weather": ("That night's daylight was", "brighter than typed", "darker than typed"),
    "haze": ("That night's air was", "", ""),
    "sky": ("That night's sky was", "brighter than the model", "darker than the model"),
}


def lesson_sentences(lesson: Lesson) -> tuple[str, ...]:
    """What a take taught: what stays with the place, what went with the night, what it replaced."""
    taught = tuple(
        f"{_sentence(name, lesson.before, lesson.after)};"
        f" {'that stays' if name in KEPT else 'that went with the night'}."
        for name in _in_order(lesson.before, lesson.after)
    )
    replaced = (
        f"The take begun at {clock_text(dt.datetime.fromisoformat(take.start), seconds=True)} ran"
        " at the same time and is replaced; undo brings it back."
        for take in lesson.replaced
    )
    return (*(taught or (_NOTHING,)), *replaced)


#: A fit that believes nothing and one that knew it all end alike.
_NOTHING = (
    "Nothing is known better by what was said: it is what was held, or it lies too far from that to"
    " be believed. See that part, frame and stops are right."
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
        return f"{subject} as {_expected(name)}"
    if name == "haze":
        times = 2.0 ** (HAZE_SIGMA_DOUBLINGS * mean)
        return f"{subject} {number_text(times, 1)} times as hazy as typed"
    doubt, was = (number_text(one.sigma_of(name), 1) for one in (after, before))
    doubted = f"±{doubt}" if doubt == was else f"±{doubt} (was ±{was})"
    unit = "stop" if abs(mean) < 1.05 else "stops"
    side = more if mean > 0.0 else less
    return f"{subject} {number_text(abs(mean), 1)} {unit} {side}, {doubted}"


def _expected(name: Unknown) -> str:
    return {"level": "reckoned", "sky": "the model has it"}.get(name, "typed")
