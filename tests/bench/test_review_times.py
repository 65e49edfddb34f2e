"""What reviewing a take of large stills costs, against the least that decoding them can cost.

The floor is the bare time in which two processes decode the same files at the same scale:
nothing that reads the pictures can be faster. Both count what all processes spent of the
processor, starting them included; wall time, which other work disturbs, is told beside it.
"""

from __future__ import annotations

import multiprocessing
import resource
import shutil
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from core.memory import Memory
from core.review.review import Reviewed, review
from tests.practice.plans import plan_of
from tests.practice.take import TWELVE_MEGAPIXELS, PracticeTake, write_take
from tests.practice.truth import Truth

#: Each costs the same: 300 were measured once, at the same ratio.
FRAMES = 200
PROCESSES = 2
TRIES = 2
#: Pictures drawn anew; the rest repeat them under Exif of their own.
PICTURES = 2
SCALE = 4


@pytest.fixture(scope="module")
def large_take(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, PracticeTake]]:
    """Stills of 12 megapixels, some 250 MB, taken away again at once."""
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


@dataclass(frozen=True)
class Spent:
    """Seconds of this process and those it opened: by the clock, and of the processor."""

    wall_s: float
    processor_s: float


def spent(work: Callable[[], object]) -> Spent:
    began_s, busy_s = time.perf_counter(), _busy_s()
    work()
    return Spent(time.perf_counter() - began_s, _busy_s() - busy_s)


def _busy_s() -> float:
    return sum(
        used.ru_utime + used.ru_stime
        for used in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    )


def bare(paths: list[Path]) -> None:
    """Decode the files in as many processes as a review takes, and do nothing else."""
    # Fresh processes, as the program's own: a copy of one with threads may hang.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(PROCESSES, mp_context=context) as pool:
        sizes = set(pool.map(decoded, paths, chunksize=4))
    assert sizes == {tuple(side // SCALE for side in TWELVE_MEGAPIXELS)}


#: A review is to take so many times the processor time of bare decoding; other work on the
#: cores, which empties their caches, moves the ratio by a fifth.
MOST, NOISE = 2.0, 1.25


def test_a_review_takes_at_most_twice_the_floor(
    large_take: tuple[Path, PracticeTake], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, take = large_take
    paths = [folder / frame.file for frame in take.frames]
    assert len(paths) == FRAMES
    floor = min((spent(lambda: bare(paths)) for _ in range(TRIES)), key=lambda one: one.processor_s)
    seen: list[Reviewed] = []

    def reviewed() -> None:
        seen.append(review(take.plan, "A", folder, Memory(), processes=PROCESSES))

    took = min((spent(reviewed) for _ in range(TRIES)), key=lambda one: one.processor_s)
    assert all(seen[0].looks)
    ratio = took.processor_s / floor.processor_s
    with capsys.disabled():
        print(
            f"\n{FRAMES} stills of 12 megapixels decoded at 1/{SCALE} by {PROCESSES} processes:"
            f" {floor.wall_s:.1f} s, {floor.processor_s:.1f} s of the processor; reviewed in"
            f" {took.wall_s:.1f} s, {took.processor_s:.1f} s, {ratio:.2f} times as long"
        )
    assert ratio < NOISE * MOST
