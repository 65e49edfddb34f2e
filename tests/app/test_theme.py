"""The table of colours: contrast on every ground, and a dim theme without blue."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFontDatabase, QFontInfo, QFontMetricsF, QImage, QPalette
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QLineEdit,
    QRadioButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from app.theme import (
    THEME_NAMES,
    THEMES,
    Theme,
    ThemeName,
    font,
    load_fonts,
    next_theme,
    palette_of,
    px,
    set_text_scale,
    system_theme,
    text_scale,
    theme_of,
)
from app.widgets.buttons import Button
from app.widgets.switch import Switch
from tests.evening import dress

GROUNDS = ("window", "sheet", "field", "shade0", "shade1")
TEXTS = ("ink", "ink2", "ink3", "a", "b", "alarm")


def luminance(colour: QColor) -> float:
    """Relative luminance, WCAG 2.2, definition of the same name."""
    parts = (colour.redF(), colour.greenF(), colour.blueF())
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: QColor, other: QColor) -> float:
    """Contrast ratio, WCAG 2.2, definition of the same name."""
    dark, bright = sorted((luminance(one), luminance(other)))
    return (bright + 0.05) / (dark + 0.05)


def test_the_contrast_of_black_on_white_is_21_to_1() -> None:
    # WCAG 2.2: "contrast ratios can range from 1 to 21".
    assert contrast(QColor("#000000"), QColor("#ffffff")) == pytest.approx(21.0)
    # #767676 is the well-known lightest grey with 4.5 : 1 on white.
    assert contrast(QColor("#767676"), QColor("#ffffff")) == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("name", THEME_NAMES)
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXTS)
def test_text_can_be_read_on_every_ground(name: ThemeName, ground: str, text: str) -> None:
    # WCAG 2.2, 1.4.3 Contrast (Minimum): 4.5 : 1.
    theme = THEMES[name]
    assert contrast(theme.token(text), theme.token(ground)) >= 4.5


@pytest.mark.parametrize("name", THEME_NAMES)
@pytest.mark.parametrize("ground", GROUNDS)
def test_the_outlines_of_controls_can_be_seen_on_every_ground(name: ThemeName, ground: str) -> None:
    # WCAG 2.2, 1.4.11 Non-text Contrast: 3 : 1.
    theme = THEMES[name]
    assert contrast(theme.edge, theme.token(ground)) >= 3.0


@pytest.mark.parametrize("name", THEME_NAMES)
@pytest.mark.parametrize(("text", "ground"), [("on_a", "a"), ("on_b", "b"), ("on_alarm", "alarm")])
def test_a_letter_can_be_read_on_its_flag(name: ThemeName, text: str, ground: str) -> None:
    theme = THEMES[name]
    assert contrast(theme.token(text), theme.token(ground)) >= 4.5


def test_every_colour_of_dim_lies_between_red_and_amber() -> None:
    dim = THEMES["dim"]
    for token, value in vars(dim).items():
        if isinstance(value, QColor):
            assert value.red() >= value.green() >= value.blue(), token


def test_dim_gives_off_little_light() -> None:
    assert luminance(THEMES["dim"].window) < 0.01 * luminance(THEMES["light"].window)


def test_one_key_steps_through_the_themes_and_round() -> None:
    assert [next_theme(name) for name in THEME_NAMES] == ["dark", "dim", "light"]


class Hints:
    """A desktop that says which scheme it has."""

    def __init__(self, scheme: Qt.ColorScheme) -> None:
        self._scheme = scheme

    def colorScheme(self) -> Qt.ColorScheme:
        return self._scheme


@pytest.mark.parametrize(
    ("scheme", "name"),
    [
        (Qt.ColorScheme.Dark, "dark"),
        (Qt.ColorScheme.Light, "light"),
        (Qt.ColorScheme.Unknown, "light"),
    ],
)
def test_the_desktop_chooses_light_or_dark(scheme: Qt.ColorScheme, name: ThemeName) -> None:
    assert system_theme(Hints(scheme)) == name  # type: ignore[arg-type]


def test_a_window_may_have_a_theme_of_its_own(qtbot: QtBot) -> None:
    dress("light")
    window = QWidget()
    inside = QWidget(window)
    qtbot.addWidget(window)
    assert theme_of(inside).name == "light"
    window.setPalette(palette_of(THEMES["dim"]))
    assert theme_of(inside).name == "dim"


def test_a_change_of_theme_reaches_open_windows(qtbot: QtBot) -> None:
    dress("light")
    window = QWidget()
    qtbot.addWidget(window)
    dress("dark")
    assert theme_of(window).name == "dark"


def test_what_is_disabled_has_the_quietest_text() -> None:
    theme = THEMES["light"]
    palette = palette_of(theme)
    off = QPalette.ColorGroup.Disabled
    assert palette.color(off, QPalette.ColorRole.ButtonText) == theme.ink3
    assert palette.color(QPalette.ColorRole.ButtonText) == theme.ink


# ---- type ----


@pytest.mark.parametrize("weight", [400, 500, 600, 700])
def test_the_programs_own_type_is_used_in_every_weight(qapp: QApplication, weight: int) -> None:
    load_fonts()
    set_text_scale(qapp, 1.0)
    used = QFontInfo(font(20, weight))
    assert (used.family(), used.weight(), used.pixelSize()) == ("Inter", weight, 20)
    assert "Inter" in QFontDatabase.families()


@pytest.mark.parametrize("weight", [400, 600, 700])
def test_a_running_readout_does_not_jitter(qapp: QApplication, weight: int) -> None:
    load_fonts()
    set_text_scale(qapp, 1.0)
    metrics = QFontMetricsF(font(32, weight))
    widths = [metrics.horizontalAdvance(f"19:0{digit}:46") for digit in range(10)]
    # The heavier weights keep their figures' width to a few thousandths of the size.
    assert max(widths) - min(widths) < 0.1


def test_measures_and_type_grow_with_the_text(qapp: QApplication) -> None:
    set_text_scale(qapp, 2.0)
    assert (px(24), font(13).pixelSize()) == (48, 26)
    set_text_scale(qapp, 1.0)
    assert (px(24), font(13).pixelSize()) == (24, 13)


@pytest.mark.parametrize(("asked", "taken"), [(0.1, 0.75), (9.0, 3.0)])
def test_the_text_keeps_a_size_that_can_be_used(
    qapp: QApplication, asked: float, taken: float
) -> None:
    set_text_scale(qapp, asked)
    assert text_scale() == taken
    set_text_scale(qapp, 1.0)


# ---- Qt's own controls ----


def pixels(widget: QWidget) -> np.ndarray[tuple[int, ...], np.dtype[np.int16]]:
    """Red, green and blue of a grab, shape (height, width, 3)."""
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), -1)
    colours = rows[:, : image.width() * 3].reshape(image.height(), image.width(), 3)
    return colours.astype(np.int16)


def form() -> QWidget:
    """Controls that Qt paints itself."""
    whole = QWidget()
    layout = QVBoxLayout(whole)
    box, radio, combo, line = QCheckBox("lamps"), QRadioButton("first"), QComboBox(), QLineEdit()
    combo.addItems(["level", "clock"])
    line.setText("62.2")
    area = QScrollArea()
    tall = QWidget()
    tall.setMinimumSize(50, 900)
    area.setWidget(tall)
    disabled = Button("Best start")
    disabled.setEnabled(False)
    marked = QCheckBox("reversed")
    marked.setChecked(True)
    for part in (box, marked, radio, combo, line, Button("Stop"), disabled, area):
        layout.addWidget(part)
    return whole


def test_every_pixel_of_a_dim_form_is_red_before_green_before_blue(qtbot: QtBot) -> None:
    dress("dim")
    whole = form()
    qtbot.addWidget(whole)
    whole.resize(300, 400)
    seen = pixels(whole)
    dress("light")
    assert (seen[..., 0] >= seen[..., 1]).all()
    assert (seen[..., 1] >= seen[..., 2]).all()
    assert seen.max() > 150


def outline_contrast(seen: np.ndarray[tuple[int, ...], np.dtype[np.int16]], theme: Theme) -> float:
    best = 1.0
    for colour in np.unique(seen.reshape(-1, 3), axis=0).tolist():
        best = max(best, contrast(QColor(*colour), theme.window))
    return best


@pytest.mark.parametrize("name", THEME_NAMES)
def test_a_choice_that_cannot_be_pressed_can_still_be_read(qtbot: QtBot, name: ThemeName) -> None:
    """The chosen one too, as where there is no plan: its text on what it stands on."""
    dress(name)
    switch = Switch("Picture", ("Map", "Path"))
    qtbot.addWidget(switch)
    switch.show_choice(0)
    switch.setEnabled(False)
    seen = pixels(switch.button(0))
    dress("light")
    colours, counts = np.unique(seen.reshape(-1, 3), axis=0, return_counts=True)
    ground = QColor(*colours[counts.argmax()].tolist())
    assert max(contrast(QColor(*one), ground) for one in colours.tolist()) >= 4.5


@pytest.mark.parametrize("name", THEME_NAMES)
@pytest.mark.parametrize(
    ("kind", "least"), [(QCheckBox, 4.5), (QRadioButton, 4.5), (QLineEdit, 3.0)]
)
def test_the_box_of_a_control_is_seen_in_every_theme(
    qtbot: QtBot, name: ThemeName, kind: type[QWidget], least: float
) -> None:
    """An empty box is its outline alone: it is to be seen as text is (WCAG 2.2, 1.4.3)."""
    dress(name)
    control = kind()
    qtbot.addWidget(control)
    control.resize(60, 24)
    seen = pixels(control)
    dress("light")
    assert outline_contrast(seen, THEMES[name]) >= least
