"""What the strong button does in each phase of an evening, and what was done last."""

from __future__ import annotations

from typing import Final

from core.fieldlog import FieldLog
from core.site import Phase

#: The deed and what it does; in the take there is nothing to press.
STRONG: Final[dict[Phase, tuple[str, str]]] = {
    "ground": ("Took off", "starts the clock"),
    "air": ("Pressed", "take starts now"),
    "take": ("Pressed", "the take runs"),
    "home": ("Landed", "keeps the take"),
    "down": ("Start over", "a new flight"),
}
#: The field of the log that it sets.
NOTED: Final[dict[Phase, str]] = {"ground": "took_off_s", "air": "pressed_s", "home": "down_s"}


def last_deed(log: FieldLog) -> tuple[str, float | None]:
    """The last deed in words, and when it was, UTC seconds; an empty log was started over."""
    deeds = (
        ("Down", log.down_s),
        ("Broke off", log.turned_s),
        ("Pressed", log.pressed_s),
        ("Took off", log.took_off_s),
    )
    return next((deed for deed in deeds if deed[1] is not None), ("Started over", None))
