"""The field card as one file for a phone: the words stand in it, a script counts down.

The template holds `{{name}}` where a text comes in; all that comes from the plan is escaped.
Nothing is fetched: neither type, pictures nor the time.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from html import escape
from typing import Final

import numpy as np

from core.export.card import Card, CardStep
from core.export.phonewords import PAGE_WORDS, SCRIPT_WORDS
from core.findings import Finding, Severity
from core.forecast import Forecast
from core.language import say
from core.manner import manner
from core.outlook import Outlook
from core.plainvalues import Values, figure
from core.plan import Plan
from core.starts import Starts
from core.stepwords import BEFORE, COUNTED, STEP_LEADS, StepKind
from core.timetable import good_until_s
from core.words import chance_text, number_text, unbroken

_PLACE = re.compile(r"\{\{(\w+)\}\}")
_MARKS: Final[dict[Severity, str]] = {"stop": "stop-mark", "warn": "warn", "note": "note"}
#: What moves with the press; take-off, lamps and the times to be kept do not.
_MOVES: Final[frozenset[StepKind]] = frozenset(
    ("first_shutter", "half_way", "last_frame", "turn_home", "on_ground")
)
#: Starts are listed a minute apart.
_MINUTE_S: Final = 60.0


def card_page(card: Card, plan: Plan, seen: Forecast, template: str) -> bytes:
    """Return the card as a page of HTML, in UTF-8.

    Parameters
    ----------
    template
        The page with its marks, `assets/card/phone.html`.
    """
    first = card.timetable.steps[0]
    day = say("{day}, shoot {name}", day=card.day, name=card.name)
    texts = {
        **{mark: escape(text) for mark, text in PAGE_WORDS.items()},
        "language": manner().language,
        "title": escape(f"{card.place}: {day}"),
        "place": escape(card.place),
        "day": escape(day),
        "lead": escape(STEP_LEADS["first_shutter"]),
        "press": escape(card.press),
        "at_press": escape(say("at {clock}", clock=card.press)),
        "until": escape(card.press_lines[-1]),
        "now": escape(BEFORE),
        "next": escape(first.do),
        "stop": _stop(card, plan),
        "settings": _pairs(card.settings, wrapped=True),
        "locked": escape(card.locked),
        "steps": "\n".join(_step(step, card.steps) for step in card.steps),
        "path": _pairs((*_path(card), *card.air)),
        "moments": _pairs(card.moments),
        "cautions": "\n".join(map(_caution, card.cautions)),
        "where": escape(card.where),
        "light": escape(card.light),
        "made": escape(say("Duskwright field card, {made}", made=card.made)),
        "data": _script_json(_data(card, plan, seen)),
    }
    return _PLACE.sub(lambda found: texts[found[1]], template).encode()


def _stop(card: Card, plan: Plan) -> str:
    lines = " ".join(card.stop_lines)
    gauge = say("on the gauge,\nif that comes first").splitlines()
    if not card.stop:
        return f'<p class="stop none">{escape(lines)}</p>'
    minutes, seconds = card.stop[:5], card.stop[5:]
    reserve, at = plan.flight.reserve_percent, card.timetable.seen.flight.stop_at_percent or 0
    kept = unbroken(say("reserve {percent}", percent=f"{number_text(reserve)} %"))
    return (
        f'<p class="stop">{minutes}<small>{seconds}</small></p>\n'
        f'<div class="row"><b class="charge">{escape(card.stop_charge)}</b>'
        f'<span class="aside">{"<br>".join(map(escape, gauge))}</span></div>\n'
        f'<div class="gauge" aria-hidden="true">'
        f'<span class="reserve" style="width:{reserve:g}%"></span>'
        f'<span class="left" id="left" style="left:{reserve:g}%"></span>'
        f'<span class="mark" style="left:{at}%"></span></div>\n'
        f'<div class="row small"><span>{escape(kept)}</span>'
        f'<span id="expected"></span></div>\n'
        f'<p class="small">{escape(lines)}</p>'
    )


def _pairs(pairs: Iterable[tuple[str, str]], *, wrapped: bool = False) -> str:
    each = (f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in pairs)
    return "\n".join(f"<div>{one}</div>" if wrapped else one for one in each)


def _step(step: CardStep, every: tuple[CardStep, ...]) -> str:
    first_bound = next((one for one in every if one.bound), None)
    kind = " ".join(
        word for word, holds in (("bound", step.bound), ("first", step is first_bound)) if holds
    )
    charge = [say("{charge} on the gauge", charge=step.charge)] if step.charge else []
    note = ", ".join((step.note, *charge))
    return (
        f'<li class="{kind}" data-kind="{step.kind}"><time>{step.local}</time>'
        f"<span>{escape(step.name)}</span>"
        f'<span class="utc">{step.utc} UTC</span>'
        f'<span class="note">{escape(note)}</span></li>'
    )


def _path(card: Card) -> tuple[tuple[str, str], ...]:
    return tuple(
        (say("station {number}", number=number), station.words)
        for number, station in enumerate(card.stations, 1)
    )


def _caution(finding: Finding) -> str:
    rest = f" {escape(finding.rest)}" if finding.rest else ""
    return f'<li class="{_MARKS[finding.severity]}"><b>{escape(finding.fact)}</b>{rest}</li>'


def _script_json(values: Values) -> str:
    """JSON that cannot end the element it stands in."""
    return json.dumps(values, allow_nan=False).replace("<", "\\u003c")


def _data(card: Card, plan: Plan, seen: Forecast) -> Values:
    out, flight = seen.outlook, seen.outlook.flight
    offset = out.night.clock(out.press_s).utcoffset()
    per_min = flight.take_percent_per_min or 0.0
    return {
        "id": _identity(card, plan),
        "offset_s": 0 if offset is None else round(offset.total_seconds()),
        "dusk": out.night.twilight == "dusk",
        "event_s": figure(out.night.event.time_s),
        "press_s": round(out.press_s, 3),
        "interval_s": out.shoot.interval_s,
        "frames": out.clip.frames,
        "words": SCRIPT_WORDS,
        "before": BEFORE,
        "before_s": None if flight.before_min is None else round(60.0 * flight.before_min, 1),
        "stop_s": None if out.latest_stop_s is None else round(out.latest_stop_s, 3),
        "reserve_percent": plan.flight.reserve_percent,
        "take_percent_per_s": per_min * _gauge_share(out) / 60.0,
        "gauge": _gauge(out),
        "good_until_s": figure(good_until_s(seen.starts, out.press_s)),
        "starts": _starts(seen.starts),
        "steps": [
            {
                "kind": step.kind,
                "time_s": round(step.time_s, 3),
                "local": step.local,
                "lead": STEP_LEADS[step.kind],
                "do": step.do,
                "since": step.since,
                "bound": step.bound,
                "counted": step.kind in COUNTED,
                "moves": step.kind in _MOVES,
            }
            for step in card.steps
        ],
    }


def _identity(card: Card, plan: Plan) -> str:
    """Whose press a phone keeps: another place, night or start is another card."""
    whose = (plan.place.name, card.day, card.name, card.press)
    return hashlib.sha256(" ".join(whose).encode()).hexdigest()[:16]


def _gauge(out: Outlook) -> list[list[float]]:
    """What the gauge should show at the corners of the flight: instant and percent."""
    if out.take_off_s is None:
        return []
    parts = out.flight.segments
    minutes = np.array([parts[0].starts_min, *(part.starts_min + part.minutes for part in parts)])
    shown = out.flight.gauge_at(minutes)
    return [
        [round(out.take_off_s + 60.0 * float(at), 3), round(float(percent), 2)]
        for at, percent in zip(minutes, shown, strict=True)
    ]


def _gauge_share(out: Outlook) -> float:
    """Percent on the gauge for a percent of true charge."""
    gauge = out.flight.gauge
    return gauge.reading_percent(100.0) - gauge.reading_percent(99.0)


def _starts(starts: Starts) -> list[list[object]]:
    """The good starts, one a minute, with the words of their chance."""
    good = np.flatnonzero(starts.slack_stops >= 0.0)
    listed: list[list[object]] = []
    last_s = -np.inf
    for place in good:
        time_s = float(starts.time_s[place])
        if time_s - last_s >= _MINUTE_S - 1e-6:
            listed.append([round(time_s, 1), chance_text(float(starts.p_hold[place]))])
            last_s = time_s
    return listed
