"""A take's interval, frames and clip in the words of lists: 'every 2.5 s', '300 frames'."""

from __future__ import annotations

from core.language import say, say_count
from core.words import number_text, seconds_text


def every_text(interval_s: float) -> str:
    """Write an interval: 'every 2.5 s'."""
    return say("every {interval}", interval=seconds_text(interval_s))


def count_text(frames: int) -> str:
    """Write how many frames: '300 frames'."""
    return say_count("{frames} frame", "{frames} frames", frames, frames=number_text(frames))


def length_text(clip_length_s: float) -> str:
    """Write how long a clip is: '12.0 s of clip'."""
    return say("{length} s of clip", length=number_text(clip_length_s, 1))


def stops_text(stops: float) -> str:
    """Write stops to the tenth, without a sign: '0.4 stop', '1.3 stops'."""
    single = 1 if abs(stops) < 1.05 else 2
    return say_count("{stops} stop", "{stops} stops", single, stops=number_text(abs(stops), 1))
