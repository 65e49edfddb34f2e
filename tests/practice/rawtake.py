"""A practice take whose camera keeps raw stills alone: the same light, before any curve."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from core.path import half_field_tangents
from core.plan import Plan
from tests.dngfiles import dng_of, mosaic_of
from tests.practice import take as jpegs
from tests.practice.camera import vignette
from tests.practice.exif import exif_of
from tests.practice.light import true_night
from tests.practice.truth import Truth
from tests.practice.view import light_by_rows, middles, tangents

#: Light at which a sensor clips over that of mid-grey: 78 and 10 lx s over S (ISO 12232:2019).
CLIP = 7.8


def write_raw_take(folder: Path, plan: Plan, truth: Truth, seed: int) -> jpegs.PracticeTake:
    """Write a take of shoot A as `tests.practice.take.write_take` does, in DNG."""
    size = jpegs.SMALL
    night = true_night(plan, "A", truth)
    frames, light = jpegs._frames(night, truth, seed, size)
    scene = jpegs._scene(plan, truth, seed, size)
    right, up = tangents(scene.camera, size, middles(size[0]), middles(size[1]))
    corner = float(np.hypot(*half_field_tangents(scene.camera)))
    frames = tuple(replace(one, file=one.file.replace(".JPG", ".DNG")) for one in frames)
    for at, frame in enumerate(frames):
        seen = np.empty((3, size[1], size[0]), dtype=np.float32)
        for band, luminance in light_by_rows(scene, frame.aim, light, at, frame.time_s):
            seen[:, band] = luminance * vignette(right, up[band], corner, truth.lasting)
        seen *= np.float32(2.0 ** (frame.flicker_stops - frame.mid_log2) / CLIP)
        block = exif_of(jpegs._shot(plan, truth.handling, frame, size))
        (folder / frame.file).write_bytes(dng_of(mosaic_of(seen), block))
    return jpegs.PracticeTake(
        plan, truth, size, frames, night.lamps_on_s, night.lamps_off_s, (), ()
    )
