"""An evening of our own for the panels: a store with its plan, and the look of the program."""

from __future__ import annotations

import datetime as dt

from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.store import Store
from app.style import Style
from app.theme import ThemeName, load_fonts, set_text_scale, show_theme
from core.edit import new_plan, with_values
from core.plan import Plan

DATE = dt.date(2026, 10, 10)


def plan_of(**values: object) -> Plan:
    """A plan for a harbour at 62 N, looking away from the glow.

    Double underscores part the names of a key.
    """
    plan = new_plan("Eidskar Harbour", 62.21, 5.64, DATE, elevation_m=4.0)
    away = {f"path.stations.{place}.heading_deg": 77.0 for place in range(2)}
    plan = with_values(plan, away)
    return with_values(plan, {key.replace("__", "."): value for key, value in values.items()})


def store_of(plan: Plan) -> Store:
    """A store that has caught up with a plan."""
    store = Store()
    store.open(plan)
    store.settle_now()
    return store


def dress(theme: ThemeName = "light", scale: float = 1.0) -> None:
    """Give the application its style, type, theme and text size."""
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    application.setStyle(Style())
    load_fonts()
    set_text_scale(application, scale)
    show_theme(application, theme)
    application.processEvents()


def show(qtbot: QtBot, widget: QWidget, width: int, height: int) -> None:
    """Show a widget in a size, and with the keyboard."""
    qtbot.addWidget(widget)
    widget.resize(width, height)
    with qtbot.waitExposed(widget):
        widget.show()
    widget.activateWindow()
    qtbot.waitUntil(widget.isActiveWindow)
