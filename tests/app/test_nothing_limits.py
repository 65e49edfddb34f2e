"""A frame that nothing limits, all of it sky that may burn: told everywhere without a figure."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.store import Store
from core.edit import with_values
from core.plan import Plan
from core.planfile import save
from core.words import NOTHING, slack_text
from tests.app.commands import answered
from tests.app.panes import click, site_plan, type_into
from tests.evening import dress
from tests.render import settle, window_of


@pytest.fixture
def plan() -> Plan:
    """A ready site's plan with the camera turned up."""
    plan = site_plan("corvane_harbour")
    up = {f"path.stations.{k}.pitch_deg": 20.0 for k in range(len(plan.path.stations))}
    tele = {"camera.focal_equivalent_mm": 200.0, "bands.sky.clip_area_share": 1.0}
    return with_values(plan, {**up, **tele})


def test_no_distance_has_no_figure() -> None:
    assert slack_text(math.inf) == NOTHING


@pytest.mark.parametrize(
    "words",
    [
        ("forecast",),
        ("starts",),
        ("settings",),
        ("rescue", "--now", "19:20"),
        ("series", "--now", "19:20"),
        ("nights", "--twilight", "dusk", "--from", "2026-10-17", "--to", "2026-10-18"),
    ],
)
def test_every_page_is_written(plan: Plan, tmp_path: Path, words: tuple[str, ...]) -> None:
    path = tmp_path / "up.duskplan"
    save(plan, path)
    page = answered(words[0], str(path), *words[1:])
    assert NOTHING in page or "nothing in the frame limits it" in page
    assert "inf" not in page


def test_every_window_is_filled(qtbot: QtBot, plan: Plan) -> None:
    dress()
    window = window_of(plan)
    qtbot.addWidget(window)
    settle(window)
    best = window.beside.best()
    qtbot.waitUntil(lambda: not best.searching and bool(best.choices), timeout=30_000)
    window.beside.compare()
    late = window.beside.late()
    type_into(late.now, "19:20")
    click(late.look_button)
    qtbot.waitUntil(lambda: bool(late.options), timeout=30_000)
    assert late.options[0].slack_stops == math.inf
    click(late.series_button)
    qtbot.waitUntil(lambda: bool(late.takes), timeout=30_000)
    assert any(take.slack_stops == math.inf for take in late.takes)
    window.beside.close()


def test_a_chance_without_a_limit_is_whole(plan: Plan) -> None:
    store = Store()
    store.open(plan)
    store.settle_now()
    starts = store.starts("A")
    assert starts is not None
    assert set(starts.p_hold) == {1.0}
