"""A reviewed take on the clock of its plan, as the sheet shows it: pure functions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from PySide6.QtGui import QImage

from app.reviewed.measuring import Measured, Picture
from app.sheet.clock import Axis
from app.sheet.clockpicture import ClockPicture, moments_of
from app.sheet.developer import images
from app.sheet.toneground import Ground
from app.sheet.tonepicture import Line, limits_of, shade_of
from core.exposure import FloatArray
from core.findings import Severity
from core.language import say
from core.names import part_text
from core.place import offset_text
from core.plan import ShootName
from core.preview import dim_ramp
from core.review.estimate import mean_off
from core.review.faults import Fault, FaultName, most_burnt_share
from core.words import MINUS, clock_text, number_text, signed_text

#: Room before the take, and after it for words, as shares of its own length.
_BEFORE, _AFTER = 0.06, 0.42
_LEAST_ROOM_S = 30.0


@dataclass(frozen=True)
class Seen:
    """A part as it was expected, with its 1-sigma, and as it was measured."""

    expected: Line
    measured: Line
    words: str


@dataclass(frozen=True)
class Flaw:
    """A fault on the plot: where its frame stands, how bad it is, and a few words."""

    axis_s: float
    severity: Severity
    words: str


@dataclass(frozen=True)
class Drift:
    """Departures from the planned path, in pixels of the still, one a frame.

    `numbers` are the frames' places in the take, counted from 1.
    """

    right_px: FloatArray
    down_px: FloatArray
    numbers: tuple[int, ...]


@dataclass(frozen=True)
class ReviewPicture:
    """All that the sheet shows; `time_s` are the frames' seconds on the clock."""

    name: ShootName
    axis: Axis
    ground: Ground
    flag: str
    first_s: float
    last_s: float
    parts: tuple[Seen, ...]
    faults: tuple[Flaw, ...]
    time_s: FloatArray
    drift: Drift
    pairs: tuple[tuple[int, QImage, QImage | None], ...]
    failing: frozenset[int]
    told: str


def review_picture(measured: Measured, *, dim: bool = False) -> ReviewPicture:
    """The picture of a measured take; `dim` gives its pictures for dark-adapted eyes."""
    reviewed = measured.seen.shown.reviewed
    seen, frames = reviewed.seen, reviewed.frames
    first_s, last_s = frames[0].time_s, frames[-1].time_s
    room = max(last_s - first_s, _LEAST_ROOM_S)
    axis = Axis(first_s - _BEFORE * room, last_s + _AFTER * room)
    offset = seen.night.clock(first_s).utcoffset()
    clock = ClockPicture(
        offset_text(seen.night.time_zone, first_s).replace("-", MINUS),
        moments_of(seen, axis),
        offset.total_seconds() if offset else 0.0,
        "",
    )
    looked = sum(look is not None for look in reviewed.looks)
    return ReviewPicture(
        name=seen.name,
        axis=axis,
        ground=Ground(shade_of(seen, axis), limits_of(reviewed.plan), clock),
        flag=f"{seen.name} {clock_text(seen.night.clock(first_s), seconds=True)}",
        first_s=first_s,
        last_s=last_s,
        parts=tuple(_parts(measured)),
        faults=tuple(_placed(measured)),
        time_s=np.array([frame.time_s for frame in frames]),
        drift=drift_of(measured),
        pairs=tuple(
            (pair.at, image_of(pair.predicted, dim=dim), image_of(pair.measured, dim=dim))
            for pair in measured.pairs
        ),
        failing=_burnt(measured),
        told=say("{done} of {count}", done=looked, count=frames[-1].index - frames[0].index + 1),
    )


def drift_of(measured: Measured) -> Drift:
    """By how much each frame departs from the planned path."""
    reviewed = measured.seen.shown.reviewed
    right_px, down_px = reviewed.departure_px.T
    return Drift(right_px, down_px, tuple(frame.index + 1 for frame in reviewed.frames))


def _parts(measured: Measured) -> list[Seen]:
    reviewed, estimated = measured.seen.shown.reviewed, measured.seen.shown.estimated
    time_s = reviewed.tones.time_s
    found = []
    for part, (stops, sigma) in reviewed.expected.items():
        seen = estimated.of(part)
        # What is out of the frame is drawn nowhere.
        expected = Line(part, time_s, np.where(np.isfinite(stops), stops, np.nan), sigma)
        own = Line(part, time_s, seen.stops, seen.sigma_stops)
        off = mean_off(seen, stops)
        words = (
            say("measured {stops}", stops=signed_text(off[0]))
            if off is not None
            else say("not measured")
        )
        found.append(Seen(expected, own, words))
    return found


#: What spoils the picture is a problem, what a cut or levelling mends a caution.
_SEVERITIES: Final[dict[FaultName, Severity]] = {
    "elsewhere": "stop", "auto": "stop", "settings": "stop",
    "burnt": "stop", "over": "stop", "dark": "stop",
    "gap": "warn", "black": "warn", "leap": "warn", "flash": "warn",
}  # fmt: skip
_IN_SHORT: Final[dict[FaultName, str]] = {
    "elsewhere": say("taken at another place"),
    "auto": say("on automatic from frame {frame}"),
    "burnt": say("burns from frame {frame}"),
    "over": say("too bright from frame {frame}"),
    "dark": say("too dark from frame {frame}"),
    "settings": say("settings change at frame {frame}"),
    "gap": say("missing before frame {frame}"),
    "black": say("black from frame {frame}"),
    "leap": say("frame {frame} leaps"),
    "flash": say("frame {frame} flashes"),
}


def severity_of(fault: Fault) -> Severity:
    """How bad a fault is."""
    return _SEVERITIES[fault.name]


def _placed(measured: Measured) -> Iterator[Flaw]:
    for frame in measured.seen.frames:
        for fault in frame.faults:
            words = _IN_SHORT[fault.name].format(frame=frame.index + 1)
            yield Flaw(frame.time_s, severity_of(fault), words)


def _burnt(measured: Measured) -> frozenset[int]:
    """Frames of which more is burnt than may be."""
    reviewed = measured.seen.shown.reviewed
    allowed = most_burnt_share(reviewed.plan)
    return frozenset(
        at
        for at, look in enumerate(reviewed.looks)
        if look is not None and look.burnt_share > allowed
    )


@overload
def image_of(picture: Picture, *, dim: bool) -> QImage: ...
@overload
def image_of(picture: Picture | None, *, dim: bool) -> QImage | None: ...
def image_of(picture: Picture | None, *, dim: bool) -> QImage | None:
    """A picture for the window, for dark-adapted eyes where it is `dim`."""
    if picture is None:
        return None
    (image,) = images((dim_ramp(picture) if dim else picture)[None])
    return image


def hover_words(measured: Measured, at: int) -> str:
    """A frame in words: its number, clock, file, and each part beside what was expected."""
    reviewed = measured.seen.shown.reviewed
    frame, night = reviewed.frames[at], reviewed.seen.night
    told = [
        say("frame {frame}", frame=frame.index + 1),
        clock_text(night.clock(frame.time_s), seconds=True),
        frame.still.file,
    ]
    for seen in _parts(measured):
        stops, expected = float(seen.measured.stops[at]), float(seen.expected.stops[at])
        if np.isfinite(stops) and np.isfinite(expected):
            told.append(
                say(
                    "{part} {stops}, expected {expected}",
                    part=part_text(seen.measured.part),
                    stops=signed_text(stops),
                    expected=signed_text(expected),
                )
            )
    right, down = (float(one) for one in reviewed.departure_px[at])
    if np.isfinite(right) and np.isfinite(down):
        told.append(
            say(
                "{right} px right, {down} px up",
                right=number_text(right, 1),
                down=number_text(-down, 1),
            )
        )
    return "   ".join(told)
