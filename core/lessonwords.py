"""What readings and takes taught, in the pilot's words."""

from __future__ import annotations

from core.belief import Belief, Unknown
from core.lastnight import Lesson
from core.readings import KEPT
from core.words import number_text

#: Less than this is told as no change.
_SAME_STOPS = 0.05
#: A figure is told when its sigma shrank to this share or less.
_NARROWED = 0.9

_MORE_LESS: dict[Unknown, tuple[str, str, str]] = {
    "level": ("The place shows", "brighter by day than reckoned", "darker by day than reckoned"),
    "lamps": ("The lamplit street is", "brighter than typed", "darker than typed"),
    "weather": ("That night's daylight was", "brighter than typed", "darker than typed"),
    "haze": ("That night's air was", "hazier than typed", "clearer than typed"),
    "sky": ("That night's sky was", "brighter than the model", "darker than the model"),
}


def lesson_sentences(lesson: Lesson) -> tuple[str, ...]:
    """What a take taught: first what stays with the place, then what went with the night."""
    return tuple(
        f"{_sentence(name, lesson.before, lesson.after)};"
        f" {'that stays' if name in KEPT else 'that went with the night'}."
        for name in _narrowed(lesson.before, lesson.after)
    )


def belief_sentences(before: Belief, after: Belief) -> tuple[str, ...]:
    """By how much each figure is held to be off after a reading, and how sure that is now."""
    return tuple(f"{_sentence(name, before, after)}." for name in _narrowed(before, after))


def _narrowed(before: Belief, after: Belief) -> tuple[Unknown, ...]:
    told: tuple[Unknown, ...] = (*KEPT, "weather", "haze", "sky")
    return tuple(name for name in told if after.sigma_of(name) <= _NARROWED * before.sigma_of(name))


def _sentence(name: Unknown, before: Belief, after: Belief) -> str:
    subject, more, less = _MORE_LESS[name]
    mean, sigma = after.of(name), after.sigma_of(name)
    if abs(mean) < _SAME_STOPS:
        return f"{subject} as {_expected(name)}"
    doubt = f"±{number_text(sigma, 1)} (was ±{number_text(before.sigma_of(name), 1)})"
    unit = "sigma" if name == "haze" else "stop" if abs(mean) < 1.05 else "stops"
    side = more if mean > 0.0 else less
    return f"{subject} {number_text(abs(mean), 1)} {unit} {side}, {doubt}"


def _expected(name: Unknown) -> str:
    return {"level": "reckoned", "sky": "the model has it"}.get(name, "typed")
