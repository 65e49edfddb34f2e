"""The file behind the window: nothing the pilot made is ever lost."""

from __future__ import annotations

import datetime as dt
import json
import os
from pathlib import Path
from typing import Any

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


def test_a_file_that_was_changed_meanwhile_is_not_replaced(
    document: PlanDocument, tmp_path: Path
) -> None:
    path = tmp_path / "quay.duskplan"
    document.save(path)
    document.save(path)
    with_note = path.read_text(encoding="utf-8").replace('"schema"', '"by_hand": 1, "schema"', 1)
    path.write_text(with_note, encoding="utf-8")
    _store(document).edit("ISO", {"shoots.A.iso": 400.0})
    for same in (path, tmp_path / "." / "quay.duskplan"):
        with pytest.raises(PlanError) as refused:
            document.save(same)
        assert str(refused.value) == (
            "Nothing was saved, because quay.duskplan was changed on the disk since it was last"
            " opened or saved here: save this plan under another name, or open the file again."
        )
    assert path.read_text(encoding="utf-8") == with_note
    assert unsaved(document)
    other = tmp_path / "other.duskplan"
    document.save(other)
    assert document.path == other
    assert not unsaved(document)
    document.open(path)
    document.save(path)
    assert json.loads(path.read_text(encoding="utf-8"))["by_hand"] == 1


def test_a_file_that_has_gone_meanwhile_is_written_anew(
    document: PlanDocument, tmp_path: Path
) -> None:
    path = tmp_path / "quay.duskplan"
    document.save(path)
    path.unlink()
    document.save(path)
    assert path.is_file()


def _with_notes(document: PlanDocument, path: Path) -> None:
    """Open a plan whose shoots have a key each that no plan knows."""
    document.save(path)
    raw = json.loads(path.read_text(encoding="utf-8"))
    for name in "AB":
        raw["shoots"][name]["note"] = f"of {name}"
        raw["shoots"][name]["conditions"]["fog"] = f"over {name}"
    path.write_text(json.dumps(raw), encoding="utf-8")
    document.open(path)
    _store(document).edit("ISO", {"shoots.B.iso": 400.0})


def _saved_notes(document: PlanDocument, path: Path) -> list[tuple[float, str | None]]:
    """Save, and return for A and B the ISO that a plan knows and the note that none does."""
    document.save(path)
    shoots: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))["shoots"]
    for shoot in shoots.values():
        assert shoot["conditions"]["fog"] == shoot["note"].replace("of", "over")
    return [(shoots[name]["iso"], shoots[name]["note"]) for name in "AB"]


def test_unknown_keys_go_with_their_shoot(document: PlanDocument, tmp_path: Path) -> None:
    path = tmp_path / "quay.duskplan"
    _with_notes(document, path)
    stack = _store(document).undo_stack
    document.move_shoots("swap A and B", {"A": "B", "B": "A"})
    assert stack.undoText() == "swap A and B"
    assert _saved_notes(document, path) == [(400.0, "of B"), (100.0, "of A")]
    document.move_shoots("copy B to A", {"A": "B"})
    assert _saved_notes(document, path) == [(100.0, "of A"), (100.0, "of A")]
    # Each is one step, and what was copied over comes back even after it was saved.
    stack.undo()
    assert _saved_notes(document, path) == [(400.0, "of B"), (100.0, "of A")]
    stack.undo()
    assert _saved_notes(document, path) == [(100.0, "of A"), (400.0, "of B")]
    stack.redo()
    assert _saved_notes(document, path) == [(400.0, "of B"), (100.0, "of A")]


def test_shoots_of_a_plan_without_a_file_move_too(document: PlanDocument) -> None:
    store = _store(document)
    store.edit("ISO", {"shoots.B.iso": 400.0})
    document.move_shoots("copy B to A", {"A": "B"})
    assert store.plan is not None
    assert store.plan.shoots.A.iso == 400.0
    steps = store.undo_stack.count()
    document.move_shoots("swap A and B", {"A": "B", "B": "A"})
    assert store.undo_stack.count() == steps
    store.open(None)
    document.move_shoots("swap A and B", {"A": "B", "B": "A"})
    assert store.plan is None


def test_opening_clears_what_a_killed_save_left_an_hour_ago(
    document: PlanDocument, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quay.duskplan"
    document.save(path)
    with monkeypatch.context() as patch:
        patch.setattr("pathlib.Path.replace", _killed)
        patch.setattr("pathlib.Path.unlink", _killed)
        with pytest.raises(KeyboardInterrupt):
            document.save(path)
    (left,) = set(tmp_path.iterdir()) - {path}
    document.open(path)
    assert left.exists()
    long_ago = left.stat().st_mtime - 3700.0
    os.utime(left, (long_ago, long_ago))
    document.open(path)
    assert list(tmp_path.iterdir()) == [path]


def _killed(*_args: object) -> None:
    raise KeyboardInterrupt


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
