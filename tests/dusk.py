"""Evenings for tests: the worked case of the trade, a sky with a glow, plain readings of tables."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.cloud import cloud_factor
from core.edit import new_plan, with_values
from core.exposure import FloatArray
from core.findings import Finding
from core.forecast import forecast, told_together
from core.memory import Memory
from core.night import Night
from core.plan import SHOOT_NAMES, Plan
from core.skies import HAZE_SIGMA_DOUBLINGS, Skies
from core.sky.daylight import horizontal_illuminance_lx

DATA = Path(__file__).parent / "reference" / "data"
SUNSET_HEADING_DEG = 243.0
HAZE_STOPS_PER_DOUBLING = 0.16


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table of reference data; lines that begin with # name its source."""
    lines = (DATA / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def december_plan(**values: Any) -> Plan:
    """Plan the worked case: 38 N, 5 December, from a lamplit town up to the sunset.

    1 s, ISO 100, f/1.7, 24 mm equivalent in 16:9, 300 frames at 3 s, lamps of 0.75 cd/m²,
    land of 0.15, haze 0.12. Further values by key with `__` for the dot.
    """
    stations = [
        {"up_m": 80.0, "pitch_deg": -50.0, "heading_deg": SUNSET_HEADING_DEG},
        {"up_m": 80.0, "pitch_deg": -8.0, "heading_deg": SUNSET_HEADING_DEG, "east_m": -30.0},
    ]
    worked = {
        "path.stations": stations,
        "shoots.A.clip_length_s": 12.0,
        "shoots.A.f_number": 1.7,
        "camera.f_numbers": [1.7],
    }
    plan = new_plan("Two Weirs", 38.0, 0.0, dt.date(2026, 12, 5), "UTC")
    return with_values(plan, worked | {key.replace("__", "."): v for key, v in values.items()})


@dataclass(frozen=True)
class GlowSky:
    """A made-up sky: brightest low over the sun, even all round under full cloud.

    The sun's disc gives half the light of the ground while it is up.
    """

    haze_aod: float = 0.12
    cloud_okta: float = 0.0

    def ground_lx(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        haze = (self.haze_aod / 0.12) ** -HAZE_STOPS_PER_DOUBLING
        clear = horizontal_illuminance_lx(sun_altitude_deg)
        return np.asarray(clear * haze * cloud_factor(self.cloud_okta))

    def direct_share(self, sun_altitude_deg: ArrayLike, /) -> FloatArray:
        return np.where(np.asarray(sun_altitude_deg) > 0.0, 0.5, 0.0)

    def luminance(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        low = np.exp(-np.asarray(view_altitude_deg) / 20.0) * (1.0 - self.cloud_okta / 8.0)
        toward = np.cos(np.radians(azimuth_from_sun_deg))
        ground = 0.13 * self.ground_lx(sun_altitude_deg)
        return np.asarray(ground * np.exp2(3.0 * low * (0.6 + 0.4 * toward)))

    def colour(
        self,
        sun_altitude_deg: ArrayLike,
        view_altitude_deg: ArrayLike,
        azimuth_from_sun_deg: ArrayLike,
        /,
    ) -> FloatArray:
        level = self.luminance(sun_altitude_deg, view_altitude_deg, azimuth_from_sun_deg)
        return np.ones((*level.shape, 3))

    def at_suns(self, sun_altitudes_deg: FloatArray, /) -> GlowSuns:
        return GlowSuns(self, sun_altitudes_deg)


@dataclass(frozen=True)
class GlowSuns:
    """A made-up sky settled for several suns."""

    sky: GlowSky
    sun_altitude_deg: FloatArray

    def luminance(
        self, view_altitude_deg: FloatArray, azimuth_from_sun_deg: FloatArray, /
    ) -> FloatArray:
        view, azimuth = np.broadcast_arrays(view_altitude_deg, azimuth_from_sun_deg)
        return self.sky.luminance(self.sun_altitude_deg, view[..., None], azimuth[..., None])


def findings(plan: Plan, memory: Memory) -> tuple[Finding, ...]:
    """What to know about both shoots, as the window lists it."""
    return told_together([forecast(plan, name, memory).findings for name in SHOOT_NAMES])


def glowing_skies(haze_aod: float = 0.12, cloud_okta: float = 0.0) -> Skies:
    """Made-up skies of a night, with the haze as typed and one sigma away."""
    spread = 2.0**HAZE_SIGMA_DOUBLINGS
    typed, thinner, thicker = (
        GlowSky(haze, cloud_okta) for haze in (haze_aod, haze_aod / spread, haze_aod * spread)
    )
    return Skies(typed, thinner, thicker)


def instant_s(night: Night, clock: str, *, near_s: float) -> float:
    """UTC seconds of a local clock time such as 17:11 or 17:11:08, the one nearest to `near_s`."""
    near, time = night.clock(near_s), dt.time.fromisoformat(clock)
    days = (near.date() + dt.timedelta(days=step) for step in (-1, 0, 1))
    instants = (
        dt.datetime.combine(day, time, near.tzinfo).replace(fold=fold).timestamp()
        for day in days
        for fold in (0, 1)
    )
    return min(instants, key=lambda instant: abs(instant - near_s))


def arrays_of(result: object) -> Iterator[NDArray[Any]]:
    """Every array of a result and of its parts."""
    if isinstance(result, np.ndarray):
        yield result
    elif isinstance(result, dict | tuple):
        for part in result.values() if isinstance(result, dict) else result:
            yield from arrays_of(part)
    elif is_dataclass(result) and not isinstance(result, type):
        for field in fields(result):
            if field.compare:
                yield from arrays_of(getattr(result, field.name))


def alike(one: Any, other: Any) -> bool:
    """Whether two results are the same to the last bit."""
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other, equal_nan=one.dtype.kind == "f")
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    if is_dataclass(one):
        names = [field.name for field in fields(one) if field.compare]
        return all(alike(getattr(one, name), getattr(other, name)) for name in names)
    return bool(one == other)
