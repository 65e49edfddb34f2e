"""The file behind the window: nothing the pilot made is ever lost."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest

from app.document import PlanDocument, recent_plans
from app.store import Store
from core.edit import PlanError, new_plan


@pytest.fixture
def document() -> PlanDocument:
    store = Store()
    made = PlanDocument(store, store)
    made.start(new_plan("Quay", 38.0, 0.5, dt.date(2026, 12, 5)))
    return made


def _store(document: PlanDocument) -> Store:
    store = document.parent()
    assert isinstance(store, Store)
    return store


def unsaved(document: PlanDocument) -> bool:
    """Ask anew each time: the answer changes behind the document's back."""
    return document.unsaved


def test_a_new_plan_is_unsaved_until_it_is_saved(document: PlanDocument, tmp_path: Path) -> None:
    assert unsaved(document)
    document.save(tmp_path / "quay.duskplan")
    assert not unsaved(document)
    _store(document).edit("ISO", {"shoots.A.iso": 400.0})
    assert unsaved(document)
    _store(document).undo_stack.undo()
    assert not unsaved(document)


def test_save_and_reopen_gives_an_equal_plan(document: PlanDocument, tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    store = _store(document)
    store.edit("ISO", {"shoots.A.iso": 400.0, "place.name": 'Quay 日没 "east"'})
    plan = store.plan
    document.save(path)
    document.open(path)
    assert store.plan == plan
    assert not unsaved(document)


def test_unknown_keys_of_the_file_survive_editing_and_saving(
    document: PlanDocument, tmp_path: Path
) -> None:
    path = tmp_path / "quay.duskplan"
    document.save(path)
    raw = json.loads(path.read_text(encoding="utf-8"))
    raw["place"]["parking"] = "behind the church"
    path.write_text(json.dumps(raw), encoding="utf-8")
    document.open(path)
    _store(document).edit("ISO", {"shoots.A.iso": 400.0})
    document.save(path)
    saved = json.loads(path.read_text(encoding="utf-8"))
    assert saved["place"]["parking"] == "behind the church"
    assert saved["shoots"]["A"]["iso"] == 400.0


def test_a_bad_file_leaves_the_open_plan_alone(document: PlanDocument, tmp_path: Path) -> None:
    bad = tmp_path / "bad.duskplan"
    bad.write_text("{", encoding="utf-8")
    plan = _store(document).plan
    with pytest.raises(PlanError):
        document.open(bad)
    assert _store(document).plan is plan
    assert unsaved(document)
    assert bad.read_text(encoding="utf-8") == "{"


def test_a_failed_save_stays_unsaved(document: PlanDocument, tmp_path: Path) -> None:
    with pytest.raises(PlanError):
        document.save(tmp_path / "no such folder" / "quay.duskplan")
    assert unsaved(document)
    assert document.path is None


def test_a_ready_site_opens_as_a_copy(document: PlanDocument, tmp_path: Path) -> None:
    ready = tmp_path / "ready.duskplan"
    document.save(ready)
    before = ready.read_bytes()
    document.open_copy(ready)
    assert document.path is None
    assert not unsaved(document)
    _store(document).edit("ISO", {"shoots.A.iso": 400.0})
    assert unsaved(document)
    assert ready.read_bytes() == before


def test_recent_plans_are_the_last_ones_first(document: PlanDocument, tmp_path: Path) -> None:
    one, two = tmp_path / "one.duskplan", tmp_path / "two.duskplan"
    document.save(one)
    document.save(two)
    document.save(one)
    assert recent_plans()[:2] == [one.resolve(), two.resolve()]
    one.unlink()
    assert recent_plans()[0] == two.resolve()
