"""Faults that stills tell of themselves: taken somewhere else, or with the camera on automatic."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from core.edit import with_values
from core.memory import Memory
from core.review.faults import faults_of
from core.review.learn import Shown, shown_of
from core.review.review import review
from tests.practice.plans import plan_of
from tests.practice.take import write_take
from tests.practice.truth import Truth


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """A short take over its own place, all locked."""
    folder: Path = tmp_path_factory.mktemp("stills")
    plan = plan_of(6)
    write_take(folder, plan, Truth(), 3)
    return shown_of(review(plan, "A", folder, Memory(), processes=0))


def with_exif(shown: Shown, first: int, **changes: object) -> Shown:
    """The same take, whose stills say something else from a frame on."""
    frames = tuple(
        frame
        if at < first
        else replace(frame, still=replace(frame.still, exif=replace(frame.still.exif, **changes)))  # type: ignore[arg-type]
        for at, frame in enumerate(shown.reviewed.frames)
    )
    timeline = replace(shown.reviewed.timeline, frames=frames)
    return replace(shown, reviewed=replace(shown.reviewed, timeline=timeline))


def named(shown: Shown) -> dict[str, tuple[int, str]]:
    """Faults by name: where they begin and what they say."""
    return {one.name: (one.at, one.sentence) for one in faults_of(shown)}


def test_a_take_over_its_own_place_with_all_locked_has_neither(shown: Shown) -> None:
    assert not {"elsewhere", "auto"} & set(named(shown))


def test_a_camera_left_on_automatic_is_told_where_it_begins(shown: Shown) -> None:
    at, told = named(with_exif(shown, 2, auto_exposure=True))["auto"]
    assert at == 2
    assert told == "Automatic exposure is on from frame 3 on: lock it."
    _, told = named(with_exif(shown, 0, auto_white=True))["auto"]
    assert told == "Automatic white balance is on from frame 1 on: lock it."


def test_stills_of_another_place_are_told_with_their_distance(shown: Shown) -> None:
    latitude = shown.reviewed.plan.place.latitude_deg
    at, told = named(with_exif(shown, 0, latitude_deg=latitude + 0.5))["elsewhere"]
    # Half a degree of latitude is 30 nautical miles.
    assert at == 0
    assert told.startswith("The stills were taken 56 km from this place")


def test_the_date_line_parts_no_place_from_itself(shown: Shown) -> None:
    place = replace_place(shown, 179.999)
    assert "elsewhere" not in named(with_exif(place, 0, longitude_deg=-179.999))


def replace_place(shown: Shown, longitude_deg: float) -> Shown:
    """The take as of a place on another meridian."""
    plan = with_values(shown.reviewed.plan, {"place.longitude_deg": longitude_deg})
    return replace(shown, reviewed=replace(shown.reviewed, plan=plan))
