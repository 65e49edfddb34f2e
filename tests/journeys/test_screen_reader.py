"""The window as a screen reader has it: by Qt's own accessibility tree, without eyes or mouse."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtGui import QAccessible, QAccessibleInterface
from pytestqt.qtbot import QtBot

from app.window import MainWindow
from core.plan import Plan
from tests.app.windows import settle, window

__all__ = ["window"]

Role, Text = QAccessible.Role, QAccessible.Text
_BUTTONS = (Role.PushButton, Role.RadioButton, Role.CheckBox)


@pytest.fixture(autouse=True)
def reader() -> Iterator[None]:
    """Have Qt believe that a screen reader listens."""
    QAccessible.setActive(True)
    yield
    QAccessible.setActive(False)


def every(node: QAccessibleInterface) -> Iterator[QAccessibleInterface]:
    """All that is in the tree and not hidden."""
    if node.state().invisible:
        return
    yield node
    for at in range(node.childCount()):
        child = node.child(at)
        if child is not None and child.isValid():
            yield from every(child)


def tree(window: MainWindow) -> list[QAccessibleInterface]:
    """The tree of a window, its menus left out."""
    settle(window)
    body = window.centralWidget()
    assert body is not None
    return list(every(QAccessible.queryAccessibleInterface(body)))


def named(window: MainWindow, name: str, role: QAccessible.Role) -> QAccessibleInterface:
    """The one node of a name and role."""
    (found,) = (
        node for node in tree(window) if node.text(Text.Name) == name and node.role() == role
    )
    return found


def plan_of(window: MainWindow) -> Plan:
    """The plan as it stands."""
    assert window.store.plan is not None
    return window.store.plan


def test_all_that_takes_the_keyboard_has_a_name_of_its_own(window: MainWindow) -> None:
    nodes = [node for node in tree(window) if node.state().focusable]
    names = [node.text(Text.Name) for node in nodes]
    assert len(nodes) > 30
    assert all(name.strip() for name in names), names
    said = [(node.role(), node.text(Text.Name)) for node in nodes]
    doubled = {one for one in said if said.count(one) > 1}
    assert not doubled


def test_every_control_can_be_worked_without_a_mouse(window: MainWindow) -> None:
    for node in tree(window):
        if node.role() in _BUTTONS and node.state().focusable and not node.state().disabled:
            actions = node.actionInterface().actionNames()
            assert {"Press", "Toggle"} & set(actions), node.text(Text.Name)
        if node.role() == Role.Slider:
            assert node.valueInterface() is not None
            assert node.text(Text.Description), node.text(Text.Name)


def test_a_field_says_its_value_and_what_is_good(window: MainWindow) -> None:
    field = named(window, "ISO, value", Role.EditableText)
    assert field.text(Text.Value) == "100"
    slider = named(window, "ISO", Role.Slider)
    assert "100" in slider.text(Text.Description)
    assert "good" in slider.text(Text.Description)


def test_the_best_start_is_taken_by_ear(window: MainWindow, qtbot: QtBot) -> None:
    before = plan_of(window)
    told = named(window, "Verdict", Role.Client).text(Text.Description)
    assert told.startswith("A: ")
    button = named(window, "Best start", Role.PushButton)
    assert button.text(Text.Description).startswith("Start at ")
    button.actionInterface().doAction("Press")
    qtbot.waitUntil(lambda: plan_of(window) != before)
    clock = button.text(Text.Description).removeprefix("Start at ").rstrip(".")
    assert clock[:5] in named(window, "Verdict", Role.Client).text(Text.Description)


def test_a_slider_is_moved_by_its_value(window: MainWindow) -> None:
    values = named(window, "Interval", Role.Slider).valueInterface()
    before = plan_of(window).shoots.A.interval_s
    values.setCurrentValue(float(values.currentValue()) + 1.0)
    assert plan_of(window).shoots.A.interval_s > before


def test_findings_are_read_whole(window: MainWindow) -> None:
    settle(window)
    said = [node.text(Text.Name) + node.text(Text.Description) for node in tree(window)]
    for finding in window.store.findings or ():
        assert any(finding.fact in words for words in said), finding.fact
