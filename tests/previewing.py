"""Takes with some of their frames drawn, and a plain sky, for tests of the preview."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.forecast import outlook
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Plan
from core.preview import LinearFrames, frame_indices, linear_frames

#: Share of each channel in the luminance, ITU-R BT.709-6.
LUMINANCE = np.array((0.2126, 0.7152, 0.0722))


@dataclass(frozen=True)
class EvenSuns:
    """The same sky under so many suns."""

    cd_m2: float
    suns: int

    def luminance(self, *angles_deg: ArrayLike) -> NDArray[np.float64]:
        return np.full((*np.broadcast_shapes(*map(np.shape, angles_deg)), self.suns), self.cd_m2)


@dataclass(frozen=True)
class EvenSky:
    """A grey sky of one luminance in all directions, at any sun."""

    cd_m2: float

    def ground_lx(self, sun_altitude_deg: ArrayLike, /) -> NDArray[np.float64]:
        return np.full(np.shape(sun_altitude_deg), np.pi * self.cd_m2)

    def direct_share(self, sun_altitude_deg: ArrayLike, /) -> NDArray[np.float64]:
        return np.zeros(np.shape(sun_altitude_deg))

    def luminance(self, *angles_deg: ArrayLike) -> NDArray[np.float64]:
        return np.full(np.broadcast_shapes(*map(np.shape, angles_deg)), self.cd_m2)

    def colour(self, *angles_deg: ArrayLike) -> NDArray[np.float64]:
        return np.ones((*np.broadcast_shapes(*map(np.shape, angles_deg)), 3))

    def at_suns(self, sun_altitudes_deg: NDArray[np.float64], /) -> EvenSuns:
        return EvenSuns(self.cd_m2, len(sun_altitudes_deg))


@dataclass(frozen=True)
class Drawn:
    """A shoot and some of its frames; `luminance` (n, rows, cols) in cd/m²."""

    plan: Plan
    seen: Outlook
    frames: LinearFrames

    @property
    def luminance(self) -> NDArray[np.float64]:
        return np.asarray(self.frames.rgb.astype(float) @ LUMINANCE)

    def part_cd_m2(self, part: str) -> NDArray[np.float64]:
        """What the tones give a part (mean of the sky) in each drawn frame."""
        tone = getattr(self.seen.tones, part)
        stops = tone.mean_stops if part == "sky" else tone.stops
        return np.asarray(2.0 ** (stops[self.frames.indices] + self.seen.mid))


def drawn(plan: Plan, count: int = 8, rows: int = 90, cols: int = 160) -> Drawn:
    """Draw frames of shoot A, spread over the take."""
    seen = outlook(plan, "A", Memory())
    indices = frame_indices(seen.clip.frames, count)
    return Drawn(plan, seen, linear_frames(plan, seen, indices, rows, cols))
