"""A beside B, everything that can differ: pure functions of plan, outlooks and starts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from app.shown.conditions import haze_text
from app.shown.readings import (
    last_frame_text,
    least_slack_text,
    light_lost_stops,
    mixed_text,
    row_of,
    spare_words,
    worst_burnt_text,
)
from app.shown.settings import LIMITS_IN_SHORT
from app.widgets.readout import Cell
from core.dates import date_text
from core.language import say
from core.measures import speed_text, temperature_text
from core.names import part_text, twilight_text
from core.outlook import Outlook
from core.phrases import EVENT_NAMES, VISIT_NAMES
from core.plan import Part, Plan
from core.startgrid import keepable_shares
from core.starts import Starts
from core.words import (
    NOTHING,
    bearing_text,
    chance_text,
    clock_text,
    degrees_text,
    duration_text,
    f_number_text,
    filter_text,
    kept_text,
    number_text,
    seconds_text,
    shutter_text,
    signed_text,
)

_PARTS: tuple[Part, ...] = ("street", "land", "sky")


@dataclass(frozen=True)
class Side:
    """One of the two shoots, with what is known of it; `starts` is None until it is."""

    plan: Plan
    seen: Outlook
    starts: Starts | None


Figure = Callable[[Side], str]


def full_comparison(a: Side, b: Side) -> tuple[tuple[Cell, ...], ...]:
    """Rows in headed groups: label, A, a mark where they differ, and B."""
    rows: list[tuple[Cell, ...]] = [
        (Cell(""), Cell("", flag="A"), Cell(""), Cell("", flag="B")),
    ]
    for title, figures in _GROUPS:
        rows.append((Cell(title, 600, size_px=14), Cell(""), Cell(""), Cell("")))
        rows += [row_of(label, figure(a), figure(b)) for label, figure in figures]
    return tuple(rows)


def _after(side: Side) -> str:
    minutes, name = side.seen.shoot.start_after_event_min, side.seen.night.event.name
    return say("{minutes} min from {event}", minutes=signed_text(minutes), event=EVENT_NAMES[name])


def _chance(side: Side) -> str:
    if side.starts is None:
        return NOTHING
    chance = side.starts.chance_at(side.seen.press_s)
    return NOTHING if chance is None else chance_text(chance)


def _limit(side: Side) -> str:
    limit = side.seen.judgement.limit
    return NOTHING if limit is None else LIMITS_IN_SHORT[limit]


def _kept(part: Part) -> Figure:
    def text(side: Side) -> str:
        camera, bands = side.plan.camera, side.plan.bands
        share = keepable_shares(side.seen.tones, bands, camera.highlight_stops)[part]
        return NOTHING if share is None else kept_text(share)

    return text


def _wind(side: Side) -> str:
    air = side.seen.shoot.conditions
    return f"{speed_text(air.wind_10m_m_s)}, {bearing_text(air.wind_from_deg)}"


def _gust(side: Side) -> str:
    gust = side.seen.shoot.conditions.gust_10m_m_s
    return NOTHING if gust is None else speed_text(gust)


def _way(side: Side) -> str:
    return say("reversed") if side.seen.shoot.path_reversed else say("as drawn")


def _spare(side: Side) -> str:
    figure, unit, _ = spare_words(side.seen)
    return figure if figure == NOTHING else f"{figure} {unit}"


_GROUPS: tuple[tuple[str, tuple[tuple[str, Figure], ...]], ...] = (
    (
        say("Night and start"),
        (
            (say("night"), lambda s: date_text(s.seen.night.date)),
            (say("twilight"), lambda s: twilight_text(s.seen.night.twilight)),
            (say("press"), lambda s: clock_text(s.seen.night.clock(s.seen.press_s), seconds=True)),
            (say("after the event"), _after),
            (say("sun then"), lambda s: degrees_text(float(s.seen.tones.sun_altitude_deg[0]), 1)),
        ),
    ),
    (
        say("Settings"),
        (
            (say("interval"), lambda s: seconds_text(s.seen.shoot.interval_s)),
            (say("shutter"), lambda s: shutter_text(s.seen.shoot.shutter_s)),
            ("ISO", lambda s: number_text(s.seen.shoot.iso)),
            (say("aperture"), lambda s: f_number_text(s.seen.shoot.f_number)),
            (say("filter"), lambda s: filter_text(s.seen.shoot.nd_stops)),
            (say("clip"), lambda s: f"{number_text(s.seen.clip.clip_length_s, 1)} s"),
            (say("frames"), lambda s: number_text(s.seen.clip.frames)),
            (say("shooting"), lambda s: duration_text(s.seen.clip.shooting_s)),
            (say("speed-up"), lambda s: f"{number_text(s.seen.clip.speed_up, 0)} ×"),
            (say("shutter angle"), lambda s: degrees_text(s.seen.clip.shutter_angle_deg)),
            (say("path"), _way),
            (say("visit"), lambda s: VISIT_NAMES[s.seen.shoot.visit]),
        ),
    ),
    (
        say("Light"),
        (
            (say("holds"), _chance),
            (say("slack"), lambda s: least_slack_text(s.seen)),
            (say("limit"), _limit),
            *((say("{part} kept", part=part_text(part)), _kept(part)) for part in _PARTS),
            (say("mixed light"), lambda s: mixed_text(s.seen)),
            (say("burnt at worst"), lambda s: worst_burnt_text(s.seen)),
            (
                say("light lost"),
                lambda s: say("{stops} stops", stops=signed_text(light_lost_stops(s.seen))),
            ),
        ),
    ),
    (
        say("Air"),
        (
            (say("cloud"), lambda s: f"{number_text(s.seen.shoot.conditions.cloud_okta)}/8"),
            (say("haze"), lambda s: haze_text(s.seen.shoot.conditions.haze_aod)),
            (say("temperature"), lambda s: temperature_text(s.seen.shoot.conditions.temperature_c)),
            (say("wind at 10 m"), _wind),
            (say("gust"), _gust),
        ),
    ),
    (
        say("Battery"),
        (
            (say("last frame by"), lambda s: last_frame_text(s.seen)),
            (say("to spare"), _spare),
            (say("start charge"), lambda s: f"{number_text(s.seen.shoot.battery_start_percent)} %"),
        ),
    ),
)
