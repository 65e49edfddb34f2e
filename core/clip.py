"""Clip arithmetic: frames, length, interval, and whether the camera keeps up."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log2
from typing import Literal

from core.plan import Camera, Shoot

# Rounding that arithmetic leaves behind must not cost a frame.
_ROUNDING = 1e-9

#: Shutter plus write time may pass the interval by this much: clocks are no better.
WRITE_TOLERANCE_S = 0.02
#: Nearer to the limit than this, only a trial with the camera proves the pairing.
UNPROVEN_S = 0.3

WriteVerdict = Literal["fits", "unproven", "skips"]


@dataclass(frozen=True, slots=True)
class Clip:
    """What a shoot's settings make of the take.

    `frames` counts the stills; `clip_length_s` is what they play to, `shooting_s`
    lies between the first and the last shutter. `write_left_s` is the interval less
    shutter and write time.
    """

    frames: int
    clip_length_s: float
    shooting_s: float
    speed_up: float
    shutter_angle_deg: float
    write_left_s: float
    write: WriteVerdict


def exact_third_stop_s(shutter_s: float) -> float:
    """Exact time behind a marked shutter: the nearest 2^(k/3) s.

    Cameras mark 1/3 stops with rounded names (0.3 s is 2^(-5/3) = 0.315 s) and time the
    exact power; the mark furthest from its time is 15 s, which is 16 s. A time more than
    7 % from every third stop is taken as typed.
    """
    exact = 2.0 ** (round(3.0 * log2(shutter_s)) / 3.0)
    return exact if abs(exact / shutter_s - 1.0) <= 0.07 else shutter_s


def write_left_s(shutter_s: float, interval_s: float, write_time_s: float) -> float:
    """Seconds left in the interval after the exposure and storing the still."""
    return interval_s - exact_third_stop_s(shutter_s) - write_time_s


def write_verdict(left_s: float) -> WriteVerdict:
    """Whether the camera keeps up, with `left_s` seconds to spare in each interval.

    A camera that is still storing when the next shot is due leaves that shot out, so a
    little too short halves the frames. Within `UNPROVEN_S` only a trial tells.
    """
    if left_s < -WRITE_TOLERANCE_S:
        return "skips"
    return "unproven" if left_s < UNPROVEN_S - WRITE_TOLERANCE_S else "fits"


def keeps_up(shutter_s: float, interval_s: float, camera: Camera) -> bool:
    """Whether shutter and write time fit in the interval, proven or not."""
    return write_verdict(write_left_s(shutter_s, interval_s, camera.write_time_s)) != "skips"


def camera_keeps_up(shoot: Shoot, camera: Camera) -> bool:
    """Whether a shoot's shutter and write time fit in its interval, proven or not."""
    return keeps_up(shoot.shutter_s, shoot.interval_s, camera)


def most_frames(take_min: float, interval_s: float) -> int:
    """Stills that fit into a take of so many minutes; the first comes at its start."""
    if take_min <= 0.0:
        return 0
    return floor(60.0 * take_min / interval_s + _ROUNDING) + 1


def frame_count(clip_length_s: float, frame_rate_fps: float) -> int:
    """Frames a clip of this length needs, at least one."""
    return max(1, round(clip_length_s * frame_rate_fps))


def clip_of(shoot: Shoot, camera: Camera) -> Clip:
    """Frames, lengths and the write-time rule of a shoot."""
    frames = frame_count(shoot.clip_length_s, shoot.frame_rate_fps)
    left = write_left_s(shoot.shutter_s, shoot.interval_s, camera.write_time_s)
    return Clip(
        frames=frames,
        clip_length_s=frames / shoot.frame_rate_fps,
        shooting_s=(frames - 1) * shoot.interval_s,
        speed_up=shoot.interval_s * shoot.frame_rate_fps,
        shutter_angle_deg=360.0 * shoot.shutter_s / shoot.interval_s,
        write_left_s=left,
        write=write_verdict(left),
    )
