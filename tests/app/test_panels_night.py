"""The left column: place, date, dusk or dawn, moments, moon, conditions, and who they move."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from app.panels.night import NightPanel
from app.shown.conditions import CONDITIONS, Entry, haze_text
from app.shown.moon import lit_share, moon_words
from app.store import Store
from app.theme import THEMES
from app.widgets.locator import KM_PER_DEGREE, View, coast, scale_bar
from app.widgets.place_box import angle_text
from app.widgets.value_field import ValueField
from core.dates import date_text, long_date
from core.datetyped import typed_date
from core.edit import PlanError, new_plan
from core.night import Night, night_of
from core.parse import parse_value
from core.plan import Conditions, Shoots
from tests.evening import DATE, dress, plan_of, show

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def panel(qtbot: QtBot, store: Store) -> NightPanel:
    dress()
    made = NightPanel(store)
    show(qtbot, made, 232, 640)
    return made


def shoots(store: Store) -> Shoots:
    assert store.plan is not None
    return store.plan.shoots


def type_into(field: ValueField, text: str) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def moments(panel: NightPanel) -> dict[str, tuple[str, str]]:
    return {row[0].text: (row[1].text, row[2].text) for row in panel.moments.rows[1:]}


# ---- in a low column ----


@pytest.mark.parametrize("date", [dt.date(2026, 12, 20), dt.date(2026, 11, 25)])
def test_the_map_gives_up_height_before_the_last_row_goes_under_the_fold(
    qtbot: QtBot, store: Store, date: dt.date
) -> None:
    """A night with no sunset has a sentence more, and the column of a small window is low."""
    dress()
    store.open(new_plan("North", 72.0, 15.6, date, "Arctic/Longyearbyen"))
    store.settle_now()
    night = NightPanel(store)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setWidget(night)
    show(qtbot, area, 232, 560)
    gust = night.conditions["Gust"]
    assert gust.mapTo(area, gust.rect().bottomLeft()).y() < 560
    assert 40 <= night.place.locator.height() < 104
    area.resize(232, 700)
    qtbot.waitUntil(lambda: night.place.locator.height() == 104)


# ---- the night of both shoots ----


def test_a_day_step_moves_both_shoots_while_they_share_the_night(
    panel: NightPanel, store: Store
) -> None:
    QTest.mouseClick(panel.after, LEFT)
    assert shoots(store).A.date == shoots(store).B.date == DATE + dt.timedelta(days=1)
    assert panel.date.text() == "Sun 11 Oct 2026"
    store.undo_stack.undo()
    assert shoots(store).A.date == shoots(store).B.date == DATE
    assert store.undo_stack.count() == 1


def test_unticked_the_night_moves_for_the_active_shoot_alone(
    panel: NightPanel, store: Store
) -> None:
    QTest.mouseClick(panel.same, LEFT)
    QTest.mouseClick(panel.after, LEFT)
    assert shoots(store).A.date == DATE + dt.timedelta(days=1)
    assert shoots(store).B.date == DATE
    assert panel.same.text() == "10 Oct"
    assert not panel.same.isChecked()


def test_ticking_gives_the_other_shoot_the_same_night(qtbot: QtBot, store: Store) -> None:
    dress()
    store.open(plan_of(shoots__B__date=dt.date(2026, 10, 14), shoots__A__conditions__haze_aod=0.3))
    panel = NightPanel(store)
    show(qtbot, panel, 232, 640)
    assert panel.same.text() == "14 Oct"
    QTest.mouseClick(panel.same, LEFT)
    assert shoots(store).B.date == DATE
    assert shoots(store).B.conditions == shoots(store).A.conditions
    assert panel.same.isChecked()
    assert panel.same.text() == "the same"
    store.undo_stack.undo()
    assert shoots(store).B.date == dt.date(2026, 10, 14)


def test_other_weather_is_said(panel: NightPanel, store: Store) -> None:
    store.edit("haze", {"shoots.B.conditions.haze_aod": 0.3})
    assert panel.same.text() == "other weather"
    type_into(panel.conditions["Temperature"].field, "3")
    assert shoots(store).A.conditions.temperature_c == 3.0
    assert shoots(store).B.conditions.temperature_c == 15.0


def test_a_value_that_differs_is_set_in_bold(panel: NightPanel, store: Store) -> None:
    store.edit("haze", {"shoots.B.conditions.haze_aod": 0.3})
    weights = {name: int(row.field.font().weight()) for name, row in panel.conditions.items()}
    assert weights == {
        "Cloud": 600,
        "Haze": 700,
        "Temperature": 600,
        "Humidity": 600,
        "Wind at 10 m": 600,
        "Gust": 600,
    }


def test_the_other_tab_exchanges_everything_below_the_head(panel: NightPanel, store: Store) -> None:
    store.edit("b", {"shoots.B.date": dt.date(2026, 10, 14), "shoots.B.conditions.haze_aod": 0.3})
    store.set_active("B")
    assert panel.date.text() == "Wed 14 Oct 2026"
    assert panel.conditions["Haze"].field.text() == "hazy, 0.30"
    assert panel.same.text() == "10 Oct"
    assert "press B" in moments(panel)
    assert panel.place.fields["place.name"].text() == "Eidskar Harbour"


def test_dawn_takes_the_starts_to_the_other_side_of_the_event(
    panel: NightPanel, store: Store
) -> None:
    QTest.mouseClick(panel.twilight.button(1), LEFT)
    assert shoots(store).A.twilight == shoots(store).B.twilight == "dawn"
    assert shoots(store).A.start_after_event_min == -27.0
    assert shoots(store).B.start_after_event_min == -20.0
    assert "sunrise" in moments(panel)
    store.undo_stack.undo()
    assert store.plan == plan_of()


# ---- the date ----


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("2026-12-05", dt.date(2026, 12, 5)),
        ("5 Dec 2026", dt.date(2026, 12, 5)),
        ("5 december", dt.date(2026, 12, 5)),
        ("Sat 10 Oct 2026", DATE),
    ],
)
def test_a_date_can_be_typed(panel: NightPanel, store: Store, text: str, date: dt.date) -> None:
    type_into(panel.date, text)
    assert shoots(store).A.date == date
    assert panel.date.text() == date_text(date)


@pytest.mark.parametrize("text", ["tomorrow", "31 Feb 2026", "2150-01-01"])
def test_a_date_that_is_none_stays_with_a_sentence(
    panel: NightPanel, store: Store, text: str
) -> None:
    type_into(panel.date, text)
    assert panel.date.text() == text
    assert panel.date_refusal.startswith("Date ")
    assert "was expected" in panel.date_refusal
    assert shoots(store).A.date == DATE


@pytest.mark.parametrize("year", range(2020, 2032))
def test_what_a_date_field_shows_can_be_typed_again(year: int) -> None:
    for day in range(0, 365, 7):
        date = dt.date(year, 1, 1) + dt.timedelta(days=day)
        assert typed_date(date_text(date), 1999) == date
        assert typed_date(long_date(date), 1999) == date


def test_beyond_the_last_day_nothing_moves(qtbot: QtBot, store: Store) -> None:
    dress()
    store.open(
        plan_of(shoots__A__date=dt.date(2099, 12, 31), shoots__B__date=dt.date(2099, 12, 31))
    )
    panel = NightPanel(store)
    show(qtbot, panel, 232, 640)
    QTest.mouseClick(panel.after, LEFT)
    assert shoots(store).A.date == dt.date(2099, 12, 31)


# ---- moments and moon ----


def test_a_refused_text_goes_when_its_value_moves_another_way(
    panel: NightPanel, store: Store
) -> None:
    type_into(panel.date, "soon")
    type_into(panel.conditions["Cloud"].field, "much")
    type_into(panel.conditions["Gust"].field, "strong")
    type_into(panel.place.fields["place.elevation_m"], "high")
    store.edit(
        "elsewhere",
        {
            "shoots.A.date": DATE + dt.timedelta(days=2),
            "shoots.A.conditions.cloud_okta": 5.0,
            "place.elevation_m": 31.0,
        },
    )
    assert panel.date.text() == date_text(DATE + dt.timedelta(days=2))
    assert panel.conditions["Cloud"].field.text() == "5/8"
    assert panel.place.fields["place.elevation_m"].text() == "31 m"
    assert (panel.date_refusal, panel.conditions["Cloud"].refusal, panel.place.refusal) == (
        ("",) * 3
    )
    # The gust did not move: what was refused there still stands.
    assert panel.conditions["Gust"].field.text() == "strong"
    assert panel.conditions["Gust"].refusal


def test_the_moments_stand_in_the_order_of_the_clock(panel: NightPanel) -> None:
    clocks = [clock for clock, _ in moments(panel).values()]
    assert clocks == sorted(clocks)
    assert list(moments(panel)) == [
        "sunset", "lamps on", "press A", "sun \u22126°", "sun \u221212°", "sun \u221218°",
    ]  # fmt: skip


def test_the_press_alone_has_seconds_and_is_bold(panel: NightPanel) -> None:
    for row in panel.moments.rows[1:]:
        is_press = row[0].text.startswith("press")
        assert (row[1].text.count(":") == 2, row[1].weight == 700) == (is_press, is_press)


def test_a_night_without_a_sunset_says_so(qtbot: QtBot, store: Store) -> None:
    dress()
    store.open(plan_of(place__latitude_deg=70.0, shoots__A__date=dt.date(2026, 6, 10)))
    panel = NightPanel(store)
    show(qtbot, panel, 232, 640)
    assert "does not set" in panel._reason.text()
    assert panel._reason.isVisible()


def moon_of(date: dt.date) -> tuple[Night, str]:
    night = night_of(51.48, 0.0, "UTC", date, "dusk")
    return night, moon_words(night, night.event.time_s + 1800.0)


@pytest.mark.parametrize(
    ("date", "phase"),
    [
        # Phases of the moon for 2026 in UT: new 12 August 17:37 (the total solar eclipse), first
        # quarter 20 August 02:46, full 28 August 04:19 (a partial lunar eclipse), last quarter
        # 4 September 07:51. From memory of the almanac.
        (dt.date(2026, 8, 12), "Moon new"),
        (dt.date(2026, 8, 27), "Moon full"),
    ],
)
def test_new_and_full_moon_are_named(date: dt.date, phase: str) -> None:
    assert moon_of(date)[1].startswith(phase)


def test_a_quarter_moon_is_half_lit() -> None:
    # Meeus (1998), Astronomical Algorithms, eq. 48.1 with the phase angle 180 - elongation.
    assert lit_share(90.0) == pytest.approx(0.5)
    assert lit_share(180.0) == pytest.approx(1.0)
    percent = int(moon_of(dt.date(2026, 8, 20))[1].split()[1])
    assert 45 <= percent <= 60


def test_it_waxes_before_full_and_wanes_after() -> None:
    assert "waxing" in moon_of(dt.date(2026, 8, 22))[1]
    assert "waning" in moon_of(dt.date(2026, 9, 2))[1]


def test_the_words_agree_with_where_the_moon_is() -> None:
    for day in range(30):
        night, words = moon_of(dt.date(2026, 8, 1) + dt.timedelta(days=day))
        altitude = float(night.moon(np.array([night.event.time_s + 1800.0]))[0][0])
        if altitude > 0.5:
            assert ", up" in words or ", sets " in words
        elif altitude < -2.0:
            assert "rises" in words or "set " in words or "down all night" in words


# ---- conditions ----


def entry(name: str) -> Entry:
    return next(one for one in CONDITIONS if one.name == name)


@pytest.mark.parametrize(
    ("name", "text", "values"),
    [
        ("Cloud", "3/8", {"cloud_okta": 3.0}),
        ("Cloud", "3", {"cloud_okta": 3.0}),
        ("Cloud", "8 okta", {"cloud_okta": 8.0}),
        ("Haze", "clear", {"haze_aod": 0.05}),
        ("Haze", "hazy", {"haze_aod": 0.3}),
        ("Haze", "Hazy, 0.25", {"haze_aod": 0.25}),
        ("Haze", "0.2", {"haze_aod": 0.2}),
        ("Haze", "0,2", {"haze_aod": 0.2}),
        ("Temperature", "−3 °C", {"temperature_c": -3.0}),
        ("Wind at 10 m", "4 m/s, 050°", {"wind_10m_m_s": 4.0, "wind_from_deg": 50.0}),
        ("Wind at 10 m", "36 km/h from 270", {"wind_10m_m_s": 10.0, "wind_from_deg": 270.0}),
        ("Wind at 10 m", "6", {"wind_10m_m_s": 6.0}),
        ("Gust", "8", {"gust_10m_m_s": 8.0}),
        ("Gust", "none", {"gust_10m_m_s": None}),
    ],
)
def test_conditions_are_read_as_they_are_typed(
    name: str, text: str, values: dict[str, object]
) -> None:
    read = entry(name).read(text)
    assert set(read) == set(values)
    for key, value in values.items():
        assert read[key] == (value if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    "air",
    [
        Conditions(),
        Conditions(cloud_okta=5.0, haze_aod=0.3, temperature_c=-7.0, wind_10m_m_s=7.5,
                   wind_from_deg=5.0, gust_10m_m_s=11.0),
        Conditions(haze_aod=0.05, wind_from_deg=359.0),
    ],
)  # fmt: skip
def test_what_a_field_shows_can_be_typed_again(air: Conditions) -> None:
    for one in CONDITIONS:
        if one.name == "Gust" and air.gust_10m_m_s is None:
            continue  # what follows from the wind is shown, and typing it would fix it
        for key, value in one.read(one.text(air)).items():
            assert value == pytest.approx(getattr(air, key))


@pytest.mark.parametrize(
    ("haze", "text"),
    [(0.05, "clear, 0.05"), (0.12, "normal, 0.12"), (0.15, "normal, 0.15"), (0.3, "hazy, 0.30"),
     (0.6, "hazy, 0.60"), (0.02, "clear, 0.02")],
)  # fmt: skip
def test_haze_reads_as_word_and_number(haze: float, text: str) -> None:
    assert haze_text(haze) == text


def test_the_arrows_step_the_haze_through_its_words(panel: NightPanel, store: Store) -> None:
    field = panel.conditions["Haze"].field
    field.setFocus()
    for key, haze in ((Qt.Key.Key_Up, 0.3), (Qt.Key.Key_Up, 0.3), (Qt.Key.Key_Down, 0.12)):
        QTest.keyClick(field, key)
        assert shoots(store).A.conditions.haze_aod == haze


@pytest.mark.parametrize(
    ("name", "text"),
    [("Cloud", "9/8"), ("Haze", "thick"), ("Temperature", "warm"), ("Wind at 10 m", "400 m/s"),
     ("Gust", "strong")],
)  # fmt: skip
def test_a_condition_that_is_not_understood_stays_with_a_sentence(
    panel: NightPanel, store: Store, name: str, text: str
) -> None:
    row = panel.conditions[name]
    type_into(row.field, text)
    assert row.field.text() == text
    assert "was expected" in row.refusal
    assert "shoots." not in row.refusal
    assert shoots(store).A.conditions == Conditions()


# ---- the place ----


@pytest.mark.parametrize(
    ("key", "angle", "text"),
    [
        ("place.latitude_deg", 62.21, "62.2100° N"),
        ("place.latitude_deg", -45.5, "45.5000° S"),
        ("place.longitude_deg", -5.64, "5.6400° W"),
    ],
)
def test_coordinates_stand_with_their_side_and_can_be_typed_again(
    key: str, angle: float, text: str
) -> None:
    assert angle_text(key, angle) == text
    assert parse_value(key, text) == pytest.approx(angle)


def test_another_place_has_its_own_clock(panel: NightPanel, store: Store) -> None:
    fields = panel.place.fields
    type_into(fields["place.latitude_deg"], "38.5 S")
    type_into(fields["place.longitude_deg"], "177.9")
    assert store.plan is not None
    assert store.plan.place.latitude_deg == -38.5
    assert store.plan.place.time_zone == "Pacific/Auckland"
    type_into(fields["place.name"], "East Spit")
    assert store.plan.place.name == "East Spit"


@pytest.mark.parametrize("text", ["north", "95"])
def test_a_place_off_the_globe_is_refused(panel: NightPanel, store: Store, text: str) -> None:
    type_into(panel.place.fields["place.latitude_deg"], text)
    assert panel.place.refusal.startswith("Latitude")
    assert store.plan == plan_of()


# ---- the map ----


def test_a_degree_of_latitude_is_as_long_as_on_the_globe() -> None:
    view = View(62.0, 5.0, 200.0, 104.0)
    (_, south), (_, north) = view.xy(np.array([[5.0, 61.5], [5.0, 62.5]]))
    # A nautical mile was defined as a minute of latitude, 1852 m.
    assert (south - north) / view.pixels_per_km == pytest.approx(60 * 1.852)
    assert pytest.approx(60 * 1.852) == KM_PER_DEGREE


def test_a_degree_of_longitude_shrinks_with_the_cosine_of_the_latitude() -> None:
    view = View(60.0, 5.0, 200.0, 104.0)
    (west, _), (east, _) = view.xy(np.array([[4.5, 60.0], [5.5, 60.0]]))
    assert (east - west) / view.pixels_per_km == pytest.approx(KM_PER_DEGREE / 2.0)


def test_no_coast_jumps_across_the_date_line() -> None:
    for outline in coast().outlines:
        on_the_globe = outline[:, 1] > -89.0
        steps = np.abs(np.diff(outline[on_the_globe][:, 0]))
        assert steps.max() < 30.0


def test_a_coast_lies_in_its_box_and_begins_on_the_globe() -> None:
    land = coast()
    for outline, low, high in zip(land.outlines, land.low, land.high, strict=True):
        assert (outline.min(axis=0) == low).all()
        assert (outline.max(axis=0) == high).all()
        assert np.abs(outline[0, 0]) <= 180.0


@pytest.mark.parametrize(
    ("latitude", "longitude", "land"),
    [
        (61.0, 10.0, True), (62.5, 0.0, False), (66.5, 179.0, True), (66.5, -178.0, True),
        (66.0, 0.0, False), (-80.0, 0.0, True), (-89.0, 30.0, True), (0.0, 179.9, False),
    ],
)  # fmt: skip
def test_land_lies_where_it_is(
    qtbot: QtBot, store: Store, latitude: float, longitude: float, land: bool
) -> None:
    # Inland Norway, the Norwegian Sea, both sides of the date line in Chukotka, Antarctica.
    dress()
    panel = NightPanel(store)
    qtbot.addWidget(panel)
    locator = panel.place.locator
    locator.resize(202, 104)
    locator.show_place(latitude, longitude)
    # The middle of the cross is open.
    image = locator.grab().toImage()
    colour = image.pixelColor(image.rect().center())
    assert (colour == THEMES["light"].field) == land


@pytest.mark.parametrize(
    ("pixels_per_km", "most_px", "km"), [(0.13, 50.0, 300.0), (1.0, 50.0, 50.0), (0.13, 10.0, 50.0)]
)
def test_the_scale_bar_is_a_round_length_that_fits(
    pixels_per_km: float, most_px: float, km: float
) -> None:
    assert scale_bar(pixels_per_km, most_px) == km


def test_the_map_is_drawn_once(panel: NightPanel) -> None:
    locator = panel.place.locator
    locator.grab()
    first = locator._picture
    locator.grab()
    assert locator._picture is first
    dress("dark")
    locator.grab()
    dress()
    assert locator._picture is not first


# ---- for everyone ----


def test_everything_that_takes_the_keyboard_has_a_name(panel: NightPanel) -> None:
    for widget in panel.findChildren(QWidget):
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isVisible():
            interface = QAccessible.queryAccessibleInterface(widget)
            assert interface.text(QAccessible.Text.Name), widget


def test_the_moments_are_said_aloud(panel: NightPanel) -> None:
    said = panel.moments.accessibleDescription()
    assert "sunset" in said
    assert "press A" in said


def test_a_month_that_is_none_is_refused() -> None:
    with pytest.raises(PlanError, match="was not understood"):
        typed_date("10 Foo 2026", 2026)
