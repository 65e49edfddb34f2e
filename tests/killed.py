"""Processes that are killed: what they leave behind."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def told_by_killed(tmp_path: Path, script: str) -> int:
    """The process id that a script prints before it kills itself."""
    path = tmp_path / "killed.py"
    path.write_text(script, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(path)],
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
        check=False,
        stdout=subprocess.PIPE,
        timeout=60,
    )
    return int(done.stdout)


def ends(process_id: int, within_s: float = 10.0) -> bool:
    """Whether a process comes to its end within some seconds."""
    last_s = time.monotonic() + within_s
    while time.monotonic() < last_s:
        if not _runs(process_id):
            return True
        time.sleep(0.02)
    return False


def _runs(process_id: int) -> bool:
    """Whether a process is there and no mere entry that nobody has read the end of."""
    try:
        state = Path(f"/proc/{process_id}/stat").read_text(encoding="ascii")
    except OSError:
        return False
    return state.rpartition(")")[2].split()[0] != "Z"
