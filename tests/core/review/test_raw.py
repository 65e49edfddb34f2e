"""Raw stills: read as JPEG is, in linear light, or told with what to install."""

from __future__ import annotations

import importlib.util
import random
import struct
from pathlib import Path

import numpy as np
import pytest

from core.review.curve import LINEAR, scene_stops
from core.review.stills import (
    MOST_PIXELS,
    Still,
    StillRefusedError,
    Unread,
    opened,
    pixels,
    read_still,
    without_twins,
)
from tests.core.review.takes import FEW, Case, shown_in
from tests.dngfiles import dng_of, mosaic_of
from tests.practice.exif import exif_of
from tests.practice.rawtake import CLIP, write_raw_take
from tests.practice.take import _shot, write_take
from tests.practice.truth import drawn_truth
from tests.stillfiles import write_still


def grey(
    stops: tuple[float, ...], rows: int = 60
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Stripes of grey, so many stops from mid-grey, in shares of where the sensor clips."""
    across = np.repeat(np.exp2(np.array(stops)) / CLIP, 20)
    return np.broadcast_to(across, (3, rows, len(across)))


def shown(
    path: Path, width_px: int = 20
) -> tuple[np.ndarray[tuple[int, ...], np.dtype[np.uint8]], int]:
    with opened(path) as still:
        return pixels(still, width_px)


def test_known_light_comes_back_channel_by_channel(tmp_path: Path) -> None:
    stops = (-4.0, -2.0, 0.0, 1.0, 2.0)
    (tmp_path / "a.dng").write_bytes(dng_of(mosaic_of(grey(stops))))
    seen, scale = shown(tmp_path / "a.dng", 50)
    assert (seen.shape, scale) == ((30, 50, 3), 4)
    middles = seen[15, 5::10].astype(int)
    # The camera's own white is grey: NEUTRAL is taken out.
    assert np.ptp(middles, axis=1).max() <= 1
    back = scene_stops(np.log2(LINEAR[middles[:, 1]] / 0.18), np.log2(CLIP))
    # A value of 8 bits is up to 0.15 stop wide so far down.
    assert np.abs(back - stops).max() < 0.1
    # ISO 12232:2019, standard output sensitivity: mid-grey is 118 of 255.
    assert abs(middles[2, 1] - 118) <= 1


def test_more_room_above_mid_grey_that_a_camera_tells_is_heeded(tmp_path: Path) -> None:
    (tmp_path / "a.dng").write_bytes(dng_of(mosaic_of(grey((0.0,)) / 2.0), baseline_stops=1))
    seen, _ = shown(tmp_path / "a.dng")
    assert abs(int(seen[10, 10, 1]) - 118) <= 1


def test_what_clips_in_the_raw_is_white(tmp_path: Path) -> None:
    (tmp_path / "a.dng").write_bytes(dng_of(mosaic_of(np.full((3, 40, 40), 3.0))))
    assert (shown(tmp_path / "a.dng")[0] == 255).all()


def test_without_the_library_each_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.dng").write_bytes(dng_of(mosaic_of(grey((0.0,)))))
    found = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "rawpy" else found(name)
    )
    read = read_still(tmp_path / "a.dng")
    assert read == Unread(
        "a.dng", 'it is DNG: install Duskwright with its extra "raw" to have it read'
    )


def test_a_raw_still_beside_its_jpeg_is_the_same_shot(tmp_path: Path) -> None:
    for name in ("DWK_1.DNG", "DWK_2.DNG"):
        (tmp_path / name).write_bytes(dng_of(mosaic_of(grey((0.0,)))))
    write_still(tmp_path / "DWK_1.JPG")
    (tmp_path / "DWK_2.JPG").write_bytes(b"torn")
    stills, others = without_twins([read_still(path) for path in sorted(tmp_path.iterdir())])
    # Where the JPEG cannot be read, the raw one is.
    assert [one.file for one in stills] == ["DWK_1.JPG", "DWK_2.DNG"]
    told = {one.file: one.reason for one in others}
    assert told["DWK_1.DNG"] == "it is the same shot as DWK_1.JPG, which is read"
    assert set(told) == {"DWK_1.DNG", "DWK_2.JPG"}


def test_a_head_that_claims_too_much_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    huge = np.broadcast_to(np.uint16(0), (MOST_PIXELS // 1000, 1001))
    (tmp_path / "a.dng").write_bytes(dng_of(huge)[:5000])
    assert read_still(tmp_path / "a.dng") == Unread("a.dng", "it has more than 120 million pixels")


@pytest.mark.parametrize("order", ["<", ">"])
def test_the_size_of_a_raw_is_that_of_its_largest_picture(tmp_path: Path, order: str) -> None:
    # TIFF 6.0, section 2; DNG 1.4, SubIFDTrees: a preview stands first, the raw in a further one.
    preview, sizes = (160, 120), ((640, 480), (5472, 3648))
    further = 8 + 2 + 3 * 12 + 4
    places = [further + 8 + at * (2 + 2 * 12 + 4) for at in range(2)]

    def directory(size: tuple[int, int], *more: tuple[int, int, int, int]) -> bytes:
        entries = ((0x0100, 4, 1, size[0]), (0x0101, 4, 1, size[1]), *more)
        packed = b"".join(struct.pack(f"{order}HHLL", *entry) for entry in entries)
        return struct.pack(f"{order}H", len(entries)) + packed + bytes(4)

    content = struct.pack(f"{order}2sHL", b"II" if order == "<" else b"MM", 42, 8)
    content += directory(preview, (0x014A, 4, 2, further))
    content += struct.pack(f"{order}LL", *places) + b"".join(map(directory, sizes))
    (tmp_path / "a.dng").write_bytes(content)
    with opened(tmp_path / "a.dng") as still:
        assert still.size == (5472, 3648)


def test_hundreds_of_mutated_raws_give_nothing_but_reasons(tmp_path: Path) -> None:
    rng = random.Random(8)  # noqa: S311
    whole = dng_of(mosaic_of(grey((-1.0, 0.0, 1.0))), b"")
    path, counts = tmp_path / "b.dng", {True: 0, False: 0}
    for turn in range(400):
        content = bytearray(whole)
        end = 800 if turn % 4 else len(content)
        for _ in range(rng.randint(1, 6)):
            content[rng.randrange(end)] = rng.choice((0, 1, 127, 128, 255, rng.randrange(256)))
        if rng.random() < 0.2:
            del content[rng.randrange(4, len(content)) :]
        path.write_bytes(content)
        assert isinstance(read_still(path), Still | Unread)
        try:
            shown(path)
            counts[True] += 1
        except StillRefusedError:
            counts[False] += 1
    assert min(counts.values()) > 40


def test_a_take_in_raw_teaches_what_one_in_jpeg_does(tmp_path: Path) -> None:
    seed = 401
    truth = drawn_truth(FEW, "A", seed)
    off = {}
    for write in (write_take, write_raw_take):
        folder = tmp_path / write.__name__
        folder.mkdir()
        take = write(folder, FEW, truth, seed)
        seen = shown_in(folder, FEW)
        case = Case(take, seen)
        off[write] = case.departures()["ambient"][0]
        assert len(seen.reviewed.frames) + len(seen.reviewed.timeline.missing) == 60
    assert abs(off[write_raw_take]) < 0.2
    assert abs(off[write_raw_take] - off[write_take]) < 0.2


def test_raw_says_when_and_how_it_was_taken(tmp_path: Path) -> None:
    take = write_take(tmp_path, FEW, drawn_truth(FEW, "A", 5), 5)
    first = take.frames[0]
    block = exif_of(_shot(FEW, take.truth.handling, first, take.size))
    (tmp_path / "b.dng").write_bytes(dng_of(mosaic_of(grey((0.0,))), block))
    read, jpeg = (read_still(tmp_path / name) for name in ("b.dng", first.file))
    assert isinstance(read, Still)
    assert isinstance(jpeg, Still)
    assert read.exif == jpeg.exif
