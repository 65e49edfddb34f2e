"""What a pilot types in German: understood as in English, and what a field shows reads back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest

from core.amounts import amount_of, plain_text
from core.datetyped import typed_date
from core.fields import FIELDS, Field
from core.parse import parse_value
from core.starttime import Clock, FromEvent, parse_start
from core.tonetyped import typed_tone_stops
from core.words import after_event_text, event_text, station_word

pytestmark = pytest.mark.usefixtures("german")


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("Sonnenuntergang+19", FromEvent("sunset", 19.0)),
        ("sonnenaufgang - 38,5 min", FromEvent("sunrise", -38.5)),
        ("19 min nach Sonnenuntergang", FromEvent("sunset", 19.0)),
        ("19 Minuten vor Sonnenhöchststand", FromEvent("noon", -19.0)),
        ("Mitternacht der Sonne", FromEvent("midnight", 0.0)),
        ("sunset+19", FromEvent("sunset", 19.0)),
        ("19:50 Uhr", Clock(dt.time(19, 50))),
        ("19.50 Uhr", Clock(dt.time(19, 50))),
    ],
)
def test_a_start_is_understood_in_either_language(text: str, start: FromEvent | Clock) -> None:
    assert parse_start(text) == start


@pytest.mark.parametrize("event", ["sunset", "sunrise", "midnight", "noon"])
@pytest.mark.parametrize("minutes", [19.0, -7.0])
def test_a_start_reads_back_as_it_is_shown(event: str, minutes: float) -> None:
    start = parse_start(after_event_text(event, minutes))
    assert isinstance(start, FromEvent)
    assert (start.event, start.minutes) == (event, minutes)
    named = parse_start(event_text(event))
    assert isinstance(named, FromEvent)
    assert named.event == event


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("shoots.A.nd_stops", "ND 8", 3.0),
        ("shoots.A.nd_stops", "kein Filter", 0.0),
        ("shoots.A.nd_stops", "3,3 Blendenstufen", 3.3),
        ("shoots.A.shutter_s", "0,3 s", 2.0 ** (-5.0 / 3.0)),
        ("shoots.A.interval_s", "2,5 Sekunden", 2.5),
        ("shoots.A.conditions.cloud_okta", "4 Achtel", 4.0),
        ("shoots.A.conditions.humidity_percent", "80 Prozent", 80.0),
        ("shoots.A.conditions.humidity_percent", "keine", None),
        ("shoots.A.conditions.humidity_percent", "none", None),
        ("shoots.A.conditions.wind_from_deg", "NO", 45.0),
        ("shoots.A.conditions.wind_from_deg", "Südost", 135.0),
        ("shoots.A.conditions.wind_from_deg", "NE", 45.0),
        ("shoots.A.conditions.wind_10m_m_s", "windstill", 0.0),
        ("shoots.A.path_reversed", "ja", True),
        ("shoots.A.path_reversed", "aus", False),
        ("shoots.A.path_reversed", "yes", True),
        ("shoots.A.twilight", "Morgendämmerung", "dawn"),
        ("shoots.A.twilight", "dawn", "dawn"),
        ("readings.0.part", "Straße", "street"),
        ("place.longitude_deg", "9,5° O", 9.5),
        ("place.longitude_deg", "9.5 E", 9.5),
        ("place.skyline", "190 0; 215 2,5", ((190.0, 0.0), (215.0, 2.5))),
        ("shoots.A.date", "25. Oktober 2026", dt.date(2026, 10, 25)),
    ],
)
def test_a_value_is_understood_in_either_language(key: str, text: str, value: object) -> None:
    read = parse_value(key, text)
    if isinstance(value, float):
        assert read == pytest.approx(value, abs=1e-5)
    else:
        assert read == value


def _values() -> Iterator[tuple[Field, str, object]]:
    for key, field in FIELDS.items():
        shown = field.kind in ("number", "choice", "switch", "clock") and "*" not in key
        # A start is shown, and read back, from the sun's event: above.
        if shown and field.name != "start_after_event_min":
            for value in dict.fromkeys((field.default, field.low, field.high, *field.choices)):
                if value is not None or field.optional:
                    yield field, key, value


@pytest.mark.parametrize(("field", "key", "value"), list(_values()))
def test_what_a_field_shows_is_read_back(field: Field, key: str, value: object) -> None:
    read = parse_value(key, field.text(value))
    assert field.text(read) == field.text(value)


def test_dates_and_tones_are_typed_in_the_manner_of_the_region() -> None:
    assert typed_date("10. Okt. 2026") == dt.date(2026, 10, 10)
    assert typed_date("Sa., 10. Oktober", 2026) == dt.date(2026, 10, 10)
    assert typed_tone_stops("+0,7 Stufen", 0.0) == pytest.approx(0.7)
    assert amount_of("warm_up_min", plain_text("4 Minuten")) == pytest.approx(4.0)
    assert station_word(11, 20)
