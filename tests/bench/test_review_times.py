"""What reviewing a take of large stills costs, against the least that decoding them can cost.

The floor is the bare time in which two processes decode the same files at the same scale:
nothing that reads the pictures can be faster. Wall time, the better of some tries, as the work
is shared out among processes.
"""

from __future__ import annotations

import multiprocessing
import shutil
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest
from PIL import Image

from core.memory import Memory
from core.review.review import review
from tests.practice.plans import plan_of
from tests.practice.take import TWELVE_MEGAPIXELS, PracticeTake, write_take
from tests.practice.truth import Truth

FRAMES = 300
PROCESSES = 2
TRIES = 2
#: Pictures drawn anew; the rest repeat them under Exif of their own.
PICTURES = 2
SCALE = 4


@pytest.fixture(scope="module")
def large_take(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, PracticeTake]]:
    """300 stills of 12 megapixels, some 640 MB, taken away again at once."""
    folder = tmp_path_factory.mktemp("large")
    plan = plan_of(FRAMES, pitch_deg=-10.0)
    yield folder, write_take(folder, plan, Truth(), 1, TWELVE_MEGAPIXELS, pictures=PICTURES)
    shutil.rmtree(folder)


def decoded(path: Path) -> tuple[int, int]:
    """Decode one still at the reduced scale, in the decoder's fastest way to colours."""
    with Image.open(path) as image:
        image.draft("RGB", (image.width // SCALE, image.height // SCALE))
        image.load()
        return image.size


def floor_s(paths: list[Path]) -> float:
    """Seconds that the processes need to decode the files; starting them does not count."""
    # Fresh processes, as the program's own: a copy of one with threads may hang.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(PROCESSES, mp_context=context) as pool:
        list(pool.map(decoded, paths[: 2 * PROCESSES]))
        begin = time.perf_counter()
        sizes = set(pool.map(decoded, paths, chunksize=4))
        took_s = time.perf_counter() - begin
    assert sizes == {tuple(side // SCALE for side in TWELVE_MEGAPIXELS)}
    return took_s


#: A review may take so many times the floor.
MOST = 2.0


def test_a_review_takes_at_most_twice_the_floor(
    large_take: tuple[Path, PracticeTake], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, take = large_take
    paths = [folder / frame.file for frame in take.frames]
    assert len(paths) == FRAMES
    least_s = min(floor_s(paths) for _ in range(TRIES))
    megabytes = sum(path.stat().st_size for path in paths) / 1e6
    begin = time.perf_counter()
    seen = review(take.plan, "A", folder, Memory(), processes=PROCESSES)
    took_s = time.perf_counter() - begin
    assert all(seen.looks)
    with capsys.disabled():
        print(
            f"\n{FRAMES} stills of 12 megapixels, {megabytes:.0f} MB, decoded at 1/{SCALE} by"
            f" {PROCESSES} processes: {least_s:.1f} s; reviewed in {took_s:.1f} s,"
            f" {took_s / least_s:.2f} times as long"
        )
    assert took_s < MOST * least_s
