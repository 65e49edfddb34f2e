"""What a plan holds that no file does yet, kept against a crash and found again at the next start.

Each unsaved plan has a folder of its own: the plan as a plan file, which opens by hand too, and
the file that it came from. A lock says that its window is still open; the lock of a process that
died is no lock.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import secrets
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_state_path
from PySide6.QtCore import QLockFile, QObject, Qt, QTimer, Slot
from PySide6.QtWidgets import QApplication

from app.document import PlanDocument
from app.store import Store
from core.edit import PlanError
from core.planfile import SUFFIX, Document, read
from core.safewrite import write_whole

#: An edit is on the disk this much later; a drag is one write, not hundreds.
_LATER_MS = 2000
_PLAN, _ORIGIN, _LOCK, _UNREAD = (
    f"plan{SUFFIX}",
    "origin.json",
    "lock",
    ".unread",
)


@dataclass(frozen=True)
class Kept:
    """A plan that was not saved, and when it was last kept, in UTC seconds.

    `path` is the file that it came from and `saved` what that holds; both are None where there
    is no such file, or it was changed by now.
    """

    folder: Path
    lock: QLockFile
    unsaved: Document
    path: Path | None
    saved: Document | None
    time_s: float


class Safekeeping(QObject):
    """Keeps one window's plan while it is unsaved; what is saved or given up is cleared."""

    def __init__(self, store: Store, document: PlanDocument, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._folder: Path | None = None
        self._lock: QLockFile | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_LATER_MS)
        self._soon.timeout.connect(self.keep_now)
        document.changed.connect(self._follow)
        store.changed.connect(self._follow)

    def adopt(self, kept: Kept) -> None:
        """Go on with what an earlier process kept: its folder is this window's now."""
        self.clear()
        self._folder, self._lock = kept.folder, kept.lock

    @Slot()
    def keep_now(self) -> None:
        """Write what no file holds; where that cannot be, the plan is still in the window."""
        if not self._document.unsaved:
            return
        if QApplication.mouseButtons() != Qt.MouseButton.NoButton:
            # The disk may take its time: not under the hand.
            self._soon.start()
            return
        with contextlib.suppress(OSError, PlanError):
            folder = self._own_folder()
            write_whole(folder / _ORIGIN, _origin(self._document).encode())
            write_whole(folder / _PLAN, self._document.text())

    def clear(self) -> None:
        """Forget what was kept: it is saved, or the pilot gave it up."""
        self._soon.stop()
        if self._folder is not None:
            # Before the lock goes: a start just then must find nothing to take up.
            with contextlib.suppress(OSError):
                (self._folder / _PLAN).unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None

    @Slot()
    def _follow(self) -> None:
        if not self._document.unsaved:
            self.clear()
        elif not self._soon.isActive():
            self._soon.start()

    def _own_folder(self) -> Path:
        # State folders are cleared away, too: by hand, or by another start before the lock stood.
        if self._folder is None or not self._folder.exists():
            folder = _unsaved_folder() / secrets.token_hex(8)
            folder.mkdir(mode=0o700, parents=True)
            self._folder, self._lock = folder, _taken(folder)
        return self._folder


def kept_plans() -> Iterator[Kept | Path]:
    """Yield what processes that died left unsaved, the oldest first.

    A folder whose plan cannot be read is yielded as its path, once: it is renamed and stays.
    """
    for folder in sorted(_folders(), key=_age):
        found = None
        # What the system refuses of one must not hide the others.
        with contextlib.suppress(OSError):
            lock = _taken(folder)
            found = _found(folder, lock) if lock else None
        if found is not None:
            yield found


def _folders() -> list[Path]:
    with contextlib.suppress(OSError):
        return [one for one in _unsaved_folder().iterdir() if one.suffix != _UNREAD]
    return []


def _age(folder: Path) -> float:
    with contextlib.suppress(OSError):
        return folder.stat().st_mtime
    return 0.0


def _found(folder: Path, lock: QLockFile) -> Kept | Path | None:
    plan = folder / _PLAN
    if not plan.exists():
        # It died before anything was written.
        lock.unlock()
        shutil.rmtree(folder, ignore_errors=True)
        return None
    try:
        document = read(plan)
    except PlanError:
        lock.unlock()
        aside = folder.with_suffix(_UNREAD)
        folder.replace(aside)
        return aside
    path, saved = _origin_of(folder)
    return Kept(folder, lock, document, path, saved, plan.stat().st_mtime)


def _origin_of(folder: Path) -> tuple[Path | None, Document | None]:
    """The file that a plan came from, if it is still what it was, else none."""
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError, PlanError):
        origin = json.loads((folder / _ORIGIN).read_text("utf-8"))
        path = Path(origin["path"])
        there = read(path)
        if there.source is not None and _digest(there.source) == origin["digest"]:
            return path, there
    return None, None


def _origin(document: PlanDocument) -> str:
    path, on_disk = document.path, document.on_disk
    if path is None or on_disk is None:
        return "{}"
    return json.dumps({"path": str(path.resolve()), "digest": _digest(on_disk)})


def _digest(content: bytes) -> str:
    return hashlib.blake2b(content).hexdigest()


def _unsaved_folder() -> Path:
    return user_state_path("duskwright", appauthor=False) / "unsaved"


def _taken(folder: Path) -> QLockFile | None:
    """The lock of a folder; None while a living process holds it."""
    lock = QLockFile(str(folder / _LOCK))
    # Never by age: a window may stand open for days.
    lock.setStaleLockTime(0)
    return lock if lock.tryLock(0) else None
