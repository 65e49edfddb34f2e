"""The verdict band and the findings: ready words, figures to the unlucky side, ways out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from app.panels.findings import FindingsPanel
from app.panels.night import NightPanel
from app.panels.shoot import ShootPanel
from app.panels.verdict import VerdictPanel
from app.store import Store
from app.theme import THEME_NAMES, THEMES, ThemeName
from app.widgets.stamp import text_width
from core.verdict import verdict_of
from core.words import clock_text
from tests.evening import dress, plan_of, show

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def verdict(qtbot: QtBot, store: Store) -> VerdictPanel:
    dress()
    made = VerdictPanel(store)
    show(qtbot, made, 1280, 82)
    return made


@pytest.fixture
def findings(qtbot: QtBot, store: Store) -> FindingsPanel:
    dress()
    made = FindingsPanel(store)
    show(qtbot, made, 1280, 97)
    return made


# ---- the verdict ----


def test_the_band_says_what_the_core_says(verdict: VerdictPanel, store: Store) -> None:
    seen, shown = store.outlook("A"), verdict.shown
    assert seen is not None
    assert shown is not None
    words = verdict_of(seen, store.findings, store.starts("A"))
    assert (shown.first, shown.sentence) == (words.first, words.sentence)
    assert shown.settings == words.settings
    assert shown.place == "Eidskar Harbour"
    assert shown.when == ("Saturday 10 October 2026", "dusk, first visit")


def test_the_last_frame_is_cut_to_the_second_and_the_charge_rounded_up(
    verdict: VerdictPanel, store: Store
) -> None:
    seen, shown = store.outlook("A"), verdict.shown
    assert seen is not None
    assert shown is not None
    assert seen.latest_stop_s is not None
    assert seen.flight.stop_at_exact_percent is not None
    stop = seen.night.clock(math.floor(seen.latest_stop_s))
    assert shown.last_frame == clock_text(stop, seconds=True)
    assert stop.timestamp() <= seen.latest_stop_s
    percent = int(shown.charge.split()[1])
    assert percent >= seen.flight.stop_at_exact_percent > percent - 1


def test_minutes_to_spare_are_rounded_down(verdict: VerdictPanel, store: Store) -> None:
    seen, shown = store.outlook("A"), verdict.shown
    assert seen is not None
    assert shown is not None
    assert seen.flight.margin_min is not None
    assert not shown.short
    assert 0.0 <= seen.flight.margin_min - float(shown.spare) < 0.1


def test_missing_minutes_are_rounded_up_and_marked(verdict: VerdictPanel, store: Store) -> None:
    store.edit("clip length", {"shoots.A.clip_length_s": 14.0})
    store.settle_now()
    seen, shown = store.outlook("A"), verdict.shown
    assert seen is not None
    assert shown is not None
    assert seen.flight.margin_min is not None
    assert shown.short
    assert shown.spare_unit == "min short"
    assert 0.0 <= float(shown.spare) + seen.flight.margin_min < 0.1
    assert shown.first == "Does not hold."


def test_the_figures_are_those_of_the_active_shoot(verdict: VerdictPanel, store: Store) -> None:
    first = verdict.shown
    store.set_active("B")
    second = verdict.shown
    assert first is not None
    assert second is not None
    assert (first.active, second.active) == ("A", "B")
    assert second.last_frame != first.last_frame
    assert second.other_first == first.first


def test_a_screen_reader_hears_the_verdict(verdict: VerdictPanel) -> None:
    shown = verdict.shown
    assert shown is not None
    said = verdict.accessibleDescription()
    assert said.startswith(f"A: {shown.first} {shown.sentence}")
    assert f"Last frame by {shown.last_frame} {shown.charge}" in said


def test_the_count_of_cautions_does_not_flicker_before_the_findings_have_caught_up(
    verdict: VerdictPanel, store: Store
) -> None:
    store.edit("cold", {"shoots.A.conditions.temperature_c": -2.0, "shoots.A.clip_length_s": 2.0})
    store.settle_now()
    starts, seen = store.starts("A"), store.outlook("A")
    assert starts is not None
    assert starts.best_s is not None
    assert seen is not None
    minutes = (starts.best_s - seen.night.event.time_s) / 60.0
    store.edit("start", {"shoots.A.start_after_event_min": minutes})
    store.settle_now()
    before = verdict.shown
    assert before is not None
    assert before.first.startswith("Holds, ")
    store.edit("start", {"shoots.A.start_after_event_min": _start_min(store) + 0.1})
    during = verdict.shown
    assert during is not None
    assert during.first == before.first
    assert during.last_frame != before.last_frame


@pytest.mark.parametrize("step_min", [-40.0, -3.0, -0.5, 0.5, 3.0, 40.0])
def test_no_paint_shows_the_press_or_the_verdict_of_before(
    verdict: VerdictPanel, store: Store, step_min: float
) -> None:
    store.edit("start", {"shoots.A.start_after_event_min": _start_min(store) + step_min})
    shown, seen = verdict.shown, store.outlook("A")
    assert shown is not None
    assert seen is not None
    holds = seen.judgement.slack_stops >= 0.0 and seen.flight.fits
    assert shown.first.startswith("Holds") == holds
    if holds:
        assert clock_text(seen.night.clock(seen.press_s), seconds=True) in shown.sentence


def _start_min(store: Store) -> float:
    assert store.plan is not None
    return store.plan.shoots.A.start_after_event_min


def test_without_a_plan_the_band_is_empty(qtbot: QtBot) -> None:
    dress()
    panel = VerdictPanel(Store())
    qtbot.addWidget(panel)
    panel.resize(1280, 82)
    assert panel.shown is None
    colours = {panel.grab().toImage().pixelColor(x, 40).name() for x in range(0, 1280, 40)}
    assert colours == {THEMES["light"].sheet.name()}


# ---- the findings ----


def test_the_worst_findings_come_first(findings: FindingsPanel, store: Store) -> None:
    assert store.findings is not None
    assert [row.finding for row in findings.rows] == list(store.findings)
    ranks = [("stop", "warn", "note").index(row.finding.severity) for row in findings.rows]
    assert ranks == sorted(ranks)


def test_three_rows_are_seen_and_the_rest_scrolls(findings: FindingsPanel) -> None:
    assert len(findings.rows) > 3
    assert findings.sizeHint().height() == 3 * 32 + 1
    assert [row.height() for row in findings.rows] == [32] * len(findings.rows)


def test_in_a_narrow_window_the_rest_goes_below_the_fact(
    findings: FindingsPanel, qtbot: QtBot
) -> None:
    findings.resize(560, 97)
    qtbot.waitUntil(lambda: max(row.height() for row in findings.rows) >= 48)


def test_a_remedy_is_one_step_and_mends_its_finding(findings: FindingsPanel, store: Store) -> None:
    row = next(row for row in findings.rows if row.buttons)
    code, shoot = row.finding.code, row.finding.shoot
    label = row.finding.remedies[0].label
    QTest.mouseClick(row.buttons[0], LEFT)
    store.settle_now()
    assert store.findings is not None
    assert (code, shoot) not in {(finding.code, finding.shoot) for finding in store.findings}
    assert store.undo_stack.undoText() == label
    store.undo_stack.undo()
    assert store.plan == plan_of()


def test_a_row_keeps_its_place_while_the_hand_moves(
    findings: FindingsPanel, store: Store, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = [row.key for row in findings.rows]
    monkeypatch.setattr(QGuiApplication, "mouseButtons", lambda: LEFT)
    # A has a problem now, which ranks before what stands there already.
    store.edit("clip length", {"shoots.A.clip_length_s": 14.0})
    store.settle_now()
    during = [row.key for row in findings.rows]
    assert during[: len(before)] == [key for key in before if key in during]
    assert len(during) > len(before)
    monkeypatch.setattr(QGuiApplication, "mouseButtons", lambda: Qt.MouseButton.NoButton)
    assert store.findings is not None
    ordered = list(store.findings)
    qtbot.waitUntil(lambda: [row.finding for row in findings.rows] == ordered)


def test_other_figures_keep_the_row(findings: FindingsPanel, store: Store) -> None:
    rows = {row.key: row for row in findings.rows}
    store.edit("start", {"shoots.B.start_after_event_min": 19.0})
    store.settle_now()
    kept = [row for row in findings.rows if rows.get(row.key) is row]
    assert kept
    assert all(store.findings and row.finding in store.findings for row in kept)


def test_every_row_and_button_has_a_name(findings: FindingsPanel) -> None:
    for row in findings.rows:
        assert row.finding.fact in row.accessibleName()
        assert row.accessibleName().startswith(("Problem, ", "Caution, ", "Note, "))
        for button, remedy in zip(row.buttons, row.finding.remedies, strict=True):
            assert button.accessibleName().startswith(remedy.label)


# ---- all panels together ----


def whole(store: Store) -> QWidget:
    window = QWidget()
    layout = QVBoxLayout(window)
    for panel in (VerdictPanel(store), FindingsPanel(store), NightPanel(store), ShootPanel(store)):
        layout.addWidget(panel)
    window.resize(900, 1600)
    return window


def pixels(widget: QWidget) -> np.ndarray[tuple[int, ...], np.dtype[np.int16]]:
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), -1)
    colours = rows[:, : image.width() * 3].reshape(image.height(), image.width(), 3)
    return colours.astype(np.int16)


def test_every_pixel_of_the_dim_panels_is_red_before_green_before_blue(
    qtbot: QtBot, store: Store
) -> None:
    dress("dim")
    window = whole(store)
    qtbot.addWidget(window)
    seen = pixels(window)
    dress()
    assert (seen[..., 0] >= seen[..., 1]).all()
    assert (seen[..., 1] >= seen[..., 2]).all()


@pytest.mark.parametrize("name", THEME_NAMES)
def test_a_change_of_theme_repaints_all_panels(qtbot: QtBot, store: Store, name: ThemeName) -> None:
    dress("light")
    window = whole(store)
    show(qtbot, window, 900, 1600)
    dress(name)
    changed = pixels(window)
    fresh = whole(store)
    show(qtbot, fresh, 900, 1600)
    expected = pixels(fresh)
    dress()
    # The blinking cursor and the focus may stand elsewhere.
    differs = (changed != expected).any(axis=2).mean()
    assert differs < 0.005


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_no_text_of_the_columns_is_cut(qtbot: QtBot, store: Store, scale: float) -> None:
    dress(scale=scale)
    for panel, width in ((NightPanel(store), 232), (ShootPanel(store), 288)):
        show(qtbot, panel, round(width * scale), round(700 * scale))
        assert panel.minimumSizeHint().width() <= width * scale
        assert panel.sizeHint().height() <= 620 * scale
    dress()


def test_the_findings_leave_a_low_window_to_the_sheet(
    findings: FindingsPanel, store: Store
) -> None:
    assert len(findings.rows) >= 2
    heights = [row.height() for row in findings.rows[:3]]
    findings.fit_window(6 * sum(heights))
    assert findings.sizeHint().height() == sum(heights) + 1
    findings.fit_window(6 * sum(heights[:2]))
    assert findings.sizeHint().height() == sum(heights[:2]) + 1
    findings.fit_window(100)
    assert findings.sizeHint().height() == heights[0] + 1
    store.open(None)
    assert findings.sizeHint().height() > 0


def test_what_fails_in_the_other_shoot_comes_before_its_settings(
    verdict: VerdictPanel, store: Store
) -> None:
    store.edit("b", {"shoots.B.iso": 1600.0})
    store.settle_now()
    shown, seen = verdict.shown, store.outlook("B")
    assert shown is not None
    assert seen is not None
    assert shown.other_first == "Does not hold."
    clock = clock_text(seen.night.clock(seen.press_s), seconds=True)
    assert shown.other_sentences[0].index(clock) > shown.other_sentences[0].index("burn")


def written(panel: VerdictPanel, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The texts that the band writes, as they stand there."""
    texts: list[str] = []

    def note(*told: object) -> None:
        texts.append(str(told[2]))

    monkeypatch.setattr("app.panels.verdict.write", note)
    panel.grab()
    return texts


@pytest.mark.parametrize("width", [1280, 1000, 860, 760])
def test_what_fails_is_told_whole_where_the_room_is_narrow(
    verdict: VerdictPanel, store: Store, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    """At 200 % text on 1280 x 800 there are as many letters' room as here on 640 to 860."""
    verdict.set_column_widths(0, 288)
    store.edit("b", {"shoots.B.iso": 1600.0})
    store.settle_now()
    verdict.resize(width, 82)
    shown = verdict.shown
    assert shown is not None
    fails = shown.other_sentences[-1]
    assert fails.endswith(".")
    told = next(text for text in written(verdict, monkeypatch) if text.startswith(fails[:9]))
    assert fails in told
    assert "\N{HORIZONTAL ELLIPSIS}" not in told


def test_a_long_fact_is_seen_whole_in_more_lines(
    findings: FindingsPanel, store: Store, qtbot: QtBot
) -> None:
    """A tip must not hold the only copy of a fact."""
    store.edit("charge", {"shoots.A.battery_start_percent": 40.0})
    store.settle_now()
    findings.resize(560, 97)
    row = next(row for row in findings.rows if row.finding.fact.startswith("No charge"))
    assert text_width(row.finding.fact, (13, 600)) > 560
    qtbot.waitUntil(lambda: row.height() >= 32 + 2 * 16)
    words = row._words
    assert words.lines(words.width()) * 16 <= row.height()
    # With the window low, two lines of it are seen and the rest scrolls.
    findings.fit_window(100)
    assert findings.sizeHint().height() == 48 + 1
