"""Figures, clocks and dates in the pilot's manner; what is computed and exported stays as it is."""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path

import pytest

from core import measures, words
from core.dates import date_text, day_text, long_date, month_text, short_date, weekday_text
from core.datetyped import typed_date
from core.edit import PlanError, with_values
from core.export.formats import EXPORTS, ExportName
from core.fields import FIELDS, Field, field_of
from core.forecast import forecast
from core.language import languages, region_of, say_count
from core.manner import Manner, adopt
from core.memory import Memory
from core.parse import parse_value
from core.planfile import load
from core.report import forecast_report
from core.starttime import Clock

PLAN = load(Path(__file__).parents[2] / "demo_sites" / "montevaro_hill.duskplan")
FEET = Manner(units="imperial", hours="12", dates="en_US")
MADE_S = dt.datetime(2026, 11, 20, 12, tzinfo=dt.UTC).timestamp()


@pytest.mark.parametrize(
    ("written", "feet"),
    [
        # NIST SP 811 (2008), appendix B.8: foot 0.3048 m, mile 1609.344 m, mile per hour
        # 0.447 04 m/s, t(°C) = (t(°F) - 32)/1.8.
        (lambda: measures.length_text(120.0), "394 ft"),
        (lambda: measures.length_text(0.3048, 1), "1.0 ft"),
        (lambda: measures.far_text(16.09344), "10 mi"),
        (lambda: measures.speed_text(4.4704), "10.0 mph"),
        (lambda: measures.speeds_text(4.4704, 8.9408), "10 to 20 mph"),
        (lambda: measures.temperature_text(20.0), "68 °F"),
        (lambda: measures.temperature_text(-40.0), "−40 °F"),
        (lambda: measures.warmer_text(2.5), "4.5 °F"),
    ],
)
def test_a_measure_is_written_in_the_pilots_unit(written: object, feet: str) -> None:
    adopt(FEET)
    assert callable(written)
    assert written() == feet


def test_what_is_cut_to_the_unlucky_side_is_cut_as_it_is_written() -> None:
    # 80.2 m are 263.1 ft: above it is 264 ft, not the 263 that is below.
    assert measures.length_text(80.2, cut=words.cut_up) == "81 m"
    adopt(FEET)
    assert measures.length_text(80.2, cut=words.cut_up) == "264 ft"
    assert measures.length_text(80.2, cut=words.cut_down) == "263 ft"


NUMBERS = [
    field
    for field in FIELDS.values()
    if field.kind == "number" and field.low is not None and field.high is not None
]


@pytest.mark.parametrize("field", NUMBERS, ids=lambda field: field.key)
@pytest.mark.parametrize("share", [0.0, 0.37, 1.0])
def test_what_a_field_shows_in_feet_is_read_back(field: Field, share: float) -> None:
    adopt(FEET)
    assert field.low is not None
    assert field.high is not None
    value = field.low + share * (field.high - field.low)
    read = parse_value(field.key.replace("*", "0"), field.text(value))
    unit = field.unit
    assert isinstance(read, float)
    per = unit.per if unit else 1.0
    shown = 0.5 * 10.0 ** -(unit.digits if unit and unit.digits is not None else 5) * per
    assert read == pytest.approx(value, rel=6e-3, abs=max(shown, 1e-9))


def test_a_plain_number_means_the_unit_that_is_shown() -> None:
    assert parse_value("path.stations.0.up_m", "100") == 100.0
    adopt(FEET)
    assert parse_value("path.stations.0.up_m", "100") == pytest.approx(30.48)
    assert parse_value("path.stations.0.up_m", "100 m") == pytest.approx(100.0)
    assert parse_value("shoots.A.conditions.temperature_c", "50") == pytest.approx(10.0)
    assert parse_value("shoots.A.conditions.temperature_c", "10 °C") == pytest.approx(10.0)
    assert parse_value("shoots.A.conditions.wind_10m_m_s", "10") == pytest.approx(4.4704)


def test_a_refusal_tells_the_range_in_the_unit_that_is_typed() -> None:
    adopt(FEET)
    field = field_of("path.stations.0.up_m")
    assert field is not None
    assert field.expected == "a number of feet from 3.3 to 4921.2"
    assert parse_value(field.key.replace("*", "0"), "4921.2") <= 1500.0  # type: ignore[operator]


def test_a_refused_value_is_told_in_the_unit_that_was_typed() -> None:
    adopt(FEET)
    for key, text, told in (
        ("shoots.A.conditions.wind_10m_m_s", "-5", "is −5; a number of miles per hour from 0"),
        ("shoots.A.conditions.temperature_c", "200", "is 200; a number of degrees Fahrenheit"),
        ("path.stations.0.up_m", "1.5", "is 1.5; a number of feet from 3.3"),
    ):
        with pytest.raises(PlanError, match=re.escape(told)):
            with_values(PLAN, {key: parse_value(key, text)})


@pytest.mark.parametrize(
    ("language", "key", "text", "value"),
    [
        ("en", "flight.return_height_m", "1,200", None),
        ("en", "flight.return_height_m", "1,200 m", None),
        ("en", "flight.return_height_m", "1.200 m", 1.2),
        ("en", "flight.return_height_m", "80,5 m", 80.5),
        ("en", "shoots.A.shutter_s", "0,125", 0.125),
        ("en", "place.latitude_deg", "38,716 N", 38.716),
        ("de", "flight.return_height_m", "1.200", None),
        ("de", "flight.return_height_m", "1,200 m", 1.2),
        ("de", "flight.return_height_m", "80.5 m", 80.5),
    ],
)
def test_a_number_that_may_be_a_thousand_times_another_is_not_read(
    language: str, key: str, text: str, value: float | None
) -> None:
    adopt(Manner(language=language))
    if value is None:
        with pytest.raises(PlanError):
            parse_value(key, text)
    else:
        assert parse_value(key, text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("time", "text"),
    [
        # Common practice, no source: noon is 12 pm, midnight 12 am.
        (dt.time(0, 5), "12:05 am"),
        (dt.time(11, 59), "11:59 am"),
        (dt.time(12, 0), "12:00 pm"),
        (dt.time(17, 13, 21), "5:13:21 pm"),
    ],
)
def test_a_clock_of_twelve_hours_reads_and_is_read_back(time: dt.time, text: str) -> None:
    adopt(FEET)
    written = words.time_text(time)
    assert written.replace("\N{NARROW NO-BREAK SPACE}", " ") == text
    read = parse_value("ground.lamps.switching.on_time", written)
    assert dt.time.fromisoformat(str(read)) == time


def test_a_clock_is_rounded_before_it_is_halved() -> None:
    adopt(FEET)
    noon = dt.datetime(2026, 3, 1, 11, 59, 59, 700_000, tzinfo=dt.UTC)
    assert words.clock_text(noon, seconds=True).startswith("12:00:00")
    assert words.clock_text(noon, seconds=True).endswith("pm")


@pytest.mark.parametrize(
    ("region", "told"),
    [
        # CLDR through the library Babel, skeletons the full date, then yMMMEd, MMMEd, MMMd, MMMMd.
        ("", ("Saturday 10 October 2026", "Sat 10 Oct 2026", "Sat 10 Oct", "10 Oct", "10 October")),
        (
            "en_US",
            ("Saturday, October 10, 2026", "Sat, Oct 10, 2026", "Sat, Oct 10", "Oct 10",
             "October 10"),
        ),
        (
            "de_DE",
            ("Samstag, 10. Oktober 2026", "Sa., 10. Okt. 2026", "Sa., 10. Okt.", "10. Okt.",
             "10. Oktober"),
        ),
    ],
)  # fmt: skip
def test_a_date_is_written_as_the_region_does(region: str, told: tuple[str, ...]) -> None:
    adopt(Manner(dates=region))
    date = dt.date(2026, 10, 10)
    assert (
        long_date(date), date_text(date), weekday_text(date), short_date(date), day_text(date)
    ) == told  # fmt: skip


@pytest.mark.parametrize("region", ["", "en_US", "en_GB", "de_DE", "fr_FR", "nb_NO", "es_ES"])
def test_a_date_that_is_shown_is_read_back(region: str) -> None:
    adopt(Manner(dates=region))
    for month in range(1, 13):
        date = dt.date(2026, month, 9)
        for write in (long_date, date_text):
            assert typed_date(write(date)) == date
        assert typed_date(short_date(date), 2026) == date


def test_the_month_comes_first_only_where_it_is_written_first() -> None:
    with pytest.raises(PlanError, match="10 November or 11 October"):
        typed_date("10/11/2026")
    adopt(Manner(dates="en_US"))
    assert typed_date("10/11/2026") == dt.date(2026, 10, 11)
    adopt(Manner(dates="de_DE"))
    assert typed_date("10.11.2026") == dt.date(2026, 11, 10)
    assert month_text(dt.date(2026, 5, 1)) == "Mai"


def _refusal(key: str, text: str) -> str:
    with pytest.raises(PlanError) as refused:
        parse_value(key, text)
    return str(refused.value)


def test_what_a_refusal_gives_as_an_example_is_in_the_manner_and_is_understood() -> None:
    """An example that cannot be typed as it stands there, or not as the pilot writes, misleads."""
    adopt(Manner(hours="12", dates="en_US", units="imperial"))
    date = _refusal("shoots.A.date", "soon")
    assert "from Jan 1, 1901 to Dec 31, 2099 such as Oct 10, 2026 was" in date
    assert parse_value("shoots.A.date", "Oct 10, 2026") == dt.date(2026, 10, 10)
    start = _refusal("shoots.A.start_after_event_min", "soon")
    assert "from 12:00\u202fam to 11:59\u202fpm such as 4:42:10\u202fpm, minutes" in start
    assert parse_value("shoots.A.start_after_event_min", "4:42:10\u202fpm") == Clock(
        dt.time(16, 42, 10)
    )
    assert "7:30\u202fpm or 19.3 min" in _refusal("shoots.A.start_after_event_min", "19.30")
    assert "6:00\u202fpm or 6:30:15\u202fam" in _refusal("ground.lamps.switching.on_time", "soon")
    assert _refusal("path.stations.0.up_m", "high").endswith("expected, such as 262.5 ft.")


def test_a_refusal_in_german_writes_dates_as_its_region_does() -> None:
    adopt(Manner(language="de", dates="de_DE"))
    assert "10. Okt. 2026" in _refusal("shoots.A.date", "bald")
    assert parse_value("shoots.A.date", "10. Okt. 26") == dt.date(2026, 10, 10)
    assert parse_value("shoots.A.date", "10.10.26") == dt.date(2026, 10, 10)


def test_a_region_without_data_of_its_own_is_written_as_most_of_the_world() -> None:
    assert region_of("en", "US") == "en_US"
    assert region_of("en", "DE") == "en_DE"
    assert region_of("en", "ZZ") == "en_001"


def test_decimals_are_those_of_the_language() -> None:
    adopt(Manner(language="de"))
    assert words.signed_text(0.7) == "+0,7"
    assert words.signed_text(0.0) == "0,0"
    assert words.number_text(12345.5) == "12\N{THIN SPACE}345,5"
    assert words.coordinate_text(10.0) == "10°"
    assert parse_value("shoots.A.interval_s", words.seconds_text(2.5)) == 2.5


def test_a_count_takes_its_plural() -> None:
    assert say_count("{count} frame", "{count} frames", 1) == "1 frame"
    assert say_count("{count} frame", "{count} frames", 0) == "0 frames"
    assert languages()[0] == "en"


def _figures(value: object) -> object:
    """What of an answer is no text."""
    if isinstance(value, dict):
        return {key: _figures(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_figures(one) for one in value]
    return None if isinstance(value, str) else value


def test_what_other_programs_read_does_not_change_with_the_manner() -> None:
    def told() -> str:
        return json.dumps(_figures(forecast_report(forecast(PLAN, "A", Memory()))))

    plain = told()
    adopt(FEET)
    assert told() == plain


@pytest.mark.parametrize("name", ["csv", "gpx", "kml", "geojson"])
def test_an_export_of_figures_does_not_change_with_the_manner(name: ExportName) -> None:
    def written() -> bytes:
        content = EXPORTS[name].content(PLAN, forecast(PLAN, "A", Memory()), MADE_S)
        # What is said in words there is for the pilot to read.
        return re.sub(rb"<desc.*?</desc", b"", content, flags=re.DOTALL)

    plain = written()
    adopt(FEET)
    assert written() == plain
