"""The figures in one table against the budgets: CPU time of this process, in milliseconds."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from _pytest.terminal import TerminalReporter
from PySide6.QtCore import QSettings

#: Milliseconds of CPU that a stage may take, on two cores.
BUDGETS_MS = {
    "warm core": 2.0, "slider to painted": 12.0, "every start": 20.0, "search": 100.0,
    "cold core": 150.0, "cold start": 1000.0,
}  # fmt: skip
_ROWS = pytest.StashKey[list[tuple[str, str, float, float]]]()

Measure = Callable[[str, str, Callable[[int], object], int], None]


def pytest_configure(config: pytest.Config) -> None:
    config.stash[_ROWS] = []


@pytest.fixture(autouse=True)
def own_settings(home: Path) -> None:
    """Keep the program's settings in the test's own home."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(home / "config"))


@pytest.fixture
def measure(request: pytest.FixtureRequest) -> Measure:
    """Give a way to time one step many times.

    `measure(name, budget, step, count)` calls step(0), step(1), …; the first two calls, which
    fill memories and load fonts, do not count. CPU time of the calling thread is taken: wall
    time on a shared machine measures the others too, and frames are drawn in a thread of their
    own, for which the budget of a slider does not pay.
    """

    def run(name: str, budget: str, step: Callable[[int], object], count: int) -> None:
        times_ms = []
        for k in range(count + 2):
            begin = time.thread_time()
            step(k)
            times_ms.append(1000.0 * (time.thread_time() - begin))
        p50, p95 = np.percentile(times_ms[2:], (50.0, 95.0))
        add_row(request.config, name, budget, float(p50), float(p95))

    return run


def add_row(config: pytest.Config, name: str, budget: str, p50_ms: float, p95_ms: float) -> None:
    """Put a line into the table at the end."""
    config.stash[_ROWS].append((name, budget, p50_ms, p95_ms))


def pytest_terminal_summary(terminalreporter: TerminalReporter, config: pytest.Config) -> None:
    rows = config.stash[_ROWS]
    if not rows:
        return
    terminalreporter.section("CPU time, ms")
    terminalreporter.write_line(f"{'':44}{'p50':>8}{'p95':>8}{'budget':>9}{'p95/budget':>12}")
    for name, budget, p50, p95 in sorted(rows):
        most = BUDGETS_MS.get(budget)
        against = f"{most:9.0f}{p95 / most:12.2f}" if most else ""
        terminalreporter.write_line(f"{name:44}{p50:8.2f}{p95:8.2f}{against}")
