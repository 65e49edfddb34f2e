"""forecast(plan): the stages composed, each remembered on exactly what it reads.

`outlook` is the fast half, for the hand on a slider: tones, flight and verdict of one
shoot. `forecast` adds what may follow a step behind: every start of the night, the good
range of each setting, the findings.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import partial

import msgspec
import numpy as np

from core.advice import findings_of
from core.belief import Belief, Observation, after_reading, surprise_sigmas
from core.chance import ChanceView, chance_view_of
from core.clip import clip_of
from core.findings import SEVERITIES, Finding
from core.flight import FlightEnergy, FlightRoute, flight_energy, plan_flight
from core.framesky import POSES, FrameSky, framesky_of
from core.judge import judge
from core.light import Light, light_of
from core.memory import Memory
from core.motion import PICTURE_PX, Motion, motion_of, sweep_of
from core.night import Night, night_of
from core.outlook import Evening, Outlook
from core.path import LEVEL, Tilt, poses_along, reversed_path, station_ways
from core.plan import Path, Plan, Shoot, ShootName
from core.readings import (
    belief_at_hand,
    learned_before,
    observed,
    reading_mid_log2,
    readings_of_night,
)
from core.readonly import read_only
from core.scales import with_shoot
from core.skies import Skies, skies_of
from core.starts import SkyDiagonals, Starts, diagonals_of, starts_of, starts_window_s
from core.tones import frame_ways, lit_share, mid_log2, tones_at, tones_of, with_moon

EVENING_STEP_S = 60.0
PAST_MIDNIGHT_S = 3600.0
#: The glow's contrast along the horizon asks for this; coarser loses 0.03 stop.
AZIMUTH_STEP_DEG = 7.5


@dataclass(frozen=True)
class Forecast:
    """One shoot's whole forecast."""

    outlook: Outlook
    starts: Starts
    motion: Motion
    findings: tuple[Finding, ...]


def outlook(plan: Plan, name: ShootName, memory: Memory) -> Outlook:
    """The fast half of a shoot's forecast."""
    shoot = plan.shoot(name)
    night = _night(plan, shoot, memory)
    light = _light(plan, shoot, memory)
    framesky = _framesky(plan, shoot, memory)
    path = _flown(plan, shoot)
    clip = clip_of(shoot, plan.camera)
    press_s = night.event.time_s + shoot.start_after_event_min * 60.0
    tones = tones_of(
        shoot, press_s, clip, path, light, framesky, plan.ground, plan.bands, plan.camera
    )
    flight = plan_flight(
        _energy(plan, shoot, memory), clip.frames, shoot.interval_s, shoot.battery_start_percent
    )
    take_off_s = None if flight.before_min is None else press_s - flight.before_min * 60.0
    return Outlook(
        name=name,
        shoot=shoot,
        night=night,
        light=light,
        typed=_typed_light(plan, shoot, memory),
        sky=_skies(plan, shoot, memory).typed,
        path=path,
        framesky=framesky,
        clip=clip,
        mid=mid_log2(shoot),
        press_s=press_s,
        last_frame_s=press_s + clip.shooting_s,
        tones=tones,
        judgement=judge(tones, plan.bands, plan.camera.highlight_stops),
        evening=_evening(plan, shoot, memory),
        flight=flight,
        take_off_s=take_off_s,
        latest_stop_s=_after(take_off_s, flight.latest_stop_min),
        land_by_s=_after(take_off_s, flight.land_by_min),
    )


def framesky_tilted(plan: Plan, name: ShootName, tilt: Tilt, memory: Memory) -> FrameSky:
    """What the lens sees of the sky on a shoot whose camera is off its planned poses."""
    return _framesky(plan, plan.shoot(name), memory, tilt)


def motion(plan: Plan, name: ShootName, memory: Memory) -> Motion:
    """What moves in the picture of a shoot."""
    shoot = plan.shoot(name)
    path, lens = _flown(plan, shoot), (plan.camera.focal_equivalent_mm, plan.camera.aspect)
    sweep = memory.recall("sweep", (path, lens), lambda: sweep_of(path, plan.camera, PICTURE_PX))
    limit_m_s = plan.craft.wind_limit_m_s
    # Neither start nor exposure but the shutter moves anything.
    key = (
        path, lens, shoot.shutter_s, shoot.interval_s, shoot.clip_length_s, shoot.frame_rate_fps,
        shoot.conditions, limit_m_s,
    )  # fmt: skip
    clip = clip_of(shoot, plan.camera)
    return memory.recall("motion", key, lambda: motion_of(sweep, shoot, clip, limit_m_s))


def starts(plan: Plan, name: ShootName, memory: Memory) -> Starts:
    """Every start of a shoot's night."""
    shoot = plan.shoot(name)
    return memory.recall(
        "starts",
        _starts_key(plan, shoot),
        lambda: starts_of(
            diagonals(plan, shoot, memory),
            chance_view(plan, shoot, memory),
            mid_log2(shoot),
            plan.bands,
            plan.camera.highlight_stops,
            lit_share(plan.ground),
        ),
    )


def known_starts(plan: Plan, name: ShootName, memory: Memory) -> Starts | None:
    """Every start of a shoot's night if it is at hand: moving a start asks for no new ones."""
    known = memory.knows("starts", _starts_key(plan, plan.shoot(name)))
    return starts(plan, name, memory) if known else None


def told_together(each: Sequence[tuple[Finding, ...]]) -> tuple[Finding, ...]:
    """The findings of A and of B as one list, the worst first."""
    said = {(finding.code, finding.text) for finding in each[0]}
    both = each[0] + tuple(
        f for f in each[1] if f.severity != "note" or (f.code, f.text) not in said
    )
    return tuple(sorted(both, key=lambda finding: SEVERITIES.index(finding.severity)))


def forecast(plan: Plan, name: ShootName, memory: Memory | None = None) -> Forecast:
    """A shoot's whole forecast; the memory may be shared from one call to the next."""
    memory = memory or Memory()
    seen, every_start = outlook(plan, name, memory), starts(plan, name, memory)
    # Only where nothing holds this way round is the other way worth the time.
    hopeless = every_start.best_s is None
    back = starts(turned_plan(plan, name), name, memory) if hopeless else None

    def tried(changed: Plan, shoot: ShootName) -> Outlook:
        return outlook(changed, shoot, memory)

    moved = motion(plan, name, memory)
    told = findings_of(plan, seen, every_start, back, moved, tried)
    return Forecast(seen, every_start, moved, told)


def turned_plan(plan: Plan, name: ShootName) -> Plan:
    """The plan with a shoot's path flown the other way."""
    shoot = plan.shoot(name)
    turned = msgspec.structs.replace(shoot, path_reversed=not shoot.path_reversed)
    return with_shoot(plan, name, turned)


def _after(take_off_s: float | None, minutes: float | None) -> float | None:
    return None if take_off_s is None or minutes is None else take_off_s + minutes * 60.0


def _flown(plan: Plan, shoot: Shoot) -> Path:
    return reversed_path(plan.path) if shoot.path_reversed else plan.path


def _night_key(plan: Plan, shoot: Shoot) -> Hashable:
    place = plan.place
    where = (place.latitude_deg, place.longitude_deg, place.time_zone)
    return (*where, shoot.date, shoot.twilight)


def _night(plan: Plan, shoot: Shoot, memory: Memory) -> Night:
    place = plan.place
    return memory.recall(
        "night",
        _night_key(plan, shoot),
        lambda: night_of(
            place.latitude_deg, place.longitude_deg, place.time_zone, shoot.date, shoot.twilight
        ),
    )


def _air_key(plan: Plan, shoot: Shoot) -> Hashable:
    air = shoot.conditions
    return (air.cloud_okta, air.haze_aod, air.skyglow_cd_m2, camera_height_m(plan))


def camera_height_m(plan: Plan) -> float:
    """Mean height of the stations: so little of the sky depends on it that one will do."""
    stations = plan.path.stations
    return sum(station.up_m for station in stations) / len(stations)


def _skies(plan: Plan, shoot: Shoot, memory: Memory) -> Skies:
    return memory.recall(
        "skies",
        _air_key(plan, shoot),
        lambda: skies_of(shoot.conditions, camera_height_m(plan), memory),
    )


def _typed_light_key(plan: Plan, shoot: Shoot) -> Hashable:
    air = _air_key(plan, shoot)
    return (_night_key(plan, shoot), plan.place.skyline, plan.ground, air)


def _typed_light(plan: Plan, shoot: Shoot, memory: Memory) -> Light:
    """The night's light by the typed figures, before anything read or learned."""
    key = _typed_light_key(plan, shoot)
    return memory.recall("typed light", key, lambda: _light_of(plan, shoot, memory, None))


def _light_of(plan: Plan, shoot: Shoot, memory: Memory, belief: Belief | None) -> Light:
    return light_of(
        _night(plan, shoot, memory),
        plan.place,
        plan.ground,
        shoot.conditions,
        _skies(plan, shoot, memory),
        belief,
    )


def _light_key(plan: Plan, shoot: Shoot) -> Hashable:
    return (_typed_light_key(plan, shoot), _belief_key(plan, shoot))


def _light(plan: Plan, shoot: Shoot, memory: Memory) -> Light:
    if not plan.learned and not plan.readings:
        return _typed_light(plan, shoot, memory)
    return memory.recall(
        "light",
        _light_key(plan, shoot),
        lambda: _light_of(plan, shoot, memory, belief(plan, shoot, memory)),
    )


def _belief_key(plan: Plan, shoot: Shoot) -> Hashable:
    """What beside the typed light the belief reads: nothing where nothing was read or learned."""
    if not plan.learned and not plan.readings:
        return None
    read = tuple((reading, reading_mid_log2(reading, plan)) for reading in plan.readings)
    lens = (plan.camera.focal_equivalent_mm, plan.camera.aspect)
    sky = (_flown(plan, shoot), lens, plan.bands.sky)
    return (plan.learned, plan.takes, read, sky)


def belief(plan: Plan, shoot: Shoot, memory: Memory) -> Belief:
    """What is held about a shoot's night after everything read and learned."""
    return after_reading(*_read(plan, shoot, memory))


def belief_unread(plan: Plan, shoot: Shoot, memory: Memory) -> Belief:
    """What is held about a shoot's night before anything is read on it."""
    return belief_at_hand(shoot, learned_before(plan, _night(plan, shoot, memory)))


def surprise(plan: Plan, shoot: Shoot, memory: Memory) -> float:
    """How far a night's readings lie from what was held before them, in sigmas a reading."""
    return surprise_sigmas(*_read(plan, shoot, memory))


def _read(plan: Plan, shoot: Shoot, memory: Memory) -> tuple[Belief, list[Observation]]:
    """What is held before a night's readings, and the readings."""
    night = _night(plan, shoot, memory)
    readings = [(r, reading_mid_log2(r, plan)) for r in readings_of_night(plan, night)]
    return belief_unread(plan, shoot, memory), observed(
        shoot,
        _typed_light(plan, shoot, memory),
        _framesky(plan, shoot, memory),
        plan.bands,
        readings,
    )


def _framesky(plan: Plan, shoot: Shoot, memory: Memory, tilt: Tilt = LEVEL) -> FrameSky:
    light = _typed_light(plan, shoot, memory)
    azimuths = _twilight_azimuths_deg(_night(plan, shoot, memory), light)
    stations, skyline = _flown(plan, shoot).stations, plan.place.skyline
    lens = (plan.camera.focal_equivalent_mm, plan.camera.aspect)
    return memory.recall(
        "framesky",
        (stations, lens, skyline, _air_key(plan, shoot), azimuths, tilt),
        lambda: framesky_of(
            _flown(plan, shoot), plan.camera, skyline, _skies(plan, shoot, memory), azimuths, tilt
        ),
    )


def _twilight_azimuths_deg(night: Night, light: Light) -> tuple[float, ...]:
    """Sun azimuths worth tracing for a night: a node every so often over its twilight.

    A take may run on past solar midnight, or begin before it. The ends are rounded outward,
    so that the next night reads the same rays again.
    """
    after_s = light.time_s - night.darkest_s
    side = (after_s if night.twilight == "dusk" else -after_s) <= PAST_MIDNIGHT_S
    near = side & (np.abs(light.sun_altitude_deg) <= 13.0)
    azimuth = light.sun_azimuth_deg[near if near.any() else side]
    first, last = (
        np.floor(azimuth.min() / AZIMUTH_STEP_DEG),
        np.ceil(azimuth.max() / AZIMUTH_STEP_DEG),
    )
    return tuple(float(AZIMUTH_STEP_DEG * k) for k in np.arange(first, last + 1))


def _view_key(plan: Plan, shoot: Shoot) -> Hashable:
    camera = (plan.camera.focal_equivalent_mm, plan.camera.aspect)
    area_share = plan.bands.sky.clip_area_share
    return (_light_key(plan, shoot), _flown(plan, shoot), camera, area_share)


def _diagonals_key(plan: Plan, shoot: Shoot) -> Hashable:
    frames = clip_of(shoot, plan.camera).frames
    return (_view_key(plan, shoot), frames, shoot.interval_s)


def _starts_key(plan: Plan, shoot: Shoot) -> Hashable:
    limits = (plan.bands, plan.camera.highlight_stops)
    return (_diagonals_key(plan, shoot), mid_log2(shoot), *limits)


def diagonals(plan: Plan, shoot: Shoot, memory: Memory) -> SkyDiagonals:
    """What a shoot's take sees from every start of its night, before any exposure."""
    frames = clip_of(shoot, plan.camera).frames
    return memory.recall(
        "diagonals",
        _diagonals_key(plan, shoot),
        lambda: diagonals_of(
            _night(plan, shoot, memory),
            _light(plan, shoot, memory),
            _framesky(plan, shoot, memory),
            frame_ways(_flown(plan, shoot), frames),
            shoot.interval_s,
            plan.bands.sky.clip_area_share,
        ),
    )


def chance_view(plan: Plan, shoot: Shoot, memory: Memory) -> ChanceView:
    """What a few frames of a shoot's take see from a start a minute, for the chance."""
    light = _light(plan, shoot, memory)
    frames = clip_of(shoot, plan.camera).frames
    return memory.recall(
        "chance",
        (_diagonals_key(plan, shoot), plan.bands),
        lambda: chance_view_of(
            starts_window_s(_night(plan, shoot, memory), light),
            light,
            _framesky(plan, shoot, memory),
            frame_ways(_flown(plan, shoot), frames),
            shoot.interval_s,
            plan.bands,
            lit_share(plan.ground),
        ),
    )


def _evening(plan: Plan, shoot: Shoot, memory: Memory) -> Evening:
    key = _view_key(plan, shoot)
    return memory.recall("evening", key, partial(_evening_of, plan, shoot, memory))


def _evening_of(plan: Plan, shoot: Shoot, memory: Memory) -> Evening:
    """Curves over the whole window, as the pose with the most sky sees them."""
    light, framesky = _light(plan, shoot, memory), _framesky(plan, shoot, memory)
    time_s = np.arange(light.time_s[0], light.time_s[-1], EVENING_STEP_S)
    way = np.full_like(time_s, framesky.way[int(framesky.sky_share.argmax())])
    tones = tones_at(
        time_s, way, 0.0, light, framesky, plan.ground, plan.bands, plan.camera.highlight_stops
    )
    overhead = _skies(plan, shoot, memory).typed.luminance(tones.sun_altitude_deg, 60.0, 90.0)
    return read_only(
        Evening(
            time_s=time_s,
            street_log2=tones.street.stops,
            land_log2=tones.land.stops,
            sky_log2=tones.sky.limit_stops,
            street_sigma_stops=tones.street.sigma_stops,
            land_sigma_stops=tones.land.sigma_stops,
            sky_sigma_stops=tones.sky.sigma_stops,
            sky_60_up_log2=with_moon(np.log2(overhead), light, time_s),
        )
    )


def _energy(plan: Plan, shoot: Shoot, memory: Memory) -> FlightEnergy:
    flight = plan.flight
    set_up_min = flight.set_up_first_min if shoot.visit == "first" else flight.set_up_repeat_min
    key = (
        plan.craft, flight, _flown(plan, shoot).stations, shoot.conditions,
        plan.place.elevation_m, set_up_min,
    )  # fmt: skip
    return memory.recall(
        "energy",
        key,
        lambda: flight_energy(
            plan.craft,
            flight,
            flight_route(_flown(plan, shoot)),
            shoot.conditions,
            plan.place.elevation_m,
            set_up_min,
        ),
    )


def flight_route(path: Path) -> FlightRoute:
    """Where the craft is along the camera's path, for the flight."""
    # With the stations themselves: one between two samples may be the farthest of all.
    ways = sorted({*np.linspace(0.0, 1.0, POSES).tolist(), *station_ways(path).tolist()})
    poses = poses_along(path, np.array(ways))
    points = tuple(
        (float(e), float(n), float(u))
        for e, n, u in zip(poses.east_m, poses.north_m, poses.up_m, strict=True)
    )
    return FlightRoute(points[0], points)
