"""What stands in the details window: sections, keys, and the words beside each value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.kits import KitKind
from core.plan import Plan
from core.words import station_word


@dataclass(frozen=True)
class Section:
    """A heading with what it is about, and its (dotted key, label) rows."""

    title: str
    about: str
    rows: tuple[tuple[str, str], ...]


def sections_of(plan: Plan) -> tuple[Section, ...]:
    """All sections, with one for each station of the path."""
    stations = tuple(_station(k, len(plan.path.stations)) for k in range(len(plan.path.stations)))
    return (*_FIXED[:2], _PATH, *stations, *_FIXED[2:])


#: The sections of what can be taken from the library.
KIT_SECTIONS: Final[dict[str, KitKind]] = {"Craft": "craft", "Camera": "camera"}
_LAMPS = "ground.lamps"
_SWITCHING = "ground.lamps.switching"
_SWITCHED_BY = {
    "level": ("on_lx", "off_lx"),
    "clock": ("on_time", "off_time"),
    "offset": ("on_after_event_min",),
}


def _station_name(place: int, count: int) -> str:
    if count == 1:
        return "Station"
    return f"{station_word(place, count).capitalize()} station"


def _station(place: int, count: int) -> Section:
    key = f"path.stations.{place}"
    return Section(
        _station_name(place, count),
        "Metres from the launch point; where the camera looks.",
        (
            (f"{key}.east_m", "East"),
            (f"{key}.north_m", "North"),
            (f"{key}.up_m", "Height"),
            (f"{key}.look_at", "Looks at east, north, up"),
            (f"{key}.heading_deg", "Heading"),
            (f"{key}.pitch_deg", "Pitch"),
        ),
    )


def unused_words(plan: Plan, key: str) -> str:
    """Why a value of the plan has no effect now; empty where it has one."""
    kind = plan.ground.lamps.switching.kind
    for used_by, names in _SWITCHED_BY.items():
        if key.startswith(_SWITCHING) and key.rpartition(".")[2] in names and used_by != kind:
            return f"Used where lamps are switched by {used_by}."
    if key.startswith("path.stations.") and key.endswith(("heading_deg", "pitch_deg")):
        station = plan.path.stations[int(key.split(".")[2])]
        if station.look_at is not None:
            return "This station looks at a point, which sets heading and pitch."
    return ""


_PATH = Section(
    "Path",
    "The camera moves from the first station to the last.",
    (("path.timing", "Timing"),),
)

_FIXED = (
    Section(
        "Place",
        "WGS 84 coordinates; the clock of the place.",
        (
            ("place.name", "Name"),
            ("place.latitude_deg", "Latitude"),
            ("place.longitude_deg", "Longitude"),
            ("place.elevation_m", "Elevation"),
            ("place.time_zone", "Time zone"),
            ("place.skyline", "Skyline, azimuth and altitude"),
        ),
    ),
    Section(
        "Ground and lamps",
        "What lies below: its reflectance, the lamplit street as seen from above, the switch.",
        (
            ("ground.land_reflectance", "Land reflectance"),
            (f"{_LAMPS}.luminance_cd_m2", "Lamplit street"),
            (f"{_LAMPS}.lit_share", "Lit share of the ground"),
            (f"{_LAMPS}.warm_up_min", "Warm-up"),
            (f"{_SWITCHING}.kind", "Switched by"),
            (f"{_SWITCHING}.on_lx", "On below"),
            (f"{_SWITCHING}.off_lx", "Off above"),
            (f"{_SWITCHING}.on_time", "On at"),
            (f"{_SWITCHING}.off_time", "Off at"),
            (f"{_SWITCHING}.on_after_event_min", "On after the event"),
        ),
    ),
    Section(
        "Flight",
        "How the flight round the take is flown. The reserve is never planned.",
        (
            ("flight.set_up_first_min", "Set-up, first visit"),
            ("flight.set_up_repeat_min", "Set-up, repeat"),
            ("flight.wait_min", "Wait before the press"),
            ("flight.return_height_m", "Return height"),
            ("flight.out_speed_m_s", "Airspeed out"),
            ("flight.back_speed_m_s", "Airspeed home"),
            ("flight.reserve_percent", "Reserve"),
        ),
    ),
    Section(
        "Craft",
        "A generic class to start with; put in your own craft's figures.",
        (
            ("craft.rated_min", "Rated time"),
            ("craft.rated_basis", "Rated in"),
            ("craft.state_of_health", "Battery health"),
            ("craft.practice_factor", "Practice factor"),
            ("craft.gauge", "Gauge"),
            ("craft.auto_return_percent", "Turns home by itself at"),
            ("craft.battery_kept_warm", "Battery kept warm"),
            ("craft.wind_limit_m_s", "Wind limit"),
            ("craft.climb_m_s", "Climb"),
            ("craft.descent_m_s", "Descent"),
            ("craft.hover_induced_m_s", "Induced speed in a hover"),
            ("craft.drag_speed_m_s", "Drag equals weight at"),
            ("craft.diameter_m", "Largest dimension"),
        ),
    ),
    Section(
        "Camera",
        "The lens, the real steps of each setting, and the time a still takes to store.",
        (
            ("camera.focal_equivalent_mm", "Equivalent focal length"),
            ("camera.aspect", "Aspect"),
            ("camera.write_time_s", "Write time"),
            ("camera.highlight_stops", "Burns above mid-grey by"),
            ("camera.shutters_s", "Shutter steps"),
            ("camera.isos", "ISO steps"),
            ("camera.f_numbers", "f-numbers"),
            ("camera.nd_stops", "Filters"),
            ("camera.intervals_s", "Interval steps"),
            ("camera.frame_mb", "Size of a frame"),
        ),
    ),
    Section(
        "Limits",
        "Which tones are keepable, in stops from mid-grey.",
        (
            ("bands.street.low_stops", "Street, darkest"),
            ("bands.street.high_stops", "Street, brightest"),
            ("bands.land.low_stops", "Land, darkest"),
            ("bands.land.low_share", "Land limit holds for the first"),
            ("bands.land.high_stops", "Land, brightest"),
            ("bands.sky.clip_area_share", "Burnt sky, share of the frame"),
            ("bands.excused_share", "Frames that may fail"),
            ("bands.lamps_wanted", "Lamps must be on"),
        ),
    ),
    Section(
        "Night, shoot A",
        "What the side column has no row for.",
        (
            ("shoots.A.conditions.wind_shear_exponent", "Wind shear exponent"),
            ("shoots.A.conditions.visibility_km", "Visibility"),
            ("shoots.A.conditions.skyglow_cd_m2", "Sky glow of towns at the zenith"),
        ),
    ),
    Section(
        "Night, shoot B",
        "What the side column has no row for.",
        (
            ("shoots.B.conditions.wind_shear_exponent", "Wind shear exponent"),
            ("shoots.B.conditions.visibility_km", "Visibility"),
            ("shoots.B.conditions.skyglow_cd_m2", "Sky glow of towns at the zenith"),
        ),
    ),
)
