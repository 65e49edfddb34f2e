"""The true light of a night: the plan's own, moved by what is hidden from it.

Only luminances come from the program. When the lamps come on and how they warm up, how the
sky is spread over the frame and what the camera makes of it are this package's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import msgspec
import numpy as np

from core.belief import UNKNOWNS, Belief
from core.exposure import FloatArray
from core.forecast import outlook
from core.light import Light, light_of
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.skies import skies_of
from core.tones import tones_at
from tests.practice.truth import Truth


@dataclass(frozen=True)
class SceneLight:
    """Luminances at some instants, log2 cd/m², and the sun's azimuth.

    `land_log2` is ground without lamps, `lamp_log2` lamplight alone (-inf while dark),
    `street_log2` both together, `sky_log2` the mean of the sky in the frame.
    """

    land_log2: FloatArray
    lamp_log2: FloatArray
    street_log2: FloatArray
    sky_log2: FloatArray
    sun_azimuth_deg: FloatArray


@dataclass(frozen=True)
class TrueNight:
    """A night as it was: its light, and when its lamps came on and went off, if they did."""

    plan: Plan
    seen: Outlook
    light: Light
    lamps_on_s: float | None
    lamps_off_s: float | None

    def at(self, time_s: FloatArray, way: FloatArray) -> SceneLight:
        """Luminances at instants and shares of the way."""
        plan, light = self.plan, self.light
        tones = tones_at(
            time_s, way, 0.0, light, self.seen.framesky, plan.ground, plan.bands,
            plan.camera.highlight_stops,
        )  # fmt: skip
        lamps = plan.ground.lamps.luminance_cd_m2 * 2.0 ** light.belief.of("lamps")
        with np.errstate(divide="ignore"):
            lamp = np.log2(lamps * self.lamp_output(time_s))
        land, sky = tones.land.stops, tones.sky.mean_stops
        # A sliver of sky that the plan does not judge is as bright as a white ground.
        even = land - np.log2(plan.ground.land_reflectance)
        sky = np.where(np.isfinite(sky), sky, even)
        return SceneLight(land, lamp, np.logaddexp2(land, lamp), sky, tones.sun_azimuth_deg)

    def lamp_output(self, time_s: FloatArray) -> FloatArray:
        """Share of their light that the lamps give: they warm up slowly, fast, slowly.

        Half of it is reached after half of the plan's warm-up.
        """
        if not self.light.lamp_output.any():
            return np.zeros_like(time_s)
        output = np.ones_like(time_s)
        if self.lamps_on_s is not None:
            warm_up_s = max(60.0 * self.plan.ground.lamps.warm_up_min, 1.0)
            u = np.clip((time_s - self.lamps_on_s) / warm_up_s, 0.0, 1.0)
            output = u * u * (3.0 - 2.0 * u)
        return (
            output if self.lamps_off_s is None else np.where(time_s < self.lamps_off_s, output, 0)
        )


def true_night(plan: Plan, name: ShootName, truth: Truth) -> TrueNight:
    """A night as it was, whatever the plan has learned or read of it meanwhile."""
    plan = msgspec.structs.replace(plan, takes=(), learned=(), readings=())
    memory = Memory()
    seen = outlook(plan, name, memory)
    stations = plan.path.stations
    height_m = sum(station.up_m for station in stations) / len(stations)
    conditions = seen.shoot.conditions
    light = light_of(
        seen.night,
        plan.place,
        plan.ground,
        conditions,
        skies_of(conditions, height_m, memory),
        _certainty(truth),
    )
    late_s = truth.tonight.lamps_late_s
    on_s, off_s = (
        None if at is None else at + late_s for at in (light.lamps_on_s, light.lamps_off_s)
    )
    return TrueNight(plan, seen, light, on_s, off_s)


def _certainty(truth: Truth) -> Belief:
    """The truth in the shape of a belief without doubt."""
    mean = {
        "level": truth.lasting.level_stops,
        "weather": truth.tonight.weather_stops,
        "haze": truth.tonight.haze_sigmas,
        "lamps": truth.lasting.lamps_stops,
        "sky": truth.tonight.sky_stops,
    }
    nothing = (0.0,) * len(UNKNOWNS)
    return Belief(tuple(mean[name] for name in UNKNOWNS), (nothing,) * len(UNKNOWNS))
