"""The program starts, or says in one sentence why it cannot. Each test starts the real process."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from app.startup import APT_LINE, start_trouble

ROOT = Path(__file__).resolve().parents[2]


def start(*words: str, **environ: str) -> subprocess.CompletedProcess[str]:
    """Start the program without a screen, but for the variables given."""
    unset = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    base = {name: value for name, value in os.environ.items() if name not in unset}
    return subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env=base | environ,
        check=False,
        capture_output=True,
        text=True,
        timeout=60,
    )


def one_sentence(done: subprocess.CompletedProcess[str]) -> str:
    """Return what it said, having checked that it was one line and the end was orderly."""
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert done.stderr.endswith(".\n")
    assert "Traceback" not in done.stderr
    return done.stderr


def missing(library: str, folder: Path) -> str:
    """Return a library path on which the loader finds only an empty file of that name."""
    (folder / library).touch()
    return str(folder)


@pytest.mark.parametrize("words", [[], ["open", "site.duskplan"]])
def test_without_a_screen_it_says_so(words: list[str]) -> None:
    said = one_sentence(start("-m", "app", *words))
    assert "no screen" in said
    assert "neither DISPLAY nor WAYLAND_DISPLAY is set" in said
    assert "desktop session" in said


@pytest.mark.parametrize(
    ("environ", "expected"),
    [
        ({"DISPLAY": ":987"}, "nothing answers at DISPLAY ':987'"),
        ({"QT_QPA_PLATFORM": "xcb"}, "DISPLAY is not set"),
        ({"QT_QPA_PLATFORM": "fnord"}, "no screen platform named 'fnord'"),
    ],
)
def test_a_screen_that_does_not_answer_is_named(environ: dict[str, str], expected: str) -> None:
    assert expected in one_sentence(start("-m", "app", **environ))


@pytest.mark.parametrize(
    ("library", "environ"),
    [
        ("libEGL.so.1", {"DISPLAY": ":987"}),  # when Qt is imported
        ("libxcb-cursor.so.0", {"DISPLAY": ":987"}),  # when the X11 plugin is loaded
        ("libfontconfig.so.1", {"QT_QPA_PLATFORM": "offscreen"}),
    ],
)
def test_a_missing_library_is_named_with_the_line_that_installs_it(
    library: str, environ: dict[str, str], tmp_path: Path
) -> None:
    folder = missing(library, tmp_path)
    said = one_sentence(start("-m", "app", LD_LIBRARY_PATH=folder, **environ))
    assert library in said
    assert APT_LINE in said


def test_offscreen_nothing_stands_in_the_way() -> None:
    assert start_trouble({"QT_QPA_PLATFORM": "offscreen"}) is None
    assert start_trouble({"QT_QPA_PLATFORM": "offscreen:configfile=screen.json"}) is None


def test_one_working_platform_of_those_asked_for_is_enough() -> None:
    assert start_trouble({"QT_QPA_PLATFORM": "fnord;offscreen"}) is None


def test_qt_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.startup.find_spec", lambda _name: None)
    said = start_trouble({"QT_QPA_PLATFORM": "offscreen"})
    assert said is not None
    assert "needs PySide6" in said


@pytest.mark.parametrize("words", [["forecast", "site.duskplan"], ["--help"], ["open", "--help"]])
def test_a_command_goes_to_the_command_line_without_qt(words: list[str]) -> None:
    code = (
        "import sys, types\n"
        "cli = sys.modules['app.cli'] = types.ModuleType('app.cli')\n"
        "cli.main = lambda argv: print(argv) or 7\n"
        "from app.__main__ import main\n"
        f"status = main({words!r})\n"
        "print(sorted(name for name in sys.modules if name.startswith(('PySide6', 'pyqtgraph'))))\n"
        "sys.exit(status)\n"
    )
    done = start("-c", code)
    assert done.returncode == 7, done.stderr
    assert done.stdout.splitlines() == [repr(words), "[]"]


# Runs the program's own main, and quits once its window has been painted.
PAINTED = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app.window import MainWindow

def painted():
    window = next(one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow))
    window.store.settle_now()
    picture = window.grab().toImage()
    colours = {picture.pixel(x, y) for x in range(0, 1280, 7) for y in range(0, 800, 7)}
    print(window.windowTitle(), picture.width(), picture.height(), len(colours) > 20)
    print(window.verdict.accessibleDescription())
    print(window.notice.text())
    QApplication.quit()

QTimer.singleShot(0, painted)
from app.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


def paint(*words: str) -> list[str]:
    """Start the program offscreen with a driver that quits it; what the driver saw."""
    done = start("-c", PAINTED, *words, QT_QPA_PLATFORM="offscreen")
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    return done.stdout.splitlines()


def test_the_empty_window_opens_and_paints() -> None:
    seen, verdict, notice = paint()
    assert seen == "Duskwright 1280 800 True"
    assert (verdict, notice) == ("", "")


def test_a_plan_opens_in_the_window() -> None:
    seen, verdict, notice = paint("open", str(ROOT / "demo_sites" / "corvane_harbour.duskplan"))
    assert seen == "corvane_harbour.duskplan[*] – Duskwright 1280 800 True"
    assert verdict.startswith("A: ")
    assert "Last frame by" in verdict
    assert notice == ""


def test_a_plan_that_cannot_be_read_is_told_in_the_window(tmp_path: Path) -> None:
    seen, verdict, notice = paint("open", str(tmp_path / "gone.duskplan"))
    assert seen == "Duskwright 1280 800 True"
    assert verdict == ""
    assert notice.startswith("gone.duskplan is not there: ")


def test_the_program_runs_until_it_is_told_to_end() -> None:
    """As a pilot starts it, and as a desktop ends it."""
    environ = os.environ | {"QT_QPA_PLATFORM": "offscreen"}
    with subprocess.Popen(
        [sys.executable, "-m", "app"],
        cwd=ROOT,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        with pytest.raises(subprocess.TimeoutExpired):
            process.wait(3.0)
        process.terminate()
        said = process.communicate(timeout=20)
        assert process.returncode == -15
        assert said[0] == ""
        assert "Traceback" not in said[1]
