"""Flights for tests: the worked cases' craft and defaults, and anything the plan's ranges allow."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

import msgspec
from hypothesis import strategies as st

from core.flight import Flight, FlightEnergy, FlightRoute, flight_energy, plan_flight
from core.plan import Conditions, Craft, FlightPlan

DATA = Path(__file__).parent / "reference" / "data"
Value = TypeVar("Value", bound=msgspec.Struct)

# mass_kg, propellers, their diameter in m, drag_speed_m_s
CRAFTS = {
    "A250": (0.249, 4, 0.152, 17.5),
    "B600": (0.595, 4, 0.185, 22.5),
    "C900": (0.900, 4, 0.238, 24.0),
}


def table(name: str) -> list[dict[str, str]]:
    """Read a table of reference data, behind the lines that name its source."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def hover_induced_m_s(mass_kg: float, propellers: int, diameter_m: float) -> float:
    """Momentum theory, sqrt(m g / (2 rho A)), at 0 m and 25 degC (1.1839 kg/m3)."""
    area = propellers * math.pi * (diameter_m / 2.0) ** 2
    return math.sqrt(mass_kg * 9.80665 / (2.0 * 1.1839 * area))


@dataclass(frozen=True)
class Sortie:
    """All that goes into a flight, with the defaults of the worked cases."""

    craft: Craft
    flight: FlightPlan
    route: FlightRoute
    conditions: Conditions
    elevation_m: float = 0.0
    set_up_min: float = 4.0
    frames: int | None = None
    interval_s: float = 3.0
    start_percent: float = 100.0

    def energy(self) -> FlightEnergy:
        return flight_energy(
            self.craft, self.flight, self.route, self.conditions, self.elevation_m, self.set_up_min
        )

    def flown(self) -> Flight:
        """Fly as many frames as asked for, or as many as fit."""
        energy = self.energy()
        if self.frames is not None:
            return plan_flight(energy, self.frames, self.interval_s, self.start_percent)
        most = plan_flight(energy, 1, self.interval_s, self.start_percent).max_frames
        return plan_flight(energy, most or 1, self.interval_s, self.start_percent)

    def but(self, **changes: Any) -> Sortie:
        """Change fields of the craft, the flight, the conditions or the sortie by name."""
        sortie = self
        for name, value in changes.items():
            for part in ("craft", "flight", "conditions"):
                struct = getattr(sortie, part)
                if name in struct.__struct_fields__:
                    changed = msgspec.structs.replace(struct, **{name: value})
                    sortie = replace(sortie, **{part: changed})
                    break
            else:
                sortie = replace(sortie, **{name: value})
        return sortie


def place(distance_m: float, course_deg: float, up_m: float) -> tuple[float, float, float]:
    """(east, north, up) at a distance on a course from the launch point."""
    course = math.radians(course_deg)
    return distance_m * math.sin(course), distance_m * math.cos(course), up_m


def sortie(changes: Mapping[str, Any] | None = None) -> Sortie:
    """A worked case: its default with the changes of the table, in the table's names."""
    case: dict[str, Any] = {
        "craft": "A250", "rated_min": 34.0, "soh": 1.0, "practice": 1.05, "wind_limit": 10.7,
        "warm": False, "setup_min": 4.0, "rth_h": 80.0, "v_out": 8.0, "v_back": 10.0,
        "reserve": 0.25, "t_c": 20.0, "w10": 3.0, "alpha": 0.20, "elev_m": 0.0,
        "dist_out": 150.0, "course_out": 90.0, "interval": 3.0, "frames": None,
        "takeoff_clock_min": None, **(changes or {}),
    }  # fmt: skip
    mass, propellers, diameter, drag = CRAFTS[case["craft"]]
    height = case.pop("cam_h", 80.0)
    return Sortie(
        craft=Craft(
            mass_kg=mass,
            hover_induced_m_s=hover_induced_m_s(mass, propellers, diameter),
            drag_speed_m_s=drag,
            rated_min=case["rated_min"],
            state_of_health=case["soh"],
            practice_factor=case["practice"],
            wind_limit_m_s=case["wind_limit"],
            gauge="compensated",
            battery_kept_warm=case["warm"],
        ),
        flight=FlightPlan(
            # The worked cases fly home at the camera's height where they name no other.
            return_height_m=case["rth_h"] if "rth_h" in (changes or {}) else height,
            out_speed_m_s=case["v_out"],
            back_speed_m_s=case["v_back"],
            reserve_percent=100.0 * case["reserve"],
        ),
        route=FlightRoute(place(case["dist_out"], case["course_out"], height), ()),
        conditions=Conditions(
            temperature_c=case["t_c"],
            wind_10m_m_s=case["w10"],
            wind_from_deg=270.0,
            wind_shear_exponent=case["alpha"],
        ),
        elevation_m=case["elev_m"],
        set_up_min=case["setup_min"],
        frames=case["frames"],
        interval_s=case["interval"],
    )


def _strategy(kind: Any) -> st.SearchStrategy[Any]:
    """Draw values of a field of the plan within its range."""
    if get_origin(kind) is Literal:
        return st.sampled_from(get_args(kind))
    if get_origin(kind) is UnionType or NoneType in get_args(kind):
        return st.one_of(*(_strategy(one) for one in get_args(kind)))
    if kind is bool:
        return st.booleans()
    if kind is NoneType:
        return st.none()
    meta = kind.__metadata__[0]
    return st.floats(meta.ge, meta.le)


def anything(struct: type[Value]) -> st.SearchStrategy[Value]:
    """Draw a part of the plan whose fields are numbers, choices and flags."""
    fields = get_type_hints(struct, include_extras=True)
    names = struct.__struct_fields__
    return st.builds(struct, **{name: _strategy(fields[name]) for name in names})


def anywhere(metres: float = 20000.0) -> st.SearchStrategy[tuple[float, float, float]]:
    """Draw a place within the ranges of a station."""
    return st.tuples(st.floats(-metres, metres), st.floats(-metres, metres), st.floats(1.0, 1500.0))


def sorties() -> st.SearchStrategy[Sortie]:
    """Draw any flight the plan's ranges allow."""
    return st.builds(
        Sortie,
        craft=anything(Craft),
        flight=anything(FlightPlan),
        route=st.builds(FlightRoute, anywhere(), st.lists(anywhere(), max_size=4).map(tuple)),
        conditions=anything(Conditions),
        elevation_m=st.floats(-450.0, 9000.0),
        set_up_min=st.floats(0.0, 600.0),
        frames=st.integers(1, 150_000),
        interval_s=st.floats(0.2, 600.0),
        start_percent=st.floats(1.0, 100.0),
    )


def ordinary() -> st.SearchStrategy[Sortie]:
    """Draw a flight of the worked cases' kind: near, in moderate wind, with any gauge."""
    near = st.tuples(st.floats(-300.0, 300.0), st.floats(-300.0, 300.0), st.floats(10.0, 110.0))
    return st.builds(
        lambda route, **changes: replace(sortie().but(**changes), route=route),
        route=st.builds(FlightRoute, near, st.lists(near, max_size=4).map(tuple)),
        gauge=st.sampled_from(["compensated", "nominal", "unknown"]),
        auto_return_percent=st.floats(0.0, 45.0),
        temperature_c=st.floats(-15.0, 45.0),
        wind_10m_m_s=st.floats(0.0, 4.0),
        gust_10m_m_s=st.none() | st.floats(0.0, 9.0),
        wind_from_deg=st.floats(0.0, 360.0),
        return_height_m=st.floats(0.0, 120.0),
        reserve_percent=st.floats(20.0, 50.0),
        wait_min=st.floats(0.0, 5.0),
        start_percent=st.floats(60.0, 100.0),
        set_up_min=st.floats(0.0, 6.0),
        frames=st.integers(1, 600),
        interval_s=st.floats(1.0, 20.0),
    )
