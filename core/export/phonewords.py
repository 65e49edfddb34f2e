"""The words of the phone's card: those that stand in the page, and those its script puts there.

A script's text keeps its {places}: the phone fills them.
"""

from __future__ import annotations

from typing import Final

from core.language import say, say_as

#: By the marks of the page.
PAGE_WORDS: Final[dict[str, str]] = {
    "word_dim": say_as("theme", "Dim"),
    "word_now": say("Now"),
    "word_next": say("Next"),
    "word_stop": say("Last frame by"),
    "word_buttons": say("Pressed and late"),
    "word_pressed": say("Pressed"),
    "word_late": say("I am late"),
    "word_settings": say("Settings"),
    "word_steps": say("Steps"),
    "word_path": say("Path and air"),
    "word_moments": say("Moments"),
    "word_cautions": say("Cautions"),
}
#: By the names that the script knows.
SCRIPT_WORDS: Final[dict[str, str]] = {
    "days": say("{days} days"),
    "lead": say("{lead} in"),
    "over": say("The evening is over"),
    "at": say("at {clock}"),
    "announced": say("{lead} at {clock}. {do}"),
    "press": say("Pressed"),
    "undo": say("Take it back"),
    "pressed": say("Pressed {clock}"),
    "frame": say("frame {number} of {frames}"),
    "no_start": say("no good start"),
    "past": say("good light past"),
    "until": say("good until {until}"),
    "stop": say("Last frame by"),
    "home": say("Fly home, {past} past"),
    "expected": say("expected now {percent}\N{NO-BREAK SPACE}%"),
    "lost": say("the light does not hold"),
    "holds": say("holds {chance}"),
    "frames_left": say("{most} of {frames} frames before the stop"),
    "from_ground": say("On the ground: take off now, press at {clock}: {light}."),
    "from_station": say("At station 1: press now, at {clock}: {light}."),
    "none_holds": say("No start of this night holds."),
    "last_was": say("The last good start was {clock}. Come back another night."),
    "last_is": say("The last good start is {clock}."),
    "light": say_as("theme", "Light"),
    "dim": say_as("theme", "Dim"),
    "to_light": say("Turn to light"),
    "to_dim": say("Turn to dim"),
}
