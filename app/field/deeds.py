"""What the strong button does in each phase of an evening, and what was done last."""

from __future__ import annotations

from typing import Final

from core.fieldlog import FieldLog
from core.language import say, say_as
from core.site import Phase

#: The deed and what it does; in the take there is nothing to press.
STRONG: Final[dict[Phase, tuple[str, str]]] = {
    "ground": (say("Took off"), say("starts the clock")),
    "air": (say("Pressed"), say("take starts now")),
    "take": (say("Pressed"), say("the take runs")),
    "home": (say("Landed"), say("keeps the take")),
    "down": (say("Start over"), say("a new flight")),
}
#: The field of the log that it sets.
NOTED: Final[dict[Phase, str]] = {"ground": "took_off_s", "air": "pressed_s", "home": "down_s"}


def last_deed(log: FieldLog) -> tuple[str, float | None]:
    """The last deed in words, and when it was, UTC seconds; an empty log was started over."""
    deeds = (
        (say_as("deed", "Down"), log.down_s),
        (say("Broke off"), log.turned_s),
        (say("Pressed"), log.pressed_s),
        (say("Took off"), log.took_off_s),
    )
    return next((deed for deed in deeds if deed[1] is not None), (say("Started over"), None))
