"""The real steps of each setting: the camera's own scales, or common practice."""

from __future__ import annotations

from typing import Literal

import msgspec
import numpy as np

from core.plan import Camera, Plan, Shoot, ShootName

ExposureKey = Literal["shutter_s", "iso", "f_number", "nd_stops"]
TakeKey = Literal["interval_s", "clip_length_s", "frame_rate_fps"]
SettingKey = ExposureKey | TakeKey

#: Settings that move every tone by the same stops and change nothing else.
EXPOSURE_KEYS: tuple[ExposureKey, ...] = ("shutter_s", "iso", "f_number", "nd_stops")
#: Settings that make another take.
TAKE_KEYS: tuple[TakeKey, ...] = ("interval_s", "clip_length_s", "frame_rate_fps")

#: Frame rates that clips are played at, common practice, no source.
FRAME_RATES_FPS = (24.0, 25.0, 30.0, 50.0, 60.0)
#: Clip lengths offered: half seconds; what is typed may lie between.
CLIP_LENGTHS_S = tuple(float(s) for s in np.arange(2.0, 20.25, 0.5))


def scale_of(camera: Camera, key: SettingKey) -> tuple[float, ...]:
    """The steps of a setting, ascending, each once."""
    scales: dict[SettingKey, tuple[float, ...]] = {
        "interval_s": camera.intervals_s,
        "clip_length_s": CLIP_LENGTHS_S,
        "shutter_s": camera.shutters_s,
        "iso": camera.isos,
        "f_number": camera.f_numbers,
        "nd_stops": camera.nd_stops,
        "frame_rate_fps": FRAME_RATES_FPS,
    }
    return tuple(sorted(set(scales[key])))


def held_camera(camera: Camera, shoot: Shoot, held: frozenset[SettingKey]) -> Camera:
    """The camera with the one step that a shoot has of each setting that is held."""
    scales: dict[SettingKey, str] = {
        "interval_s": "intervals_s",
        "shutter_s": "shutters_s",
        "iso": "isos",
        "f_number": "f_numbers",
        "nd_stops": "nd_stops",
    }
    only = {scale: (getattr(shoot, key),) for key, scale in scales.items() if key in held}
    return msgspec.structs.replace(camera, **only) if only else camera


def with_setting(shoot: Shoot, key: SettingKey, value: float) -> Shoot:
    """The shoot with one setting changed."""
    return msgspec.structs.replace(shoot, **{key: value})


def with_shoot(plan: Plan, name: ShootName, shoot: Shoot) -> Plan:
    """The plan with one of its shoots changed."""
    shoots = msgspec.structs.replace(plan.shoots, **{name: shoot})
    return msgspec.structs.replace(plan, shoots=shoots)
