"""The main window's texts and fields for a pilot who reads and types German."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from PySide6.QtWidgets import QMenu
from pytestqt.qtbot import QtBot

from app.cli import parser
from app.shown.conditions import CONDITIONS
from app.shown.settings import SETTINGS
from app.widgets.place_box import angle_text
from app.window import MainWindow
from core.manner import Manner, adopt
from core.parse import parse_value
from core.phrases import leading, within
from core.plan import Conditions

pytestmark = pytest.mark.usefixtures("german")

CALM = Conditions()
BLOWY = replace(
    CALM, cloud_okta=3.5, haze_aod=0.05, temperature_c=-3.5, humidity_percent=55.5,
    wind_10m_m_s=4.5, wind_from_deg=50.0, gust_10m_m_s=3.2,
)  # fmt: skip


@pytest.mark.parametrize("air", [CALM, BLOWY])
@pytest.mark.parametrize("entry", CONDITIONS, ids=lambda entry: str(entry.keys[0]))
def test_a_condition_reads_back_as_it_is_shown(entry: object, air: Conditions) -> None:
    row = next(one for one in CONDITIONS if one is entry)
    read = row.read(row.text(air))
    if air is BLOWY:
        assert read == {key: getattr(air, key) for key in row.keys}
    assert row.text(replace(air, **read)) == row.text(air)


@pytest.mark.parametrize(
    ("typed", "speed", "bearing"),
    [
        ("4,5 m/s, 050°", 4.5, 50.0),
        ("4,5", 4.5, None),
        ("4,5 300", 4.5, 300.0),
        ("4, 50", 4.0, 50.0),
        ("4,050", 4.0, 50.0),
        ("4 from 50", 4.0, 50.0),
    ],
)
def test_a_comma_is_a_decimal_mark_before_it_parts_a_bearing(
    typed: str, speed: float, bearing: float | None
) -> None:
    wind = next(one for one in CONDITIONS if "wind_from_deg" in one.keys)
    read = wind.read(typed)
    assert (read["wind_10m_m_s"], read.get("wind_from_deg")) == (speed, bearing)


@pytest.mark.parametrize(("key", "angle"), [("latitude", -42.58), ("longitude", 145.29)])
def test_a_coordinate_reads_back(key: str, angle: float) -> None:
    whole = f"place.{key}_deg"
    assert parse_value(whole, angle_text(whole, angle)) == angle
    assert "," in angle_text(whole, angle)


@pytest.mark.parametrize("setting", SETTINGS, ids=lambda setting: str(setting.key))
def test_a_setting_reads_back(setting: object) -> None:
    row = next(one for one in SETTINGS if one is setting)
    assert parse_value(f"shoots.A.{row.key}", row.text(2.0)) == pytest.approx(2.0)


def test_nouns_keep_their_capital_within_a_sentence() -> None:
    # Amtliche Regeln der deutschen Rechtschreibung (2024), § 55.
    assert within("Intervall") == "Intervall"
    assert leading("gut 19:20 bis 19:24") == "Gut 19:20 bis 19:24"


def test_a_pilot_of_english_reads_them_small() -> None:
    adopt(Manner())
    assert [within(name) for name in ("Interval", "ISO", "f-number")] == [
        "interval", "ISO", "f-number",
    ]  # fmt: skip


def test_the_help_of_the_commands_has_the_program_s_own_heads() -> None:
    adopt(Manner())
    said = parser().format_help()
    assert said.startswith("usage: ")
    assert "positional arguments:\n" in said
    assert "options:\n  -h, --help  show this help message and exit\n" in said


def test_undo_names_its_step_and_loses_it_again(qtbot: QtBot) -> None:
    adopt(Manner())
    window = MainWindow()
    qtbot.addWidget(window)
    window.open_first_demo()
    assert {"&Undo", "&Redo"} <= _menu_texts(window)
    window.store.begin_gesture()
    window.store.edit("craft 'S & M'", {"shoots.A.iso": 200.0})
    assert "&Undo craft 'S && M'" in _menu_texts(window)
    window.store.undo_stack.undo()
    assert {"&Undo", "&Redo craft 'S && M'"} <= _menu_texts(window)


def _menu_texts(window: MainWindow) -> set[str]:
    menus = window.menuBar().findChildren(QMenu)
    return {action.text() for menu in menus for action in menu.actions()}
