"""One environment for every test: no screen, a fixed locale and clock zone, a home of its own."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from core.manner import Manner, adopt

# Read by Qt when it is first imported, so set before any test module is. A screen that is asked
# for stays: QT_QPA_PLATFORM=xcb runs the same tests in real windows.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ["QT_SCALE_FACTOR"] = "1"
# As `app.__main__` has it: times are those of the program.
os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["LANG"] = os.environ["LC_ALL"] = "C.UTF-8"
# No scenario lies there, so a time that was read from this machine's zone stands out.
os.environ["TZ"] = "Pacific/Chatham"
if hasattr(time, "tzset"):
    time.tzset()

# A deadline for one example would measure the machine, not the code.
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, database=None)
settings.load_profile("ci" if os.environ.get("CI") else "here")


@pytest.fixture(autouse=True)
def plain_manner() -> Iterator[None]:
    """Leave the process writing as it did: metres, 24 hours, English."""
    yield
    adopt(Manner())


@pytest.fixture
def german() -> None:
    """Write in German; what was told at import stays English."""
    adopt(Manner(language="de", dates="de_DE"))


@pytest.fixture(autouse=True)
def home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give each test an empty home, so that it neither finds nor leaves settings."""
    folder = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("HOME", str(folder))
    for name, below in (
        ("XDG_CONFIG_HOME", "config"),
        ("XDG_DATA_HOME", "data"),
        ("XDG_STATE_HOME", "state"),
        ("XDG_CACHE_HOME", "cache"),
        ("XDG_DOCUMENTS_DIR", "documents"),
    ):
        monkeypatch.setenv(name, str(folder / below))
    runtime = folder / "runtime"
    runtime.mkdir(mode=0o700)  # Qt complains about a runtime folder that others can read
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(runtime))
    return folder
