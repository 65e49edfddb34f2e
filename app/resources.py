"""Where the files that come with the program lie.

An installed wheel carries them inside `app`; a checkout, also one installed
with `pip install -e`, has them beside it.
"""

from __future__ import annotations

from pathlib import Path

_APP = Path(__file__).resolve().parent


def _folder(packed: str, beside: str) -> Path:
    inside = _APP / packed
    return inside if inside.is_dir() else _APP.parent / beside


def asset(name: str) -> Path:
    """Return the path of a file in `assets`, by its name there with forward slashes.

    Parameters
    ----------
    name
        For example ``"fonts/Inter-Regular.otf"``.

    Raises
    ------
    FileNotFoundError
        When there is no such file.
    """
    path = _folder("_assets", "assets") / name
    if not path.exists():
        message = f"The file {name} that comes with Duskwright is missing: install it anew."
        raise FileNotFoundError(message)
    return path


def demo_sites() -> tuple[Path, ...]:
    """Return the ready plan files, by name."""
    return tuple(sorted(_folder("_demo_sites", "demo_sites").glob("*.duskplan")))
