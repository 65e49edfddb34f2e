"""The command `export`: what it writes, prints and refuses."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path
from types import SimpleNamespace

import gpxpy
import pytest
from icalendar import Calendar

from app.resources import demo_sites
from core.edit import PlanError
from core.export.formats import EXPORT_NAMES, write_to
from tests.app.commands import answered, refused, run

MADE_S = 1_790_000_000.0
SITE = str(next(site for site in demo_sites() if site.stem == "porto_carimba"))


@pytest.mark.parametrize("name", EXPORT_NAMES)
def test_what_is_printed_is_what_is_written(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # When a file is made stands in some.
    monkeypatch.setattr("app.cli_export.time", SimpleNamespace(time=lambda: MADE_S))
    path = tmp_path / f"evening.{name}"
    assert answered("export", SITE, "--to", str(path)) == f"evening.{name} is written.\n"
    status, printed, err = run("export", SITE, "--format", name)
    assert (status, err) == (0, "")
    assert printed.encode() == path.read_bytes()


def test_a_format_counts_more_than_a_files_name(tmp_path: Path) -> None:
    path = tmp_path / "track.xml"
    answered("export", SITE, "--format", "gpx", "--to", str(path))
    assert len(gpxpy.parse(path.read_text("utf-8")).tracks) == 1


def test_the_other_shoot_with_values_for_this_run() -> None:
    set_to = ["--set", "shoots.B.clip_length_s=4", "--set", "place.name=Ny-Ålesund"]
    told = json.loads(answered("export", SITE, "--shoot", "B", *set_to, "--format", "json"))
    assert told["shoot"]["name"] == "B"
    assert told["place"]["name"] == "Ny-Ålesund"
    rows = csv.DictReader(
        io.StringIO(answered("export", SITE, "--shoot", "B", *set_to, "--format", "csv"))
    )
    assert len(list(rows)) == told["clip"]["frames"] == len(told["frames"])


@pytest.mark.parametrize(("command", "name"), [("export", "evening.ics"), ("card", "card.html")])
def test_a_file_that_is_there_stays_unless_it_is_to_be_replaced(
    command: str, name: str, tmp_path: Path
) -> None:
    path = tmp_path / name
    path.write_text("x" * 100_000, "utf-8")
    words = (command, SITE, "--to", str(path))
    assert f'"{name}" is there already and stays as it is; give another name' in refused(*words)
    assert path.read_text("utf-8") == "x" * 100_000
    answered(*words, "--replace")
    # The whole of it, and nothing beside it.
    assert not path.read_text("utf-8").endswith("x")
    assert list(tmp_path.iterdir()) == [path]
    if command == "export":
        assert Calendar.from_ical(path.read_bytes()).events


def test_an_empty_file_of_the_name_is_filled(tmp_path: Path) -> None:
    path = tmp_path / "evening.gpx"
    path.touch()
    answered("export", SITE, "--to", str(path))
    assert len(gpxpy.parse(path.read_text("utf-8")).tracks) == 1


def test_neither_a_plan_nor_a_pipe_is_written_over(tmp_path: Path) -> None:
    plan, pipe = tmp_path / "mine.duskplan", tmp_path / "pipe.json"
    plan.write_bytes(Path(SITE).read_bytes())
    os.mkfifo(pipe)
    for path, why in ((plan, "is a name for a plan"), (pipe, "a folder or a device has this name")):
        words = ("--format", "json", "--to", str(path), "--replace")
        assert why in refused("export", str(plan), *words)
    assert plan.read_bytes() == Path(SITE).read_bytes()
    assert pipe.is_fifo()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Neither --to nor --format is given"),
        (
            ("--format", "fit"),
            '--format has "fit"; ics, csv, json, gpx, kml or geojson was expected',
        ),
        (("--to", "evening.doc"), 'The file to write is "evening.doc"; a name that ends in .ics'),
        (("--to", "nowhere/evening.gpx"), '"evening.gpx" was not written: its folder is not there'),
        (("--format", "gpx", "--shoot", "C"), "A or B was expected"),
    ],
)
def test_a_refusal_is_one_sentence(
    words: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert said in refused("export", SITE, *words)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_gets_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Root may write everywhere, so the disk itself refuses.
    def refuse(*_: object) -> None:
        raise PermissionError(13, "")

    monkeypatch.setattr("core.export.formats.write_whole", refuse)
    with pytest.raises(
        PlanError, match=r'^"a\.kml" was not written: this user has no right to it;'
    ):
        write_to(tmp_path / "a.kml", b"")
    assert "this user has no right" in refused("export", SITE, "--to", str(tmp_path / "a.kml"))


def test_a_protected_file_stays_though_it_is_to_be_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "evening.ics"
    path.write_text("mine", "utf-8")
    # Root may write everything, so the system is asked in its place.
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert "protected against writing" in refused("export", SITE, "--to", str(path), "--replace")
    assert path.read_text("utf-8") == "mine"


@pytest.mark.parametrize("command", ["export --format ics", "card"])
def test_a_name_too_long_for_the_disk_gets_one_sentence(command: str, tmp_path: Path) -> None:
    path = tmp_path / f"{'x' * 300}.html"
    assert "the name is too long" in refused(*command.split(), SITE, "--to", str(path))


def test_a_name_of_two_lines_is_told_in_one(tmp_path: Path) -> None:
    path = tmp_path / 'a"b\nc 🌇.ics'
    assert answered("export", SITE, "--to", str(path)) == 'a"b c 🌇.ics is written.\n'
    assert Calendar.from_ical(path.read_bytes()).events


def test_a_folder_in_the_place_of_a_file_stays(tmp_path: Path) -> None:
    folder = tmp_path / "taken.csv"
    folder.mkdir()
    refused("export", SITE, "--to", str(folder))
    assert list(tmp_path.iterdir()) == [folder]
