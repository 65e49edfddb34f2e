"""The stills of a take in order of time: which are missing, at what interval, which are strangers.

A take is a comb: stills one interval apart, some teeth missing. The interval is found first,
from the commonest gap; then each gap is so many intervals, and what stands between the teeth,
or away from the comb, does not belong.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np

from core.edit import PlanError
from core.exposure import FloatArray
from core.language import say
from core.place import utc_s
from core.review.exif import Exif
from core.review.stills import Still, Unread

#: A gap longer than this many intervals has a frame missing (common practice, no source).
GAP_INTERVALS = 1.5
#: A lone still beside the comb that is further off a tooth than this is no frame of the take.
OFF_TOOTH = 0.25
#: Test stills before and after a take come in so small a number.
_FEW = 3
#: Two clocks further apart than this disagree: a fix by satellite is told up to a second late.
CLOCK_TOLERANCE_S = 2.0
#: Frames longer than this apart are two takes.
_PAUSE_S = 600.0
_LEAST_FRAMES = 3
#: Stills nearer than this are one burst or copies.
_LEAST_GAP_S = 0.1
#: The interval lies between these shares of the commonest gap.
_FASTER, _SLOWER = 0.7, 1.5
#: Stills keep to one comb when they lie off their teeth by less than this rms, in intervals.
_EVEN = 0.2


@dataclass(frozen=True)
class Frame:
    """A still of the take: its place in it, counted from 0, and UTC seconds of its shutter."""

    index: int
    time_s: float
    still: Still


@dataclass(frozen=True)
class SettingChange:
    """A setting that is another from a frame on; `name` is one of `_SETTINGS`."""

    index: int
    name: str
    before: object
    after: object


@dataclass(frozen=True)
class Timeline:
    """A take in order.

    `missing` holds the places between the first and the last frame that no still fills;
    `clock_error_s` is by how much the camera's clock is ahead of UTC by satellite beyond its
    offset, None without satellite time: `Frame.time_s` is corrected by it. `offset_s` is what
    the camera's clock was taken to be ahead of UTC, `offset_told` whether the stills said so.
    """

    frames: tuple[Frame, ...]
    missing: tuple[int, ...]
    interval_s: float
    clock_error_s: float | None
    offset_s: float
    offset_told: bool
    changes: tuple[SettingChange, ...]
    strangers: tuple[Unread, ...]


def timeline_of(stills: Sequence[Still], time_zone: str) -> Timeline:
    """Put the stills of a folder in order and find the take in it.

    Parameters
    ----------
    time_zone
        IANA name of the place's zone, for cameras that do not tell their offset.

    Raises
    ------
    PlanError
        When fewer than three stills make a take.
    """
    alike, strangers = _of_one_camera(stills)
    timed = sorted(
        (still for still in alike if still.exif.clock_s is not None),
        key=lambda still: (still.exif.clock_s, still.file),
    )
    strangers += [
        Unread(still.file, say("it does not say when it was taken"))
        for still in alike
        if still.exif.clock_s is None
    ]
    if len(timed) < _LEAST_FRAMES:
        raise PlanError(
            say(
                "The folder holds {stills} stills of one camera with their time; a take has "
                "{least} or more.",
                stills=len(timed),
                least=_LEAST_FRAMES,
            )
        )
    clock = np.array([still.exif.clock_s for still in timed])
    kept, teeth, interval_s, apart = _comb(clock)
    strangers += [Unread(timed[at].file, reason) for at, reason in apart.items()]
    take = [timed[at] for at in kept]
    if len(take) < _LEAST_FRAMES:
        raise PlanError(
            say("The stills of the folder are not one interval apart: they make no take.")
        )
    offset_s, told = _offset_s(take, time_zone)
    error_s = _clock_error_s(take, offset_s)
    shift_s = offset_s + (error_s if error_s is not None and _is_off(error_s) else 0.0)
    frames = tuple(
        Frame(int(tooth), float(clock[at] - shift_s), timed[at])
        for at, tooth in zip(kept, teeth, strict=True)
    )
    there = {frame.index for frame in frames}
    return Timeline(
        frames=frames,
        missing=tuple(k for k in range(frames[-1].index + 1) if k not in there),
        interval_s=interval_s,
        clock_error_s=error_s,
        offset_s=offset_s,
        offset_told=told,
        changes=tuple(_changes(frames)),
        strangers=tuple(sorted(strangers, key=lambda one: one.file)),
    )


def _is_off(error_s: float) -> bool:
    return abs(error_s) > CLOCK_TOLERANCE_S


def _of_one_camera(stills: Sequence[Still]) -> tuple[list[Still], list[Unread]]:
    """The stills of the commonest camera and size, and the others."""
    kinds = Counter(_kind(still) for still in stills)
    if not kinds:
        return [], []
    commonest = kinds.most_common(1)[0][0]
    alike = [still for still in stills if _kind(still) == commonest]
    others = [still for still in stills if _kind(still) != commonest]
    return alike, [Unread(still.file, _other_text(still, alike[0])) for still in others]


def _kind(still: Still) -> tuple[str, int, int]:
    return still.exif.camera, still.width_px, still.height_px


def _other_text(still: Still, usual: Still) -> str:
    if still.exif.camera != usual.exif.camera:
        return say("it is by another camera than the take")
    return say(
        "it has {size} pixels, the take {usual}",
        size=_size_text(still),
        usual=_size_text(usual),
    )


def _size_text(still: Still) -> str:
    return f"{still.width_px} × {still.height_px}"


def _comb(clock: FloatArray) -> tuple[list[int], FloatArray, float, dict[int, str]]:
    """Which stills are frames, on which teeth, the interval, and why others are none."""
    apart: dict[int, str] = {}
    first, last = _longest_run(clock)
    for at in range(len(clock)):
        if not first <= at <= last:
            apart[at] = say("it was taken long before or after the take")
    kept = list(range(first, last + 1))
    # Half of what a camera without sub-seconds leaves unsaid.
    unsaid_s = 0.0 if np.any(clock % 1.0) else 0.5
    interval_s = _periodic_s(clock[kept], _commonest_gap_s(np.diff(clock[kept])), 4.0 * unsaid_s)
    kept = _without_doubles(clock, kept, interval_s / 2.0 - unsaid_s, interval_s, apart)
    off_tooth = OFF_TOOTH + 2.0 * unsaid_s / interval_s
    kept = _without_ends(clock, kept, interval_s, off_tooth, apart)
    teeth = _teeth(clock[kept], interval_s)
    if len(kept) >= _LEAST_FRAMES:
        interval_s = float(np.polyfit(teeth, clock[kept], 1)[0])
    return kept, teeth, interval_s, apart


def _longest_run(clock: FloatArray) -> tuple[int, int]:
    """First and last of the longest run of stills without a long pause."""
    pauses = np.flatnonzero(np.diff(clock) > _PAUSE_S)
    edges = np.concatenate([[-1], pauses, [len(clock) - 1]])
    longest = int(np.argmax(np.diff(edges)))
    return int(edges[longest]) + 1, int(edges[longest + 1])


def _commonest_gap_s(gaps: FloatArray) -> float:
    """The interval: the mean of the gaps near the commonest one, doubles left out."""
    real = np.sort(gaps[gaps > _LEAST_GAP_S])
    if not real.size:
        return _LEAST_GAP_S
    # Each gap is voted for by those near it; of equal votes the shortest counts, as two teeth
    # make a longer one.
    below, above = (np.searchsorted(real, real * (1.0 + side)) for side in (-OFF_TOOTH, OFF_TOOTH))
    most = int(np.argmax(above - below))
    return float(real[below[most] : above[most]].mean())


def _periodic_s(clock: FloatArray, about_s: float, least_s: float) -> float:
    """The interval near a first guess at which the stills stand most evenly.

    The peak of the periodogram of their instants; it holds over gaps, and over clocks that
    tell whole seconds only.
    """
    span_s = max(float(clock[-1] - clock[0]), about_s)
    # A quarter of the peak's width apart.
    fastest_s = max(_FASTER * about_s, least_s)
    turns = np.arange(span_s / (_SLOWER * about_s), span_s / fastest_s, 0.25) / span_s
    even = [abs(np.exp(2j * np.pi * turn * (clock - clock[0])).sum()) for turn in turns]
    return float(1.0 / turns[int(np.argmax(even))]) if turns.size else about_s


def _teeth(clock: FloatArray, interval_s: float) -> FloatArray:
    """The tooth of each frame, counted from the first: no two on one.

    Counted on one comb where the stills keep to it, else from each to the next: a camera
    may be late and later.
    """
    turns = (clock - clock[0]) / interval_s
    phase = np.angle(np.exp(2j * np.pi * turns).sum()) / (2.0 * np.pi)
    even = np.rint(turns - phase)
    if np.sqrt(np.mean((turns - phase - even) ** 2)) < _EVEN and np.all(np.diff(even) >= 1.0):
        return np.asarray(even - even[0])
    steps = np.maximum(np.rint(np.diff(clock) / interval_s), 1.0)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _without_doubles(
    clock: FloatArray,
    kept: list[int],
    nearest_s: float,
    interval_s: float,
    apart: dict[int, str],
) -> list[int]:
    """Frames without stills that follow the one before by less than `nearest_s`.

    Of two, the one stays that lies nearer a tooth, counted from their neighbours.
    """
    out: list[int] = []
    for at in kept:
        if not out or clock[at] - clock[out[-1]] >= nearest_s:
            out.append(at)
            continue
        before = clock[out[-2]] if len(out) > 1 else None
        worse = at
        if before is not None:
            near = [abs((clock[one] - before) / interval_s % 1.0 - 0.5) for one in (out[-1], at)]
            if near[1] > near[0]:
                worse = out.pop()
                out.append(at)
        apart[worse] = say("it was taken between two frames of the take")
    return out


def _without_ends(
    clock: FloatArray, kept: list[int], interval_s: float, off_tooth: float, apart: dict[int, str]
) -> list[int]:
    """Frames without the few stills before and after the comb that stand on none of its teeth."""
    for turn in (1, -1):
        order = kept[::turn]
        for few in range(min(_FEW, len(order) - _LEAST_FRAMES), 0, -1):
            gap = abs(clock[order[few]] - clock[order[few - 1]]) / interval_s
            off = abs(gap - round(gap))
            if gap > GAP_INTERVALS and off > off_tooth:
                for at in order[:few]:
                    apart[at] = say("it was taken beside the take, off its interval")
                kept = order[few:][::turn]
                break
    return kept


def _offset_s(take: Sequence[Still], time_zone: str) -> tuple[float, bool]:
    """What the camera's clock is ahead of UTC, and whether the stills say so."""
    told = Counter(still.exif.offset_s for still in take if still.exif.offset_s is not None)
    if told:
        return float(told.most_common(1)[0][0]), True
    clock_s = take[0].exif.clock_s or 0.0
    wall = dt.datetime.fromtimestamp(clock_s, dt.UTC).replace(tzinfo=ZoneInfo(time_zone))
    return clock_s - utc_s(wall), False


def _clock_error_s(take: Sequence[Still], offset_s: float) -> float | None:
    """Median of what the camera's clock is ahead of satellite time, beyond its offset."""
    ahead = [
        still.exif.clock_s - offset_s - still.exif.gps_s
        for still in take
        if still.exif.clock_s is not None and still.exif.gps_s is not None
    ]
    return float(np.median(ahead)) if len(ahead) >= _LEAST_FRAMES else None


_SETTINGS: dict[str, Callable[[Exif], object]] = {
    "exposure_s": lambda exif: exif.exposure_s,
    "iso": lambda exif: exif.iso,
    "f_number": lambda exif: exif.f_number,
    "focal_equivalent_mm": lambda exif: exif.focal_equivalent_mm,
    "orientation": lambda exif: exif.orientation,
}


def _changes(frames: Sequence[Frame]) -> list[SettingChange]:
    """Every setting that is another than on the frame before."""
    found = []
    for before, after in pairwise(frames):
        for name, read in _SETTINGS.items():
            was, now = read(before.still.exif), read(after.still.exif)
            if was != now:
                found.append(SettingChange(after.index, name, was, now))
    return found
