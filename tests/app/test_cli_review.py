"""The commands `review` and `clip`: promised keys, what is kept, one sentence for bad input."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from app import cli_review
from core.edit import with_values
from core.planfile import load, save
from tests.app.commands import answered, refused
from tests.dusk import december_plan
from tests.practice.take import write_take
from tests.practice.truth import Handling, Lasting, Truth

KEYS = {
    "frames", "missing", "unreadable", "interval_s", "flicker_stops", "drift_rms_px",
    "crop_percent", "learned", "advice",
}  # fmt: skip
FRAME_KEYS = {
    "file", "index", "time", "exposure_s", "iso", "f_number", "measured", "predicted",
    "clipped_share", "drift_px",
}  # fmt: skip


PLAN = with_values(
    december_plan(camera__aspect="4:3"),
    {"shoots.A.clip_length_s": 1.6, "shoots.A.interval_s": 20.0},
)


@pytest.fixture(scope="module")
def stills(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A take of 40 frames of a brighter place, one missing."""
    folder = tmp_path_factory.mktemp("stills")
    handling = Handling(missing=(7,), broken=("empty",))
    write_take(folder, PLAN, Truth(Lasting(level_stops=0.8), handling=handling), 5)
    return folder


@pytest.fixture
def take(stills: Path, tmp_path: Path) -> tuple[str, str]:
    """A plan file, and the folder of its take."""
    path = tmp_path / "weirs.duskplan"
    save(PLAN, path)
    return str(path), str(stills)


def test_json_has_the_keys_of_the_contract(take: tuple[str, str]) -> None:
    report = json.loads(answered("review", *take, "--format", "json"))
    assert set(report) >= KEYS
    assert set(report["frames"][0]) >= FRAME_KEYS
    assert report["missing"] == [7]
    assert [one["reason"] for one in report["unreadable"]] == ["the file is empty"]
    assert {one["name"] for one in report["learned"]} >= {"level_stops", "weather_stops"}
    assert not report["kept"]
    faults = [
        (frame["index"], one["name"]) for frame in report["frames"] for one in frame["faults"]
    ]
    assert [index for index, name in faults if name == "gap"] == [8]


def test_learning_keeps_the_take_and_its_frames_and_tells_by_how_many_minutes(
    take: tuple[str, str],
) -> None:
    page = answered("review", *take, "--learn")
    assert "The place shows" in page
    assert "min later" in page
    assert max(map(len, page.splitlines())) <= 88
    kept = load(take[0])
    (told,) = kept.takes
    assert told.summary.missing == 1
    assert {item.name for item in kept.learned} >= {"level_stops", "weather_stops"}
    table = Path(take[0]).with_name(told.summary.table or "")
    rows = list(csv.DictReader(table.read_text("utf-8").splitlines()))
    assert len(rows) == told.summary.frames == 39


@pytest.mark.parametrize("step", ["review_take", "write_table"])
def test_a_plan_that_is_edited_while_stills_are_measured_is_not_written_over(
    take: tuple[str, str], step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs = with_values(PLAN, {"path.stations.0.up_m": 44.0})
    own = getattr(cli_review, step)

    def edited(*given: Any, **named: Any) -> Any:
        save(theirs, take[0])
        return own(*given, **named)

    monkeypatch.setattr(cli_review, step, edited)
    assert "weirs.duskplan" in refused("review", *take, "--learn")
    assert load(take[0]) == theirs


def test_without_learn_the_plan_stays_as_it_is(take: tuple[str, str]) -> None:
    before = Path(take[0]).read_bytes()
    assert "'--learn' keeps it in weirs.duskplan" in answered("review", *take).replace("\n", " ")
    assert Path(take[0]).read_bytes() == before
    assert [path.name for path in Path(take[0]).parent.iterdir()] == ["weirs.duskplan"]


def test_what_the_craft_drew_is_learned_from_typed_charges(take: tuple[str, str]) -> None:
    page = answered("review", *take, "--learn", "--charge", "90:45").replace("\n", " ")
    assert "times the power reckoned" in page
    kept = load(take[0])
    (practice,) = [one for one in kept.learned if one.name == "practice_factor"]
    assert practice.scope == "craft"
    assert kept.craft.practice_factor == practice.value
    for typed, told in (
        ("90", "as 91:43"), ("nan:40", "as 91:43"), ("40:90", "the last one the lower"),
        ("90:-5", "the last one the lower"), ("90:88", "look at the charges once more"),
    ):  # fmt: skip
        assert told in refused("review", *take, "--learn", "--charge", typed)


def test_a_clip_is_written_beside_its_plan_and_never_replaced(
    take: tuple[str, str], tmp_path: Path
) -> None:
    out = str(tmp_path / "weirs.mp4")
    assert answered("clip", *take, "-o", out).startswith("weirs.mp4 is written; 39 frames")
    assert "is there already" in refused("clip", *take, "-o", out)
    assert "a name that ends in .mp4" in refused("clip", *take, "-o", str(tmp_path / "weirs.gif"))
    assert "its folder is not there" in refused("clip", *take, "-o", str(tmp_path / "no" / "w.mp4"))


def test_bad_input_gets_one_sentence(take: tuple[str, str], tmp_path: Path) -> None:
    assert "it is not there" in refused("review", take[0], str(tmp_path / "gone"))
    (tmp_path / "few").mkdir()
    (tmp_path / "few" / "a.txt").write_text("x")
    assert "holds 0 stills" in refused("review", take[0], str(tmp_path / "few"))
    told = refused("review", *take, "--learn", "--set", "shoots.A.iso=200")
    assert "use one of them" in told


def test_a_camera_that_was_off_is_told_in_degrees(take: tuple[str, str], tmp_path: Path) -> None:
    page = answered("review", *take, "--learn", "--pitch", "2.5", "--roll", "-0.5°")
    assert "The camera looked 2.5° higher than planned." in page
    assert "The camera leaned 0.5° to the left." in page
    (told,) = load(take[0]).takes
    assert (told.summary.pitch_off_deg, told.summary.roll_off_deg) == (2.5, -0.5)
    # Reviewed again without a word of it, it is what the plan holds of the take.
    again = json.loads(answered("review", *take, "--format", "json"))
    assert (again["pitch_off_deg"], again["roll_off_deg"]) == (2.5, -0.5)
    assert "−45 to +45° was expected" in refused("review", *take, "--pitch", "steep")
    out = str(tmp_path / "weirs.mp4")
    assert "was expected" in refused("clip", *take, "-o", out, "--roll", "90")
