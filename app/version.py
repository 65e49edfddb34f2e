"""The program's version."""

from __future__ import annotations

import tomllib
from importlib import metadata
from pathlib import Path


def version() -> str:
    """Return the version: of the installed program, else of the checkout it runs from."""
    try:
        return metadata.version("duskwright")
    except metadata.PackageNotFoundError:
        project = Path(__file__).resolve().parent.parent / "pyproject.toml"
        return str(tomllib.loads(project.read_text(encoding="utf-8"))["project"]["version"])
