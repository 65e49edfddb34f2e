"""What holds for the project as a whole: its files, its words, its two commands."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

import app
import core
from app.resources import asset
from app.startup import APT_LINE

ROOT = Path(__file__).resolve().parent.parent
INSTALL = "python3 -m venv .venv && .venv/bin/pip install -q -c constraints.txt -e"
RUN = f"{INSTALL} . && .venv/bin/python -m app"
TEST = f"{INSTALL} '.[dev]' && .venv/bin/python -m tests"
#: What the tests need beside that: a phone's browser.
TEST_APT_LINE = "sudo apt-get install --no-install-recommends chromium chromium-driver"
MOST_LINES = 500


def project_files() -> list[Path]:
    """Return every file of the project that is, or could be, committed."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    paths = [ROOT / name for name in listed.split("\0") if name]
    # A file that was removed but not yet committed is still listed.
    return [path for path in paths if path.is_file()]


def text_of(path: Path) -> str | None:
    """Return a file's text, or None when it holds no text."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


def texts() -> Iterator[tuple[str, str]]:
    """Yield the name and the text of every text file of the project."""
    for path in project_files():
        if (text := text_of(path)) is not None:
            yield path.relative_to(ROOT).as_posix(), text


def modules() -> list[Path]:
    """Return the modules of the program itself."""
    return [path for folder in ("app", "core") for path in sorted((ROOT / folder).rglob("*.py"))]


def module_id(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def code_block_lines(name: str) -> list[str]:
    """Return the lines of the fenced blocks of one document."""
    blocks = re.findall(r"```\w*\n(.*?)```", (ROOT / name).read_text(encoding="utf-8"), re.DOTALL)
    return [line for block in blocks for line in block.splitlines()]


# ---- files ----


@pytest.mark.parametrize(
    "name",
    [
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "LICENSE",
        "pyproject.toml",
        "constraints.txt",
        ".ci/run",
        "app/__main__.py",
        "core/plan.py",
        "assets/card/phone.html",
        "assets/icon/duskwright.png",
        "assets/fonts/OFL.txt",
        "demo_sites",
        "tests/__main__.py",
    ],
)
def test_what_the_project_needs_is_there(name: str) -> None:
    assert (ROOT / name).exists()


def test_the_packages_tested_are_those_of_this_folder() -> None:
    # `app` and `core` are plain names: another distribution could bring its own.
    assert Path(app.__file__).is_relative_to(ROOT)
    assert Path(core.__file__).is_relative_to(ROOT)


@pytest.mark.parametrize("path", modules(), ids=module_id)
def test_a_module_has_one_subject(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").count("\n")
    assert lines <= MOST_LINES


@pytest.mark.parametrize(
    "path", sorted((ROOT / "tests" / "reference" / "data").glob("*.csv")), ids=module_id
)
def test_a_reference_table_says_where_it_is_from(path: Path) -> None:
    head = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.startswith("# "):
            break
        head.append(line)
    told = " ".join(head)
    # The year of an edition, or how the table was made.
    assert re.search(r"\b(1[89]|20)\d\d\b|comput|worked|formula|angle 360", told, re.IGNORECASE)


@pytest.mark.parametrize("weight", ["Regular", "Medium", "SemiBold", "Bold"])
def test_the_fonts_are_small(weight: str) -> None:
    assert asset(f"fonts/Inter-{weight}.otf").stat().st_size < 70_000


def test_a_missing_asset_is_named() -> None:
    with pytest.raises(FileNotFoundError, match=r"no_such\.bin"):
        asset("no_such.bin")


# ---- commands ----


def test_the_readme_has_one_command_to_run_and_one_to_test() -> None:
    lines = code_block_lines("README.md")
    assert [line for line in lines if ".venv/bin/pip" in line] == [RUN, TEST]


def test_ci_runs_the_test_command_of_the_readme() -> None:
    assert (ROOT / ".ci/run").read_text(encoding="utf-8").splitlines()[-1] == TEST
    assert (ROOT / ".ci/run").stat().st_mode & 0o111


def test_one_apt_line_names_the_same_libraries_everywhere() -> None:
    lines = [line for line in code_block_lines("README.md") if "apt-get" in line]
    assert lines == [APT_LINE, TEST_APT_LINE]
    ci = (ROOT / ".ci/run").read_text(encoding="utf-8")
    assert TEST_APT_LINE.split("--no-install-recommends ")[1] in ci
    array = re.search(r"packages=\((.*?)\)", ci, re.DOTALL)
    assert array is not None
    assert array[1].split() == APT_LINE.split("--no-install-recommends ")[1].split()


def test_every_dependency_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = {
        re.split(r"[<>=;\[ ]", requirement, maxsplit=1)[0].lower()
        for requirement in project["dependencies"] + project["optional-dependencies"]["dev"]
    }
    pins = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pinned = {line.partition("==")[0].lower() for line in pins if not line.startswith("#")}
    assert needed <= pinned
    assert all("==" in line and "@" not in line for line in pins if line[:1] not in ("#", ""))


# ---- what no file may hold ----

# Put together here, so that this file itself holds none of them.
REGISTRIES = [
    ".".join(parts)
    for parts in (
        ("pypi", "org"),
        ("pythonhosted", "org"),
        ("registry", "npmjs", "org"),
        ("npmjs", "com"),
        ("crates", "io"),
        ("proxy", "golang", "org"),
        ("deb", "debian", "org"),
        ("conda", "anaconda", "org"),
        ("repo1", "maven", "org"),
        ("rubygems", "org"),
    )
]


def test_no_file_holds_the_address_of_a_package_registry() -> None:
    found = [(name, host) for name, text in texts() for host in REGISTRIES if host in text]
    assert found == []


def test_no_file_holds_a_path_of_somebodys_machine() -> None:
    home = re.compile(r"(?<![\w.])/(home|root|Users|work)/\w")
    assert [name for name, text in texts() if home.search(text)] == []


# ---- words ----

# The program never says that a flight is permitted, nor calls the pilot's input names.
JUDGING = re.compile(r"\b(go|no-go|ok|okay|safe|allowed)\b", re.IGNORECASE)
SCOLDING = re.compile(r"\b(error|invalid|warning|please)\b|\w!(\s|$)", re.IGNORECASE)


def spoken(path: Path) -> Iterator[str]:
    """Yield the strings that could reach a person: no docstrings, keys or patterns."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
            sentence = " " in text.strip() or text[:1].isupper()
            if sentence and "\\" not in text and id(node) not in docstrings:
                yield text


@pytest.mark.parametrize("path", modules(), ids=module_id)
def test_nothing_it_says_permits_or_scolds(path: Path) -> None:
    found = [text for text in spoken(path) if JUDGING.search(text) or SCOLDING.search(text)]
    assert found == []


def test_the_search_for_words_finds_them(tmp_path: Path) -> None:
    said = ["Good to go.", "OK", "A safe landing", "Not allowed here", "Mind this!"]
    module = tmp_path / "module.py"
    module.write_text('"""It is OK."""\n' + "\n".join(f"x = {text!r}" for text in said))
    found = [text for text in spoken(module) if JUDGING.search(text) or SCOLDING.search(text)]
    assert found == said


# ---- the core ----

CLOCKS = {("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("date", "today")} | {
    ("time", name) for name in ("time", "time_ns", "localtime", "gmtime", "ctime")
}


@pytest.mark.parametrize(
    "path", [path for path in modules() if path.is_relative_to(ROOT / "core")], ids=module_id
)
def test_the_core_reads_no_clock(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Attribute):
            owner = ast.unparse(node.value).rpartition(".")[2]
            assert (owner, node.attr) not in CLOCKS, f"line {node.lineno}"


# ---- the platform ----


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_painter_is_closed_where_drawing_fails(path: Path) -> None:
    """One that a traceback keeps open paints on what is gone, and takes the program down."""
    kept = [
        value.lineno
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Assign)
        for value in ast.walk(node.value)
        if isinstance(value, ast.Call) and ast.unparse(value.func) == "QPainter"
    ]
    assert kept == []


def test_qt_keeps_its_count_of_none(qtbot: QtBot) -> None:
    # PySide6 6.12.0 on Python 3.11 drops one reference per call, until the process dies. From 3.12
    # on None is immortal and its count is fixed.
    label = QLabel()
    qtbot.addWidget(label)
    before = sys.getrefcount(None)
    for number in range(100):
        label.setText(str(number))
    assert sys.getrefcount(None) - before > -5
