"""How long the predicted frames of A and B take, in CPU time, beside what they may take."""

from __future__ import annotations

import datetime as dt
import itertools
import time
from collections.abc import Callable

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from core.forecast import outlook
from core.memory import Memory
from core.preview import LinearFrames, develop, dim_ramp, frame_indices, linear_frames
from tests.dusk import december_plan

IMAGES = 24

in_cpu_time = pytest.mark.benchmark(timer=time.process_time, min_rounds=10, warmup=True)


def measured(
    benchmark: BenchmarkFixture, what: str, target_ms: float, run: Callable[[], object]
) -> None:
    """Run it and print its median against the target."""
    benchmark(run)
    if benchmark.stats is not None:
        median_ms = 1000.0 * benchmark.stats.stats.median
        print(f"\n{what}: {median_ms:.1f} ms CPU, {median_ms / target_ms:.2f} of {target_ms:g} ms")


def frames_of_both(pitch_deg: tuple[float, float]) -> Callable[[], LinearFrames]:
    """Drawing 24 frames of 90 x 160, as many as A and B have together."""
    stations = [{"up_m": 80.0, "pitch_deg": pitch, "heading_deg": 243.0} for pitch in pitch_deg]
    plan = december_plan(path__stations=stations)
    seen = outlook(plan, "A", Memory())
    indices = frame_indices(seen.clip.frames, IMAGES)
    return lambda: linear_frames(plan, seen, indices)


@in_cpu_time
@pytest.mark.parametrize("pitch_deg", [(-50.0, -8.0), (-8.0, -8.0), (5.0, 5.0)])
def test_new_frames_of_both_shoots(
    benchmark: BenchmarkFixture, pitch_deg: tuple[float, float]
) -> None:
    measured(benchmark, f"new frames, pitch {pitch_deg}", 150.0, frames_of_both(pitch_deg))


@in_cpu_time
def test_new_frames_under_the_full_moon(benchmark: BenchmarkFixture) -> None:
    """A risen moon in every frame, and each night a haze of its own."""
    stations = [{"up_m": 80.0, "pitch_deg": 0.0, "heading_deg": 63.0}]
    moon = {"shoots__A__date": dt.date(2026, 12, 23), "shoots__A__start_after_event_min": 30.0}
    drawings = []
    for k in range(12):
        plan = december_plan(
            path__stations=stations, shoots__A__conditions__haze_aod=0.05 + 0.02 * k, **moon
        )
        seen = outlook(plan, "A", Memory())
        drawings.append((plan, seen, frame_indices(seen.clip.frames, IMAGES)))
    turn = itertools.cycle(drawings)
    measured(benchmark, "new frames, full moon", 150.0, lambda: linear_frames(*next(turn)))


@in_cpu_time
def test_new_exposure_of_both_shoots(benchmark: BenchmarkFixture) -> None:
    frames = frames_of_both((-50.0, -8.0))()
    mids = itertools.cycle(np.linspace(-6.0, 3.0, 28))
    measured(benchmark, "new exposure", 20.0, lambda: develop(frames, next(mids), 3.26))


@in_cpu_time
def test_dim_pictures_of_both_shoots(benchmark: BenchmarkFixture) -> None:
    pictures = develop(frames_of_both((-50.0, -8.0))(), -1.5, 3.26)
    measured(benchmark, "dim ramp", 20.0, lambda: dim_ramp(pictures))
