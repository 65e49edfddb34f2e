"""The commands: what they print, and the one sentence for what cannot be used."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app import cli_commands
from app.cli import usage_sentence
from core.newplan import first_plan
from core.planfile import load, save
from tests.app.commands import BANNED, answered, refused, run

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def plan_path(tmp_path: Path) -> str:
    path = tmp_path / "tickle.duskplan"
    save(first_plan("Gull Tickle", 48.9, -55.7, dt.date(2026, 11, 2)), path)
    return str(path)


def start(
    *words: str, stdout: int | io.TextIOWrapper = subprocess.PIPE
) -> subprocess.CompletedProcess[str]:
    """Start the real process, every Python warning a failure."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "app", *words],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
        stdout=stdout,
        stderr=subprocess.PIPE,
        text=True,
        timeout=60,
    )


# ---- forecast ----


def test_the_page_begins_with_the_verdict_and_ends_with_the_law(plan_path: str) -> None:
    lines = answered("forecast", plan_path).splitlines()
    assert "Gull Tickle" in lines[0]
    assert lines[1].startswith("Holds")
    assert lines[-1] == "Check the local rules and your licence."


def test_json_is_what_other_programs_read(plan_path: str) -> None:
    report: dict[str, Any] = json.loads(answered("forecast", plan_path, "--format", "json"))
    assert report["clip"]["frames"] == len(report["frames"]) == 200
    assert report["night"]["date"] == "2026-11-02"


def test_csv_has_a_row_a_frame_and_empty_cells_for_what_is_not_there(plan_path: str) -> None:
    rows = list(csv.DictReader(io.StringIO(answered("forecast", plan_path, "--format", "csv"))))
    assert len(rows) == 200
    assert rows[0]["sky_mean_stops"] == ""
    assert float(rows[-1]["sky_mean_stops"]) < 10.0
    assert all(None not in row and None not in row.values() for row in rows)


def test_the_other_shoot_is_shown_on_demand(plan_path: str) -> None:
    other: Any = json.loads(answered("forecast", plan_path, "--shoot", "B", "--format", "json"))
    times = [dt.datetime.fromisoformat(frame["time"]) for frame in other["frames"][:2]]
    # Shoot B of a new plan is taken every 2 s.
    assert (times[1] - times[0]).total_seconds() == pytest.approx(2.0, abs=0.002)
    assert {finding["shoot"] for finding in other["findings"]} == {"B"}


@pytest.mark.parametrize(
    ("setting", "key", "expected"),
    [
        ("shoots.A.clip_length_s=4", "frames", 100),
        ("shoots.A.interval_s=5", "shooting_s", 995.0),
        # ISO-free: 360 degrees times shutter over interval, the definition of the shutter angle.
        ("shoots.A.shutter_s=0.5", "shutter_angle_deg", 60.0),
    ],
)
def test_a_value_may_be_set_for_one_run(
    plan_path: str, setting: str, key: str, expected: float
) -> None:
    before = Path(plan_path).read_bytes()
    report: Any = json.loads(answered("forecast", plan_path, "--set", setting, "--format", "json"))
    assert report["clip"][key] == pytest.approx(expected)
    assert Path(plan_path).read_bytes() == before


def test_a_plain_word_is_taken_where_json_fails(plan_path: str) -> None:
    page = answered(
        "forecast", plan_path, "--set", "place.name=Far Cove", "--set", "shoots.A.twilight=dawn",
        "--set", "shoots.A.date=2026-12-24",
    )  # fmt: skip
    assert page.startswith("Far Cove · dawn of 24 December 2026")


def test_json_values_may_be_whole_parts(plan_path: str) -> None:
    skyline = "place.skyline=[[180, 4], [270, 12.5]]"
    report: Any = json.loads(answered("forecast", plan_path, "--set", skyline, "--format=json"))
    event = dt.datetime.fromisoformat(report["night"]["event"]["time"])
    assert dt.datetime.fromisoformat(report["light"]["local_sunset"]) < event


def test_of_two_values_for_one_key_the_later_counts(plan_path: str) -> None:
    twice = ("--set", "shoots.A.clip_length_s=4", "--set", "shoots.A.clip_length_s=6")
    report: Any = json.loads(answered("forecast", plan_path, *twice, "--format", "json"))
    assert report["clip"]["frames"] == 150


# ---- starts ----


def test_starts_are_listed_in_three_forms(plan_path: str) -> None:
    page = answered("starts", plan_path)
    report: Any = json.loads(answered("starts", plan_path, "--format", "json"))
    rows = list(csv.DictReader(io.StringIO(answered("starts", plan_path, "--format", "csv"))))
    grid = report["starts"]["grid"]
    assert len(rows) == len(grid) > 60
    assert [row["time"] for row in rows] == [entry["time"] for entry in grid]
    good = [entry for entry in grid if entry["slack_stops"] >= 0.0]
    assert len(re.findall(r"^  \*  ", page, re.MULTILINE)) == len(good) > 0
    assert report["starts"]["earliest"] <= good[0]["time"]
    assert good[-1]["time"] <= report["starts"]["latest"]


# ---- new ----


def test_new_writes_a_plan_that_forecast_reads(tmp_path: Path) -> None:
    path = tmp_path / "cove.duskplan"
    said = answered(
        "new", str(path), "--name", "Far Cove", "--latitude", "-42,5", "--longitude", "145.3",
        "--date", "2027-01-10", "--elevation-m", "12",
    )  # fmt: skip
    assert said.count("\n") == 1
    plan = load(path)
    assert (plan.place.latitude_deg, plan.place.longitude_deg) == (-42.5, 145.3)
    assert plan.place.elevation_m == 12.0
    assert plan.place.time_zone == "Australia/Hobart"
    assert plan.shoots.A.date == plan.shoots.B.date == dt.date(2027, 1, 10)
    assert "dusk of 10 January 2027" in answered("forecast", str(path))


def test_new_takes_a_zone_where_one_is_given(tmp_path: Path) -> None:
    path = tmp_path / "cove.duskplan"
    where = ("--latitude", "48.9", "--longitude", "-55.7")
    answered("new", str(path), "--name", "Cove", *where, "--time-zone", "UTC")
    assert load(path).place.time_zone == "UTC"


def test_without_a_date_new_takes_todays_at_the_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def some_day(time_zone: str) -> dt.date:
        asked.append(time_zone)
        return dt.date(2030, 5, 6)

    monkeypatch.setattr(cli_commands, "today", some_day)
    path = tmp_path / "cove.duskplan"
    answered("new", str(path), "--name", "Cove", "--latitude", "1", "--longitude", "117")
    assert asked == ["Asia/Makassar"]
    assert load(path).shoots.A.date == dt.date(2030, 5, 6)


def test_today_is_the_date_of_the_zone() -> None:
    # 26 hours apart, so their dates are never the same.
    west, east = cli_commands.today("Etc/GMT+12"), cli_commands.today("Pacific/Kiritimati")
    assert (east - west).days in (1, 2)


def test_new_never_replaces_a_file(plan_path: str) -> None:
    before = Path(plan_path).read_bytes()
    where = ("--latitude", "1", "--longitude", "2")
    said = refused("new", plan_path, "--name", "Cove", *where)
    assert "there already" in said
    assert "another name" in said
    assert Path(plan_path).read_bytes() == before


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("a.plan",), "ends in .duskplan"),
        (("no/such/a.duskplan",), "folder"),
        (("a.duskplan", "--latitude", "91"), "from −90 to 90"),
        (("a.duskplan", "--latitude", "north"), "not understood"),
        (("a.duskplan", "--latitude", "1e999"), "latitude"),
        (("a.duskplan", "--longitude", "181"), "from −180 to 180"),
        (("a.duskplan", "--date", "2027-02-30"), "1 Jan 1901 to 31 Dec 2099"),
        (("a.duskplan", "--date", "1850-01-01"), "1 Jan 1901 to 31 Dec 2099"),
        (("a.duskplan", "--time-zone", "Mars/Base"), "time zone"),
        (("a.duskplan", "--name", ""), "place.name"),
        (("a.duskplan", "--elevation-m", "high"), "elevation"),
    ],
)
def test_new_refuses_in_a_sentence_and_writes_nothing(
    words: tuple[str, ...],
    expected: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    base = ("--name", "Cove", "--latitude", "1", "--longitude", "2")
    assert expected in refused("new", *words[:1], *base, *words[1:])
    assert list(tmp_path.iterdir()) == []


# ---- what cannot be used ----


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ((), "needs COMMAND"),
        (("fly",), "no command 'fly'"),
        (("site.duskplan",), "duskwright open PLAN"),
        (("forecast",), "needs PLAN"),
        (("open",), "needs PLAN"),
        (("open", "--", "-a.duskplan"), "./-NAME.duskplan"),
        (("forecast", "PLAN", "extra"), "no use for extra"),
        (("forecast", "PLAN", "--sh", "A"), "no use for --sh A"),
        (("forecast", "PLAN", "--set"), "--set needs one value"),
        (("forecast", "--help=3"), "takes no value"),
        (("forecast", "PLAN", "--set", "shoots.A.iso"), "KEY=VALUE"),
        (("forecast", "PLAN", "--set", "=3"), "KEY=VALUE"),
        (("forecast", "PLAN", "--set", "shoots.A.isso=3"), "shoots.A.iso?"),
        (("forecast", "PLAN", "--set", "shoots.A.iso=-3"), "from 10 to"),
        (("forecast", "PLAN", "--set", "shoots.A.iso=NaN"), "not a number"),
        (("forecast", "PLAN", "--set", "shoots.A.iso=" + 5000 * "9"), "shoots.A.iso"),
        (("forecast", "PLAN", "--set", "shoots.A=" + 5000 * "["), "shoots.A"),
        (("forecast", "PLAN", "--set", "place.name=12"), "place.name"),
        (("forecast", "PLAN", "--set", "shoots.A.date=2200-01-01"), "2099-12-31"),
        # A value is given as the plan's file has it, and refused as such.
        (("forecast", "PLAN", "--set", "ground.lamps.lit_share=120"), "120; a number from 0 to 1"),
        (("forecast", "PLAN", "--shoot", "C"), "A or B"),
        (("forecast", "PLAN", "--format", "xml"), "text, json or csv"),
        (("starts", "PLAN", "--shoot", "a"), "A or B"),
        (("forecast", "missing.duskplan"), "missing.duskplan"),
        (("forecast", "."), "folder"),
    ],
)
def test_one_sentence_says_what_was_wrong(
    words: tuple[str, ...], expected: str, plan_path: str
) -> None:
    said = refused(*(plan_path if word == "PLAN" else word for word in words))
    assert expected in said


def test_a_file_that_is_no_plan_is_refused_and_kept(tmp_path: Path) -> None:
    path = tmp_path / "letter.duskplan"
    path.write_text("Dear all", encoding="utf-8")
    assert "letter.duskplan" in refused("forecast", str(path))
    assert path.read_text(encoding="utf-8") == "Dear all"


def test_a_take_too_long_for_the_memory_is_refused(
    plan_path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_much(*_: object) -> object:
        raise MemoryError

    monkeypatch.setattr(cli_commands, "forecast", too_much)
    assert "shorten the clip" in refused("forecast", plan_path)


def test_words_that_argparse_words_otherwise_still_get_a_sentence() -> None:
    assert usage_sentence("duskwright new", "something unheard of") == (
        "These words do not fit 'duskwright new'; 'duskwright new --help' shows how it is called."
    )


@given(
    st.lists(
        st.one_of(
            st.sampled_from(["--set", "--shoot", "--format", "B", "json", "--", "-x", "a=1"]),
            st.text(max_size=8),
        ),
        max_size=5,
    )
)
@settings(max_examples=60)
def test_any_words_are_answered_or_refused_in_one_line(words: list[str]) -> None:
    status, out, err = run("forecast", *words)
    assert (status == 0 and err == "") or (status == 2 and out == "" and err.count("\n") == 1)


# ---- help ----


@pytest.mark.parametrize("command", [(), ("new",), ("open",), ("forecast",), ("starts",)])
def test_help_names_what_there_is(command: tuple[str, ...]) -> None:
    said = answered(*command, "--help")
    assert said.startswith("usage: duskwright")
    assert "status 2" in said
    assert BANNED.search(said) is None
    if not command:
        for name in ("new", "open", "forecast", "starts"):
            assert re.search(rf"^    {name}\b", said, re.MULTILINE)


def test_the_version_is_that_of_the_project() -> None:
    assert re.fullmatch(r"duskwright \d+\.\d+\.\d+\n", answered("--version"))


# ---- the real process ----


def test_a_forecast_from_the_shell_imports_no_qt(plan_path: str) -> None:
    script = (
        "import sys\n"
        "from app.__main__ import main\n"
        f"status = main(['forecast', {plan_path!r}, '--format', 'json'])\n"
        "found = [name for name in sys.modules if name.startswith(('PySide6', 'pyqtgraph'))]\n"
        "sys.exit(f'imported {found}' if found else status)\n"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", script],
        cwd=ROOT, check=False, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["starts"]["limit"]
    assert done.stderr == ""


def test_output_is_utf_8_whatever_the_terminal_says(plan_path: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "app", "forecast", plan_path],
        cwd=ROOT, check=False, capture_output=True, timeout=60,
        env={**os.environ, "PYTHONIOENCODING": "latin-1"},
    )  # fmt: skip
    assert done.returncode == 0
    assert "\N{MINUS SIGN}" in done.stdout.decode("utf-8")


def test_a_refusal_from_the_shell_has_status_2(tmp_path: Path) -> None:
    done = start("forecast", str(tmp_path / "missing.duskplan"))
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1


def test_a_reader_that_has_enough_is_no_trouble(plan_path: str) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "app", "forecast", plan_path, "--format", "json"],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
        assert process.wait(timeout=60) == 0
    assert said == b""


@pytest.mark.parametrize("words", [("forecast", "PLAN"), ("--help",)])
def test_a_full_disk_is_said_in_a_sentence(words: tuple[str, ...], plan_path: str) -> None:
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = start(*(plan_path if word == "PLAN" else word for word in words), stdout=full)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "the disk is full" in done.stderr


def test_a_closed_output_is_said_in_a_sentence(plan_path: str) -> None:
    done = subprocess.run(
        ["sh", "-c", '"$@" >&-', "sh", sys.executable, "-m", "app", "forecast", plan_path],
        cwd=ROOT, check=False, stderr=subprocess.PIPE, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.startswith("Standard output is closed;")


def test_the_sky_lists_every_direction() -> None:
    rows = list(
        csv.DictReader(io.StringIO(answered("sky", "--sun-altitude", "-6", "--haze", "0.15")))
    )
    assert list(rows[0]) == ["view_altitude_deg", "azimuth_from_sun_deg", "luminance_cd_m2"]
    assert len(rows) == 12 * 9
    zenith = [float(row["luminance_cd_m2"]) for row in rows if row["view_altitude_deg"] == "90.0"]
    assert max(zenith) == pytest.approx(min(zenith))
    # Koomen et al. 1952, JOSA 42:353, Table II: 0.06 candles/ft2 at the zenith, sun at -6 deg.
    assert abs(math.log2(zenith[0] / (0.06 * 10.7639))) < 0.5


def test_thicker_haze_dims_the_horizon_below_the_glow() -> None:
    clear, hazy = (
        json.loads(answered("sky", "--sun-altitude", "-6", "--haze", haze, "--format", "json"))
        for haze in ("clear", "hazy")
    )
    assert clear[0]["luminance_cd_m2"] > 2.0 * hazy[0]["luminance_cd_m2"]


@pytest.mark.parametrize(
    "words",
    [
        ("--sun-altitude", "-95"),
        ("--sun-altitude", "low"),
        ("--sun-altitude", "-6", "--haze", "thick"),
        ("--sun-altitude", "-6", "--height-m", "-3"),
        ("--sun-altitude", "-6", "--format", "text"),
        (),
    ],
)
def test_the_sky_refuses_what_it_cannot_use(words: tuple[str, ...]) -> None:
    refused("sky", *words)


def test_a_refusal_is_of_one_language_though_its_module_comes_before_the_choice(
    plan_path: str, tmp_path: Path
) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "app", "review", plan_path, str(tmp_path / "gone")],
        cwd=ROOT, check=False, capture_output=True, encoding="utf-8", timeout=60,
        env={**os.environ, "LC_ALL": "de_DE.UTF-8", "XDG_CONFIG_HOME": str(tmp_path)},
    )  # fmt: skip
    assert done.returncode == 2
    assert "es ist nicht da" in done.stderr
