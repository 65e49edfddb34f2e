"""The legs of a flight, out to the first station and home from any place of the path."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from core.flightscene import Point, Scene, gust_m_s, wind_m_s
from core.language import say
from core.measures import length_text, speed_text
from core.wind import LEAST_GROUND_SPEED_M_S, components_m_s
from core.words import bearing_text, cut_down, cut_up

# Minutes near the ground, after the last frame and for the landing itself:
# common practice, no source.
CHECKS_MIN = 1.0
SETTLE_MIN = 0.2
LANDING_MIN = 0.5
# Within the hold of the craft's own positioning there is no leg to fly.
LEAST_LEG_M = 1.0
_CLIMBS = ("climb", "return climb")


@dataclass(frozen=True, slots=True)
class Unflown:
    """What cannot be flown: hold, out, home or charge; what it lacks, and the way out."""

    leg: str
    fact: str
    way_out: str

    @property
    def text(self) -> str:
        """The whole of it."""
        return f"{self.fact} {self.way_out}"


class UnflyableError(Exception):
    """A leg that cannot be flown."""

    def __init__(self, unflown: Unflown) -> None:
        super().__init__(unflown.text)
        self.unflown = unflown


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch of the flight: minutes, and power relative to a still-air hover."""

    name: str
    minutes: float
    power: float

    def hover_min(self, practice: float) -> float:
        """Minutes of still-air hover the leg costs; a steady climb takes no stick work."""
        return self.minutes * self.power * (1.0 if self.name in _CLIMBS else practice)


@dataclass(frozen=True, slots=True)
class WayHome:
    """The return from one place, without its common end (descent and landing)."""

    climb_min: float
    home_min: float
    ground_speed_m_s: float | None


def cost_hover_min(legs: Sequence[Leg], practice: float) -> float:
    """Minutes of still-air hover that a run of legs costs."""
    return sum(leg.hover_min(practice) for leg in legs)


def legs_up(scene: Scene) -> tuple[Leg, ...]:
    """Give the checks near the ground and the climb to the first station's height."""
    rate = scene.craft.climb_m_s
    minutes = max(scene.route.first_station[2], 0.0) / rate / 60.0
    return (Leg("checks", CHECKS_MIN, 1.0), Leg("climb", minutes, scene.curve.climbing(rate)))


def legs_out(scene: Scene, set_up_min: float) -> tuple[Leg, ...]:
    """Give the way to the first station, the set-up there and the wait.

    Raises
    ------
    UnflyableError
        Where the mean wind at the camera's height is above the craft's limit
        ("hold"), or the station cannot be reached against the wind ("out").

    """
    _check_hold(scene)
    east, north, up = scene.route.first_station
    airspeed = scene.flight.out_speed_m_s
    wind = wind_m_s(scene.conditions, max(up, 0.0))
    course = math.degrees(math.atan2(east, north))
    minutes, speed = _leg(scene, math.hypot(east, north), airspeed, course, wind)
    if speed is not None and speed < LEAST_GROUND_SPEED_M_S:
        raise UnflyableError(_too_slow("out", scene, course, wind, speed))
    return (
        Leg("out", minutes, scene.curve.level(airspeed)),
        Leg("set-up", set_up_min, scene.hold_power),
        Leg("wait", scene.flight.wait_min, scene.hold_power),
    )


def ways_home(scene: Scene) -> list[WayHome]:
    """Give the return from every place of the path, at the return height.

    Raises
    ------
    UnflyableError
        Where the wind leaves too little speed over ground from any place ("home").

    """
    airspeed = scene.flight.back_speed_m_s
    wind = wind_m_s(scene.conditions, scene.return_height_m)
    ways = [_way_home(scene, point, airspeed, wind) for point in scene.route.places]
    speeds = [math.inf if way.ground_speed_m_s is None else way.ground_speed_m_s for way in ways]
    slowest = min(range(len(ways)), key=speeds.__getitem__)
    if speeds[slowest] < LEAST_GROUND_SPEED_M_S:
        course = _course_home_deg(scene.route.places[slowest])
        raise UnflyableError(_too_slow("home", scene, course, wind, speeds[slowest]))
    return ways


def dearest_way(scene: Scene, ways: Sequence[WayHome], practice: float) -> WayHome:
    """Give the way home that costs the most charge under a practice factor."""
    # All of it is flown in the air of the return height, so the ratio to a hover there will do.
    home = scene.home_curve.level(scene.flight.back_speed_m_s) * practice
    climb = scene.home_curve.climbing(scene.craft.climb_m_s)
    return max(ways, key=lambda way: home * way.home_min + climb * way.climb_min)


def legs_home(scene: Scene, way: WayHome) -> tuple[Leg, ...]:
    """Give the legs from the last frame to the ground by one way home."""
    craft, hover = scene.craft, scene.home_hover
    climb = hover * scene.home_curve.climbing(craft.climb_m_s)
    level = hover * scene.home_curve.level(scene.flight.back_speed_m_s)
    descent = scene.return_height_m / craft.descent_m_s / 60.0
    return (
        Leg("settle", SETTLE_MIN, scene.hold_power),
        Leg("return climb", way.climb_min, climb),
        Leg("home", way.home_min, level),
        # No credit is taken for coming down, nor for air denser than the camera's.
        Leg("descent", descent, scene.descent_hover),
        Leg("landing", LANDING_MIN, 1.0),
    )


def fails_in_gusts(scene: Scene) -> bool:
    """Whether a gust as steady wind would stop the return from any place."""
    gust = gust_m_s(scene.conditions, scene.return_height_m)
    airspeed = scene.flight.back_speed_m_s
    ways = (_way_home(scene, point, airspeed, gust) for point in scene.route.places)
    return any(
        way.ground_speed_m_s is not None and way.ground_speed_m_s < LEAST_GROUND_SPEED_M_S
        for way in ways
    )


def _course_home_deg(point: Point) -> float:
    return math.degrees(math.atan2(-point[0], -point[1]))


def _way_home(scene: Scene, point: Point, airspeed_m_s: float, wind: float) -> WayHome:
    east, north, up = point
    climb = (scene.return_height_m - up) / scene.craft.climb_m_s / 60.0
    course = _course_home_deg(point)
    minutes, speed = _leg(scene, math.hypot(east, north), airspeed_m_s, course, wind)
    return WayHome(climb, minutes, speed)


def _leg(
    scene: Scene, distance_m: float, airspeed_m_s: float, course_deg: float, wind: float
) -> tuple[float, float | None]:
    """Minutes and speed over ground; no speed where there is no leg.

    A course that cannot be held at all has the speed minus infinity.
    """
    if distance_m < LEAST_LEG_M:
        return 0.0, None
    speed = scene.over_ground_m_s(airspeed_m_s, course_deg, wind)
    if speed is None:
        return math.inf, -math.inf
    return (distance_m / speed / 60.0 if speed > 0.0 else math.inf), speed


def _check_hold(scene: Scene) -> None:
    height = scene.camera_height_m
    wind, limit = wind_m_s(scene.conditions, height), scene.craft.wind_limit_m_s
    if wind > limit:
        digits = 1 if speed_text(wind) != speed_text(limit) else 2
        fact = say(
            "Mean wind at {height} is {wind}, above this craft's limit of {limit}.",
            height=length_text(height),
            wind=speed_text(wind, digits),
            limit=speed_text(limit, digits),
        )
        way_out = say("Fly lower, or on a calmer night.")
        raise UnflyableError(Unflown("hold", fact, way_out))


#: Of each leg: that it drifts off, what it leaves over ground, and the way out of both.
_SLOW: Final = {
    "out": (
        say("Flying out on {bearing} drifts off: the crosswind alone is {wind}."),
        say("Flying out on {bearing} leaves {speed} over ground."),
        say("Too little: fly out faster, or lower."),
    ),
    "home": (
        say("Flying home on {bearing} drifts off: the crosswind alone is {wind}."),
        say("Flying home on {bearing} leaves {speed} over ground."),
        say("Too little: come nearer or lower."),
    ),
}


def _too_slow(
    leg: Literal["out", "home"], scene: Scene, course_deg: float, wind: float, speed_m_s: float
) -> Unflown:
    """Tell a leg that leaves too little speed over ground, minus infinity where it drifts off."""
    drifts, leaves, way_out = _SLOW[leg]
    bearing = bearing_text(course_deg)
    if speed_m_s == -math.inf:
        across = components_m_s(wind, scene.conditions.wind_from_deg, course_deg)[1]
        return Unflown(leg, drifts.format(bearing=bearing, wind=speed_text(abs(across))), way_out)
    return Unflown(leg, leaves.format(bearing=bearing, speed=_left(speed_m_s)), way_out)


def _left(speed_m_s: float) -> str:
    # Cut, not rounded: 0.96 m/s must not read as the 1.0 m/s it misses.
    return speed_text(speed_m_s, cut=cut_down if speed_m_s > 0.0 else cut_up)
