"""How far things move in the picture: from frame to frame, and while the shutter is open.

Pixels are those of a picture 1920 wide. The ground is flat, at the height of the launch
point: what stands on it is nearer, and moves further.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.clip import Clip, exact_third_stop_s
from core.flightscene import gust_m_s, wind_m_s
from core.plan import Camera, Path, Shoot
from core.readonly import read_only
from core.steadiness import drift_m_s, jitter_deg, soft_share
from core.sweep import Sweep, sweep_of
from core.weather import cloud_height_m

__all__ = ["PICTURE_PX", "Motion", "Moving", "Sweep", "fastest_turn_px", "motion_of", "sweep_of"]

#: Width of the picture that pixels are counted in.
PICTURE_PX = 1920.0
#: Smear beyond this reads as smear, in pixels of the picture: engineering judgement.
SMEAR_PX = 4.0
#: Seconds that something should take to cross the whole frame, at 24 frames a second and a
#: shutter of 180°: the pan rule in a note of a maker of digital-cinema cameras.
PAN_CROSSING_S = 7.0
#: Share of the interval from which lights of traffic join to trails: engineering judgement.
TRAIL_SHARE = 1.0 / 3.0
#: An object jumps when it moves more than two of its lengths a frame, and flows below half
#: of one: engineering judgement.
JUMPING_LENGTHS = 2.0

# Rounding must not push a streak under its limit.
_NEAR = 1e-6


@dataclass(frozen=True)
class Subject:
    """Something that moves by itself: speed across the line of sight and length."""

    name: str
    speed_m_s: float
    length_m: float


#: Speeds of the worked table of image motion; lengths from common practice, no source.
CARS = Subject("cars", 14.0, 4.5)
CYCLISTS = Subject("cyclists", 5.0, 1.8)
PEOPLE = Subject("people", 1.4, 0.5)
#: Low clouds in a moderate wind; a heap of them is about as wide as it is high.
CLOUDS = Subject("clouds", 10.0, 500.0)


@dataclass(frozen=True)
class Moving:
    """How a subject moves in the picture, at the middle distance and at the nearest.

    `lengths_per_frame` is how many of its own lengths it moves from frame to frame, whatever
    the distance. Pixels are per frame of the clip and per exposure.
    """

    name: str
    speed_m_s: float
    lengths_per_frame: float
    distance_m: float
    px_per_frame: float
    smear_px: float
    near_m: float
    near_px_per_frame: float
    near_smear_px: float


@dataclass(frozen=True)
class Motion:
    """What moves in a take, in pixels of a picture 1920 wide.

    Attributes
    ----------
    moving
        Cars, cyclists, people and clouds, as far as there is ground or cloudy sky to see.
    near_m, middle_m
        Slant range to the nearest ground of the take and to the middle of the ground in the
        picture; None where it sees none.
    pan_limit_px
        The pan rule: more than this from frame to frame judders.
    turn_px_per_frame, scenery_px_per_frame
        The camera's own turn, and the nearest ground passing by flight and turn together,
        where they are fastest.
    turn_smear_px, scenery_smear_px
        The same during one exposure.
    streak_share
        Share of the interval for which the shutter is open, 0 to 1.
    gust_m_s
        Gust at the greatest height of the path.
    jitter_px, drift_px, middle_drift_px
        1-sigma of what the gimbal lets through and of the craft's wandering during one
        exposure, the latter for the nearest ground and for the middle distance.
    soft_share
        Share of frames expected to be soft at the middle of their ground by these two, 0 to 1.
        The planned flight and turn are not in it.
    fast_frames, smeared_frames
        Frames beyond the pan rule, and with more smear by the path than reads as sharp.

    """

    moving: tuple[Moving, ...]
    near_m: float | None
    middle_m: float | None
    pan_limit_px: float
    turn_px_per_frame: float
    scenery_px_per_frame: float
    turn_smear_px: float
    scenery_smear_px: float
    streak_share: float
    gust_m_s: float
    jitter_px: float
    drift_px: float
    middle_drift_px: float
    soft_share: float
    fast_frames: NDArray[np.int64]
    smeared_frames: NDArray[np.int64]
    sweep: Sweep = field(repr=False)

    @property
    def trails(self) -> bool:
        """Whether the shutter is open long enough to join the lights of traffic."""
        return self.streak_share >= TRAIL_SHARE - _NEAR

    @property
    def path_px_per_frame(self) -> float:
        """The most that turn and flight of the camera move standing things from frame to frame."""
        return max(self.turn_px_per_frame, self.scenery_px_per_frame)

    @property
    def path_smear_px(self) -> float:
        """The most that they smear standing things during one exposure."""
        return max(self.turn_smear_px, self.scenery_smear_px)

    def of(self, name: str) -> Moving | None:
        """How a subject moves; None where the picture has no place for it."""
        return next((moving for moving in self.moving if moving.name == name), None)


def shift_px(speed_m_s: float, time_s: float, distance_m: float, focal_px: float) -> float:
    """How far something moves in the picture: v t f / R.

    Parameters
    ----------
    speed_m_s
        Speed across the line of sight, [m/s].
    time_s
        The interval for a shift from frame to frame, the shutter for a smear, [s].
    distance_m
        Slant range, [m], positive; infinite gives no shift.
    focal_px
        Focal length in pixels of the picture.

    """
    return speed_m_s * time_s * focal_px / distance_m


def pan_limit_px(frame_rate_fps: float, width_px: float = PICTURE_PX) -> float:
    """The pan rule in pixels a frame: the width of the picture in 7 s of clip."""
    return width_px / (PAN_CROSSING_S * frame_rate_fps)


def fastest_turn_px(path: Path, camera: Camera) -> float:
    """Fastest turn of the camera along a path as flown, in pixels of the picture.

    A take of so many seconds turns that much, divided by them, each second.
    """
    return float(sweep_of(path, camera, PICTURE_PX).turn_px.max())


def motion_of(sweep: Sweep, shoot: Shoot, clip: Clip, wind_limit_m_s: float) -> Motion:
    """What moves in a take.

    Parameters
    ----------
    sweep
        What path and lens make of it whatever the take, of a picture `PICTURE_PX` wide.
    wind_limit_m_s
        The craft's own, [m/s]; the gimbal is steadier the further the gust is below it.

    """
    shutter_s = exact_third_stop_s(shoot.shutter_s)
    steps = max(clip.frames - 1, 1)
    per_s = 1.0 / (steps * shoot.interval_s) if clip.frames > 1 else 0.0
    path_px = np.maximum(sweep.turn_px, sweep.scenery_px)
    frames_px = np.interp(np.linspace(0.0, 1.0, clip.frames), sweep.share, path_px) * per_s
    limit_px = pan_limit_px(shoot.frame_rate_fps)
    mean = wind_m_s(shoot.conditions, sweep.height_m)
    gust = gust_m_s(shoot.conditions, sweep.height_m)
    jitter_px = sweep.focal_px * math.tan(math.radians(jitter_deg(gust, wind_limit_m_s)))
    drift = sweep.focal_px * drift_m_s(mean, gust) * shutter_s
    near_m, middle_m = ground_ranges_m(sweep)
    turn, scenery = (float(px.max()) * per_s for px in (sweep.turn_px, sweep.scenery_px))
    return read_only(
        Motion(
            moving=_moving(sweep, shoot, shutter_s),
            near_m=near_m if math.isfinite(near_m) else None,
            middle_m=middle_m if math.isfinite(middle_m) else None,
            pan_limit_px=limit_px,
            turn_px_per_frame=turn * shoot.interval_s,
            scenery_px_per_frame=scenery * shoot.interval_s,
            turn_smear_px=turn * shutter_s,
            scenery_smear_px=scenery * shutter_s,
            streak_share=shoot.shutter_s / shoot.interval_s,
            gust_m_s=gust,
            jitter_px=jitter_px,
            drift_px=drift / near_m,
            middle_drift_px=drift / middle_m,
            soft_share=soft_share(np.hypot(jitter_px, drift / sweep.middle_m)),
            fast_frames=np.flatnonzero(frames_px * shoot.interval_s > limit_px),
            smeared_frames=np.flatnonzero(frames_px * shutter_s > SMEAR_PX),
            sweep=sweep,
        )
    )


def ground_ranges_m(sweep: Sweep) -> tuple[float, float]:
    """Slant range to the nearest ground of the take, and the median to its middle, [m].

    Infinite where no frame sees ground.
    """
    seen = sweep.middle_m[np.isfinite(sweep.middle_m)]
    return float(sweep.near_m.min()), float(np.median(seen)) if seen.size else math.inf


def _moving(sweep: Sweep, shoot: Shoot, shutter_s: float) -> tuple[Moving, ...]:
    def seen(subject: Subject, distance_m: float, near_m: float) -> Moving:
        def shifts(range_m: float) -> tuple[float, float]:
            per_frame, smear = (
                shift_px(subject.speed_m_s, time_s, range_m, sweep.focal_px)
                for time_s in (shoot.interval_s, shutter_s)
            )
            return per_frame, smear

        lengths = subject.speed_m_s * shoot.interval_s / subject.length_m
        return Moving(
            subject.name, subject.speed_m_s, lengths,
            distance_m, *shifts(distance_m), near_m, *shifts(near_m),
        )  # fmt: skip

    near_m, middle_m = ground_ranges_m(sweep)
    everything = [(subject, middle_m, near_m) for subject in (CARS, CYCLISTS, PEOPLE)]
    everything.append((CLOUDS, *_cloud_ranges_m(sweep, shoot)))
    return tuple(
        seen(subject, distance_m, near_m)
        for subject, distance_m, near_m in everything
        if math.isfinite(near_m)
    )


def _cloud_ranges_m(sweep: Sweep, shoot: Shoot) -> tuple[float, float]:
    """Middle and nearest slant range of the clouds; infinite where the picture has none."""
    air = shoot.conditions
    above_m = cloud_height_m(air.temperature_c, air.humidity_percent) - sweep.height_m
    if air.cloud_okta <= 0.0 or above_m <= 0.0 or sweep.top_deg <= 0.0:
        return math.inf, math.inf
    top = math.radians(sweep.top_deg)
    return above_m / math.sin(top / 2.0), above_m / math.sin(top)
