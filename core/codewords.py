"""What the plan's codes are called on a screen; in files they stay as they are."""

from __future__ import annotations

from typing import Final

from core.language import say
from core.plan import Part, Twilight

PART_WORDS: Final[dict[Part, str]] = {
    "street": say("street"),
    "land": say("land"),
    "sky": say("sky"),
}
TWILIGHT_WORDS: Final[dict[Twilight, str]] = {"dusk": say("dusk"), "dawn": say("dawn")}
