"""The field window's own theme: dim once the sun is down, or what the pilot chose for it."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.settings import settings
from app.theme import THEMES, ThemeName, next_theme, palette_of, theme_of
from core.language import say
from core.night import Night

#: One line, also at twice the size: what is told takes room from the countdown.
DIM_TOLD = say("Turn the screen's own brightness down too.")
_THEME_KEY, _DIM_TOLD_KEY = "field_theme", "field_dim_told"


def dress(window: QWidget, night: Night | None, now_s: float) -> str:
    """Paint a window as it opens, and return what the pilot should know of it, once."""
    kept = settings().value(_THEME_KEY)
    name = next((theme for theme in THEMES if theme == kept), None)
    if name is None and night is not None and _is_dark_side(night, now_s):
        name = "dim"
    return "" if name is None else _put(window, name)


def step(window: QWidget) -> str:
    """Paint a window in the next theme and keep that; what the pilot should know of it, once."""
    name = next_theme(theme_of(window).name)
    settings().setValue(_THEME_KEY, name)
    return _put(window, name)


def _is_dark_side(night: Night, now_s: float) -> bool:
    return (now_s > night.event.time_s) == (night.twilight == "dusk")


def _put(window: QWidget, name: ThemeName) -> str:
    window.setPalette(palette_of(THEMES[name]))
    if name != "dim" or settings().value(_DIM_TOLD_KEY):
        return ""
    settings().setValue(_DIM_TOLD_KEY, "told")
    return DIM_TOLD
