"""The search for settings against a slow one: plain loops over forecasts and starts."""

from __future__ import annotations

import datetime as dt
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from core.edit import new_plan, with_values
from core.forecast import outlook, starts
from core.memory import Memory
from core.plan import Plan, Shoot
from core.scales import with_shoot
from core.settings import AIMS, Wish, settings_of

SHUTTERS_S = [0.25, 0.5, 1.0, 2.0]
CAMERA: dict[str, Any] = {
    "camera.shutters_s": SHUTTERS_S,
    "camera.isos": [100.0, 400.0],
    "camera.nd_stops": [0.0, 3.0],
    "camera.f_numbers": [1.8],
}


def random_plan(seed: int) -> Plan:
    """Draw a plan with a small camera round a dusk or a dawn."""
    draw = random.Random(seed)  # noqa: S311
    heading = draw.uniform(0.0, 360.0)
    date = dt.date(2026, 1, 1) + dt.timedelta(days=draw.randrange(365))
    place = draw.uniform(-58.0, 60.0), draw.uniform(-180.0, 180.0)
    values: dict[str, Any] = CAMERA | {
        "shoots.A.twilight": draw.choice(["dusk", "dawn"]),
        "shoots.A.path_reversed": draw.random() < 0.5,
        "shoots.A.visit": draw.choice(["first", "repeat"]),
        "shoots.A.battery_start_percent": draw.choice([100.0, 92.0]),
        "shoots.A.conditions.cloud_okta": draw.choice([0.0, 0.0, 4.0, 8.0]),
        "shoots.A.conditions.haze_aod": draw.uniform(0.05, 0.3),
        "camera.intervals_s": draw.choice([[2.0, 3.0], [2.0, 3.0], [3.0, 4.0]]),
        "camera.write_time_s": draw.choice([1.7, 1.2]),
        "craft.rated_min": draw.choice([26.0, 30.0, 34.0, 40.0]),
        "ground.lamps.luminance_cd_m2": draw.choice([0.3, 0.75, 1.5]),
        "path.stations": [
            {"pitch_deg": pitch, "heading_deg": heading, "east_m": 30.0 * n}
            for n, pitch in enumerate((-50.0, draw.choice([-30.0, -15.0, -8.0])))
        ],
        "bands.lamps_wanted": draw.random() < 0.2,
    }
    return with_values(new_plan("Anywhere", *place, date, "UTC"), values)


@dataclass(frozen=True)
class Slow:
    """A search that asks the forecast about everything and scores in plain words of the docs."""

    plan: Plan
    wish: Wish
    memory: Memory

    def points(self) -> Iterator[float]:
        """Points of every mix at every start, a minute apart, that holds."""
        most = outlook(self.plan, "A", self.memory).flight.max_take_min
        assert most is not None
        for interval_s in self.plan.camera.intervals_s:
            for frames in self.lengths(most, interval_s):
                yield from self.of_take(interval_s, frames)

    def lengths(self, most_min: float, interval_s: float) -> set[int]:
        longest = min(math.floor(60.0 * most_min / interval_s + 1e-9) + 1, 500)
        with_margin = math.floor(60.0 * (most_min - 0.5) / interval_s + 1e-9) + 1
        return {n for n in (longest, with_margin, 300, 250, 200) if 200 <= n <= longest}

    def of_take(self, interval_s: float, frames: int) -> Iterator[float]:
        by_exposure: dict[float, list[Shoot]] = {}
        for shutter_s in self.plan.camera.shutters_s:
            for iso in self.plan.camera.isos:
                for nd_stops in self.plan.camera.nd_stops:
                    if shutter_s + self.plan.camera.write_time_s > interval_s + 0.02:
                        continue
                    shoot = with_settings(
                        self.plan.shoots.A, interval_s, shutter_s, iso, nd_stops, frames
                    )
                    exposure = round(math.log2(shutter_s * iso) - nd_stops, 6)
                    by_exposure.setdefault(exposure, []).append(shoot)
        for shoots in by_exposure.values():
            costs = [self.cost(shoot, frames) for shoot in shoots]
            # One exposure, one light: only the cheapest can be best.
            shoot = shoots[costs.index(min(costs))]
            for gain in self.gains(shoot):
                yield gain - min(costs)

    def gains(self, shoot: Shoot) -> Iterator[float]:
        plan = with_shoot(self.plan, "A", shoot)
        every = starts(plan, "A", self.memory)
        night = outlook(plan, "A", self.memory).night
        for index in range(0, len(every.time_s), 12):
            if every.slack_stops[index] < -0.03:
                continue
            minutes = (float(every.time_s[index]) - night.event.time_s) / 60.0
            seen = outlook(with_shoot(plan, "A", started(shoot, minutes)), "A", self.memory)
            if seen.judgement.slack_stops < 0.0:
                continue
            gain = float(every.p_hold[index]) * (15.0 if self.wish.aim == "surest" else 10.0)
            mixed = float(seen.tones.mixed_light.mean())
            gain += mixed * (20.0 if self.wish.aim == "mixed_light" else 5.0)
            gain += 0.25 * float(seen.tones.street.stops[0])
            yield gain + (2.0 * seen.clip.clip_length_s if self.wish.aim == "longest" else 0.0)

    def cost(self, shoot: Shoot, frames: int) -> float:
        clip_s, angle = frames / 25.0, 360.0 * shoot.shutter_s / shoot.interval_s
        left_s = shoot.interval_s - shoot.shutter_s - self.plan.camera.write_time_s
        take_min = outlook(self.plan, "A", self.memory).flight.max_take_min
        assert take_min is not None
        cost = max(12.0 - clip_s, 0.0)
        cost += 1.0 if take_min - (frames - 1) * shoot.interval_s / 60.0 < 0.5 else 0.0
        cost += 2.0 * max(math.log2(shoot.interval_s / 3.0), 0.0)
        cost += 0.5 * abs(math.log2(shoot.shutter_s))
        cost += 1.0 if angle < 90.0 else 0.0
        cost += 2.0 if angle < 45.0 else 0.0
        cost += 1.0 if left_s < 0.28 else 0.0
        cost += 1.0 if left_s < 0.0 else 0.0
        # Peak speed of minimum jerk is 1.875 times the mean (Flash & Hogan 1985); 24 mm
        # equivalent is 1331.3 px of a 1920 px picture.
        pitches = [station.pitch_deg for station in self.plan.path.stations]
        turn = (
            1.875 * math.radians(abs(pitches[1] - pitches[0])) / ((frames - 1) * shoot.interval_s)
        )
        cost += 0.25 * max(1331.3 * turn * shoot.shutter_s - 4.0, 0.0)
        cost += math.log2(shoot.iso / 100.0)
        return cost + (0.5 if shoot.nd_stops > 0.0 else 0.0)


def with_settings(
    shoot: Shoot, interval_s: float, shutter_s: float, iso: float, nd_stops: float, frames: int
) -> Shoot:
    values = {"interval_s": interval_s, "shutter_s": shutter_s, "iso": iso, "nd_stops": nd_stops}
    return Shoot(**(fields_of(shoot) | values | {"clip_length_s": frames / 25.0}))


def started(shoot: Shoot, minutes: float) -> Shoot:
    return Shoot(**(fields_of(shoot) | {"start_after_event_min": minutes}))


def fields_of(shoot: Shoot) -> dict[str, Any]:
    return {name: getattr(shoot, name) for name in shoot.__struct_fields__}


@pytest.mark.parametrize("seed", range(6))
def test_against_plain_loops(seed: int) -> None:
    plan, memory = random_plan(seed), Memory()
    wish = Wish(aim=AIMS[seed % 3])
    found = settings_of(plan, "A", memory, wish)
    best = max(Slow(plan, wish, memory).points(), default=None)
    if best is None:
        assert found.choices == ()
        return
    assert found.choices[0].points == pytest.approx(best, abs=0.15)
