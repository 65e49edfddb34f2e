"""The plan file behind a window: open, save, recent files, and what would be lost."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.settings import settings
from app.store import Store
from core.plan import Plan
from core.planfile import Document, read, save

_RECENT_KEY = "recent_plans"
_RECENT_KEPT = 10


class PlanDocument(QObject):
    """Which file the store's plan came from and whether it has been saved since.

    `changed` says that the file, or whether anything is unsaved, is new.
    """

    changed = Signal()

    def __init__(self, store: Store, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._path: Path | None = None
        self._document: Document | None = None
        self._never_saved = False
        store.undo_stack.cleanChanged.connect(lambda _clean: self.changed.emit())

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
        self._take(document.plan, path, document, never_saved=False)
        self._remember(path)

    def open_copy(self, path: Path) -> None:
        """Read a ready plan file as a plan without a file, so that the ready one stays as it is."""
        self._take(read(path).plan, None, None, never_saved=False)

    def save(self, path: Path) -> None:
        """Write the plan to a file, which Save writes from now on.

        Raises
        ------
        core.edit.PlanError
            With one sentence; the file stays as it was.
        """
        plan = self._store.plan
        if plan is None:
            return
        source = self._document.source if self._document else None
        self._document = save(Document(plan, source), path)
        self._path = path
        self._never_saved = False
        self._store.undo_stack.setClean()
        self._remember(path)
        self.changed.emit()

    def _take(
        self, plan: Plan, path: Path | None, document: Document | None, *, never_saved: bool
    ) -> None:
        self._path, self._document, self._never_saved = path, document, never_saved
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
