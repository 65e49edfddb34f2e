"""The plan file behind a window: open, save, recent files, and what would be lost."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from pathlib import Path

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtGui import QUndoCommand

from app.settings import settings
from app.store import Store
from core.edit import with_values
from core.plan import Plan, ShootName
from core.planfile import Document, read, save
from core.plantext import with_members_moved
from core.safewrite import clear_stale_parts

_RECENT_KEY = "recent_plans"
_RECENT_KEPT = 10


class _Kept(QUndoCommand):
    """One step of the text whose unknown keys are kept, undone with the plan's own."""

    def __init__(
        self, take: Callable[[bytes | None], None], before: bytes | None, after: bytes | None
    ) -> None:
        super().__init__()
        self._take, self._before, self._after = take, before, after

    def redo(self) -> None:
        """Keep the keys as they were moved."""
        self._take(self._after)

    def undo(self) -> None:
        """Keep the keys as they stood."""
        self._take(self._before)


class PlanDocument(QObject):
    """Which file the store's plan came from and whether it has been saved since.

    `changed` says that the file, or whether anything is unsaved, is new.
    """

    changed = Signal()

    def __init__(self, store: Store, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._path: Path | None = None
        # What the file held when it was last read or written here.
        self._on_disk: bytes | None = None
        # The text that was opened, for the keys in it that no plan knows.
        self._kept: bytes | None = None
        self._never_saved = False
        store.undo_stack.cleanChanged.connect(self._tell)

    @property
    def path(self) -> Path | None:
        """The file that Save writes; None for a plan without one."""
        return self._path

    @property
    def unsaved(self) -> bool:
        """Whether closing now would lose something the pilot made."""
        return self._store.plan is not None and (
            self._never_saved or not self._store.undo_stack.isClean()
        )

    @property
    def on_disk(self) -> bytes | None:
        """What the plan's file held when it was last read or written here; None without one."""
        return self._on_disk

    @property
    def is_untouched_copy(self) -> bool:
        """Whether nothing would be missed: no plan, or a ready one as it came."""
        return self._path is None and not self.unsaved

    def text(self) -> bytes:
        """What a file of the plan would hold now; raises PlanError where it cannot stand."""
        plan = self._store.plan
        return b"" if plan is None else Document(plan, self._kept).text()

    def start(self, plan: Plan) -> None:
        """Take a plan that the pilot has just made: nothing of it is in a file yet."""
        self._take(plan, None, None, never_saved=True)

    def open(self, path: Path) -> None:
        """Read a plan file.

        Raises
        ------
        core.planfile.PlanFileError
            With one sentence; the plan that was open stays.
        """
        document = read(path)
        clear_stale_parts(path, time.time())
        self._take(document.plan, path, document.source, never_saved=False)
        self._remember(path)

    def open_copy(self, path: Path) -> None:
        """Read a ready plan file as a plan without a file, so that the ready one stays as it is."""
        self._take(read(path).plan, None, None, never_saved=False)

    def recover(
        self, label: str, unsaved: Document, path: Path | None, saved: Document | None
    ) -> None:
        """Take up a plan that was never saved where it was left.

        Parameters
        ----------
        label
            The step of undo that leads back to the saved plan, in words.
        unsaved
            The plan, and the text whose unknown keys are kept.
        path, saved
            Its file and what that holds; None where it has none any more.
        """
        if path is None or saved is None:
            self._take(unsaved.plan, None, None, never_saved=True)
        else:
            self._take(saved.plan, path, saved.source, never_saved=False)
            self._store.begin_gesture()
            self._store.replace(label, unsaved.plan)
        self._kept = unsaved.source

    def save(self, path: Path) -> None:
        """Write the plan to a file, which Save writes from now on.

        A file that somebody else changed since it was opened or saved here is not replaced.

        Raises
        ------
        core.edit.PlanError
            With one sentence; the file stays as it was.
        """
        plan = self._store.plan
        if plan is None:
            return
        is_own = self._path is not None and path.resolve() == self._path.resolve()
        known = self._on_disk if is_own else None
        self._on_disk = save(Document(plan, self._kept), path, known=known).source
        self._path = path
        self._never_saved = False
        self._store.undo_stack.setClean()
        self._remember(path)
        self.changed.emit()

    @Slot()
    def _tell(self) -> None:
        self.changed.emit()

    def move_shoots(self, label: str, came_from: Mapping[ShootName, ShootName]) -> None:
        """Put shoots in each other's place, with the keys of theirs that no plan knows.

        Parameters
        ----------
        label
            The step of undo, in words.
        came_from
            For each shoot to be replaced the one that takes its place.
        """
        plan, stack = self._store.plan, self._store.undo_stack
        if plan is None:
            return
        values = {f"shoots.{to}": plan.shoot(of) for to, of in came_from.items()}
        moved = with_values(plan, values)
        if moved == plan:
            return
        kept = with_members_moved(self._kept, came_from.items(), "shoots") if self._kept else None
        self._store.begin_gesture()
        stack.beginMacro(label)
        stack.push(_Kept(self._keep, self._kept, kept))
        self._store.replace(label, moved, frozenset(values))
        stack.endMacro()

    def _keep(self, source: bytes | None) -> None:
        self._kept = source

    def _take(
        self, plan: Plan, path: Path | None, source: bytes | None, *, never_saved: bool
    ) -> None:
        self._path, self._on_disk, self._kept = path, source, source
        self._never_saved = never_saved
        self._store.open(plan)
        self.changed.emit()

    def _remember(self, path: Path) -> None:
        here = str(path.resolve())
        others = [str(known) for known in recent_plans() if str(known) != here]
        settings().setValue(_RECENT_KEY, [here, *others][:_RECENT_KEPT])


def recent_plans() -> list[Path]:
    """Plan files opened or saved lately, the last first, those that are gone left out."""
    known = settings().value(_RECENT_KEY, [])
    names = [known] if isinstance(known, str) else known if isinstance(known, list) else []
    return [path for path in map(Path, names) if path.is_file()]
