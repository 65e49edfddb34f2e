"""Predicted frames of a take: pictures drawn by the same model as the tones.

`linear_frames` renders the scene in cd/m², `develop` exposes it. A change of shutter, ISO,
f-number or filter only develops the same linear frames anew.
"""

from core.preview.develop import develop, dim_ramp
from core.preview.frames import (
    LinearFrames,
    frame_indices,
    frame_size,
    frames_key,
    linear_frames,
)

__all__ = [
    "LinearFrames",
    "develop",
    "dim_ramp",
    "frame_indices",
    "frame_size",
    "frames_key",
    "linear_frames",
]
