"""Broken files are broken in the way that they are named after, and mutants are many."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image, UnidentifiedImageError

from tests.practice.broken import broken_file, mutants
from tests.practice.exif import exif_span, with_exif
from tests.practice.plans import plan_of
from tests.practice.take import write_take
from tests.practice.truth import BROKEN, Broken, Handling, Truth


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("take")
    take = write_take(folder, plan_of(1), Truth(), 1, (96, 72))
    return (folder / take.frames[0].file).read_bytes()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("kind", ["empty", "bytes", "text", "cut"])
def test_some_broken_files_are_no_images(kind: Broken, whole: bytes) -> None:
    with pytest.raises((UnidentifiedImageError, OSError)):
        opened(broken_file(kind, whole, (1, 1))).load()


def test_a_huge_one_claims_more_pixels_than_any_memory_holds(whole: bytes) -> None:
    with pytest.raises(Image.DecompressionBombError):
        opened(broken_file("huge", whole, (1, 1)))


def test_a_hostile_one_shows_a_picture_and_tells_no_time(whole: bytes) -> None:
    data = broken_file("hostile_exif", whole, (1, 1))
    with pytest.warns(UserWarning, match="larger than file"):
        picture = opened(data).convert("RGB")
    assert picture.tobytes() == opened(whole).convert("RGB").tobytes()
    assert b"2026" not in data[: exif_span(data)[1]]


def test_every_kind_is_written_beside_the_frames(tmp_path: Path) -> None:
    take = write_take(tmp_path, plan_of(2), Truth(handling=Handling(broken=BROKEN)), 1, (96, 72))
    assert len(take.broken) == len(BROKEN)
    assert {path.name for path in tmp_path.iterdir()} == {
        *take.broken,
        *(frame.file for frame in take.frames),
    }


def test_an_exif_block_put_back_gives_the_same_file(whole: bytes) -> None:
    first, last = exif_span(whole)
    assert with_exif(whole, whole[first:last]) == whole


def test_mutants_differ_from_their_parent_and_come_again_from_their_seed(whole: bytes) -> None:
    many = list(mutants(whole, 7, 1000))
    assert many == list(mutants(whole, 7, 1000))
    assert sum(mutant != whole for mutant in many) > 950
    assert len(set(many)) > 900
    # Enough of them still pass for images, so that what comes after the first look is tried.
    assert sum(mutant.startswith(b"\xff\xd8\xff") for mutant in many) > 500
