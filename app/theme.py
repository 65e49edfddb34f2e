"""Colours, type and measures: the one table that everything is painted from.

A widget asks `theme_of(self)` for its tokens. The answer comes from its palette, so a window
can have a theme of its own and a change of theme reaches every widget as a palette change.
Sizes are pixels at 100 % text; `px` and `font` multiply them by the text scale. A change of
scale reaches every widget as a font change, and those that hold a font or margins of their
own by `scale_changes`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette, QStyleHints
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.resources import asset
from core.plan import ShootName

ThemeName = Literal["light", "dark", "dim"]
#: The order in which one key steps through the themes.
THEME_NAMES: Final[tuple[ThemeName, ...]] = ("light", "dark", "dim")

BODY_PX: Final = 13
_WEIGHTS = {400: "Regular", 500: "Medium", 600: "SemiBold", 700: "Bold"}
_FAMILY = "Inter"
LEAST_SCALE, MOST_SCALE = 0.75, 3.0

# Token: light, dark, dim. In dim red is never below green, nor green below blue, so that eyes
# stay adapted to the dark. A colour with eight figures starts with its opacity.
TOKENS: Final[dict[str, tuple[str, str, str]]] = {
    "window": ("#e6e8ea", "#15181c", "#0a0403"),
    "sheet": ("#f6f7f8", "#1c2025", "#110605"),
    "field": ("#ffffff", "#262b32", "#1b0a07"),
    "shade0": ("#fbfcfc", "#2b3138", "#200d09"),
    "shade1": ("#dfe3e7", "#0c0e11", "#070201"),
    "rule": ("#c9ced3", "#343b44", "#3a1710"),
    "edge": ("#757e87", "#7d8792", "#ad432c"),
    "ink": ("#14181d", "#eceff2", "#ff9a5c"),
    "ink2": ("#434b54", "#b4bcc5", "#ea7443"),
    "ink3": ("#5a636d", "#9099a3", "#dc5a35"),
    "a": ("#0a4a94", "#93c8ff", "#ffb37a"),
    "b": ("#9a4a00", "#ee9a3a", "#e0552e"),
    "alarm": ("#a8084c", "#ff7d9c", "#ff8a3d"),
    "on_a": ("#ffffff", "#0b1420", "#140503"),
    "on_b": ("#ffffff", "#1d1204", "#140503"),
    "on_alarm": ("#ffffff", "#22070a", "#140503"),
    "band": ("#d9ffffff", "#0fffffff", "#0eff9a5c"),
}


@dataclass(frozen=True)
class Theme:
    """The tokens of one theme as colours."""

    name: ThemeName
    window: QColor
    sheet: QColor
    field: QColor
    shade0: QColor
    shade1: QColor
    rule: QColor
    edge: QColor
    ink: QColor
    ink2: QColor
    ink3: QColor
    a: QColor
    b: QColor
    alarm: QColor
    on_a: QColor
    on_b: QColor
    on_alarm: QColor
    band: QColor

    @property
    def large_fills(self) -> bool:
        """Whether large areas may be filled; in dim they become outlines."""
        return self.name != "dim"

    def token(self, name: str) -> QColor:
        """The colour of a token by its name."""
        colour: QColor = getattr(self, name)
        return colour

    def shoot(self, name: ShootName) -> QColor:
        """The colour of shoot A or B."""
        return self.a if name == "A" else self.b

    def on_shoot(self, name: ShootName) -> QColor:
        """The colour of text on a flag of A or B."""
        return self.on_a if name == "A" else self.on_b


def faint(colour: QColor, share: float) -> QColor:
    """A fill of the same hue, `share` of it opaque: 0.07 a take, 0.22 a leg of a flight."""
    result = QColor(colour)
    result.setAlphaF(share)
    return result


def _theme(name: ThemeName) -> Theme:
    column = THEME_NAMES.index(name)
    return Theme(name, **{token: QColor(row[column]) for token, row in TOKENS.items()})


THEMES: Final[dict[ThemeName, Theme]] = {name: _theme(name) for name in THEME_NAMES}
_BY_WINDOW = {theme.window.rgb(): theme for theme in THEMES.values()}


def theme_of(widget: QWidget) -> Theme:
    """The theme that a widget is painted in."""
    return _BY_WINDOW.get(widget.palette().color(QPalette.ColorRole.Window).rgb(), THEMES["light"])


def palette_of(theme: Theme) -> QPalette:
    """The palette of a theme; what is disabled is `ink3` in a `rule` outline."""
    role = QPalette.ColorRole
    palette = QPalette()
    for colour, roles in (
        (theme.window, (role.Window,)),
        (theme.sheet, (role.AlternateBase,)),
        (theme.field, (role.Base, role.Button, role.ToolTipBase, role.Light)),
        (theme.rule, (role.Midlight, role.Mid)),
        (theme.edge, (role.Dark, role.Shadow)),
        (theme.ink, (role.Text, role.WindowText, role.ButtonText, role.ToolTipText)),
        (theme.ink3, (role.PlaceholderText,)),
        (theme.a, (role.Highlight, role.Accent, role.Link)),
        (theme.b, (role.LinkVisited,)),
        (theme.on_a, (role.HighlightedText,)),
        (theme.alarm, (role.BrightText,)),
    ):
        for one in roles:
            palette.setColor(one, colour)
    off = QPalette.ColorGroup.Disabled
    for one in (role.Text, role.WindowText, role.ButtonText, role.HighlightedText):
        palette.setColor(off, one, theme.ink3)
    palette.setColor(off, role.Highlight, theme.rule)
    return palette


def next_theme(name: ThemeName) -> ThemeName:
    """The theme after one, light, dark, dim and round again."""
    return THEME_NAMES[(THEME_NAMES.index(name) + 1) % len(THEME_NAMES)]


def system_theme(hints: QStyleHints) -> ThemeName:
    """The theme of the desktop; light where it does not say."""
    return "dark" if hints.colorScheme() == Qt.ColorScheme.Dark else "light"


def follow_system(application: QApplication, chosen: Callable[[], ThemeName | None]) -> None:
    """Keep to the desktop's light or dark while `chosen` returns no theme of the pilot's own."""
    hints = application.styleHints()

    def take() -> None:
        if chosen() is None:
            show_theme(application, system_theme(hints))

    hints.colorSchemeChanged.connect(take)
    take()


def show_theme(application: QApplication, name: ThemeName) -> None:
    """Paint every window in a theme, but those with a palette of their own."""
    palette = palette_of(THEMES[name])
    application.setPalette(palette)
    QToolTip.setPalette(palette)


def load_fonts() -> None:
    """Make the program's own type known to Qt, once."""
    if _FAMILY not in QFontDatabase.families():
        for weight in _WEIGHTS.values():
            QFontDatabase.addApplicationFont(str(asset(f"fonts/Inter-{weight}.otf")))


class ScaleChanges(QObject):
    """Tells widgets that keep a font or margins of their own that the text scale changed."""

    changed = Signal()


@lru_cache(maxsize=1)
def scale_changes() -> ScaleChanges:
    """The one object that tells of changes of the text scale."""
    return ScaleChanges()


# A bare number: it is asked for some hundred times a repaint.
_text_scale = 1.0


def text_scale() -> float:
    """The text scale, 1 at 100 %."""
    return _text_scale


def set_text_scale(application: QApplication, scale: float) -> None:
    """Set all type and measures to a share of their size, held to 75 to 300 %."""
    global _text_scale  # noqa: PLW0603 - one a process, as its font is
    _text_scale = min(max(scale, LEAST_SCALE), MOST_SCALE)
    application.setFont(font(BODY_PX))
    QToolTip.setFont(font(BODY_PX))
    scale_changes().changed.emit()


def px(pixels: float) -> int:
    """Return a measure of the design in logical pixels at the text scale."""
    return round(pixels * _text_scale)


def font(size_px: float, weight: int = 400) -> QFont:
    """Return the program's type at a size in pixels at 100 %, with figures of one width."""
    return QFont(_font(max(1, px(size_px)), weight))


@lru_cache(maxsize=128)
def _font(size_px: int, weight: int) -> QFont:
    made = QFont(_FAMILY)
    made.setPixelSize(size_px)
    made.setWeight(QFont.Weight(weight))
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    # Grey edges only: coloured ones would put blue into the dim theme.
    made.setStyleStrategy(
        QFont.StyleStrategy.PreferAntialias | QFont.StyleStrategy.NoSubpixelAntialias
    )
    made.setFeature(QFont.Tag("tnum"), 1)
    return made
