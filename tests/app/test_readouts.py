"""Readouts whole in their columns, at every text scale."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from app.theme import px, set_text_scale
from app.widgets.readout import value_face
from app.widgets.stamp import text_width
from tests.evening import dress


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("value", ["\N{MINUS SIGN}10.0 stops", "+0.5 stop", "1:02:05", "less"])
def test_a_value_stands_whole_in_its_column(qapp: QApplication, scale: float, value: str) -> None:
    dress()
    set_text_scale(qapp, scale)
    column = px(220) // 3
    assert text_width(value, value_face(value, column)) < column
    set_text_scale(qapp, 1.0)


def test_a_short_value_keeps_the_full_size(qapp: QApplication) -> None:  # noqa: ARG001
    dress()
    assert value_face("120°", px(220) // 3) == (15, 600)
