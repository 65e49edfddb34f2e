"""The command `export`: an evening for other programs."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from app.cli_parts import plan_of, shoot_of
from core.edit import PlanError
from core.export.formats import (
    EXPORT_NAMES,
    EXPORTS,
    ExportName,
    export_for,
    export_named,
    write_to,
)
from core.forecast import forecast
from core.safewrite import file_name
from core.sentences import shown
from core.words import listed


def export_answer(words: argparse.Namespace) -> str:
    """Write the export that a parsed command asks for, or return it where no file is named.

    Raises
    ------
    core.edit.PlanError
        With one sentence, when something given cannot be used or the file cannot be written.
    """
    name = _export_name(words)
    shoot, plan = shoot_of(words), plan_of(words)
    content = EXPORTS[name].content(plan, forecast(plan, shoot), time.time())
    if words.to is None:
        return content.decode()
    return written(Path(words.to), content)


def written(path: Path, content: bytes) -> str:
    """Write a file and return the line that says so."""
    write_to(path, content)
    return f"{file_name(path)} is written.\n"


def _export_name(words: argparse.Namespace) -> ExportName:
    if words.format is not None:
        name = export_named(words.format)
        if name is None:
            expected = f"{listed(EXPORT_NAMES)} was expected"
            raise PlanError(f"--format has {shown(words.format)}; {expected}.")
        return name
    if words.to is None:
        raise PlanError(
            "Neither --to nor --format is given; name a file that ends in "
            f"{listed(tuple(f'.{known}' for known in EXPORT_NAMES))}, or a format to print."
        )
    return export_for(Path(words.to))
