"""What each step of an evening is called, and what to do when it comes."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

import numpy as np

from core.language import say
from core.measures import length_text
from core.outlook import Outlook
from core.path import poses_along, station_ways
from core.plan import Plan
from core.words import (
    bearing_text,
    degrees_text,
    f_number_text,
    filter_text,
    iso_text,
    number_text,
    percent_text,
    seconds_text,
    shutter_text,
)  # fmt: skip

StepKind = Literal[
    "lamps_on", "lamps_off", "take_off", "at_station", "first_shutter", "half_way",
    "last_frame", "turn_home", "on_ground", "latest_stop", "land_by",
]  # fmt: skip

#: As they stand in a list.
STEP_NAMES: Final[dict[StepKind, str]] = {
    "lamps_on": say("lamps on"),
    "lamps_off": say("lamps off"),
    "take_off": "take-off",
    "at_station": say("at station 1"),
    "first_shutter": say("first shutter"),
    "half_way": say("half way"),
    "last_frame": say("last frame"),
    "turn_home": say("turn home"),
    "on_ground": say("on the ground"),
    "latest_stop": say("last frame by"),
    "land_by": say("land by"),
}
#: As they stand before a countdown: 'First shutter in 2:06'.
STEP_LEADS: Final[dict[StepKind, str]] = {
    kind: say("Take off") if kind == "take_off" else f"{name[0].upper()}{name[1:]}"
    for kind, name in STEP_NAMES.items()
}
#: How the words for the press begin; without it they say how the take runs.
PRESS: Final = say("Press. ")
#: What to do before the first step.
BEFORE: Final = say(
    "Before take-off: focus, white balance, card, own lights, return height, landing."
)
#: What a countdown runs to; what lies between is only listed, and the latest stop stands by itself.
COUNTED: Final[frozenset[StepKind]] = frozenset(
    (
        "lamps_on", "lamps_off", "take_off", "first_shutter", "last_frame", "turn_home",
        "land_by",
    )
)  # fmt: skip
#: Nearer than this to the launch point there is no leg to fly, m.
_OVERHEAD_M = 1.0


class StepWords(NamedTuple):
    """What to do when a step comes, and the same in a few words for a list."""

    do: str
    note: str


def step_words(plan: Plan, seen: Outlook) -> dict[StepKind, StepWords]:
    """What to do at each step of a shoot, by its outlook."""
    reserve = percent_text(plan.flight.reserve_percent)
    every = seconds_text(seen.shoot.interval_s)
    frames, half = (number_text(count) for count in (seen.clip.frames, seen.clip.frames // 2))
    look = look_text(*looks_deg(seen)[0])
    home = f"{_sentence(_home(plan, seen))}."
    lamps = say("note the real time")
    return {
        "lamps_on": StepWords(say("Note the minute of the first glow."), lamps),
        "lamps_off": StepWords(say("Note the minute when the lamps are dark."), lamps),
        "take_off": StepWords(
            say("Hover checks, then {out}.", out=_out(seen)),
            say("climb to {metres}", metres=_metres(seen.path.stations[0].up_m)),
        ),
        "at_station": StepWords(
            say(
                "Frame station 1, {look}. Lock {settings}.", look=look, settings=settings_text(seen)
            ),
            look,
        ),
        "first_shutter": StepWords(
            say(
                "{press}{frames} frames, one every {every}{fly}.",
                press=PRESS,
                frames=frames,
                every=every,
                fly=_fly(seen),
            ),
            say("press, every {every}", every=every),
        ),
        "half_way": StepWords(
            say("Frame {half}. Compare the charge with the plan.", half=half),
            say("frame {half}", half=half),
        ),
        "last_frame": StepWords(
            say("Stop the take. Let the last still be stored."),
            say("frame {frames}", frames=frames),
        ),
        "turn_home": StepWords(home, _homeward(seen)),
        "on_ground": StepWords(say("Note the charge on the gauge."), say("note the charge")),
        "latest_stop": StepWords(
            say("Stop, whatever is missing. {home}", home=home), say("then fly home")
        ),
        "land_by": StepWords(
            say("Be down, with {reserve} in reserve.", reserve=reserve),
            say("{reserve} in reserve", reserve=reserve),
        ),
    }


def settings_text(seen: Outlook) -> str:
    """What has to be locked: '1 s, ISO 100, f/1.8, no filter'."""
    shoot = seen.shoot
    return ", ".join(
        (
            shutter_text(shoot.shutter_s),
            iso_text(shoot.iso),
            f_number_text(shoot.f_number),
            filter_text(shoot.nd_stops),
        )
    )


def looks_deg(seen: Outlook) -> tuple[tuple[float, float], ...]:
    """Heading and pitch at each station as the shoot flies them, degrees."""
    poses = poses_along(seen.path, station_ways(seen.path))
    pairs = zip(poses.heading_deg, poses.pitch_deg, strict=True)
    return tuple((float(heading), float(pitch)) for heading, pitch in pairs)


def look_text(heading_deg: float, pitch_deg: float) -> str:
    """Where the camera looks: 'heading 225°, pitch −50°'."""
    return say(
        "heading {bearing}, pitch {pitch}",
        bearing=bearing_text(heading_deg),
        pitch=degrees_text(pitch_deg),
    )


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _metres(value_m: float) -> str:
    return length_text(value_m)


def _leg(east_m: float, north_m: float) -> tuple[str, str] | None:
    """Distance over ground and course, None overhead."""
    distance_m = math.hypot(east_m, north_m)
    if distance_m < _OVERHEAD_M:
        return None
    return _metres(distance_m), bearing_text(math.degrees(math.atan2(east_m, north_m)))


def _out(seen: Outlook) -> str:
    first = seen.path.stations[0]
    leg = _leg(first.east_m, first.north_m)
    climb = say("climb to {metres}", metres=_metres(first.up_m))
    return (
        climb
        if leg is None
        else say("{climb} and fly out {leg} on {leg_2}", climb=climb, leg=leg[0], leg_2=leg[1])
    )


def _fly(seen: Outlook) -> str:
    """The way to the last station, nothing for a take from one place."""
    places = np.array([(s.east_m, s.north_m, s.up_m) for s in seen.path.stations])
    way_m = float(np.linalg.norm(np.diff(places, axis=0), axis=1).sum())
    if way_m < _OVERHEAD_M:
        return ""
    return say(
        ", along the path of {metres} to station {places}",
        metres=_metres(way_m),
        places=len(places),
    )


def _homeward(seen: Outlook) -> str:
    last = seen.path.stations[-1]
    leg = _leg(-last.east_m, -last.north_m)
    return (
        say("straight down") if leg is None else say("{leg} on {leg_2}", leg=leg[0], leg_2=leg[1])
    )


def _home(plan: Plan, seen: Outlook) -> str:
    last = seen.path.stations[-1]
    height_m = seen.flight.return_height_m or plan.flight.return_height_m
    leg = _leg(-last.east_m, -last.north_m)
    if leg is None:
        return say("come down over the launch point")
    rise = (
        say("climb to {metres} and ", metres=_metres(height_m))
        if height_m > last.up_m + _OVERHEAD_M
        else ""
    )
    return say("{rise}fly home {leg} on {leg_2}", rise=rise, leg=leg[0], leg_2=leg[1])
