"""The draft of the clip, from the decoded result; and what a review asks for while it runs."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import av
import numpy as np
import pytest

from core.edit import PlanError, with_values
from core.memory import Memory
from core.review import draft
from core.review.curve import display_stops, scene_stops
from core.review.draft import write_clip
from core.review.learn import Shown, shown_of
from core.review.level import levelled_codes
from core.review.review import review
from tests.core.review.takes import PLAN
from tests.practice.plans import plan_of
from tests.practice.take import write_take
from tests.practice.truth import Handling, Truth

FRAMES = 24


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """A take that flickers and shakes, one frame missing and one torn."""
    folder = tmp_path_factory.mktemp("take")
    plan = with_values(PLAN, {"shoots.A.clip_length_s": FRAMES / 25.0})
    handling = Handling(flicker_stops=0.2, shake_px=3.0, missing=(7,), torn=(9,))
    write_take(folder, plan, Truth(handling=handling), 6)
    return shown_of(review(plan, "A", folder, Memory(), processes=0))


def test_a_clip_is_an_mp4_of_1080_lines_level_and_steady(shown: Shown, tmp_path: Path) -> None:
    place = write_clip(shown, tmp_path / "clip.mp4")
    assert place == tmp_path / "clip.mp4"
    assert [path.name for path in tmp_path.iterdir()] == ["clip.mp4"]
    with av.open(str(place)) as video:
        stream = video.streams.video[0]
        assert (stream.width, stream.height) == (1920, 1080)
        assert stream.average_rate == 25
        frames = [frame.to_ndarray(format="gray") for frame in video.decode(stream)]
    assert len(frames) == FRAMES - 2
    level = np.array([frame.mean() for frame in frames])
    bends = np.abs(np.diff(level, 2)) / level[1:-1]
    # A flicker of 0.2 stop bends the level by some 10 % from frame to frame.
    assert np.median(bends) < 0.02
    with pytest.raises(PlanError, match="is there already"):
        write_clip(shown, place)


def test_without_the_video_library_a_clip_is_a_folder_of_pictures(
    shown: Shown, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(draft, "video_library", lambda: None)
    told: list[tuple[int, int]] = []
    place = write_clip(shown, tmp_path / "clip.mp4", progress=lambda *done: told.append(done))
    assert place == tmp_path / "clip"
    assert len(list(place.iterdir())) == FRAMES - 2
    assert told == [(k + 1, FRAMES - 1) for k in range(FRAMES - 1)]


def test_what_lies_there_before_or_comes_meanwhile_is_left(
    shown: Shown, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(draft, "video_library", lambda: None)
    for name in ("clip.unfinished", "other.unfinished"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "own.txt").write_text("the pilot's own")

    def meanwhile(done: int, _of: int) -> None:
        if done == 1:
            (tmp_path / "clip").mkdir()

    with pytest.raises(PlanError, match="is there already"):
        write_clip(shown, tmp_path / "clip.mp4", progress=meanwhile)
    assert list((tmp_path / "clip").iterdir()) == []
    (tmp_path / "clip").rmdir()
    assert write_clip(shown, tmp_path / "clip.mp4") == tmp_path / "clip"
    assert len(list(tmp_path.rglob("own.txt"))) == 2


def test_a_clip_that_is_cancelled_leaves_nothing(shown: Shown, tmp_path: Path) -> None:
    told: list[int] = []
    place = write_clip(
        shown,
        tmp_path / "clip.mp4",
        progress=lambda done, _of: told.append(done),
        cancelled=lambda: len(told) >= 3,
    )
    assert place is None
    assert list(tmp_path.iterdir()) == []


def test_levelling_by_nothing_changes_nothing_and_keeps_black_and_white() -> None:
    assert np.array_equal(levelled_codes(0.0, 3.2, 1.1), np.arange(256))
    brighter = levelled_codes(0.5, 3.2, 1.1).astype(int)
    assert (brighter[0], brighter[255]) == (0, 255)
    assert np.all(np.diff(brighter) >= 0)
    # Mid-grey, sRGB 118 (ISO 12232:2019), half a stop up by the camera's own curve.
    assert np.all(brighter[60:200] > np.arange(60, 200))


def test_the_cameras_curve_turned_round_is_itself() -> None:
    shown_stops = np.linspace(-8.0, 2.3, 40)
    scene = scene_stops(shown_stops, 3.4, 1.2)
    assert display_stops(scene, 3.4, 1.2) == pytest.approx(shown_stops)


def traced_mb(folder: Path, frames: int) -> float:
    """The most that a review holds beside the library's decoder, 10⁶ bytes."""
    plan = plan_of(frames)
    write_take(folder, plan, Truth(), 1, pictures=1)
    tracemalloc.start()
    try:
        review(plan, "A", folder, Memory(), processes=0)
        return tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_the_pictures(tmp_path: Path) -> None:
    sizes = []
    # Once before, so that what is loaded for good is there.
    traced_mb(tmp_path, 3)
    for frames in (10, 30):
        folder = tmp_path / str(frames)
        folder.mkdir()
        sizes.append(traced_mb(folder, frames))
    # What is kept of a frame is some kilobytes; a picture decoded has 0.36 MB.
    assert (sizes[1] - sizes[0]) / 20.0 < 0.03


def test_a_review_that_is_cancelled_keeps_what_was_seen(tmp_path: Path) -> None:
    plan = plan_of(40)
    write_take(tmp_path, plan, Truth(), 1, pictures=1)
    told: list[int] = []
    seen = review(
        plan, "A", tmp_path, Memory(), processes=0,
        progress=lambda done, _of: told.append(done), cancelled=lambda: len(told) >= 1,
    )  # fmt: skip
    assert not seen.complete
    assert 0 < sum(look is not None for look in seen.looks) < 40
