"""The picture of a frames track: which frames, which of them fail, and where they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtGui import QImage

from app.sheet.clock import Clock
from app.sheet.pictures import View, minute_of
from app.theme import px
from core.language import say, say_count
from core.outlook import Outlook
from core.plan import Camera, ShootName
from core.words import number_text

#: Height of the numbers under the frames, and the gap between frames.
NUMBERS_PX: Final = 18
GAP_PX: Final = 2
#: Frames across, and from which width of the clock on they are the more.
_FEWER, _MORE, _WIDE_PX = 10, 12, 760
#: A frame is never narrower, nor its strip higher: few then, or small.
_LEAST_WIDTH_PX, _MOST_HEIGHT_PX = 40, 64


@dataclass(frozen=True)
class Cells:
    """Where the frames of a strip stand, in whole logical pixels."""

    lefts: tuple[int, ...]
    width: int
    height: int

    def at(self, x: float, y: float) -> int | None:
        """Which of the frames, from 0, a place is on; their numbers belong to them."""
        for index, left in enumerate(self.lefts):
            if left <= x < left + self.width and 0.0 <= y < self.height + px(NUMBERS_PX):
                return index
        return None


def frames_across(clock: Clock) -> int:
    """How many frames a strip over a clock shows."""
    most = _MORE if clock.width >= px(_WIDE_PX) else _FEWER
    return max(1, min(most, int(clock.width / px(_LEAST_WIDTH_PX))))


def cells_of(clock: Clock, camera: Camera, count: int) -> Cells:
    """The places of a strip's frames over the whole width of a clock.

    Parameters
    ----------
    count
        Frames that are shown: fewer than fit only where the take has no more.
    """
    across, gap = frames_across(clock), px(GAP_PX)
    room = round((clock.width - (across - 1) * gap) / across)
    wide, high = (int(side) for side in camera.aspect.split(":"))
    width = max(min(room, round(px(_MOST_HEIGHT_PX) * wide / high)), 1)
    pitch = (clock.width - width) / max(across - 1, 1)
    lefts = tuple(round(clock.left + index * pitch) for index in range(count))
    return Cells(lefts, width, max(round(width * high / wide), 1))


def strip_height(clock: Clock, camera: Camera) -> int:
    """Height of a frames track: the frames with their numbers."""
    return cells_of(clock, camera, 1).height + px(NUMBERS_PX)


@dataclass(frozen=True)
class FramesPicture:
    """Some frames of one take, in order.

    `time_s` are their UTC seconds, `numbers` count from 1. An image is None until it is
    there; `counting` says that this has lasted long enough to be shown.
    """

    name: ShootName
    cells: Cells
    numbers: tuple[int, ...]
    time_s: tuple[float, ...]
    clocks: tuple[str, ...]
    failing: tuple[bool, ...]
    images: tuple[QImage | None, ...]
    counting: bool
    half_interval_s: float
    second_line: str
    description: str

    @property
    def complete(self) -> bool:
        """Whether every frame has its image."""
        return all(image is not None for image in self.images)

    def nearest(self, time_s: float) -> int | None:
        """Which of the frames shown is nearest to an instant; None outside the take."""
        first, last = self.time_s[0], self.time_s[-1]
        if not first - self.half_interval_s <= time_s <= last + self.half_interval_s:
            return None
        return int(np.abs(np.array(self.time_s) - time_s).argmin())


def frames_picture(
    view: View,
    name: ShootName,
    cells: Cells,
    indices: Sequence[int],
    images: Sequence[QImage | None],
    *,
    counting: bool,
) -> FramesPicture:
    """The frames of a shoot with these numbers, from 0, as far as they are drawn."""
    seen = view.outlooks[name]
    failing = failing_frames(seen)
    times = tuple(float(seen.tones.time_s[index]) for index in indices)
    whole = f"{seen.clip.frames}, {number_text(seen.clip.clip_length_s, 1)} s"
    drawn = sum(image is not None for image in images)
    return FramesPicture(
        name=name,
        cells=cells,
        numbers=tuple(index + 1 for index in indices),
        time_s=times,
        clocks=tuple(minute_of(seen.night, time_s) for time_s in times),
        failing=tuple(index in failing for index in indices),
        images=tuple(images),
        counting=counting,
        half_interval_s=seen.shoot.interval_s / 2.0,
        second_line=say("{drawn} of {count}", drawn=drawn, count=len(indices))
        if counting
        else whole,
        description=_description(seen, indices, failing),
    )


def failing_frames(seen: Outlook) -> frozenset[int]:
    """Frames, from 0, that break any limit."""
    return frozenset(int(frame) for frames in seen.judgement.failing.values() for frame in frames)


def _description(seen: Outlook, indices: Sequence[int], failing: frozenset[int]) -> str:
    clip = seen.clip
    length = number_text(clip.clip_length_s, 1)
    shown = say_count(
        "{count} frame of {name}, {length} s of clip, {shown} shown",
        "{count} frames of {name}, {length} s of clip, {shown} shown",
        clip.frames,
        name=seen.name,
        length=length,
        shown=len(indices),
    )
    if not failing:
        return f"{shown}."
    first, last = min(failing) + 1, max(failing) + 1
    if first == last:
        return say("{shown}; a limit is broken at frame {first}.", shown=shown, first=first)
    return say(
        "{shown}; a limit is broken at {number} from frame {first} to {last}.",
        shown=shown,
        number=len(failing),
        first=first,
        last=last,
    )
