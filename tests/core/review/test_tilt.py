"""A camera that was off its planned poses: what the review makes of it, told and untold."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from core.edit import PlanError, with_values
from core.exposure import FloatArray
from core.memory import Memory
from core.path import LEVEL, Tilt, half_field_tangents, poses_along, tilted
from core.plan import Camera, Plan, Station
from core.plan import Path as FlownPath
from core.planfile import load, save
from core.review.geometry import Lens, Pose, each_pose, masks
from core.review.learn import shown_of, taught_by
from core.review.report import review_report
from core.review.result import review_take
from core.review.review import review
from core.review.tilt import held, raised, tilt_sentences, tilted_pose, turned, typed_tilt_deg
from core.review.words import verdict_sentences
from tests.core.review.takes import FEW, Case
from tests.practice.take import PracticeTake, write_take
from tests.practice.truth import Handling, Lasting, Tonight, Truth

#: The horizon is in the frame all along, in a place without lamps.
PLAN = with_values(
    FEW,
    {
        "path.stations.0.pitch_deg": -20.0,
        "path.stations.1.pitch_deg": -8.0,
        "shoots.A.clip_length_s": 1.2,
        "shoots.A.interval_s": 20.0,
        "shoots.A.start_after_event_min": 32.0,
        "ground.lamps.luminance_cd_m2": 0.0,
    },
)
BRIGHT = Truth(
    Lasting(level_stops=0.6), Tonight(weather_stops=0.2), Handling(drift_m_min=(0.3, -0.2))
)
OFF_DEG = 3.0


def pitched(plan: Plan, by_deg: float) -> Plan:
    """The plan as a camera flies it that looks higher by so much."""
    pitch = {
        f"path.stations.{k}.pitch_deg": one.pitch_deg + by_deg
        for k, one in enumerate(plan.path.stations)
    }
    return with_values(plan, pitch)


def case(take: PracticeTake, folder: Path, tilt: Tilt | None) -> Case:
    """A take as it is reviewed by a tilt."""
    shown = shown_of(review(PLAN, "A", folder, Memory(), tilt=tilt, processes=0))
    return Case(take, shown)


def test_light_and_drift_of_a_camera_off_by_three_degrees_are_found_only_with_its_tilt(
    tmp_path: Path,
) -> None:
    take = write_take(tmp_path, pitched(PLAN, OFF_DEG), BRIGHT, 7)
    untold, told = (case(take, tmp_path, tilt) for tilt in (LEVEL, Tilt(OFF_DEG)))
    ambient = [abs(one.departures()["ambient"][0]) for one in (untold, told)]
    assert ambient[0] > 0.3
    assert ambient[1] < 0.2
    off = [one.shown.reviewed.departure_px - take.departure_px() for one in (untold, told)]
    rms = [float(np.nanstd(one)) for one in off]
    assert rms[0] > 1.0
    assert rms[1] < 0.3


def test_ground_that_was_read_as_sky_is_told_and_teaches_nothing(tmp_path: Path) -> None:
    """A burnt sky comes into view late: what is below it is all that can be read as sky."""
    plan = with_values(PLAN, {"path.stations.0.pitch_deg": -40.0})
    write_take(tmp_path, pitched(plan, -OFF_DEG), BRIGHT, 7)
    told = "Ground may have been read as sky"
    for tilt, ground in ((LEVEL, True), (Tilt(-OFF_DEG), False)):
        shown = shown_of(review(plan, "A", tmp_path, Memory(), tilt=tilt, processes=0))
        assert (told in " ".join(verdict_sentences(shown, ()))) == ground
        lesson = taught_by(shown, plan, Memory()).lesson.plan
        assert not any(one.part == "sky" for one in lesson.readings)
        assert not any(one.name == "highlight_stops" for one in lesson.learned)


def test_a_tilt_is_kept_with_what_the_take_taught_and_holds_for_the_next_review(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "stills"
    folder.mkdir()
    write_take(folder, pitched(PLAN, OFF_DEG), BRIGHT, 7)
    seen = review_take(PLAN, "A", folder, Memory(), tilt=Tilt(OFF_DEG, -0.4), processes=0)
    assert "The camera looked 3.0° higher than planned." in seen.verdict
    assert "The camera leaned 0.4° to the left." in seen.verdict
    assert review_report(seen, kept=False)["pitch_off_deg"] == OFF_DEG
    assert seen.taught is not None
    save(seen.taught.lesson.plan, tmp_path / "weirs.duskplan")
    kept = load(tmp_path / "weirs.duskplan")
    again = review(kept, "A", folder, Memory(), processes=0)
    assert again.tilt == Tilt(OFF_DEG, -0.4)
    assert review(kept, "A", folder, Memory(), tilt=LEVEL, processes=0).tilt == LEVEL


def test_a_tilted_sky_is_told_to_the_plan_as_the_planned_pose_would_show_it(
    tmp_path: Path,
) -> None:
    plan = with_values(PLAN, {"shoots.A.shutter_s": 0.25})
    write_take(tmp_path, pitched(plan, 8.0), Truth(), 7)
    seen = review(plan, "A", tmp_path, Memory(), tilt=Tilt(8.0), processes=0)
    # As if the planned pose saw a sky that is brighter by so much.
    brighter = replace(seen, planned_sky_stops=seen.planned_sky_stops + 0.7)
    skies, lands = (
        [
            [one.stops for one in lesson.plan.readings if one.part == part]
            for lesson in (
                taught_by(shown_of(one), plan, Memory()).lesson for one in (seen, brighter)
            )
        ]
        for part in ("sky", "land")
    )
    assert len(skies[0]) >= 2
    assert np.array(skies[1]) == pytest.approx(np.array(skies[0]) + 0.7)
    assert lands[0] == lands[1]


def test_a_picture_that_was_turned_is_measured_by_its_roll(tmp_path: Path) -> None:
    # Stills of a wider lens, turned by an imaging library and cut to the plan's frame.
    turned_deg, wide = 7.0, with_values(PLAN, {"camera.focal_equivalent_mm": 17.0})
    take = write_take(tmp_path, wide, BRIGHT, 7, (640, 480))
    share = 17.0 / PLAN.camera.focal_equivalent_mm
    for path in tmp_path.glob("*.JPG"):
        with Image.open(path) as still:
            left, top = ((1.0 - share) / 2.0 * side for side in still.size)
            box = (round(left), round(top), round(640 - left), round(480 - top))
            exif = still.info["exif"]
            # Counter-clockwise: its horizon's right end stands higher.
            still.rotate(turned_deg, Image.Resampling.BICUBIC).crop(box).save(path, exif=exif)
    off = {
        roll: case(take, tmp_path, Tilt(0.0, roll)).departures()["ambient"][0]
        for roll in (-turned_deg, 0.0, turned_deg)
    }
    assert abs(off[turned_deg]) < 0.2
    assert min(abs(off[0.0]), abs(off[-turned_deg])) > abs(off[turned_deg]) + 0.1


def test_the_skyline_lies_where_a_pinhole_puts_it() -> None:
    lens = Lens.of(Camera(), 800, 600)
    pose = Pose(0.0, 0.0, 50.0, 200.0, -10.0)
    x, y = lens.skyline(pose, ())
    # A point at infinity on the optical plane: distance tan(pitch) above the middle, by the
    # pinhole model (Hartley and Zisserman 2004, Multiple View Geometry, eq. 6.1; from memory).
    focal_px = 400.0 / lens.half_width
    assert y == pytest.approx(300.0 - np.tan(np.radians(10.0)) * 300.0 / lens.half_height)
    assert float(np.interp(200.0 + np.degrees(np.arctan(0.1)), 200.0 + np.arange(-89, 90), x)) == (
        pytest.approx(400.0 + 0.1 / np.cos(np.radians(10.0)) * focal_px, rel=1e-2)
    )
    _, rolled = lens.skyline(tilted_pose(Pose(0.0, 0.0, 50.0, 200.0, 0.0), Tilt(0.0, 5.0)), ())
    x, _ = lens.skyline(tilted_pose(Pose(0.0, 0.0, 50.0, 200.0, 0.0), Tilt(0.0, 5.0)), ())
    inside = np.abs(x - 400.0) < 400.0
    slope = -np.diff(rolled[inside]) / 300.0 * lens.half_height
    slope /= np.diff(x[inside]) / 400.0 * lens.half_width
    assert slope == pytest.approx(np.tan(np.radians(5.0)))
    ridge = lens.skyline(pose, ((0.0, 4.0), (359.0, 4.0)))[1]
    assert ridge[89] == pytest.approx(300.0 - np.tan(np.radians(14.0)) * 300.0 / lens.half_height)


@pytest.mark.parametrize("tilt", [LEVEL, Tilt(4.0), Tilt(-2.0, 6.0), Tilt(1.0, -9.0)])
def test_sky_and_ground_are_told_apart_along_the_line_that_is_drawn(tilt: Tilt) -> None:
    stations = (Station(up_m=60.0, pitch_deg=-6.0), Station(up_m=60.0, pitch_deg=-4.0, east_m=9.0))
    poses = tilted(poses_along(FlownPath(stations=stations), np.linspace(0.0, 1.0, 3)), tilt)
    sky, ground = masks(poses, Camera(), (), 96, 64)
    lens = Lens.of(Camera(), 96, 64)
    for k, pose in enumerate(each_pose(poses)):
        x, y = lens.skyline(pose, ())
        edge = np.interp(np.arange(96) + 0.5, x, y)[None, :] - (np.arange(64) + 0.5)[:, None]
        assert (edge[sky[k]] > 0.0).all()
        assert (edge[ground[k]] < 0.0).all()
        assert (sky[k] | ground[k])[np.abs(edge) > 2.5].all()


def test_ground_under_a_camera_that_leans_is_where_its_pixel_is() -> None:
    lens = Lens.of(Camera(), 800, 450)
    pose = Pose(12.0, -30.0, 65.0, 200.0, -35.0, 8.0)
    x, y = np.array([10.5, 400.0, 700.2]), np.array([100.0, 225.0, 440.0])
    again = np.stack(lens.pixel(pose, *lens.ground(pose, x, y)))
    assert again == pytest.approx(np.stack([x, y]))


def line_at(lens: Lens, pose: Pose, tilt: Tilt, x: float) -> float:
    """How high the line stands in a column."""
    line: tuple[FloatArray, FloatArray] = lens.skyline(tilted_pose(pose, tilt), ())
    return float(np.interp(x, *line))


def test_the_line_goes_with_the_hand() -> None:
    lens, pose = Lens(300, 225, *half_field_tangents(Camera(aspect="4:3"))), Pose(0, 0, 50, 90, -8)
    before = line_at(lens, pose, LEVEL, 150.0)
    up = raised(LEVEL, lens, before, before - 40.0)
    assert line_at(lens, pose, up, 150.0) == pytest.approx(before - 40.0, abs=0.3)
    for x in (30.0, 270.0):
        tilt = turned(LEVEL, lens, (x, before), (x, before - 25.0), before)
        assert line_at(lens, pose, tilt, x) == pytest.approx(before - 25.0, abs=1.0)
        assert (tilt.roll_deg > 0.0) == (x > 150.0)


def test_a_tilt_is_typed_told_and_kept_within_what_a_camera_can_be_off() -> None:
    assert typed_tilt_deg("\N{MINUS SIGN}2,5°") == -2.5
    assert typed_tilt_deg("3 deg") == 3.0
    assert typed_tilt_deg("") == 0.0
    for wrong in ("46", "level", "-200"):
        with pytest.raises(PlanError, match=r"no angle of the camera; −45 to \+45°"):
            typed_tilt_deg(wrong)
    assert held(99.0, -0.04) == Tilt(45.0, 0.0)
    assert list(tilt_sentences(LEVEL)) == []
    assert list(tilt_sentences(Tilt(-1.0, 2.0))) == [
        "The camera looked 1.0° lower than planned.",
        "The camera leaned 2.0° to the right.",
    ]
