"""Start Duskwright: its window, or one of its commands without Qt.

The order of the start is part of the design: a command never imports Qt; the
window comes after the look at screen and libraries. What needs no Qt is imported
before it: PySide6 reads the source of every module that comes later, to see
whether it asks for a feature of PySide6, which takes a tenth of the start.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit status.

    Parameters
    ----------
    argv
        The words after the program's name; those of this process when left out. None of them, or
        ``open PLAN``, opens the window; all else goes to the command line.

    Returns
    -------
    int
        0 when done, 2 when it could not start or was given something it cannot use.
    """
    # The matrices here are small: threads for them cost more time than they save.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from app.manners import adopt_language

    adopt_language()
    words = list(sys.argv[1:] if argv is None else argv)
    match words:
        case []:
            return _window(None)
        case ["open", plan] if not plan.startswith("-"):
            return _window(Path(plan))
        case _:
            from app.cli import main as command_line

            return command_line(words)


def _window(plan: Path | None) -> int:
    # What is imported stays: looking through it for garbage only takes time. From the window on
    # `app.collecting` says when it is collected.
    gc.disable()
    import core.forecast  # noqa: F401 - here for its place in the order
    from app.startup import start_trouble

    if (trouble := start_trouble(os.environ)) is not None:
        print(trouble, file=sys.stderr)
        return 2
    from PySide6.QtWidgets import QApplication

    application = QApplication(["duskwright"])
    from app.window import open_window

    # A look through all of this takes the time of several repaints, and is for nothing.
    gc.freeze()
    # The window lives as long as this name does.
    window = open_window(plan)  # noqa: F841
    return application.exec()


if __name__ == "__main__":
    sys.exit(main())
