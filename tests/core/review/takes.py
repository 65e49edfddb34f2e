"""Practice takes reviewed, beside their truth."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from core.edit import with_values
from core.exposure import FloatArray
from core.lastnight import as_flown
from core.memory import Memory
from core.plan import Plan
from core.review.learn import Shown, Taught, shown_of, taught_by
from core.review.review import review
from tests.dusk import december_plan
from tests.practice.take import SMALL, PracticeTake, TrueFrame, write_take
from tests.practice.truth import Truth
from tests.practice.view import Size

#: The worked case in 4:3, as small stills are. `FEW` covers its evening in frames far apart;
#: `ON` has its lamps coming on in the middle.
PLAN = december_plan(camera__aspect="4:3")
FEW = with_values(PLAN, {"shoots.A.clip_length_s": 2.4, "shoots.A.interval_s": 15.0})
ON = with_values(
    PLAN,
    {
        "shoots.A.clip_length_s": 2.4,
        "shoots.A.interval_s": 12.0,
        "shoots.A.start_after_event_min": 19.0,
        "ground.lamps.switching.on_lx": 10.0,
    },
)


@dataclass(frozen=True)
class Case:
    """A take as it was written, and what a review makes of it."""

    take: PracticeTake
    shown: Shown

    @cached_property
    def taught(self) -> Taught:
        """What the take teaches the plan that it was reviewed with."""
        return taught_by(self.shown, self.shown.reviewed.plan, Memory())

    @property
    def frames(self) -> list[TrueFrame]:
        """The truth of each frame that was found, in their order."""
        by_name = {frame.file: frame for frame in self.take.frames}
        return [by_name[frame.still.file] for frame in self.shown.reviewed.frames]

    def true_stops(self, part: str) -> FloatArray:
        """True tones of a part at the take's usual settings."""
        log2 = np.array([getattr(frame, f"{part}_log2") for frame in self.frames])
        return np.asarray(log2 - self.shown.reviewed.mid)

    @property
    def flicker(self) -> tuple[float, float, float]:
        """The true rms of the flicker, by how much what is told is off it, and the 1-sigma stated.

        The latter two as shares of the true one.
        """
        true = float(np.std([frame.flicker_stops for frame in self.frames]))
        seen = self.shown.estimated.flicker
        return true, seen.rms_stops / true - 1.0, seen.rms_sigma_stops / true

    def drift_off(self) -> FloatArray:
        """By how much the ground's way from each frame to the next is off, right and down."""
        found = np.diff(self.shown.reviewed.departure_px, axis=0)
        return np.asarray(found - np.diff(self._true_departure_px(), axis=0))

    def departure_off(self) -> FloatArray:
        """By how much each frame's departure since the first one is off, right and down."""
        return np.asarray(
            self.shown.reviewed.departure_px - self._true_departure_px(since_first=True)
        )

    def _true_departure_px(self, *, since_first: bool = False) -> FloatArray:
        at = {frame.file: k for k, frame in enumerate(self.take.frames)}
        true = self.take.departure_px(since_first=since_first)
        return true[[at[frame.still.file] for frame in self.shown.reviewed.frames]]

    def departures(self) -> dict[str, tuple[float, float]]:
        """By how much each figure of the night is off after the take, and its stated 1-sigma.

        `ambient` is the light of the ground in the middle of the take. One take hardly tells what
        of it stays with the place: the plan's own uncertainty parts it.
        """
        lasting, tonight, after = (
            self.take.truth.lasting,
            self.take.truth.tonight,
            self.taught.lesson.after,
        )
        reviewed = self.shown.reviewed
        typed = as_flown(reviewed.plan, reviewed.take, Memory()).typed
        slope = float(typed.at("haze_slope_stops", float(np.median(reviewed.tones.time_s))))
        true = {
            "level": lasting.level_stops,
            "weather": tonight.weather_stops,
            "haze": tonight.haze_sigmas,
            "lamps": lasting.lamps_stops,
            "sky": tonight.sky_stops,
        }
        off = {name: after.of(name) - value for name, value in true.items()}  # type: ignore[arg-type]
        found = {name: (off[name], after.sigma_of(name)) for name in off}  # type: ignore[arg-type]
        found["ambient"] = (
            off["level"] + off["weather"] + slope * off["haze"],
            float(after.sigma_stops(level=1.0, weather=1.0, haze=slope)),
        )
        return found


def reviewed(plan: Plan, truth: Truth, seed: int, size: Size = SMALL) -> Case:
    """Write a take and review it."""
    with TemporaryDirectory() as folder:
        take = write_take(Path(folder), plan, truth, seed, size)
        return Case(take, shown_in(Path(folder), plan))


def shown_in(folder: Path, plan: Plan) -> Shown:
    """What the frames of a folder show."""
    return shown_of(review(plan, "A", folder, Memory(), processes=0))
