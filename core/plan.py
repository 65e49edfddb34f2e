"""The plan: one place and everything known about shooting there.

Every part is a frozen value that holds numbers, strings and tuples, so a stage
of the forecast can be remembered by the parts it read. The names are the keys
of the plan file; the unit is the end of the name. Ranges stand beside each
field and are checked by `checked`, whatever the value came from: a file, the
command line or a widget.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

SCHEMA = "1.0"
#: The years for which the solar formulas in use are stated.
FIRST_DATE, LAST_DATE = dt.date(1901, 1, 1), dt.date(2099, 12, 31)

Twilight = Literal["dusk", "dawn"]
ShootName = Literal["A", "B"]
SHOOT_NAMES: tuple[ShootName, ShootName] = ("A", "B")
Part = Literal["street", "land", "sky"]
Showed = Literal["over", "fine", "dark"]
PARTS: tuple[Part, ...] = ("street", "land", "sky")

# Ranges that several fields share.
_Share = Annotated[float, Meta(ge=0.0, le=1.0)]
_Percent = Annotated[float, Meta(ge=0.0, le=100.0)]
_Bearing = Annotated[float, Meta(ge=-360.0, le=360.0)]
_Stops = Annotated[float, Meta(ge=-20.0, le=20.0)]
_Metres = Annotated[float, Meta(ge=-20000.0, le=20000.0)]
_Speed = Annotated[float, Meta(ge=0.0, le=60.0)]
_Minutes = Annotated[float, Meta(ge=0.0, le=600.0)]
_Shutter = Annotated[float, Meta(ge=0.0001, le=120.0)]
_Interval = Annotated[float, Meta(ge=0.2, le=600.0)]
_Iso = Annotated[float, Meta(ge=10.0, le=500000.0)]
_FNumber = Annotated[float, Meta(ge=0.5, le=64.0)]
_Filter = Annotated[float, Meta(ge=0.0, le=20.0)]
_Tilt = Annotated[float, Meta(ge=-45.0, le=45.0)]
_Figure = Annotated[float, Meta(ge=-1e6, le=1e6)]
_Count = Annotated[float, Meta(ge=0.0, le=1_000_000.0)]


class _Value(msgspec.Struct, frozen=True, kw_only=True):
    """A frozen part of the plan."""


class Place(_Value, frozen=True, kw_only=True):
    """Where it is: WGS 84 coordinates, the clock of the place, its skyline.

    `skyline` holds (azimuth_deg, altitude_deg) pairs of what stands above the
    flat horizon, read round the compass with straight lines between them.
    """

    name: Annotated[str, Meta(min_length=1, max_length=200)]
    latitude_deg: Annotated[float, Meta(ge=-90.0, le=90.0)]
    longitude_deg: Annotated[float, Meta(ge=-180.0, le=180.0)]
    elevation_m: Annotated[float, Meta(ge=-450.0, le=9000.0)] = 0.0
    time_zone: Annotated[str, Meta(min_length=1, max_length=64)] = "UTC"
    skyline: tuple[
        tuple[
            Annotated[float, Meta(ge=0.0, le=360.0)],
            Annotated[float, Meta(ge=-10.0, le=90.0)],
        ],
        ...,
    ] = ()


_ClockTime = Annotated[str, Meta(pattern=r"^([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?$")]


class Switching(_Value, frozen=True, kw_only=True):
    """What switches the lamps: the light level, a clock, or the sun's event."""

    kind: Literal["level", "clock", "offset"] = "level"
    on_lx: Annotated[float, Meta(ge=0.1, le=1000.0)] = 35.0
    off_lx: Annotated[float, Meta(ge=0.1, le=1000.0)] = 18.0
    on_time: _ClockTime = "18:00"
    off_time: _ClockTime = "06:00"
    on_after_event_min: Annotated[float, Meta(ge=-180.0, le=360.0)] = 15.0


class Lamps(_Value, frozen=True, kw_only=True):
    """Street lighting as the camera sees it from above.

    `luminance_cd_m2` is the lamplit road and facades; `lit_share` the share of
    the ground in the picture that they cover.
    """

    luminance_cd_m2: Annotated[float, Meta(ge=0.0, le=1000.0)] = 0.75
    lit_share: _Share = 0.25
    warm_up_min: Annotated[float, Meta(ge=0.0, le=60.0)] = 4.0
    switching: Switching = Switching()


class Ground(_Value, frozen=True, kw_only=True):
    """What lies below: its diffuse reflectance and its lamps."""

    land_reflectance: Annotated[float, Meta(ge=0.01, le=0.95)] = 0.15
    lamps: Lamps = Lamps()


def _third_stops(first: int, last: int) -> tuple[float, ...]:
    """Shutter times as cameras mark them, third by third: 2^(k/3) s."""
    return tuple(round(2.0 ** (k / 3.0), 6) for k in range(first, last + 1))


class Camera(_Value, frozen=True, kw_only=True):
    """The camera's lens, its real scales, and the time it needs to store a still."""

    focal_equivalent_mm: Annotated[float, Meta(ge=8.0, le=400.0)] = 24.0
    aspect: Literal["16:9", "4:3", "3:2", "1:1"] = "16:9"
    write_time_s: Annotated[float, Meta(ge=0.0, le=30.0)] = 1.7
    highlight_stops: Annotated[float, Meta(ge=0.5, le=8.0)] = 3.26
    shutters_s: Annotated[tuple[_Shutter, ...], Meta(min_length=1)] = _third_stops(-15, 9)
    isos: Annotated[tuple[_Iso, ...], Meta(min_length=1)] = (100.0, 200.0, 400.0, 800.0, 1600.0)
    f_numbers: Annotated[tuple[_FNumber, ...], Meta(min_length=1)] = (1.8,)
    nd_stops: Annotated[tuple[_Filter, ...], Meta(min_length=1)] = (0.0, 2.0, 3.0, 4.0, 5.0, 6.0)
    intervals_s: Annotated[tuple[_Interval, ...], Meta(min_length=1)] = (
        2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 15.0, 20.0,
    )  # fmt: skip
    frame_mb: Annotated[float, Meta(ge=0.1, le=1000.0)] = 24.0


class Craft(_Value, frozen=True, kw_only=True):
    """The aircraft, by the two speeds that fix its power curve and by its battery.

    `hover_induced_m_s` is the air's speed through the rotor discs in a hover;
    `drag_speed_m_s` the airspeed at which drag equals weight.
    """

    mass_kg: Annotated[float, Meta(ge=0.02, le=25.0)] = 0.249
    hover_induced_m_s: Annotated[float, Meta(ge=0.5, le=20.0)] = 3.77
    drag_speed_m_s: Annotated[float, Meta(ge=4.0, le=80.0)] = 17.5
    rated_min: Annotated[float, Meta(ge=2.0, le=240.0)] = 30.0
    rated_basis: Literal["forward", "hover"] = "forward"
    state_of_health: Annotated[float, Meta(ge=0.3, le=1.0)] = 1.0
    practice_factor: Annotated[float, Meta(ge=0.8, le=2.0)] = 1.05
    wind_limit_m_s: Annotated[float, Meta(ge=1.0, le=30.0)] = 10.7
    climb_m_s: Annotated[float, Meta(ge=0.5, le=20.0)] = 4.0
    descent_m_s: Annotated[float, Meta(ge=0.5, le=20.0)] = 3.0
    gauge: Literal["compensated", "nominal", "unknown"] = "unknown"
    auto_return_percent: _Percent = 20.0
    battery_kept_warm: bool = False
    diameter_m: Annotated[float, Meta(ge=0.05, le=3.0)] = 0.36


class Station(_Value, frozen=True, kw_only=True):
    """A camera position: metres from the launch point, where it looks.

    `look_at` (east, north, up of the launch point) replaces heading and pitch.
    """

    east_m: _Metres = 0.0
    north_m: _Metres = 0.0
    up_m: Annotated[float, Meta(ge=1.0, le=1500.0)] = 80.0
    heading_deg: _Bearing = 0.0
    pitch_deg: Annotated[float, Meta(ge=-90.0, le=60.0)] = -15.0
    look_at: tuple[_Metres, _Metres, _Metres] | None = None


class Path(_Value, frozen=True, kw_only=True):
    """The camera's way through its stations, and how it eases along."""

    timing: Literal["minimum_jerk", "constant_middle"] = "minimum_jerk"
    stations: Annotated[tuple[Station, ...], Meta(min_length=1, max_length=40)] = (
        Station(east_m=-85.0, north_m=85.0, pitch_deg=-50.0, heading_deg=250.0),
        Station(east_m=-105.0, north_m=60.0, pitch_deg=-8.0, heading_deg=250.0),
    )


class FlightPlan(_Value, frozen=True, kw_only=True):
    """How the flight round the take is flown, and the charge never planned."""

    set_up_first_min: _Minutes = 4.0
    set_up_repeat_min: _Minutes = 1.0
    wait_min: _Minutes = 0.0
    return_height_m: Annotated[float, Meta(ge=0.0, le=1500.0)] = 80.0
    out_speed_m_s: Annotated[float, Meta(ge=0.5, le=60.0)] = 8.0
    back_speed_m_s: Annotated[float, Meta(ge=0.5, le=60.0)] = 10.0
    # 20 % is the least that is taught; the program never plans below it.
    reserve_percent: Annotated[float, Meta(ge=20.0, le=50.0)] = 25.0


class StreetBand(_Value, frozen=True, kw_only=True):
    """Tones of the lamplit street that are keepable."""

    low_stops: _Stops = -2.0
    high_stops: _Stops = 2.2


class LandBand(_Value, frozen=True, kw_only=True):
    """`low_stops` holds for the first `low_share` of the take: after it, it is night."""

    low_stops: _Stops = -3.0
    low_share: _Share = 0.4
    high_stops: _Stops = 2.0


class SkyBand(_Value, frozen=True, kw_only=True):
    """`clip_area_share` is the share of the whole frame that may burn out."""

    clip_area_share: _Share = 0.08


class Bands(_Value, frozen=True, kw_only=True):
    """Between which tones each part is keepable, and how many frames may fail."""

    street: StreetBand = StreetBand()
    land: LandBand = LandBand()
    sky: SkyBand = SkyBand()
    excused_share: Annotated[float, Meta(ge=0.0, le=0.5)] = 0.05
    lamps_wanted: bool = False


class Conditions(_Value, frozen=True, kw_only=True):
    """The air of one night, as the pilot expects it."""

    cloud_okta: Annotated[float, Meta(ge=0.0, le=8.0)] = 0.0
    haze_aod: Annotated[float, Meta(ge=0.02, le=0.6)] = 0.12
    # What towns add to a clear zenith; 0.001 cd/m² (20 mag/arcsec²) is a small town's.
    skyglow_cd_m2: Annotated[float, Meta(ge=0.0, le=1.0)] = 0.001
    temperature_c: Annotated[float, Meta(ge=-40.0, le=55.0)] = 15.0
    humidity_percent: Annotated[float, Meta(ge=1.0, le=100.0)] | None = None
    visibility_km: Annotated[float, Meta(ge=0.01, le=300.0)] | None = None
    wind_10m_m_s: _Speed = 3.0
    gust_10m_m_s: _Speed | None = None
    wind_from_deg: _Bearing = 270.0
    wind_shear_exponent: Annotated[float, Meta(ge=0.0, le=0.8)] = 0.27


class Shoot(_Value, frozen=True, kw_only=True):
    """One planned take. `start_after_event_min` counts from sunset or sunrise."""

    date: dt.date
    twilight: Twilight = "dusk"
    start_after_event_min: Annotated[float, Meta(ge=-720.0, le=720.0)] = 25.0
    interval_s: _Interval = 3.0
    clip_length_s: Annotated[float, Meta(ge=0.1, le=600.0)] = 8.0
    frame_rate_fps: Annotated[float, Meta(ge=1.0, le=240.0)] = 25.0
    shutter_s: _Shutter = 1.0
    iso: _Iso = 100.0
    f_number: _FNumber = 1.8
    nd_stops: _Filter = 0.0
    visit: Literal["first", "repeat"] = "first"
    path_reversed: bool = False
    battery_start_percent: Annotated[float, Meta(ge=1.0, le=100.0)] = 100.0
    conditions: Conditions = Conditions()


class Shoots(_Value, frozen=True, kw_only=True):
    """The two shoots that are compared."""

    A: Shoot
    B: Shoot


class Replaced(_Value, frozen=True, kw_only=True):
    """A value of the plan that a take put another in place of, by its dotted key."""

    key: str
    before: _Figure
    after: _Figure


class TakeSummary(_Value, frozen=True, kw_only=True):
    """What a flown take showed, in words and, where its stills were reviewed, in figures.

    `table` names the file beside the plan that holds a row for each frame. `pitch_off_deg` and
    `roll_off_deg` are by how much its camera looked higher than planned and leaned to the right.
    `replaced` is what the take changed of the typed values, so that it can be taken back.
    """

    words: str = ""
    frames: _Count | None = None
    missing: _Count | None = None
    interval_s: _Interval | None = None
    flicker_stops: Annotated[float, Meta(ge=0.0, le=20.0)] | None = None
    drift_rms_px: _Count | None = None
    crop_percent: Annotated[float, Meta(ge=0.0, le=1000.0)] | None = None
    table: str | None = None
    pitch_off_deg: _Tilt | None = None
    roll_off_deg: _Tilt | None = None
    replaced: tuple[Replaced, ...] = ()


class Remark(_Value, frozen=True):
    """What a take showed of one part, as the pilot says it.

    `over` and `dark` are by how much, in stops beyond the limit (0 for just there), at
    `frame`, counted from 0. `fine` speaks of the whole take.
    """

    part: Part
    showed: Showed
    frame: _Count = 0.0
    by_stops: Annotated[float, Meta(ge=-20.0, le=20.0)] = 0.0


class Take(_Value, frozen=True, kw_only=True):
    """One attempt that was flown; `flown` is the shoot as it was then.

    `remarks` are what the pilot said it showed: they are read anew whenever what was known
    before the take changes.
    """

    id: str
    shoot: ShootName
    start: str
    summary: TakeSummary = TakeSummary()
    flown: Shoot | None = None
    remarks: tuple[Remark, ...] = ()


class Learned(_Value, frozen=True, kw_only=True):
    """A figure that a take taught, with its 1-sigma; `scope` says for how long it is good."""

    name: str
    value: float
    sigma: Annotated[float, Meta(ge=0.0)]
    unit: str
    scope: Literal["place", "camera", "craft", "night"]
    take_id: str | None = None


class Reading(_Value, frozen=True, kw_only=True):
    """A tone read on site or in a take, in stops from mid-grey at stated settings.

    Settings left out are those of shoot A. `path_share` is where along the path as drawn it
    was read, 0 to 1; left out, where the path sees the most sky. A tone of the sky is the one that
    the share of the frame which may burn exceeds.
    """

    time: str
    part: Part
    stops: _Stops
    sigma_stops: Annotated[float, Meta(ge=0.01, le=5.0)] = 0.25
    shutter_s: _Shutter | None = None
    iso: _Iso | None = None
    f_number: _FNumber | None = None
    nd_stops: _Filter | None = None
    path_share: _Share | None = None
    take_id: str | None = None


class Plan(_Value, frozen=True, kw_only=True):
    """One place and everything known about it: the whole plan file."""

    schema: str = SCHEMA
    place: Place
    ground: Ground = Ground()
    camera: Camera = Camera()
    craft: Craft = Craft()
    path: Path = Path()
    flight: FlightPlan = FlightPlan()
    bands: Bands = Bands()
    shoots: Shoots
    takes: tuple[Take, ...] = ()
    learned: tuple[Learned, ...] = ()
    readings: tuple[Reading, ...] = ()

    def shoot(self, name: ShootName) -> Shoot:
        """The shoot called A or B."""
        return self.shoots.A if name == "A" else self.shoots.B
