"""The field card: one page for the site, as ready words. Paper and phone draw the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np

from core.clocks import clock_cut, moment_clock, span_words
from core.dates import long_date, short_date
from core.export.plain import plain
from core.findings import CHECK_RULES, SEVERITIES, Finding
from core.forecast import Forecast
from core.language import say, say_as
from core.lightwords import no_span_reason
from core.measures import length_text, speeds_text, temperature_text
from core.names import moment_text, twilight_text
from core.night import MomentName
from core.outlook import Outlook
from core.place import offset_text
from core.plan import Plan, ShootName
from core.starts import Starts
from core.stepwords import STEP_NAMES, StepKind, looks_deg
from core.timetable import Step, Timetable, timetable_of
from core.verdict import best_chance_text
from core.words import (
    after_event_text,
    battery_short_text,
    bearing_text,
    chance_text,
    clock_text,
    coordinate_text,
    cut_down,
    degrees_text,
    duration_text,
    f_number_text,
    filter_text,
    minutes_text,
    number_text,
    percent_text,
    seconds_text,
    shutter_text,
    spare_text,
    utc_text,
)

PaperName = Literal["A4", "Letter"]
PAPERS: Final[tuple[PaperName, ...]] = get_args(PaperName)
#: Minutes late, on the ground, for which the card says what a press then does.
LATE_MIN: Final = (2, 4, 8, 14)
LOCKED: Final = say(
    "Lock shutter, ISO and aperture; focus manual on a far light; white balance fixed; "
    "no automatic ISO, exposure or enhancement."
)
_MOMENT_NAMES: Final[dict[MomentName, str]] = {
    "civil": say("sun \N{MINUS SIGN}6°, night by many rules"),
    "nautical": say("sun \N{MINUS SIGN}12°"),
    "astronomical": say("sun \N{MINUS SIGN}18°"),
}
#: What is told of the moon lies within this of the take.
_MOON_S = 2.0 * 3600.0


@dataclass(frozen=True)
class CardStep:
    """A row of the steps: clocks on the place and in UTC, charge, name, what to do then and since.

    `bound` marks a time to be kept, below the planned ones.
    """

    kind: StepKind
    time_s: float
    local: str
    utc: str
    charge: str
    name: str
    note: str
    do: str
    since: str
    bound: bool


@dataclass(frozen=True)
class CardStation:
    """A station of the path, in metres from the launch point and in words."""

    east_m: float
    north_m: float
    heading_deg: float
    words: str


@dataclass(frozen=True)
class Card:
    """Everything on the card, in the order it stands there.

    Attributes
    ----------
    timetable
        The steps themselves, for what counts down.
    press, stop
        Clock, and the lines below it. `stop` is an empty pair where there is no flight.
    settings
        Label and value of what is set.
    late
        Minutes late, and when a press from the ground then is and whether its light holds.
    air
        Wind at both heights, where it comes from, and the temperature; figure and what it is.
    glow_deg
        Azimuth of the sun half way through the take.
    cautions
        The shoot's own findings, the worst first; the last is `CHECK_RULES`.
    """

    timetable: Timetable
    name: ShootName
    place: str
    day: str
    where: str
    press: str
    press_lines: tuple[str, ...]
    stop: str
    stop_charge: str
    stop_lines: tuple[str, ...]
    settings: tuple[tuple[str, str], ...]
    locked: str
    steps: tuple[CardStep, ...]
    stations: tuple[CardStation, ...]
    glow_deg: float
    air: tuple[tuple[str, str], ...]
    moments: tuple[tuple[str, str], ...]
    late: tuple[tuple[str, str], ...]
    cautions: tuple[Finding, ...]
    light: str
    made: str


def card_of(plan: Plan, seen: Forecast, made_s: float) -> Card:
    """Return the card of a shoot.

    Parameters
    ----------
    made_s
        When it is made, UTC seconds.
    """
    out = seen.outlook
    table = timetable_of(plan, out)
    return Card(
        timetable=table,
        name=out.name,
        place=" ".join(plain(plan.place.name).split()) or say("Unnamed place"),
        day=f"{long_date(out.night.date)}, {twilight_text(out.night.twilight)}",
        where=_where(plan, out),
        press=_clock(out, out.press_s),
        press_lines=tuple(_press_lines(out, seen.starts)),
        stop="" if out.latest_stop_s is None else clock_cut(out.night, out.latest_stop_s),
        stop_charge=_stop_charge(out),
        stop_lines=tuple(_stop_lines(out)),
        settings=tuple(_settings(out)),
        locked=LOCKED,
        steps=tuple(_rows(table)),
        stations=tuple(_stations(out)),
        glow_deg=_glow_deg(out),
        air=tuple(_air(out)),
        moments=tuple(_moments(out)),
        late=tuple(_late(out, seen.starts)),
        cautions=_cautions(seen),
        light=_light(out),
        made=say("plan of {made}", made=_made(out, made_s)),
    )


def _where(plan: Plan, out: Outlook) -> str:
    place = plan.place
    north = say_as("north", "N") if place.latitude_deg >= 0.0 else say_as("south", "S")
    east = say_as("east", "E") if place.longitude_deg >= 0.0 else say_as("west", "W")
    latitude = f"{coordinate_text(abs(place.latitude_deg))} {north}"
    longitude = f"{coordinate_text(abs(place.longitude_deg))} {east}"
    visit = say("First visit") if out.shoot.visit == "first" else say("Second visit")
    return f"{latitude} {longitude}, {length_text(place.elevation_m)}. {visit}"


def _clock(out: Outlook, time_s: float) -> str:
    return clock_text(out.night.clock(time_s), seconds=True)


def _press_lines(out: Outlook, starts: Starts) -> Iterator[str]:
    after = after_event_text(out.night.event.name, out.shoot.start_after_event_min)
    yield say("{press} UTC, {after}", press=utc_text(out.press_s), after=after)
    if starts.earliest_s is None or starts.latest_s is None:
        yield no_span_reason(out.night, starts) or ""
        return
    good = span_words(out.night, starts.earliest_s, starts.latest_s)
    if starts.sure_s is None:
        best = best_chance_text(starts)
        yield say("good {good}, none is sure (best {chance})", good=good, chance=best)
        return
    yield say("good {good}, sure {sure}", good=good, sure=span_words(out.night, *starts.sure_s))


def _stop_charge(out: Outlook) -> str:
    percent = out.flight.stop_at_percent
    return "" if percent is None else percent_text(percent)


def _stop_lines(out: Outlook) -> Iterator[str]:
    flight = out.flight
    if flight.margin_min is None or flight.landing_percent is None:
        yield flight.error or say("The flight is not known.")
        return
    landing = percent_text(cut_down(flight.landing_percent))
    if flight.margin_min < 0.0:
        yield battery_short_text(flight.margin_min)
        return
    yield say(
        "then fly home. {spare} min to spare, lands with {landing}",
        spare=spare_text(flight.margin_min),
        landing=landing,
    )


def _settings(out: Outlook) -> Iterator[tuple[str, str]]:
    shoot, clip = out.shoot, out.clip
    yield say("shutter"), shutter_text(shoot.shutter_s)
    yield say("ISO"), number_text(shoot.iso)
    yield say("aperture"), f_number_text(shoot.f_number)
    unfiltered = say_as("filter", "none")
    yield say("filter"), unfiltered if shoot.nd_stops == 0.0 else filter_text(shoot.nd_stops)
    yield say("interval"), seconds_text(shoot.interval_s)
    yield say("frames"), number_text(clip.frames)
    yield say("clip"), f"{number_text(clip.clip_length_s, 1)} s"
    yield say("shooting"), duration_text(clip.shooting_s)


def _rows(table: Timetable) -> Iterator[CardStep]:
    for step in table.steps:
        yield _row(table.seen, step, bound=False)
    for step in table.bounds:
        yield _row(table.seen, step, bound=True)


def _row(out: Outlook, step: Step, *, bound: bool) -> CardStep:
    # What must be done by then is cut down, the rest is rounded.
    kept = bound or step.kind == "take_off"
    local = clock_cut(out.night, step.time_s) if kept else _clock(out, step.time_s)
    utc = utc_text(cut_down(step.time_s) if kept else step.time_s)
    charge = "" if step.charge_percent is None else percent_text(step.charge_percent)
    name = STEP_NAMES[step.kind]
    told = (step.note, step.do, step.since)
    return CardStep(step.kind, step.time_s, local, utc, charge, name, *told, bound)


def _stations(out: Outlook) -> Iterator[CardStation]:
    for station, (heading, pitch) in zip(out.path.stations, looks_deg(out), strict=True):
        look = say(
            "{bearing}, pitch {pitch}", bearing=bearing_text(heading), pitch=degrees_text(pitch)
        )
        words = say("{up} up, {look}", up=length_text(station.up_m), look=look)
        yield CardStation(station.east_m, station.north_m, heading, words)


def _glow_deg(out: Outlook) -> float:
    middle_s = 0.5 * (out.press_s + out.last_frame_s)
    return float(out.night.sun(np.array([middle_s]))[1][0])


def _air(out: Outlook) -> Iterator[tuple[str, str]]:
    flight, air = out.flight, out.shoot.conditions
    camera = flight.camera_height_m, flight.wind_at_camera_m_s, flight.gust_at_camera_m_s
    home = flight.return_height_m, flight.wind_at_return_m_s, flight.gust_at_return_m_s
    for where, (height_m, wind_m_s, gust_m_s) in (
        (say("at the camera"), camera),
        (say("on the way home"), home),
    ):
        if height_m is not None and wind_m_s is not None:
            yield speeds_text(wind_m_s, gust_m_s), f"{where}, {length_text(height_m)}"
    yield bearing_text(air.wind_from_deg), say("wind from")
    yield temperature_text(air.temperature_c, 0), say("air")


def _moments(out: Outlook) -> Iterator[tuple[str, str]]:
    night = out.night
    for moment in night.moments:
        moon = moment.name in ("moonrise", "moonset")
        if moon and abs(moment.time_s - out.press_s) > _MOON_S:
            continue
        name = _MOMENT_NAMES.get(moment.name) or moment_text(moment.name)
        yield moment_clock(night, moment), name


def _late(out: Outlook, starts: Starts) -> Iterator[tuple[str, str]]:
    """What a press some minutes later does, with all else as planned: the light's own chance."""
    for minutes in LATE_MIN:
        press_s = out.press_s + 60.0 * minutes
        chance = starts.chance_at(press_s)
        slack = float(np.interp(press_s, starts.time_s, starts.slack_stops))
        if chance is None or slack < 0.0:
            yield minutes_text(minutes, 0), say("does not hold: come back another night")
            return
        words = say(
            "{clock}, holds {chance}", clock=_clock(out, press_s), chance=chance_text(chance)
        )
        yield minutes_text(minutes, 0), words


def _cautions(seen: Forecast) -> tuple[Finding, ...]:
    mine = [f for f in seen.findings if f.shoot == seen.outlook.name]
    return tuple(sorted(mine, key=lambda finding: SEVERITIES.index(finding.severity)))


def _light(out: Outlook) -> str:
    sigma = float(out.tones.land.sigma_stops[0])
    zone = offset_text(out.night.time_zone, out.press_s)
    return say(
        "Light ± {sigma} stop. Local times are {zone}. {rules}",
        sigma=number_text(sigma, 1),
        zone=zone,
        rules=CHECK_RULES,
    )


def _made(out: Outlook, made_s: float) -> str:
    made = out.night.clock(made_s)
    return f"{short_date(made.date())} {made.year}, {clock_text(made)}"
