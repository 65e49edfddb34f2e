"""A take's settings and clip in the words of lists: '1 s', 'every 2.5 s', '12.0 s of clip'."""

from __future__ import annotations

from typing import Protocol

from core.language import say
from core.words import (
    f_number_text,
    filter_text,
    frames_count_text,
    iso_text,
    number_text,
    seconds_text,
    shutter_text,
)


class Locked(Protocol):
    """What has the four settings that a take locks: a shoot, or a choice of the search."""

    @property
    def shutter_s(self) -> float:
        """Exposure, s."""

    @property
    def iso(self) -> float:
        """Sensitivity."""

    @property
    def f_number(self) -> float:
        """Aperture."""

    @property
    def nd_stops(self) -> float:
        """Filter."""


def locked_texts(locked: Locked) -> tuple[str, ...]:
    """Write what is locked for a take: '1 s', 'ISO 100', 'f/1.8', 'no filter'."""
    return (
        shutter_text(locked.shutter_s),
        iso_text(locked.iso),
        f_number_text(locked.f_number),
        filter_text(locked.nd_stops),
    )


def take_texts(
    locked: Locked, interval_s: float, frames: int, clip_length_s: float
) -> tuple[str, ...]:
    """Write all of a take's settings, then what they give: '300 frames', '12.0 s of clip'."""
    return (
        *locked_texts(locked),
        every_text(interval_s),
        frames_count_text(frames),
        clip_text(clip_length_s),
    )


def every_text(interval_s: float) -> str:
    """Write an interval: 'every 2.5 s'."""
    return say("every {interval}", interval=seconds_text(interval_s))


def clip_text(clip_length_s: float) -> str:
    """Write how long a clip is: '12.0 s of clip'."""
    return say("{length} s of clip", length=number_text(clip_length_s, 1))
