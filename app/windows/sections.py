"""What stands in the details window: sections, keys, and the words beside each value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.kits import KitKind
from core.language import say
from core.phrases import leading
from core.plan import Plan
from core.words import station_word


@dataclass(frozen=True)
class Section:
    """A heading with what it is about, and its (dotted key, label) rows.

    `kit` is what can be taken for it from the library.
    """

    title: str
    about: str
    rows: tuple[tuple[str, str], ...]
    kit: KitKind | None = None


def sections_of(plan: Plan) -> tuple[Section, ...]:
    """All sections, with one for each station of the path."""
    stations = tuple(_station(k, len(plan.path.stations)) for k in range(len(plan.path.stations)))
    return (*_FIXED[:2], PATH, *stations, *_FIXED[2:])


_LAMPS = "ground.lamps"
_SWITCHING = "ground.lamps.switching"
_SWITCHED_BY = {
    "level": ("on_lx", "off_lx"),
    "clock": ("on_time", "off_time"),
    "offset": ("on_after_event_min",),
}
_UNUSED: Final = {
    "level": say("Used where lamps are switched by level."),
    "clock": say("Used where lamps are switched by clock."),
    "offset": say("Used where lamps are switched by offset."),
}


def _station_name(place: int, count: int) -> str:
    if count == 1:
        return say("Station")
    return say("{order} station", order=leading(station_word(place, count)))


def _station(place: int, count: int) -> Section:
    key = f"path.stations.{place}"
    return Section(
        _station_name(place, count),
        say("From the launch point; where the camera looks."),
        (
            (f"{key}.east_m", say("East")),
            (f"{key}.north_m", say("North")),
            (f"{key}.up_m", say("Height")),
            (f"{key}.look_at", say("Looks at east, north, up")),
            (f"{key}.heading_deg", say("Heading")),
            (f"{key}.pitch_deg", say("Pitch")),
        ),
    )


def unused_words(plan: Plan, key: str) -> str:
    """Why a value of the plan has no effect now; empty where it has one."""
    kind = plan.ground.lamps.switching.kind
    for used_by, names in _SWITCHED_BY.items():
        if key.startswith(_SWITCHING) and key.rpartition(".")[2] in names and used_by != kind:
            return _UNUSED[used_by]
    if key.startswith("path.stations.") and key.endswith(("heading_deg", "pitch_deg")):
        station = plan.path.stations[int(key.split(".")[2])]
        if station.look_at is not None:
            return say("This station looks at a point, which sets heading and pitch.")
    return ""


PATH: Final = Section(
    say("Path"),
    say("The camera moves from the first station to the last."),
    (("path.timing", say("Timing")),),
)

_FIXED = (
    Section(
        say("Place"),
        say("WGS 84 coordinates; the clock of the place."),
        (
            ("place.name", say("Name")),
            ("place.latitude_deg", say("Latitude")),
            ("place.longitude_deg", say("Longitude")),
            ("place.elevation_m", say("Elevation")),
            ("place.time_zone", say("Time zone")),
            ("place.skyline", say("Skyline, azimuth and altitude")),
        ),
    ),
    Section(
        say("Ground and lamps"),
        say("What lies below: its reflectance, the lamplit street as seen from above, the switch."),
        (
            ("ground.land_reflectance", say("Land reflectance")),
            (f"{_LAMPS}.luminance_cd_m2", say("Lamplit street")),
            (f"{_LAMPS}.lit_share", say("Lit share of the ground")),
            (f"{_LAMPS}.warm_up_min", say("Warm-up")),
            (f"{_SWITCHING}.kind", say("Switched by")),
            (f"{_SWITCHING}.on_lx", say("On below")),
            (f"{_SWITCHING}.off_lx", say("Off above")),
            (f"{_SWITCHING}.on_time", say("On at")),
            (f"{_SWITCHING}.off_time", say("Off at")),
            (f"{_SWITCHING}.on_after_event_min", say("On after the event")),
        ),
    ),
    Section(
        say("Flight"),
        say("How the flight round the take is flown. The reserve is never planned."),
        (
            ("flight.set_up_first_min", say("Set-up, first visit")),
            ("flight.set_up_repeat_min", say("Set-up, repeat")),
            ("flight.wait_min", say("Wait before the press")),
            ("flight.return_height_m", say("Return height")),
            ("flight.out_speed_m_s", say("Airspeed out")),
            ("flight.back_speed_m_s", say("Airspeed home")),
            ("flight.reserve_percent", say("Reserve")),
        ),
    ),
    Section(
        say("Craft"),
        say("A generic class to start with; put in your own craft's figures."),
        (
            ("craft.rated_min", say("Rated time")),
            ("craft.rated_basis", say("Rated in")),
            ("craft.state_of_health", say("Battery health")),
            ("craft.practice_factor", say("Practice factor")),
            ("craft.gauge", say("Gauge")),
            ("craft.auto_return_percent", say("Turns home by itself at")),
            ("craft.battery_kept_warm", say("Battery kept warm")),
            ("craft.wind_limit_m_s", say("Wind limit")),
            ("craft.climb_m_s", say("Climb")),
            ("craft.descent_m_s", say("Descent")),
            ("craft.hover_induced_m_s", say("Induced speed in a hover")),
            ("craft.drag_speed_m_s", say("Drag equals weight at")),
            ("craft.diameter_m", say("Largest dimension")),
        ),
        kit="craft",
    ),
    Section(
        say("Camera"),
        say("The lens, the real steps of each setting, and the time a still takes to store."),
        (
            ("camera.focal_equivalent_mm", say("Equivalent focal length")),
            ("camera.aspect", say("Aspect")),
            ("camera.write_time_s", say("Write time")),
            ("camera.highlight_stops", say("Burns above mid-grey by")),
            ("camera.shutters_s", say("Shutter steps")),
            ("camera.isos", say("ISO steps")),
            ("camera.f_numbers", say("f-numbers")),
            ("camera.nd_stops", say("Filters")),
            ("camera.intervals_s", say("Interval steps")),
            ("camera.frame_mb", say("Size of a frame")),
        ),
        kit="camera",
    ),
    Section(
        say("Limits"),
        say("Which tones are keepable, in stops from mid-grey."),
        (
            ("bands.street.low_stops", say("Street, darkest")),
            ("bands.street.high_stops", say("Street, brightest")),
            ("bands.land.low_stops", say("Land, darkest")),
            ("bands.land.low_share", say("Land limit holds for the first")),
            ("bands.land.high_stops", say("Land, brightest")),
            ("bands.sky.clip_area_share", say("Burnt sky, share of the frame")),
            ("bands.excused_share", say("Frames that may fail")),
            ("bands.lamps_wanted", say("Lamps must be on")),
        ),
    ),
    Section(
        say("Night, shoot A"),
        say("What the side column has no row for."),
        (
            ("shoots.A.conditions.wind_shear_exponent", say("Wind shear exponent")),
            ("shoots.A.conditions.visibility_km", say("Visibility")),
            ("shoots.A.conditions.skyglow_cd_m2", say("Sky glow of towns at the zenith")),
        ),
    ),
    Section(
        say("Night, shoot B"),
        say("What the side column has no row for."),
        (
            ("shoots.B.conditions.wind_shear_exponent", say("Wind shear exponent")),
            ("shoots.B.conditions.visibility_km", say("Visibility")),
            ("shoots.B.conditions.skyglow_cd_m2", say("Sky glow of towns at the zenith")),
        ),
    ),
)
