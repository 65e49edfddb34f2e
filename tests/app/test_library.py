"""The library of crafts and cameras: ready ones, the pilot's own, its file, and its rows."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from pytestqt.qtbot import QtBot

from app.library import forget_kit, keep_kit, library
from app.resources import demo_sites
from app.store import Store
from app.widgets.kit_row import KitRow
from core.edit import PlanError
from core.kits import READY, KitKind, Library, library_from, library_text, with_kit
from core.plan import Camera, Craft
from core.planfile import load

ROOT = Path(__file__).parents[2]


@pytest.fixture
def store() -> Store:
    """A store with a ready plan."""
    store = Store()
    store.open(load(demo_sites()[0]))
    return store


@pytest.mark.parametrize(
    ("name", "mass_kg", "prop_m"),
    [("250 g class", 0.249, 0.152), ("600 g class", 0.595, 0.185), ("900 g class", 0.900, 0.238)],
)
def test_ready_crafts_hover_as_momentum_theory_says(
    name: str, mass_kg: float, prop_m: float
) -> None:
    """v_h = sqrt(T / (2 ρ A)), Leishman 2006, Principles of Helicopter Aerodynamics, eq. 2.15."""
    craft = READY["craft"][name]
    assert isinstance(craft, Craft)
    discs_m2 = 4.0 * math.pi / 4.0 * prop_m**2
    induced = math.sqrt(mass_kg * 9.80665 / (2.0 * 1.1839 * discs_m2))
    assert craft.mass_kg == mass_kg
    assert craft.hover_induced_m_s == pytest.approx(induced, abs=0.01)


@pytest.mark.parametrize("kind", ["craft", "camera"])
def test_every_ready_kit_stands_in_a_plan(store: Store, kind: KitKind) -> None:
    for name, kit in READY[kind].items():
        store.edit(name, {kind: kit})
        assert store.plan is not None
        assert getattr(store.plan, kind) == kit


def test_what_is_kept_is_there_in_the_next_run_and_can_be_forgotten() -> None:
    craft = Craft(rated_min=27.0)
    keep_kit("craft", "  my  old   craft ", craft)
    keep_kit("camera", "Ünïcode \N{CAMERA}", Camera(write_time_s=2.5))
    assert library().own("craft") == {"my old craft": craft}
    assert library().name_of("craft", craft) == "my old craft"
    assert library().name_of("craft", Craft()) == "250 g class"
    forget_kit("craft", "my old craft")
    assert library().own("craft") == {}
    assert list(library().own("camera")) == ["Ünïcode \N{CAMERA}"]


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "250 g class"])
def test_a_name_that_cannot_stand_is_refused_in_one_sentence(name: str) -> None:
    with pytest.raises(PlanError) as refusal:
        with_kit(Library(), "craft", name, Craft())
    assert str(refusal.value).endswith(".")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (b"{", "holds no library"),
        (b'{"crafts": {"\xff": {}}}', "holds no library"),
        (b'{"crafts": {"x": ' + b"[" * 5000, "holds no library"),
        (b'{"crafts": {"x": {"rated_min": -3}}}', "craft.rated_min is -3"),
        (b'{"crafts": {"x": 7}}', "'x' in the library"),
        (b'{"cameras": {"x": {"isos": []}}}', "camera.isos"),
    ],
)
def test_a_file_that_cannot_be_used_is_told_and_stays(
    home: Path, text: bytes, expected: str
) -> None:
    path = home / "data" / "duskwright" / "library.json"
    path.parent.mkdir(parents=True)
    path.write_bytes(text)
    for use in (library, lambda: keep_kit("craft", "mine", Craft())):
        with pytest.raises(PlanError, match="library") as refusal:
            use()
        assert expected in str(refusal.value)
        assert str(path) in str(refusal.value)
    assert path.read_bytes() == text


def test_a_library_is_read_as_it_was_written() -> None:
    kept = Library(crafts={"a": Craft(rated_min=21.5)}, cameras={"b": Camera(f_numbers=(2.8, 4.0))})
    assert library_from(library_text(kept)) == kept


def test_a_craft_is_taken_in_one_step_and_kept_from_the_rows(qtbot: QtBot, store: Store) -> None:
    row = KitRow(store, "craft")
    qtbot.addWidget(row)
    row.box.setCurrentIndex(row.box.findData("600 g class"))
    row.box.activated.emit(row.box.currentIndex())
    assert store.plan is not None
    assert store.plan.craft == READY["craft"]["600 g class"]
    assert store.undo_stack.undoText() == "craft 600 g class"
    assert not row.forget.isEnabled()
    store.edit("rated time", {"craft.rated_min": 29.0})
    row.refresh()
    assert row.box.currentData() is None
    row.keep.click()
    assert "Name is empty" in row.refusal
    row.name.setText("the grey one")
    row.keep.click()
    assert not row.refusal
    assert row.box.currentText() == "the grey one"
    assert library().own("craft")["the grey one"] == store.plan.craft
    row.forget.click()
    assert library().own("craft") == {}
    assert msgspec.structs.asdict(store.plan.craft)["rated_min"] == 29.0


def test_two_processes_that_keep_kits_at_once_lose_none(home: Path) -> None:
    keep = (
        "import sys; from app.library import keep_kit; from core.plan import Craft\n"
        "for k in range(10): keep_kit('craft', f'{sys.argv[1]} {k}', Craft())"
    )
    env = {**os.environ, "HOME": str(home)}
    running = [
        subprocess.Popen([sys.executable, "-c", keep, name], env=env, cwd=ROOT)
        for name in ("one", "two")
    ]
    assert [one.wait(60) for one in running] == [0, 0]
    kept = set(library().crafts)
    assert kept == {f"{name} {k}" for name in ("one", "two") for k in range(10)}
