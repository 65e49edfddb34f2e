"""What a flight costs before and after its take, however long the take is.

Nothing here depends on frames, interval or the charge at take-off, so it is worth
remembering while those are moved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from core.battery import COLDEST_C, HOTTEST_C, Gauge
from core.flightlegs import (
    Leg,
    Unflown,
    UnflyableError,
    WayHome,
    cost_hover_min,
    dearest_way,
    fails_in_gusts,
    legs_home,
    legs_out,
    legs_up,
    ways_home,
)
from core.flightscene import FlightRoute, Scene, gust_m_s, scene_of, wind_m_s
from core.plan import Conditions, Craft, FlightPlan
from core.sight import sight_guide_m

# The program never plans below this, whatever it is given.
LEAST_RESERVE_PERCENT = 20.0
# Until the pilot's own log has fixed it, the practice factor is known this well:
# engineering judgement, no source.
PRACTICE_SPREAD = 0.10
# A battery below this share of its first energy is worth a word: common practice, no
# source, a little before the 80 % at which a pack counts as worn out.
AGED_HEALTH = 0.85

#: What a pilot should know before a flight that can be flown.
Caution = Literal[
    "gust_over_limit",
    "return_wind_over_limit",
    "return_fails_in_gusts",
    "below_freezing",
    "outside_battery_range",
    "aged_battery",
    "beyond_sight_guide",
    "start_charge_reads_high",
    "auto_return_binds",
    "landing_near_reserve",
]


@dataclass(frozen=True, slots=True)
class Budget:
    """Charge used before the press, per minute of the take, and after the last frame, [%]."""

    before_percent: float
    take_percent_per_min: float
    home_percent: float


@dataclass(frozen=True, slots=True)
class FlightEnergy:
    """The flight round a take of any length.

    `home` are the legs of the dearest return over the whole path, `budget` is by
    the craft's practice factor, `budget_low` and `budget_high` by a factor 0.1
    higher and lower (fewer and more frames). With an `error` the legs before the
    press reach as far as the flight does, and there is no budget.
    """

    usable_hover_min: float
    reserve_percent: float
    auto_return_percent: float
    gauge: Gauge
    practice_factor: float
    distance_m: float
    camera_height_m: float
    return_height_m: float
    wind_at_camera_m_s: float
    gust_at_camera_m_s: float
    wind_at_return_m_s: float
    gust_at_return_m_s: float
    hold_power: float
    before: tuple[Leg, ...]
    home: tuple[Leg, ...] = ()
    ground_speed_home_m_s: float | None = None
    budget: Budget | None = None
    budget_low: Budget | None = None
    budget_high: Budget | None = None
    cautions: tuple[Caution, ...] = ()
    unflown: Unflown | None = None

    def percent(self, leg: Leg) -> float:
        """Charge that a leg costs, [%]."""
        return 100.0 * leg.hover_min(self.practice_factor) / self.usable_hover_min


def flight_energy(
    craft: Craft,
    flight: FlightPlan,
    route: FlightRoute,
    conditions: Conditions,
    elevation_m: float,
    set_up_min: float,
) -> FlightEnergy:
    """Work out the flight round a take: legs, powers, the dearest return.

    Parameters
    ----------
    craft, flight, conditions
        Parts of the plan, within its ranges.
    route
        First station and every point of the path, [m] from the launch point.
    elevation_m
        Launch point above sea level, [m].
    set_up_min
        Minutes at the first station before the press, without the wait, [min].

    Returns
    -------
    FlightEnergy
        Hold power and air density are taken at the greatest height of the path;
        the return is flown at the greater of the typed height and that one, in
        the air there, and is the dearest over all places of the path, each with
        its own climb, course and distance. What cannot be flown is told in
        `unflown`.

    """
    scene = scene_of(craft, flight, route, conditions, elevation_m)
    energy = _outset(scene)
    try:
        energy = replace(energy, before=energy.before + legs_out(scene, set_up_min))
        ways = ways_home(scene)
    except UnflyableError as unflyable:
        return replace(energy, unflown=unflyable.unflown)
    practice = craft.practice_factor
    way = dearest_way(scene, ways, practice)
    return replace(
        energy,
        home=legs_home(scene, way),
        ground_speed_home_m_s=way.ground_speed_m_s,
        budget=_budget(scene, energy.before, ways, practice),
        budget_low=_budget(scene, energy.before, ways, practice + PRACTICE_SPREAD),
        budget_high=_budget(scene, energy.before, ways, practice - PRACTICE_SPREAD),
        cautions=_cautions(scene),
    )


def _outset(scene: Scene) -> FlightEnergy:
    """Gather what is known before any leg against the wind is flown."""
    conditions, height, home_height = (
        scene.conditions, scene.camera_height_m, scene.return_height_m,
    )  # fmt: skip
    return FlightEnergy(
        usable_hover_min=scene.usable_min,
        reserve_percent=max(scene.flight.reserve_percent, LEAST_RESERVE_PERCENT),
        auto_return_percent=scene.craft.auto_return_percent,
        gauge=scene.gauge,
        practice_factor=scene.craft.practice_factor,
        distance_m=scene.route.distance_m,
        camera_height_m=height,
        return_height_m=home_height,
        wind_at_camera_m_s=wind_m_s(conditions, height),
        gust_at_camera_m_s=gust_m_s(conditions, height),
        wind_at_return_m_s=wind_m_s(conditions, home_height),
        gust_at_return_m_s=gust_m_s(conditions, home_height),
        hold_power=scene.hold_power,
        before=legs_up(scene),
    )


def _budget(
    scene: Scene, before: Sequence[Leg], ways: Sequence[WayHome], practice: float
) -> Budget:
    home = legs_home(scene, dearest_way(scene, ways, practice))
    scale = 100.0 / scene.usable_min
    return Budget(
        before_percent=scale * cost_hover_min(before, practice),
        take_percent_per_min=scale * scene.hold_power * practice,
        home_percent=scale * cost_hover_min(home, practice),
    )


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    """What a pilot should know before this flight, whatever its length."""
    craft, night = scene.craft, scene.conditions
    limit, celsius = craft.wind_limit_m_s, night.temperature_c
    sight = sight_guide_m(craft.diameter_m, night.visibility_km)
    checks: dict[Caution, bool] = {
        "gust_over_limit": gust_m_s(night, scene.camera_height_m) > limit,
        "return_wind_over_limit": wind_m_s(night, scene.return_height_m) > limit,
        "return_fails_in_gusts": fails_in_gusts(scene),
        "below_freezing": celsius < 0.0,
        "outside_battery_range": not COLDEST_C <= celsius <= HOTTEST_C,
        "aged_battery": craft.state_of_health < AGED_HEALTH,
        "beyond_sight_guide": scene.route.distance_m > sight,
    }
    return tuple(code for code, applies in checks.items() if applies)
