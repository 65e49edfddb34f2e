"""Every exposure that a camera's scales give, and the takes that fit a battery."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.clip import exact_third_stop_s, frame_count, most_frames
from core.exposure import METER_CONSTANT, FloatArray
from core.plan import Camera
from core.preferences import Preferences
from core.readonly import read_only
from core.scales import CLIP_LENGTHS_S, scale_of
from core.tradeoff import LEAST_MARGIN_MIN

#: Log2 luminances nearer than this to each other are one exposure.
_SAME_MID_STOPS = 1e-6


@dataclass(frozen=True)
class Exposures:
    """Shutter, ISO, f-number and filter in every mix, one a row.

    `mids` (exposures,) are the log2 luminances of mid-grey that occur, each once, ascending;
    `mid_at` (rows,) says which one a row gives. All that light decides depends on it alone.
    """

    shutter_s: FloatArray
    iso: FloatArray
    f_number: FloatArray
    nd_stops: FloatArray
    mids: FloatArray
    mid_at: NDArray[np.intp]

    def least_by_mid(self, costs: FloatArray) -> FloatArray:
        """For each of `mids` the least that its rows cost; `costs` is (rows,)."""
        least = np.full(len(self.mids), np.inf)
        np.minimum.at(least, self.mid_at, costs)
        return least


@dataclass(frozen=True, slots=True)
class Take:
    """Interval and frames of a take; `longest` whether the battery gives no more frames."""

    interval_s: float
    frames: int
    clip_length_s: float
    longest: bool
    margin_min: float

    @property
    def shooting_s(self) -> float:
        """Seconds between the first and the last frame."""
        return (self.frames - 1) * self.interval_s


def exposures_of(camera: Camera) -> Exposures:
    """Mix the camera's scales."""
    scales = (
        np.array(scale_of(camera, key)) for key in ("shutter_s", "iso", "f_number", "nd_stops")
    )
    shutter, iso, f_number, nd = (axis.ravel() for axis in np.meshgrid(*scales, indexing="ij"))
    exact = {s: exact_third_stop_s(float(s)) for s in np.unique(shutter)}
    exact_s = np.array([exact[s] for s in shutter])
    # ISO 2720, as in core.exposure.mid_grey_cd_m2.
    mid = np.log2(METER_CONSTANT * f_number**2 / (exact_s * iso)) + nd
    steps = np.round(mid / _SAME_MID_STOPS)
    _, first, mid_at = np.unique(steps, return_index=True, return_inverse=True)
    return read_only(Exposures(shutter, iso, f_number, nd, mid[first], mid_at))


def takes_of(
    camera: Camera,
    wanted: Preferences,
    max_take_min: float,
    frame_rate_fps: float,
    only_length_s: float | None = None,
) -> tuple[Take, ...]:
    """The takes worth trying: for each interval the longest that the battery gives, and shorter.

    None is longer than the longest of `core.scales.CLIP_LENGTHS_S` or what is wanted. The
    shorter ones are the longest that leaves a margin to speak of, the clip wanted, the least
    accepted and half-way between. Where some
    interval gives the least accepted, those that do not are left out. With `only_length_s`
    there is no other length, as typed, and no interval at which the battery does not give it.
    """
    if only_length_s is not None:
        only = frame_count(only_length_s, frame_rate_fps)
        each = ((s, most_frames(max_take_min, s)) for s in scale_of(camera, "interval_s"))
        return tuple(
            Take(s, only, only_length_s, only == given, _margin_min(max_take_min, only, s))
            for s, given in each
            if only <= given
        )
    steps_s = (wanted.clip_length_s, (wanted.clip_length_s + wanted.clip_least_s) / 2.0)
    shorter = {frame_count(s, frame_rate_fps) for s in (*steps_s, wanted.clip_least_s)}
    most = frame_count(max(CLIP_LENGTHS_S[-1], wanted.clip_length_s), frame_rate_fps)
    takes = []
    for interval_s in scale_of(camera, "interval_s"):
        given = most_frames(max_take_min, interval_s)
        longest = min(given, most)
        with_margin = most_frames(max_take_min - LEAST_MARGIN_MIN, interval_s)
        lengths = {n for n in (*shorter, with_margin) if n < longest} | {longest}
        for frames in sorted(lengths, reverse=True):
            margin = _margin_min(max_take_min, frames, interval_s)
            length_s = frames / frame_rate_fps
            if frames > 0 and length_s >= 0.1:
                takes.append(Take(interval_s, frames, length_s, frames == given, margin))
    least = frame_count(wanted.clip_least_s, frame_rate_fps)
    long_enough = [take for take in takes if take.frames >= least]
    return tuple(long_enough or (take for take in takes if take.longest))


def _margin_min(max_take_min: float, frames: int, interval_s: float) -> float:
    return max_take_min - (frames - 1) * interval_s / 60.0
