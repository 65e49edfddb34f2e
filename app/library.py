"""The pilot's crafts and cameras, kept in a file of their own beside the program's settings."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

from platformdirs import user_data_path
from PySide6.QtCore import QLockFile

from core.edit import PlanError
from core.kits import Kit, KitKind, Library, library_from, library_text, with_kit, without_kit
from core.language import say
from core.safewrite import unwritten_text, write_whole

#: How long another process is waited for.
_PATIENCE_MS = 2000


def library() -> Library:
    """The pilot's library as the file holds it now; empty where there is none.

    Raises
    ------
    PlanError
        With one sentence, when the file cannot be used; it stays as it is.
    """
    path = _file()
    try:
        return library_from(path.read_bytes())
    except FileNotFoundError:
        return Library()
    except OSError as refusal:
        raise PlanError(
            say("{path} cannot be read: {reason}.", path=path, reason=unwritten_text(refusal))
        ) from None
    except PlanError as refusal:
        raise PlanError(say("{refusal} Mend or move {path}.", refusal=refusal, path=path)) from None


def keep_kit(kind: KitKind, name: str, kit: Kit) -> None:
    """Keep a craft or camera under a name; raises PlanError with one sentence."""
    _change(lambda kept: with_kit(kept, kind, name, kit))


def forget_kit(kind: KitKind, name: str) -> None:
    """Forget the pilot's craft or camera of a name; raises PlanError with one sentence."""
    _change(lambda kept: without_kit(kept, kind, name))


def library_or_none() -> Library:
    """The library for a list to choose from: what cannot be read offers the ready kits alone."""
    with contextlib.suppress(PlanError):
        return library()
    return Library()


def _change(change: Callable[[Library], Library]) -> None:
    """Change the file as it is now; another window of another process waits meanwhile."""
    path = _file()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        lock = QLockFile(str(path.with_suffix(".lock")))
        if not lock.tryLock(_PATIENCE_MS):
            raise PlanError(
                say("{file} is being changed by another Duskwright: try again.", file=path)
            )
        try:
            write_whole(path, library_text(change(library())))
        finally:
            lock.unlock()
    except OSError as refusal:
        reason = unwritten_text(refusal)
        raise PlanError(
            say("{file} was not written: {reason}.", file=path, reason=reason)
        ) from None


def _file() -> Path:
    return user_data_path("duskwright", appauthor=False) / "library.json"
