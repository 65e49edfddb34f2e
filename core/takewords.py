"""A take's interval and clip in the words of lists: 'every 2.5 s', '12.0 s of clip'."""

from __future__ import annotations

from core.language import say
from core.words import number_text, seconds_text


def every_text(interval_s: float) -> str:
    """Write an interval: 'every 2.5 s'."""
    return say("every {interval}", interval=seconds_text(interval_s))


def clip_text(clip_length_s: float) -> str:
    """Write how long a clip is: '12.0 s of clip'."""
    return say("{length} s of clip", length=number_text(clip_length_s, 1))
