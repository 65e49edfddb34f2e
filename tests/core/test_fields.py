"""What the program says of each key of a plan agrees with the types in `core.plan`."""

from __future__ import annotations

import datetime as dt
import re
from typing import get_args

import msgspec
import pytest

from core.fields import FIELDS, Field, entry, field_of, keys_of
from core.plan import Part, Place, Plan, Shoot, Shoots, Twilight
from core.units import unit_of

PLAN = Plan(
    place=Place(name="Quay", latitude_deg=45.1, longitude_deg=12.3, skyline=((10.0, 2.0),)),
    shoots=Shoots(A=Shoot(date=dt.date(2026, 10, 17)), B=Shoot(date=dt.date(2026, 10, 18))),
)
ALL = list(FIELDS.values())
LEAVES = [field for field in ALL if field.kind not in ("part", "list")]


def field(key: str) -> Field:
    found = field_of(key)
    assert found is not None, key
    return found


def test_every_key_that_a_plan_has_is_known() -> None:
    keys = list(keys_of(PLAN))
    assert "place.skyline.0.1" in keys
    assert all(field_of(key) for key in keys)


def test_the_keys_of_the_file_are_the_known_keys() -> None:
    """Each object in the file's text has exactly the names that the table gives it."""

    def compare(value: object, key: str) -> None:
        if not isinstance(value, dict):
            return
        prefix = f"{key}." if key else ""
        inside = [name.removeprefix(prefix) for name in FIELDS if name.startswith(prefix)]
        assert list(value) == [name for name in inside if "." not in name]
        for name, member in value.items():
            compare(member, f"{prefix}{name}")

    compare(msgspec.to_builtins(PLAN), "")


@pytest.mark.parametrize(
    ("key", "low", "high", "unit"),
    [
        ("shoots.B.interval_s", 0.2, 600.0, "s"),
        ("shoots.A.conditions.wind_10m_m_s", 0.0, 60.0, "m/s"),
        ("shoots.A.conditions.visibility_km", 0.01, 300.0, "km"),
        ("shoots.A.conditions.temperature_c", -40.0, 55.0, "°C"),
        ("flight.reserve_percent", 20.0, 50.0, "%"),
        ("path.stations.7.pitch_deg", -90.0, 60.0, "°"),
        ("ground.lamps.luminance_cd_m2", 0.0, 1000.0, "cd/m²"),
        ("camera.shutters_s.3", 0.0001, 120.0, "s"),
        ("craft.rated_min", 2.0, 240.0, "min"),
        ("place.skyline.2.0", 0.0, 360.0, "°"),
        ("place.skyline.2.1", -10.0, 90.0, "°"),
        ("path.stations.0.look_at.2", -20000.0, 20000.0, "m"),
    ],
)
def test_a_number_has_the_range_of_its_type_and_the_unit_of_its_ending(
    key: str, low: float, high: float, unit: str
) -> None:
    found = field(key)
    assert (found.kind, found.low, found.high) == ("number", low, high)
    assert found.unit is not None
    assert found.unit.symbol == unit


def test_choices_stand_in_the_order_of_the_plan() -> None:
    assert field("shoots.A.twilight").choices == get_args(Twilight)
    assert field("readings.0.part").choices == get_args(Part)
    assert field("camera.aspect").choices == ("16:9", "4:3", "3:2", "1:1")


def test_what_may_be_empty_and_what_must_be_there() -> None:
    assert field("shoots.A.conditions.humidity_percent").optional
    assert not field("shoots.A.iso").optional
    assert field("place.name").required
    assert field("place.time_zone").default == "UTC"


@pytest.mark.parametrize(
    "key",
    ["", "x", "place.x", "shoots.C", "path.stations.x", "path.stations.-1", "place.0",
     "path.stations.0.look_at.3", "schema.0", "*"],
)  # fmt: skip
def test_what_no_plan_has_is_unknown(key: str) -> None:
    assert field_of(key) is None


@pytest.mark.parametrize("found", ALL, ids=lambda found: found.key)
def test_each_field_is_told_in_plain_words(found: Field) -> None:
    assert found.label
    assert found.expected
    if found.key != "shoots.A":
        assert "_" not in found.label
    assert not re.search(r"\b(number|text|list) from None|None", found.expected)


@pytest.mark.parametrize("found", LEAVES, ids=lambda found: found.key)
def test_a_default_lies_in_its_own_range(found: Field) -> None:
    if found.default is None:
        return
    if found.choices:
        assert found.default in found.choices
    if found.kind == "number" and found.low is not None and found.high is not None:
        assert isinstance(found.default, float)
        assert found.low <= found.default <= found.high


@pytest.mark.parametrize(
    ("key", "value", "text"),
    [
        ("shoots.A.shutter_s", 0.25, "1/4 s"),
        ("shoots.A.interval_s", 3.0, "3 s"),
        ("shoots.A.iso", 100.0, "ISO 100"),
        ("shoots.A.f_number", 1.8, "f/1.8"),
        ("shoots.A.nd_stops", 3.0, "ND 8"),
        ("shoots.A.path_reversed", False, "no"),
        ("shoots.A.date", dt.date(2026, 10, 17), "2026-10-17"),
        ("path.timing", "minimum_jerk", "minimum jerk"),
        ("path.stations.0.pitch_deg", -50.0, "−50°"),
        ("path.stations.0.look_at", (1.0, -2.5, 30.0), "1 m, −2.5 m, 30 m"),
        ("path.stations.0.look_at", None, "none"),
        ("place.latitude_deg", -45.123456, "−45.12346°"),
        ("camera.isos", (100.0, 12800.0), "ISO 100, ISO 12\u2009800"),
        ("bands.excused_share", 0.05, "5 %"),
        ("flight.reserve_percent", 25.0, "25 %"),
        ("shoots.A.conditions.temperature_c", -7.5, "−7.5 °C"),
        ("ground.lamps.luminance_cd_m2", 0.75, "0.75 cd/m²"),
        ("shoots.A.conditions.haze_aod", 0.12, "0.12"),
    ],
)
def test_a_value_is_written_as_the_trade_writes_it(key: str, value: object, text: str) -> None:
    assert field(key).text(value) == text


@pytest.mark.parametrize("name", ["shoot", "__class__", "0", "-1", "9" * 5000, ""])
def test_nothing_but_fields_and_places_can_be_stepped_into(name: str) -> None:
    with pytest.raises(LookupError):
        entry(PLAN, name)


@pytest.mark.parametrize("name", ["2", "-1", "\u0660", "9" * 5000])
def test_a_place_beyond_a_list_is_not_there(name: str) -> None:
    with pytest.raises(LookupError):
        entry(PLAN.path.stations, name)


def test_longer_endings_go_before_shorter_ones() -> None:
    """A speed in m/s is no time in s, a luminance in cd/m2 no length."""
    units = {"gust_10m_m_s": "m/s", "frame_mb": "MB", "focal_equivalent_mm": "mm", "east_m": "m"}
    for name, symbol in units.items():
        unit = unit_of(name)
        assert unit is not None
        assert unit.symbol == symbol
