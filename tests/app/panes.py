"""What tests of the windows beside the main one share."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from app.resources import demo_sites
from app.store import Store
from app.widgets.typed_row import TypedRow
from core.plan import Plan
from core.planfile import load


def site_plan(name: str) -> Plan:
    """The plan of a ready site by its file's name."""
    return load(next(site for site in demo_sites() if site.stem == name))


def store_of(name: str) -> Store:
    """A settled store with the plan of a ready site in it."""
    store = Store()
    store.open(site_plan(name))
    store.settle_now()
    return store


def type_into(row: TypedRow, text: str) -> None:
    """Type over what stands in a row's field, without Enter."""
    row.field.setFocus()
    row.field.selectAll()
    QTest.keyClicks(row.field, text)


def click(button: QWidget) -> None:
    """Press a button with the mouse, once it stands where it is seen: a layout comes later."""
    for _ in range(100):
        QApplication.processEvents()
        if button.isVisible() and not button.rect().isEmpty():
            break
    else:
        raise AssertionError(button.accessibleName())
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
