"""The moments of a night as rows of a table: name, clock, azimuth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from app.widgets.readout import Cell
from core.clocks import moment_clock
from core.language import say
from core.outlook import Outlook
from core.phrases import MOMENT_NAMES
from core.words import bearing_text, clock_text

#: Moonrise and moonset further than this into the night are told by the moon's own line.
_NEAR_EVENT_S = 3 * 3600.0
HEAD: Final = tuple(
    Cell(text, ink="ink2", size_px=11) for text in (say("moment"), say("clock"), say("azimuth"))
)


def moment_rows(seen: Outlook) -> tuple[tuple[Cell, ...], ...]:
    """Rows in the order of the clock, the press of the shoot in 700 with its seconds."""
    entries = sorted(_entries(seen))
    return (HEAD, *(_row(*entry, press=entry[0] == seen.press_s) for entry in entries))


def _entries(seen: Outlook) -> Iterator[tuple[float, str, str, float]]:
    """Instant, name, clock and azimuth of each row."""
    night, event_s = seen.night, seen.night.event.time_s
    for moment in night.moments:
        of_moon = moment.name in ("moonrise", "moonset")
        after_s = (moment.time_s - event_s) * (1.0 if night.twilight == "dusk" else -1.0)
        if of_moon and not 0.0 <= after_s <= _NEAR_EVENT_S:
            continue
        azimuth = moment.sun_azimuth_deg
        if of_moon:
            azimuth = float(night.moon(np.array([moment.time_s]))[1][0])
        yield moment.time_s, MOMENT_NAMES[moment.name], moment_clock(night, moment), azimuth
    dusk = night.twilight == "dusk"
    lamps_s = seen.light.lamps_on_s if dusk else seen.light.lamps_off_s
    if lamps_s is not None:
        clock = clock_text(night.clock(lamps_s))
        yield (
            lamps_s,
            say("lamps on") if dusk else say("lamps off"),
            clock,
            _sun_azimuth(seen, lamps_s),
        )
    clock = clock_text(night.clock(seen.press_s), seconds=True)
    yield seen.press_s, say("press {name}", name=seen.name), clock, _sun_azimuth(seen, seen.press_s)


def _sun_azimuth(seen: Outlook, time_s: float) -> float:
    return float(seen.night.sun(np.array([time_s]))[1][0])


def _row(_time_s: float, name: str, clock: str, azimuth: float, *, press: bool) -> tuple[Cell, ...]:
    weight = 700 if press else 400
    return Cell(name, weight), Cell(clock, weight), Cell(bearing_text(azimuth), weight)
