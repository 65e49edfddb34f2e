"""Reading a folder: what a still says of itself, and files that would do harm."""

from __future__ import annotations

import datetime as dt
import os
import random
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from core.edit import PlanError
from core.review.stills import (
    MOST_PIXELS,
    Still,
    StillRefusedError,
    Unread,
    files_of,
    opened,
    pixels,
    read_still,
)
from tests.stillfiles import START, write_still


def still(path: Path) -> Still:
    read = read_still(path)
    assert isinstance(read, Still)
    return read


def reason(path: Path) -> str:
    read = read_still(path)
    assert isinstance(read, Unread)
    return read.reason


def test_a_still_says_when_how_and_where_it_was_taken(tmp_path: Path) -> None:
    clock = START.replace(microsecond=250_000)
    path = write_still(
        tmp_path / "a.jpg",
        clock,
        digits=2,
        offset="-03:30",
        gps=START,
        exposure=IFDRational(1, 8),
        iso=400,
    )
    read = still(path)
    exif = read.exif
    assert (read.width_px, read.height_px, exif.camera) == (64, 48, "Maker C1")
    # Exif 3.0, SubSecTimeOriginal: "25" is a quarter of a second.
    assert exif.clock_s == START.timestamp() + 0.25
    assert (exif.offset_s, exif.gps_s) == (-12600.0, START.timestamp())
    assert (exif.exposure_s, exif.iso, exif.f_number) == (0.125, 400.0, 1.7)
    assert exif.focal_equivalent_mm == 24.0
    assert exif.latitude_deg == pytest.approx(38.5)
    assert exif.longitude_deg == pytest.approx(-1.26)


def test_without_exif_a_still_is_a_still(tmp_path: Path) -> None:
    Image.new("RGB", (64, 48)).save(tmp_path / "a.jpg")
    assert still(tmp_path / "a.jpg").exif.clock_s is None


def test_pixels_are_reduced_while_they_are_decoded(tmp_path: Path) -> None:
    Image.new("RGB", (4000, 3000), (10, 120, 240)).save(tmp_path / "a.jpg", quality=95)
    with opened(tmp_path / "a.jpg") as image:
        shown, scale = pixels(image)
    assert (shown.shape, scale) == ((750, 1000, 3), 4)
    assert np.abs(shown.astype(int) - (10, 120, 240)).max() <= 2


def test_what_is_no_still_is_told_with_its_reason(tmp_path: Path) -> None:
    (tmp_path / "empty.jpg").touch()
    (tmp_path / "notes.txt").write_text("take two was better")
    Image.new("RGB", (64, 48)).save(tmp_path / "shot.png")
    (tmp_path / "raw.CR2").write_bytes(b"II*\0")
    (tmp_path / "short.DNG").write_bytes(b"II*\0")
    os.mkfifo(tmp_path / "pipe.jpg")
    (tmp_path / "loop.jpg").symlink_to(tmp_path / "loop.jpg")
    huge = tmp_path / "huge.jpg"
    huge.touch()
    os.truncate(huge, 300_000_000)
    told = {path.name: reason(path) for path in files_of(tmp_path)}
    assert told == {
        "empty.jpg": "the file is empty",
        "notes.txt": "it is no JPEG",
        "shot.png": "it is no JPEG",
        "short.DNG": "the file is damaged",
        "raw.CR2": "it is raw; save it as JPEG, or let the camera keep both",
        "pipe.jpg": "it is not a file",
        "loop.jpg": "its links lead round in a circle",
        "huge.jpg": "the file has more than 200 MB",
    }


def test_a_head_that_claims_a_bomb_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    path = write_still(tmp_path / "bomb.jpg")
    content = bytearray(path.read_bytes())
    at = content.index(b"\xff\xc0")
    content[at + 5 : at + 9] = b"\xff\xdc\xff\xdc"
    path.write_bytes(content)
    assert reason(path) == f"it has more than {MOST_PIXELS // 1_000_000} million pixels"


def test_a_still_that_ends_too_early_is_refused_when_decoded(tmp_path: Path) -> None:
    grain = np.random.default_rng(1).integers(0, 255, (480, 640, 3), np.uint8)
    path = write_still(tmp_path / "cut.jpg", picture=grain)
    path.write_bytes(path.read_bytes()[:-40_000])
    assert still(path).exif.clock_s is not None
    with pytest.raises(StillRefusedError, match="ends too early"), opened(path) as image:
        pixels(image)


def test_folders_inside_are_passed_over_and_a_missing_one_is_told(tmp_path: Path) -> None:
    (tmp_path / "100").mkdir()
    with pytest.raises(PlanError, match="holds no files"):
        files_of(tmp_path)
    with pytest.raises(PlanError, match="it is not there; name the folder"):
        files_of(tmp_path / "gone")
    with pytest.raises(PlanError, match="is a file"):
        files_of(write_still(tmp_path / "a.jpg"))


def test_thousands_of_mutated_stills_give_nothing_but_reasons(tmp_path: Path) -> None:
    rng = random.Random(8)  # noqa: S311
    grain = np.random.default_rng(2).integers(0, 255, (48, 64, 3), np.uint8)
    whole = write_still(tmp_path / "a.jpg", picture=grain, offset="+01:00", gps=START).read_bytes()
    path, read, refused = tmp_path / "b.jpg", 0, 0
    for turn in range(2000):
        content = bytearray(whole)
        # Every other one only in its head, where the Exif block stands.
        end = 700 if turn % 2 else len(content)
        for _ in range(rng.randint(1, 12)):
            content[rng.randrange(2, end)] = rng.choice((0, 1, 127, 128, 255, rng.randrange(256)))
        if rng.random() < 0.2:
            del content[rng.randrange(4, len(content)) :]
        path.write_bytes(content)
        try:
            with opened(path) as image:
                pixels(image)
            read += 1
        except StillRefusedError:
            refused += 1
        assert isinstance(read_still(path), Still | Unread)
    assert min(read, refused) > 200


def test_a_clock_that_cannot_be_is_no_clock(tmp_path: Path) -> None:
    path = write_still(tmp_path / "a.jpg", dt.datetime(1980, 1, 1, tzinfo=dt.UTC))
    assert still(path).exif.clock_s is None
