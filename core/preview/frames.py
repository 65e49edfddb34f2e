"""Predicted frames of a take in linear light: every part as bright as the model says.

The picture is drawn from the tones' own luminances: land and streets average what the tones
give them, the sky is the same clear sky under the same cloud. What is beyond the reach of
those parts (far land, ridges) is land seen through haze.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.outlook import Outlook
from core.plan import Camera, Plan
from core.preview.draw import Canvas, draw
from core.preview.scene import scene_of
from core.preview.view import Pixels, screen_of
from core.readonly import read_only

ROWS, COLS = 90, 160


@dataclass(frozen=True)
class LinearFrames:
    """Frames in linear light.

    `rgb` (n, rows, cols, 3) is linear Rec.709 in cd/m². `sky_share`, `street_share` and
    `land_share` (n, rows, cols) say how much of a pixel is that part of the model; what is
    left is far land, a ridge, or the disc of sun or moon. `indices` (n,) are the frames'
    numbers from 0, `time_s` (n,) UTC seconds.
    """

    indices: NDArray[np.int64]
    time_s: FloatArray
    rgb: Pixels
    sky_share: Pixels
    street_share: Pixels
    land_share: Pixels


def frame_indices(frames: int, count: int) -> tuple[int, ...]:
    """Numbers (from 0) of up to `count` frames, spread from the first to the last, each once."""
    spread = np.rint(np.linspace(0.0, frames - 1, min(count, frames)))
    return tuple(int(k) for k in spread)


def frame_size(camera: Camera, rows: int = ROWS) -> tuple[int, int]:
    """Rows and columns of a picture with the camera's aspect and square pixels."""
    width, height = (int(side) for side in camera.aspect.split(":"))
    return rows, round(rows * width / height)


def frames_key(plan: Plan, seen: Outlook, indices: tuple[int, ...]) -> Hashable:
    """The values that `linear_frames` reads, apart from the picture's size and the start.

    No setting that only exposes is among them.
    """
    lens = (plan.camera.focal_equivalent_mm, plan.camera.aspect)
    air, night = seen.shoot.conditions, seen.night
    where = (night.latitude_deg, night.longitude_deg, night.date, night.twilight)
    weather = (air.cloud_okta, air.haze_aod, air.skyglow_cd_m2, air.visibility_km)
    take = (seen.shoot.interval_s, seen.clip.frames, indices)
    held = seen.light.belief
    return (where, plan.place.skyline, plan.ground, lens, seen.path, weather, take, held)


def linear_frames(
    plan: Plan,
    seen: Outlook,
    indices: tuple[int, ...],
    rows: int = ROWS,
    cols: int = COLS,
) -> LinearFrames:
    """Render frames of a shoot. Pure, so it may run in any thread.

    Parameters
    ----------
    seen
        The outlook whose frames are drawn: path, times, sky and luminances are its own.
    indices
        Numbers of the frames, from 0, as `frame_indices` gives them.
    rows, cols
        Size of the pictures, see `frame_size`.
    """
    chosen = np.array(indices, dtype=np.int64)
    scene, screen = scene_of(plan, seen, chosen), screen_of(plan.camera, rows, cols)
    shape = (len(chosen), rows, cols)
    rgb = np.empty((*shape, 3), dtype=np.float32)
    shares = np.zeros((3, *shape), dtype=np.float32)
    for k in range(len(chosen)):
        draw(Canvas(rgb[k], *shares[:, k]), scene, screen, k)
    return read_only(LinearFrames(chosen, seen.tones.time_s[chosen], rgb, *shares))
