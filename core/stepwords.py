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
from core.takewords import locked_texts
from core.words import (
    bearing_text,
    degrees_text,
    number_text,
    percent_text,
    seconds_text,
)  # fmt: skip

StepKind = Literal[
    "lamps_on", "lamps_off", "take_off", "at_station", "first_shutter", "half_way",
    "last_frame", "turn_home", "on_ground", "latest_stop", "land_by",
]  # fmt: skip

#: As they stand in a list.
STEP_NAMES: Final[dict[StepKind, str]] = {
    "lamps_on": say("lamps on"),
    "lamps_off": say("lamps off"),
    "take_off": say("take-off"),
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
    "lamps_on": say("Lamps on"),
    "lamps_off": say("Lamps off"),
    "take_off": say("Take off"),
    "at_station": say("At station 1"),
    "first_shutter": say("First shutter"),
    "half_way": say("Half way"),
    "last_frame": say("Last frame"),
    "turn_home": say("Turn home"),
    "on_ground": say("On the ground"),
    "latest_stop": say("Last frame by"),
    "land_by": say("Land by"),
}
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
    """What to do when a step comes, the same in a few words for a list, and what then runs."""

    do: str
    note: str
    running: str = ""


def step_words(plan: Plan, seen: Outlook) -> dict[StepKind, StepWords]:
    """What to do at each step of a shoot, by its outlook."""
    reserve = percent_text(plan.flight.reserve_percent)
    running = _running(seen)
    frames, half = (number_text(count) for count in (seen.clip.frames, seen.clip.frames // 2))
    look = look_text(*looks_deg(seen)[0])
    home = _home(plan, seen)
    lamps = say("note the real time")
    return {
        "lamps_on": StepWords(say("Note the minute of the first glow."), lamps),
        "lamps_off": StepWords(say("Note the minute when the lamps are dark."), lamps),
        "take_off": StepWords(
            _out(seen),
            say("climb to {height}", height=length_text(seen.path.stations[0].up_m)),
        ),
        "at_station": StepWords(
            say(
                "Frame station 1, {look}. Lock {settings}.", look=look, settings=settings_text(seen)
            ),
            look,
        ),
        "first_shutter": StepWords(
            say("Press. {running}", running=running),
            say("press, every {interval}", interval=seconds_text(seen.shoot.interval_s)),
            running,
        ),
        "half_way": StepWords(
            say("Frame {number}. Compare the charge with the plan.", number=half),
            say("frame {number}", number=half),
        ),
        "last_frame": StepWords(
            say("Stop the take. Let the last still be stored."),
            say("frame {number}", number=frames),
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
    return ", ".join(locked_texts(seen.shoot))


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


def _leg(east_m: float, north_m: float) -> tuple[str, str] | None:
    """Distance over ground and course, None overhead."""
    distance_m = math.hypot(east_m, north_m)
    if distance_m < _OVERHEAD_M:
        return None
    return length_text(distance_m), bearing_text(math.degrees(math.atan2(east_m, north_m)))


def _out(seen: Outlook) -> str:
    first = seen.path.stations[0]
    leg, height = _leg(first.east_m, first.north_m), length_text(first.up_m)
    if leg is None:
        return say("Hover checks, then climb to {height}.", height=height)
    return say(
        "Hover checks, then climb to {height} and fly out {distance} on {course}.",
        height=height,
        distance=leg[0],
        course=leg[1],
    )


def _running(seen: Outlook) -> str:
    """The frames, and the way to the last station unless the take is from one place."""
    frames, interval = number_text(seen.clip.frames), seconds_text(seen.shoot.interval_s)
    places = np.array([(s.east_m, s.north_m, s.up_m) for s in seen.path.stations])
    way_m = float(np.linalg.norm(np.diff(places, axis=0), axis=1).sum())
    if way_m < _OVERHEAD_M:
        return say("{frames} frames, one every {interval}.", frames=frames, interval=interval)
    return say(
        "{frames} frames, one every {interval}, along the path of {length} to station {last}.",
        frames=frames,
        interval=interval,
        length=length_text(way_m),
        last=len(places),
    )


def _homeward(seen: Outlook) -> str:
    last = seen.path.stations[-1]
    leg = _leg(-last.east_m, -last.north_m)
    if leg is None:
        return say("straight down")
    return say("{distance} on {course}", distance=leg[0], course=leg[1])


def _home(plan: Plan, seen: Outlook) -> str:
    last = seen.path.stations[-1]
    height_m = seen.flight.return_height_m or plan.flight.return_height_m
    leg = _leg(-last.east_m, -last.north_m)
    if leg is None:
        return say("Come down over the launch point.")
    if height_m <= last.up_m + _OVERHEAD_M:
        return say("Fly home {distance} on {course}.", distance=leg[0], course=leg[1])
    return say(
        "Climb to {height} and fly home {distance} on {course}.",
        height=length_text(height_m),
        distance=leg[0],
        course=leg[1],
    )
