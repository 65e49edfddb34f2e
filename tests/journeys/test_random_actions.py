"""A pilot without a plan: random edits, drags, undos, opens and saves in the real window.

`ACTIONS=10000 pytest tests/journeys/test_random_actions.py` takes some ten minutes; the suite does
fewer each time, with another seed each time.
"""

from __future__ import annotations

import os
import random
import resource
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.resources import demo_sites
from app.widgets.scale_slider import ScaleSlider
from app.widgets.value_field import ValueField
from app.window import MainWindow
from core.plan import Plan
from core.planfile import load
from tests.app.windows import settle, window

__all__ = ["window"]

ACTIONS = int(os.environ.get("ACTIONS", "150"))
LEFT = Qt.MouseButton.LeftButton
TEXTS = (
    "", " ", "1/4", "0.25 s", "2 min", "16:42", "sunset+19", "-3", "99999", "ISO 100", "none",
    "12 kn", "\N{MINUS SIGN}8°", "NaN", "1e400", "hazy", "4/8", "7 °C", "tomorrow", "2026-11-30",
    "\N{FULLWIDTH DIGIT THREE}", "'; --", "x" * 300,
)  # fmt: skip


class Pilot:
    """Presses, drags and types at random, and knows what undo must bring back."""

    def __init__(self, window: MainWindow, seed: int, folder: Path) -> None:
        self.window, self.folder = window, folder
        self.chance = random.Random(seed)  # noqa: S311 - no secret
        self.plans: dict[int, Plan] = {}
        self.done: list[str] = []
        self.compared = 0
        self.acts: tuple[tuple[int, Callable[[], None]], ...] = (
            (8, self.slide), (6, self.press_key), (6, self.type_text), (3, self.drag_on_the_sheet),
            (2, self.drag_on_the_path), (5, self.undo), (3, self.redo), (2, self.change_shoot),
            (2, self.change_night), (1, self.move_shoots), (1, self.mend), (1, self.best_start),
            (1, self.save), (1, self.open_another),
        )  # fmt: skip
        self.remember()

    @property
    def plan(self) -> Plan:
        """The plan as it stands."""
        assert self.window.store.plan is not None
        return self.window.store.plan

    def remember(self) -> None:
        """Keep the plan under its place in the history."""
        stack = self.window.store.undo_stack
        self.plans = {at: plan for at, plan in self.plans.items() if at < stack.index()}
        self.plans[stack.index()] = self.plan

    def act(self) -> None:
        """Do one thing."""
        weights = [weight for weight, _ in self.acts]
        (_, act), *_ = self.chance.choices(self.acts, weights)
        self.done.append(act.__name__)
        act()
        if act not in (self.undo, self.redo):
            self.remember()
        if self.chance.random() < 0.1:
            QApplication.processEvents()

    def row(self) -> ScaleSlider:
        """A slider that is seen."""
        rows = (self.window.shoot.start, *self.window.shoot.rows.values())
        return self.chance.choice([row.slider for row in rows if row.isVisible()])

    def slide(self) -> None:
        """Drag a slider through a few places."""
        slider = self.row()
        y = slider.height() // 2
        places = [QPoint(self.chance.randrange(slider.width()), y) for _ in range(3)]
        QTest.mousePress(slider, LEFT, pos=places[0])
        for place in places[1:]:
            QTest.mouseMove(slider, place)
        QTest.mouseRelease(slider, LEFT, pos=places[-1])

    def press_key(self) -> None:
        """Step a slider by a key."""
        keys = (
            Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown,
            Qt.Key.Key_Home, Qt.Key.Key_End, Qt.Key.Key_Backspace,
        )  # fmt: skip
        shift = self.chance.choice(
            (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier)
        )
        QTest.keyClick(self.row(), self.chance.choice(keys), shift)

    def type_text(self) -> None:
        """Type something into a field, sense or nonsense, and leave it."""
        fields = [one for one in self.window.findChildren(ValueField) if one.isVisible()]
        field = self.chance.choice([one for one in fields if one.isEnabled()])
        field.setFocus()
        field.setText(self.chance.choice(TEXTS))
        field.setModified(True)
        QTest.keyClick(field, self.chance.choice((Qt.Key.Key_Return, Qt.Key.Key_Escape)))

    def drag_on_the_sheet(self) -> None:
        """Drag across the tones: perhaps a take, perhaps nothing."""
        tone = self.window.sheet.tone
        begin, end = (
            QPoint(self.chance.randrange(tone.width()), self.chance.randrange(tone.height()))
            for _ in range(2)
        )
        QTest.mousePress(tone, LEFT, pos=begin)
        QTest.mouseMove(tone, end)
        QTest.mouseRelease(tone, LEFT, pos=end)

    def drag_on_the_path(self) -> None:
        """Nudge or drag a station."""
        sketch = self.window.night.path.sketch
        number = self.chance.randrange(len(self.plan.path.stations))
        sketch.grasped.emit()
        if self.chance.random() < 0.5:
            sketch.placed.emit(number, *(float(self.chance.randrange(-300, 300)) for _ in "en"))
        else:
            key = self.chance.choice(("up_m", "heading_deg", "pitch_deg"))
            sketch.nudged.emit(number, key, float(self.chance.randrange(-20, 20)))

    def undo(self) -> None:
        """Take the last step back: the plan before it is there again."""
        if self.window.store.undo_stack.canUndo():
            self.window.store.undo_stack.undo()
            self.compare()

    def redo(self) -> None:
        """Take it forth again."""
        if self.window.store.undo_stack.canRedo():
            self.window.store.undo_stack.redo()
            self.compare()

    def compare(self) -> None:
        """Hold the plan against the one that was left at this place of the history.

        Where one act made two steps, the place between them was never seen.
        """
        at = self.window.store.undo_stack.index()
        if at in self.plans:
            assert self.plan == self.plans[at]
            self.compared += 1

    def change_shoot(self) -> None:
        """Turn to the other shoot."""
        self.window.store.set_active(self.chance.choice(("A", "B")))

    def change_night(self) -> None:
        """Another day, or dusk for dawn."""
        night = self.window.night
        button = self.chance.choice(
            (night.before, night.after, night.twilight.button(0), night.twilight.button(1))
        )
        button.click()

    def move_shoots(self) -> None:
        """Copy or swap."""
        came_from = self.chance.choice(({"B": "A"}, {"A": "B"}, {"A": "B", "B": "A"}))
        self.window.document.move_shoots("move", came_from)  # type: ignore[arg-type]

    def mend(self) -> None:
        """Take a remedy of a finding."""
        self.window.store.settle_now()
        remedies = [one for finding in self.window.store.findings or () for one in finding.remedies]
        if remedies:
            self.window.store.begin_gesture()
            self.window.store.edit("mend", dict(self.chance.choice(remedies).values))

    def best_start(self) -> None:
        """Press the button."""
        self.window.store.settle_now()
        self.window.shoot.best_start.click()

    def save(self) -> None:
        """Save, and find the same in the file."""
        path = self.folder / f"{self.chance.randrange(3)}.duskplan"
        self.window.document.save(path)
        assert load(path) == self.plan

    def open_another(self) -> None:
        """Begin with a ready site again."""
        self.window.document.open_copy(self.chance.choice(demo_sites()))
        self.plans = {}


def test_whatever_is_pressed_nothing_breaks_and_undo_is_true(
    window: MainWindow, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    seed = random.randrange(2**32)  # noqa: S311 - no secret
    record_property("seed", seed)
    pilot = Pilot(window, seed, tmp_path)
    peaks = []
    for half in range(2):
        for _ in range(ACTIONS // 2):
            try:
                pilot.act()
            except Exception as broke:
                broke.add_note(f"seed {seed}, step {len(pilot.done)}: {pilot.done[-20:]}")
                raise
        settle(window)
        peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)
        del half
    assert pilot.compared > 0
    # The store keeps 500 steps and a few forecasts; more would be a leak.
    assert peaks[1] - peaks[0] < 150.0, peaks
