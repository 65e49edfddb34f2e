"""What every test of the window needs."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings


@pytest.fixture(autouse=True)
def own_settings(home: Path, request: pytest.FixtureRequest) -> None:
    """Keep the program's settings in the test's own home: Qt asks for the folder only once.

    Every test of the window has an application.
    """
    request.getfixturevalue("qapp")
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(home / "config"))
