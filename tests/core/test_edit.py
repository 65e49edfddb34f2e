"""Reading and changing a plan by its keys: what stands, what is refused, and in which words."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.edit import PlanError, checked, get_value, new_plan, plan_from, with_values
from core.fields import FIELDS, keys_of
from core.manner import Manner, adopt
from core.night import night_of
from core.plan import (
    Learned,
    Place,
    Plan,
    Reading,
    Remark,
    Replaced,
    Shoot,
    Shoots,
    Station,
    Take,
    TakeSummary,
)
from tests.strategies import plans

DATE = dt.date(2026, 10, 17)
START = "2026-10-17T18:52:10+02:00"
PLAN = Plan(
    place=Place(
        name="Quay",
        latitude_deg=45.1,
        longitude_deg=12.3,
        time_zone="Europe/Rome",
        skyline=((10.0, 2.0),),
    ),
    shoots=Shoots(A=Shoot(date=DATE), B=Shoot(date=DATE, iso=400.0)),
    takes=(
        Take(
            id="t1",
            shoot="A",
            start=START,
            flown=Shoot(date=DATE),
            remarks=(Remark("land", "dark"),),
            summary=TakeSummary(
                replaced=(Replaced(key="camera.write_time_s", before=1.7, after=2.0),)
            ),
        ),
    ),
    learned=(Learned(name="lamps", value=0.8, sigma=0.2, unit="cd/m²", scope="place"),),
    readings=(
        Reading(
            time=START,
            part="street",
            stops=-0.4,
            shutter_s=1.0,
            iso=100.0,
            f_number=1.8,
            nd_stops=0.0,
            path_share=0.5,
        ),
    ),
)
PLAN = with_values(PLAN, {"path.stations.0.look_at": (0.0, 900.0, 10.0)})
# Every number of a plan, at a place where this plan has one.
NUMBERS = {
    field.key.replace("*", "0"): field for field in FIELDS.values() if field.kind == "number"
}
FORBIDDEN = re.compile(
    r"\b(go|no-go|ok|safe|allowed|error|invalid|warning|please|expected `)\b|!", re.IGNORECASE
)


def refusal(changes: dict[str, Any], plan: Plan = PLAN) -> str:
    """Return the sentence that refuses a change; it is one, and of plain words."""
    with pytest.raises(PlanError) as caught:
        with_values(plan, changes)
    text = str(caught.value)
    assert text.endswith((".", "?"))
    assert "\n" not in text
    assert ". " not in text
    assert not FORBIDDEN.search(text)
    return text


@pytest.mark.parametrize("key", NUMBERS)
def test_each_number_stands_on_its_limits_and_not_beyond(key: str) -> None:
    field = NUMBERS[key]
    if field.low is None or field.high is None:
        assert key.startswith(("learned.", "readings."))
        return
    for limit, beyond in ((field.low, -math.inf), (field.high, math.inf)):
        assert get_value(with_values(PLAN, {key: limit}), key) == limit
        past = math.nextafter(limit, beyond)
        assert refusal({key: past}).startswith(f"{key} is ")
        assert refusal({key: past}).endswith(f"{field.expected} was expected.")


@pytest.mark.parametrize("key", NUMBERS)
def test_no_number_is_replaced_by_what_is_none(key: str) -> None:
    for value in (math.nan, math.inf, -math.inf, True, "3", [3], 10**400):
        text = refusal({key: value})
        assert text.startswith(f"{key} is ")
        none = " or none" if NUMBERS[key].optional else ""
        ends = {f"{NUMBERS[key].expected}{empty} was expected." for empty in ("", none)}
        assert text.endswith(tuple(ends))


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        (
            {"shoots.A.interval_s": "3 sec"},
            'shoots.A.interval_s is "3 sec"; a number of seconds from 0.2 to 600 was expected.',
        ),
        (
            {"shoots.A.intervall_s": 3},
            "shoots.A.intervall_s is not a key of a plan; did you mean shoots.A.interval_s?",
        ),
        (
            {"interval_s": 3},
            "interval_s is not a key of a plan; did you mean shoots.A.interval_s?",
        ),
        (
            {"path.stations.1.pich_deg": 3},
            ("path.stations.1.pich_deg is not a key of a plan;"
            " did you mean path.stations.1.pitch_deg?"),
        ),
        (
            {"path.stations.4.pitch_deg": 3},
            ("path.stations.4.pitch_deg is not there;"
            " path.stations has 2 entries, counted from 0."),
        ),
        (
            {"path.stations.first": 3},
            ("path.stations.first is not a key of a plan;"
            " the entries of path.stations are counted from 0."),
        ),
        (
            {"path.stations.1.look_at.0": 3},
            "path.stations.1.look_at.0 is not there; path.stations.1.look_at is null.",
        ),
        (
            {"shoots.A.iso.x": 3},
            "shoots.A.iso.x is not a key of a plan; shoots.A.iso has no parts.",
        ),
        ({"shoots.C": 3}, "shoots.C is not a key of a plan; shoots has A and B."),
        ({"shoots.shoot": 3}, "shoots.shoot is not a key of a plan; shoots has A and B."),
        (
            {"zzz": 1},
            ("zzz is not a key of a plan; a key starts with schema, place, ground, camera, craft,"
            " path, flight, bands, shoots, takes, learned or readings."),
        ),
        (
            {"shoots.A": {"date": "2026-10-17", "intervall_s": 3}},
            "shoots.A.intervall_s is not a key of a plan; did you mean shoots.A.interval_s?",
        ),
        (
            {"shoots.A": {}},
            "shoots.A.date is missing; a date from 1 Jan 1901 to 31 Dec 2099 was expected.",
        ),
        (
            {"shoots.A.date": "2026-02-30"},
            'shoots.A.date is "2026-02-30"; a date from 1 Jan 1901 to 31 Dec 2099 was expected.',
        ),
        ({"shoots.A.twilight": "noon"}, 'shoots.A.twilight is "noon"; dusk or dawn was expected.'),
        (
            {"shoots.A.conditions.visibility_km": "far"},
            ('shoots.A.conditions.visibility_km is "far";'
            " a number of kilometres from 0.01 to 300 or none was expected."),
        ),
        ({"path.stations": []}, "path.stations is []; a list of 1 to 40 entries was expected."),
        ({"camera.isos": ()}, "camera.isos is []; a list of at least 1 entry was expected."),
        (
            {"path.stations.0.look_at": [1, 2]},
            "path.stations.0.look_at is [1, 2]; a list of 3 numbers or none was expected.",
        ),
        ({"place.name": ""}, 'place.name is ""; text of 1 to 200 characters was expected.'),
        (
            {"place.time_zone": "Europe/Nowhere"},
            ('place.time_zone is "Europe/Nowhere";'
            " a zone of the IANA time zone database such as Europe/Rome was expected."),
        ),
        (
            {"ground.lamps.switching.on_time": "24:00"},
            ('ground.lamps.switching.on_time is "24:00";'
            " a time of day such as 18:00 or 06:30:15 was expected."),
        ),
        (
            {"craft.battery_kept_warm": 1},
            "craft.battery_kept_warm is 1; true or false was expected.",
        ),
        ({"schema": "2.0"}, 'schema is "2.0"; "1.0" was expected.'),
        (
            {"shoots.A.iso": math.nan},
            "shoots.A.iso is not a number; an ISO number from 10 to 500\u2009000 was expected.",
        ),
    ],
)  # fmt: skip
def test_a_refusal_names_the_key_the_value_and_what_was_expected(
    changes: dict[str, Any], text: str
) -> None:
    assert refusal(changes) == text


def test_a_refused_list_is_written_as_typed() -> None:
    text = refusal({"path.stations.0.look_at": (1.0, 2.5)})
    assert text.startswith("path.stations.0.look_at is [1, 2.5]; ")


def test_null_is_a_word_of_files_and_none_of_fields() -> None:
    raw = msgspec.to_builtins(PLAN)
    raw["shoots"]["A"]["conditions"]["visibility_km"] = "far"
    with pytest.raises(PlanError, match=r"from 0\.01 to 300 or null was expected"):
        plan_from(raw)
    assert "or none was expected" in refusal({"shoots.A.conditions.visibility_km": "far"})
    # Whoever types a number hears of numbers.
    assert refusal({"shoots.A.conditions.visibility_km": 400.0}).endswith(
        "is 400; a number of kilometres from 0.01 to 300 was expected."
    )
    assert not any("null" in field.expected for field in FIELDS.values())


def test_a_share_is_refused_as_its_field_shows_it_and_in_a_file_as_it_stands_there() -> None:
    assert refusal({"ground.lamps.lit_share": 1.2}) == (
        "ground.lamps.lit_share is 120 %; a percentage from 0 to 100 was expected."
    )
    assert refusal({"bands.excused_share": 0.505}) == (
        "bands.excused_share is 50.5 %; a percentage from 0 to 50 was expected."
    )
    raw = msgspec.to_builtins(PLAN)
    raw["ground"]["lamps"]["lit_share"] = 1.2
    with pytest.raises(PlanError, match=r"lit_share is 1\.2; a number from 0 to 1 was expected"):
        plan_from(raw)


def test_dates_and_clocks_are_refused_in_the_pilots_manner_and_in_a_file_as_it_has_them() -> None:
    adopt(Manner(hours="12", dates="en_US"))
    assert refusal({"shoots.B.date": dt.date(2100, 1, 1)}) == (
        'shoots.B.date is "Jan 1, 2100"; a date from Jan 1, 1901 to Dec 31, 2099 was expected.'
    )
    assert refusal({"ground.lamps.switching.on_time": "24:00"}).endswith(
        "a time of day such as 6:00\u202fpm or 6:30:15\u202fam was expected."
    )
    raw = msgspec.to_builtins(PLAN)
    raw["shoots"]["B"]["date"] = "2100-01-01"
    with pytest.raises(PlanError, match="from 1901-01-01 to 2099-12-31"):
        plan_from(raw)
    raw["shoots"]["B"]["date"] = "2026-10-17"
    raw["ground"]["lamps"]["switching"]["on_time"] = "24:00"
    with pytest.raises(PlanError, match="such as 18:00 or 06:30:15"):
        plan_from(raw)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.0 / 60.0, "0.0166667"), (1190.0, "1190"), (-3.0, "\u22123"),
        (1e9, "1\u2009000\u2009000\u2009000"), (600.0000001, "600.0000001"), (1e300, "1e+300"),
    ],
)  # fmt: skip
def test_a_refused_number_is_written_as_elsewhere(value: float, text: str) -> None:
    assert refusal({"shoots.A.interval_s": value}) == (
        f"shoots.A.interval_s is {text}; a number of seconds from 0.2 to 600 was expected."
    )


def test_a_value_of_a_strange_kind_is_refused_at_its_key() -> None:
    for value in (object(), {1, "a"}, [object()], 10**5000, np.array([1, 2])):
        assert refusal({"shoots.A.iso": value}).startswith("shoots.A.iso is ")


def test_what_is_no_plan_at_all_is_refused() -> None:
    with pytest.raises(PlanError, match=r"^The plan is 3; an object with the keys schema, place"):
        plan_from(3)
    strange = replace(PLAN, place=replace(PLAN.place, name=object()))
    with pytest.raises(PlanError, match="a value of a kind that no plan can hold"):
        checked(strange)


def test_a_long_value_is_cut_in_the_sentence() -> None:
    assert len(refusal({"shoots.A.iso": "9" * 10_000})) < 150
    assert len(refusal({"9" * 10_000: 1})) < 350


@pytest.mark.parametrize("date", [dt.date(1900, 12, 31), dt.date(2100, 1, 1), "1900-12-31"])
def test_a_date_outside_the_two_centuries_is_refused(date: object) -> None:
    assert "1 Jan 1901 to 31 Dec 2099" in refusal({"shoots.B.date": date})


@pytest.mark.parametrize("date", [dt.date(1901, 1, 1), dt.date(2099, 12, 31)])
def test_the_first_and_last_dates_stand(date: dt.date) -> None:
    assert with_values(PLAN, {"shoots.B.date": date}).shoots.B.date == date


def test_a_skyline_is_put_in_order() -> None:
    plan = with_values(PLAN, {"place.skyline": [[300, 4], [20, 1]]})
    assert plan.place.skyline == ((20.0, 1.0), (300.0, 4.0))


@pytest.mark.parametrize("skyline", [[[20, 1], [20, 3]], [[0, 1], [90, 2], [360, 1]]])
def test_a_skyline_has_no_azimuth_twice(skyline: list[list[float]]) -> None:
    assert "twice" in refusal({"place.skyline": skyline})


def test_a_station_does_not_look_at_itself() -> None:
    station = Station(east_m=10.0, north_m=20.0, up_m=30.0, look_at=(10.0, 20.05, 30.0))
    text = refusal({"path.stations": (station,)})
    assert text.startswith("path.stations.0.look_at is the station itself")
    with_values(PLAN, {"path.stations": (replace(station, look_at=(10.0, 20.0, 29.0)),)})


@pytest.mark.parametrize("time", ["18:52", "2026-10-17T18:52:10", "yesterday", ""])
@pytest.mark.parametrize("key", ["takes.0.start", "readings.0.time"])
def test_a_time_without_an_offset_is_no_instant(key: str, time: str) -> None:
    assert refusal({key: time}).startswith(f"{key} is ")


@pytest.mark.parametrize("clock", ["18:00\n", " 18:00", "\u0661\u0668:30", "7:30"])
def test_lamp_times_are_plain_clock_times(clock: str) -> None:
    assert "a time of day" in refusal({"ground.lamps.switching.off_time": clock})


def test_text_that_no_file_can_hold_is_refused() -> None:
    assert refusal({"place.name": "Quay \ud800"}).startswith("place.name holds half a character")


def test_several_changes_stand_together_or_not_at_all() -> None:
    before = PLAN
    refusal({"shoots.A.iso": 200.0, "shoots.A.shutter_s": 0.0})
    assert before == PLAN
    plan = with_values(PLAN, {"shoots.A.iso": 200.0, "shoots.B.iso": 800.0})
    assert (plan.shoots.A.iso, plan.shoots.B.iso) == (200.0, 800.0)
    assert replace(plan, shoots=PLAN.shoots) == PLAN


def test_changes_inside_one_another_are_made_in_their_order() -> None:
    moved = Station(east_m=5.0)
    plan = with_values(PLAN, {"path.stations": (moved,), "path.stations.0.up_m": 50.0})
    assert plan.path.stations == (replace(moved, up_m=50.0),)
    text = refusal({"path.stations": (moved,), "path.stations.1.up_m": 50.0})
    assert text == "path.stations.1.up_m lies inside another key of the same change."


def test_whole_numbers_and_those_of_numpy_become_floats() -> None:
    plan = with_values(PLAN, {"shoots.A.iso": 200, "shoots.B.iso": np.float32(400)})
    assert [type(plan.shoots.A.iso), type(plan.shoots.B.iso)] == [float, float]


def test_a_part_can_be_given_whole() -> None:
    assert with_values(PLAN, {"shoots.B": PLAN.shoots.A}).shoots.B == PLAN.shoots.A


@pytest.mark.parametrize("key", ["", ".", "place.", "place..name", "place.__class__", "shoots.A.0"])
def test_odd_keys_are_refused(key: str) -> None:
    with pytest.raises(PlanError, match="is not a key of a plan"):
        get_value(PLAN, key)
    refusal({key: 1})


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(plans())
def test_putting_back_what_is_there_changes_nothing(plan: Plan) -> None:
    assert checked(plan) == plan
    assert with_values(plan, {key: get_value(plan, key) for key in keys_of(plan)}) == plan


@settings(max_examples=200)
@given(key=st.text() | st.sampled_from(list(FIELDS)), value=st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=5,
))  # fmt: skip
def test_any_change_stands_or_is_refused_in_one_sentence(key: str, value: object) -> None:
    key = key.replace("*", "0")
    try:
        plan = with_values(PLAN, {key: value})
    except PlanError as sentence:
        assert "\n" not in str(sentence)  # noqa: PT017 - both ends are good
    else:
        assert checked(plan) == plan


@pytest.mark.parametrize(("latitude_deg", "longitude_deg"), [(45.1, 12.3), (-33.9, 18.4)])
def test_a_new_plan_looks_at_the_sunset_at_its_end(
    latitude_deg: float, longitude_deg: float
) -> None:
    plan = new_plan("Quay", latitude_deg, longitude_deg, DATE)
    night = night_of(latitude_deg, longitude_deg, plan.place.time_zone, DATE, "dusk")
    sunset = next(moment for moment in night.moments if moment.name == "sunset")
    assert plan.path.stations[-1].heading_deg == pytest.approx(sunset.sun_azimuth_deg, abs=0.06)
    assert checked(plan) == plan


def test_a_new_plan_has_the_zone_of_its_place_and_two_unlike_shoots() -> None:
    plan = new_plan("Quay", 45.1, 12.3, DATE, elevation_m=3)
    assert plan.place.time_zone == "Europe/Rome"
    assert plan.place.elevation_m == 3.0
    first, second = plan.shoots.A, plan.shoots.B
    assert first.date == second.date == DATE
    assert first.twilight == second.twilight == "dusk"
    assert first.start_after_event_min - second.start_after_event_min == 7.0
    assert (first.interval_s, first.shutter_s) == (3.0, 1.0)
    assert second.shutter_s + plan.camera.write_time_s < second.interval_s
    assert new_plan("Quay", 45.1, 12.3, DATE, "UTC").place.time_zone == "UTC"


def test_a_new_plan_without_a_sunset_looks_west() -> None:
    plan = new_plan("Ice", 80.0, 20.0, dt.date(2026, 6, 21))
    assert plan.path.stations[-1].heading_deg == 270.0


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"latitude_deg": 91.0}, "place.latitude_deg"),
        ({"longitude_deg": math.nan}, "place.longitude_deg"),
        ({"name": ""}, "place.name"),
        ({"date": dt.date(1900, 1, 1)}, "shoots.A.date"),
        ({"time_zone": "Mars/Base"}, "place.time_zone"),
    ],
)
def test_a_new_plan_refuses_what_cannot_stand(changes: dict[str, Any], key: str) -> None:
    values: dict[str, Any] = {"name": "Quay", "latitude_deg": 45.0, "longitude_deg": 12.0}
    with pytest.raises(PlanError, match=f"^{key} is "):
        new_plan(**{**values, "date": DATE, **changes})
