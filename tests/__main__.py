"""Every gate, one after the other: `python -m tests`.

Each runs even when an earlier one failed, so that one run tells all there is
to mend. pytest comes last, and its closing line ends the output.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def gates() -> dict[str, list[str]]:
    """Return the command of each gate, in the order they run."""
    python = [sys.executable, "-m"]
    # Another order each time finds tests that lean on one another; CI must not flicker.
    order = ["--randomly-seed=1"] if os.environ.get("CI") else []
    pytest = [*python, "pytest", "-q", *order]
    all_gates = {
        "ruff check": [*python, "ruff", "check", "."],
        "ruff format": [*python, "ruff", "format", "--check", "."],
        "mypy": [*python, "mypy"],
        "import-linter": [str(Path(sys.executable).with_name("lint-imports")), "--no-logo"],
    }
    if (ROOT / "tests" / "bench").is_dir():
        # Time budgets are measured with the machine to themselves.
        all_gates["pytest, budgets"] = [*pytest, "-p", "no:xdist", "tests/bench"]
    all_gates["pytest"] = [*pytest, "-n", "2", "--ignore=tests/bench"]
    return all_gates


def run(name: str, command: list[str]) -> bool:
    """Run one gate, print its output under its name, and tell whether it passed."""
    print(f"\n== {name}", flush=True)
    environ = {"QT_QPA_PLATFORM": "offscreen", "QT_SCALE_FACTOR": "1", **os.environ}
    return subprocess.run(command, cwd=ROOT, env=environ, check=False).returncode == 0


def main() -> int:
    """Run every gate and return 0 when all of them passed, else 1."""
    failed: list[str] = []
    for name, command in gates().items():
        if name == "pytest" and failed:
            print(f"\nFailed so far: {', '.join(failed)}.", flush=True)
        if not run(name, command):
            failed.append(name)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
