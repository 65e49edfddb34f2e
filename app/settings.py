"""Where the program keeps what it remembers between runs: windows, recent files, the theme."""

from __future__ import annotations

from PySide6.QtCore import QSettings


def settings() -> QSettings:
    """The program's own settings file of this user."""
    return QSettings(
        QSettings.Format.IniFormat, QSettings.Scope.UserScope, "duskwright", "duskwright"
    )
