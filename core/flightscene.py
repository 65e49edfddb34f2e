"""The craft in tonight's air over its path: the common ground of all legs of a flight.

Heights are above the launch point.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.air import density_kg_m3
from core.battery import Gauge, temperature_share, usable_hover_min
from core.plan import Conditions, Craft, FlightPlan
from core.power import PowerCurve, density_factor, hover_minutes
from core.wind import ground_speed_m_s, gust_10m_m_s, shear_ratio

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class FlightRoute:
    """Where the camera is: (east, north, up) of the launch point, [m]."""

    first_station: Point
    points: tuple[Point, ...]

    @property
    def places(self) -> tuple[Point, ...]:
        """Every place the craft may have to fly home from."""
        return (self.first_station, *self.points)

    @property
    def camera_height_m(self) -> float:
        """Greatest height along the path: the strongest wind and the thinnest air."""
        return max(up for _, _, up in self.places)

    @property
    def distance_m(self) -> float:
        """Greatest distance over ground from the launch point."""
        return max(math.hypot(east, north) for east, north, _ in self.places)


@dataclass(frozen=True, slots=True)
class Scene:
    """Craft, path and air together.

    `usable_min` are the minutes of still-air hover in a full battery, in the air of the
    camera's height; `curve` is power over that hover, `hold_power` that of holding a
    station there. `home_curve` is power over a hover at the return height, which costs
    `home_hover` times as much; a hover on the way down costs `descent_hover` times as
    much, never less.
    """

    craft: Craft
    flight: FlightPlan
    route: FlightRoute
    conditions: Conditions
    curve: PowerCurve
    home_curve: PowerCurve
    home_hover: float
    descent_hover: float
    gauge: Gauge
    usable_min: float
    camera_height_m: float
    return_height_m: float
    hold_power: float

    def over_ground_m_s(
        self, airspeed_m_s: float, course_deg: float, wind_m_s: float
    ) -> float | None:
        """Speed over ground on a course in a wind from tonight's bearing, [m/s]."""
        return ground_speed_m_s(airspeed_m_s, course_deg, wind_m_s, self.conditions.wind_from_deg)


def wind_m_s(conditions: Conditions, height_m: float) -> float:
    """Mean wind at a height, [m/s]."""
    return conditions.wind_10m_m_s * shear_ratio(height_m, conditions.wind_shear_exponent)


def gust_m_s(conditions: Conditions, height_m: float) -> float:
    """Gust at a height, [m/s]; it is let grow like the mean, though real gusts grow less."""
    gust = gust_10m_m_s(conditions.wind_10m_m_s, conditions.gust_10m_m_s)
    return gust * shear_ratio(height_m, conditions.wind_shear_exponent)


def scene_of(
    craft: Craft,
    flight: FlightPlan,
    route: FlightRoute,
    conditions: Conditions,
    elevation_m: float,
) -> Scene:
    """Put craft, path and air together.

    Air and hold power are taken at the greatest height of the path; the return is
    flown at the greater of the typed height and that, in the air there.
    """
    height = route.camera_height_m
    return_height = max(flight.return_height_m, height)
    # The air of the descent is that halfway down.
    density, home_density, halfway_density = (
        density_kg_m3(elevation_m + up, conditions.temperature_c)
        for up in (height, return_height, return_height / 2.0)
    )
    hover = density_factor(density)
    any_air = PowerCurve(craft.hover_induced_m_s, craft.drag_speed_m_s)
    curve = any_air.at_density(density)
    share = temperature_share(conditions.temperature_c, kept_warm=craft.battery_kept_warm)
    return Scene(
        craft=craft,
        flight=flight,
        route=route,
        conditions=conditions,
        curve=curve,
        home_curve=any_air.at_density(home_density),
        home_hover=density_factor(home_density) / hover,
        descent_hover=max(1.0, density_factor(halfway_density) / hover),
        gauge=Gauge(craft.gauge, share),
        usable_min=usable_hover_min(hover_minutes(craft), share, craft.state_of_health, hover),
        camera_height_m=height,
        return_height_m=return_height,
        hold_power=curve.holding(wind_m_s(conditions, height), gust_m_s(conditions, height)),
    )
