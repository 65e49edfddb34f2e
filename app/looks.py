"""The pilot's choice of theme and text size: kept from one run to the next."""

from __future__ import annotations

import os
from typing import cast

from PySide6.QtCore import QLibraryInfo, QLocale, QTranslator
from PySide6.QtWidgets import QApplication

from app.collecting import collect_here
from app.manners import Desktop, adopt_desktop
from app.mishap import tell_mishaps
from app.settings import settings
from app.style import Style
from app.theme import (
    BODY_PX,
    THEME_NAMES,
    ThemeName,
    follow_system,
    font,
    load_fonts,
    next_theme,
    set_text_scale,
    show_theme,
    system_theme,
    text_scale,
)  # fmt: skip
from core.manner import OWN_LANGUAGE, manner

_THEME_KEY, _SCALE_KEY = "theme", "text_scale"
_SCALE_STEP = 0.1


def the_application() -> QApplication:
    """The running application.

    Raises
    ------
    TypeError
        Where none has been made yet.
    """
    application = QApplication.instance()
    if not isinstance(application, QApplication):
        raise TypeError("A window needs an application first.")
    return application


def prepare(application: QApplication) -> None:
    """Give the application style, type, theme and text size, and what runs in its thread."""
    # Qt shares large fills among threads; to wake them takes longer than to fill a track.
    os.environ.setdefault("QT_NO_GUI_THREADPOOL", "1")
    adopt_desktop(desktop())
    _speak(application, manner().language)
    tell_mishaps()
    collect_here(application)
    application.setStyle(Style())
    load_fonts()
    scale = settings().value(_SCALE_KEY, 1.0, float)
    set_text_scale(application, cast("float", scale))
    application.setFont(font(BODY_PX))
    chosen = chosen_theme()
    if chosen is not None:
        show_theme(application, chosen)
    follow_system(application, chosen_theme)


def _speak(application: QApplication, language: str) -> None:
    """Let Qt's own words, those of keys and of its dialogs, be of a language too."""
    words = application.findChild(QTranslator) or QTranslator(application)
    application.removeTranslator(words)
    folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    if language != OWN_LANGUAGE and words.load(f"qtbase_{language}", folder):
        application.installTranslator(words)


def desktop() -> Desktop:
    """What the desktop tells of its user's region."""
    here = QLocale.system()
    return Desktop(
        "" if here.language() is QLocale.Language.C else here.name(),
        here.measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem,
        "AP" in here.timeFormat(QLocale.FormatType.ShortFormat).upper(),
    )


def chosen_theme() -> ThemeName | None:
    """The pilot's own theme; None while the desktop's is followed."""
    name = settings().value(_THEME_KEY)
    return next((theme for theme in THEME_NAMES if theme == name), None)


def choose_theme(application: QApplication, name: ThemeName | None) -> None:
    """Take a theme and keep it; None follows the desktop again."""
    settings().setValue(_THEME_KEY, name or "")
    show_theme(application, name or system_theme(application.styleHints()))


def step_theme(application: QApplication) -> None:
    """Take the next theme: light, dark, dim."""
    shown = chosen_theme() or system_theme(application.styleHints())
    choose_theme(application, next_theme(shown))


def step_text_scale(application: QApplication, steps: int) -> None:
    """Make all type larger or smaller by tenths; 0 goes back to 100 %."""
    scale = round(text_scale() + steps * _SCALE_STEP, 1) if steps else 1.0
    set_text_scale(application, scale)
    settings().setValue(_SCALE_KEY, text_scale())
