"""What is said of the light: which limit, in which frames, and why no start holds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.judge import Limit
from core.language import say
from core.names import twilight_text
from core.night import Night
from core.starts import Starts
from core.words import clock_text, short_text

#: What a limit means, in a word or two: 'the sky burns', 'the street goes dark'.
LIMIT_WORDS: dict[Limit, str] = {
    "street_high": say("the street burns"),
    "street_low": say("the street goes dark"),
    "land_high": say("the land burns"),
    "land_low": say("the land goes dark"),
    "sky_clip": say("the sky burns"),
    "lamps": say("the lamps are not on"),
}


def frames_text(frames: NDArray[np.int64], count: int) -> str:
    """Which frames, counted from 1: 'from frame 180 on', 'up to frame 34'."""
    first, last = int(frames[0]) + 1, int(frames[-1]) + 1
    if first == 1 and last == count:
        return say("in every frame")
    if first == 1:
        return say("up to frame {last}", last=last)
    if first == last < count:
        return say("in frame {frame}", frame=first)
    if last == count:
        return say("from frame {first} on", first=first)
    return say("from frame {first} to {last}", first=first, last=last)


def frames_sentence(frames: NDArray[np.int64], count: int) -> str:
    """Which frames, as a sentence that follows another: 'From frame 180 on.'."""
    first, last = int(frames[0]) + 1, int(frames[-1]) + 1
    if first == 1 and last == count:
        return say("In every frame.")
    if first == 1:
        return say("Up to frame {last}.", last=last)
    if first == last < count:
        return say("In frame {frame}.", frame=first)
    if last == count:
        return say("From frame {first} on.", first=first)
    return say("From frame {first} to {last}.", first=first, last=last)


def no_start_words(night: Night, starts: Starts) -> tuple[str, str]:
    """Say that no start keeps the light, and what the nearest one lacks: two sentences."""
    fact = say(
        "No start of this {twilight} keeps the light.", twilight=twilight_text(night.twilight)
    )
    limit, told = starts.limit_at(starts.nearest_s), _nearest(night, starts)
    if limit is None:
        return fact, say("The nearest, {clock}, falls {short} short.", **told)
    return fact, say(
        "The nearest, {clock}, falls {short} short because {limit}.",
        limit=LIMIT_WORDS[limit],
        **told,
    )


def no_span_reason(night: Night, starts: Starts) -> str | None:
    """Say in one sentence why no start keeps the light; None when one does."""
    if starts.best_s is not None:
        return None
    limit, told = starts.limit_at(starts.nearest_s), _nearest(night, starts)
    twilight = twilight_text(night.twilight)
    if limit is None:
        return say(
            "No start of this {twilight} keeps the light: the nearest, {clock}, falls {short} "
            "short.",
            twilight=twilight,
            **told,
        )
    return say(
        "No start of this {twilight} keeps the light: the nearest, {clock}, falls {short} short "
        "because {limit}.",
        twilight=twilight,
        limit=LIMIT_WORDS[limit],
        **told,
    )


def _nearest(night: Night, starts: Starts) -> dict[str, str]:
    """The start that comes nearest to keeping the light, and what it lacks."""
    return {
        "clock": clock_text(night.clock(starts.nearest_s), seconds=True),
        # Cut up, so that a hair's breadth does not read as nothing.
        "short": short_text(-starts.nearest_slack_stops),
    }
