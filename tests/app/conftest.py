"""What every test of the window needs."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from app.collecting import collect_if_due
from app.store import Store
from app.theme import load_fonts, set_text_scale, show_theme
from tests.evening import plan_of


@pytest.fixture(autouse=True)
def own_settings(home: Path, request: pytest.FixtureRequest) -> None:
    """Keep the program's settings in the test's own home: Qt asks for the folder only once.

    Every test of the window has an application.
    """
    request.getfixturevalue("qapp")
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(home / "config"))


@pytest.fixture(autouse=True)
def own_garbage() -> Iterator[None]:
    """Collect between tests, in this thread: what one test left must not die in another's."""
    gc.disable()
    yield
    collect_if_due()


@pytest.fixture(scope="module")
def warm(qapp: object) -> Store:  # noqa: ARG001 (a store needs the application)
    """A store that remembers the stages of the evening from one test to the next."""
    return Store()


@pytest.fixture
def store(warm: Store) -> Store:
    """A store with the evening of `tests.evening`, settled; other modules have one of their own."""
    warm.open(plan_of())
    warm.settle_now()
    return warm


@pytest.fixture
def plain_looks(qapp: QApplication) -> Iterator[None]:
    """The light theme at 100 %, before and after."""
    load_fonts()
    show_theme(qapp, "light")
    set_text_scale(qapp, 1.0)
    qapp.processEvents()
    yield
    set_text_scale(qapp, 1.0)
    show_theme(qapp, "light")
