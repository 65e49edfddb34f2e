"""What happens when the program itself fails: one sentence in the window, never a traceback.

Qt calls Python's hook for whatever is raised in a slot and goes on; the plan is then as it was
before or after the step, for a plan is replaced whole.
"""

from __future__ import annotations

import contextlib
import sys
import traceback
from pathlib import Path
from types import TracebackType

from platformdirs import user_log_path
from PySide6.QtWidgets import QApplication

from app.widgets.notice import Notice
from core.language import say


def tell_mishaps() -> None:
    """Have all that nobody catches told in the window; a hook that somebody else set stays."""
    if sys.excepthook is sys.__excepthook__:
        sys.excepthook = _tell


def _tell(kind: type[BaseException], what: BaseException, trace: TracebackType | None) -> None:
    if issubclass(kind, KeyboardInterrupt):
        # As from the window's own menu: it asks before anything is lost.
        QApplication.closeAllWindows()
        return
    sentence = _sentence(_written(kind, what, trace))
    notices = [
        notice
        for window in QApplication.topLevelWidgets()
        if window.isVisible()
        for notice in window.findChildren(Notice)
    ]
    for notice in notices:
        notice.tell(sentence)
    if not notices:
        sys.stderr.write(f"{sentence}\n")


def _sentence(record: Path | None) -> str:
    if record is None:
        return say(
            "Duskwright could not finish the last step; the plan is still open here: save it "
            "under another name and start Duskwright again."
        )
    return say(
        "Duskwright could not finish the last step; the plan is still open here: save it under "
        "another name and start Duskwright again (what happened is written in {record}).",
        record=record,
    )


def _written(
    kind: type[BaseException], what: BaseException, trace: TracebackType | None
) -> Path | None:
    """Write what a developer needs to a file of this user's and return its path."""
    with contextlib.suppress(OSError):
        record = user_log_path("duskwright", appauthor=False, ensure_exists=True) / "mishap.txt"
        lines = traceback.format_exception(kind, what, trace)
        record.write_text("".join(lines), encoding="utf-8", errors="replace")
        return record
    return None
