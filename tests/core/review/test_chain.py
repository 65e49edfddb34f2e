"""Departures chained over a take, past frames that could not be followed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from core.review.chain import Within, chained
from core.review.departure import STAYED, Departure
from core.review.geometry import Pose
from core.review.measure import Job
from core.review.review import RUN_FRAMES
from tests.core.review.takes import FEW, reviewed
from tests.practice.truth import Handling, Truth


def test_drift_goes_on_over_a_torn_frame_that_two_runs_share() -> None:
    handling = Handling(drift_m_min=(3.0, -2.0), wander_px=2.0, shake_px=0.6, torn=(RUN_FRAMES,))
    case = reviewed(FEW, Truth(handling=handling), 2)
    step, true = (
        departure[RUN_FRAMES + 1] - departure[RUN_FRAMES - 1]
        for departure in (case.shown.reviewed.departure_px, case.take.departure_px())
    )
    # Two intervals of drift, followed in one step.
    assert np.hypot(*true) > 4.0
    assert np.hypot(*(step - true)) < 0.3


def slid(east_m: float) -> Departure:
    return replace(STAYED, figures=np.array([east_m, 0.0, 0.0, 0.0, 0.0, 0.0]))


def test_runs_are_chained_by_the_step_between_the_frames_that_were_followed() -> None:
    within: Within = {
        0: [slid(0.0), slid(1.0), None],
        1: [None, slid(0.0), slid(2.0)],
        2: [slid(0.0), slid(0.5)],
    }
    firsts = [0, 2, 4]
    grid, poses = np.zeros((3, 1, 1), bool), (Pose(0.0, 0.0, 80.0, 0.0, -30.0),) * 3
    jobs = [
        Job(tuple(Path(f"{first + k}.jpg") for k in range(3)), poses, grid, grid, 0.7, 0.5)
        for first in firsts
    ]
    jobs[2] = replace(jobs[2], paths=jobs[2].paths[:2], poses=poses[:2])
    asked = []

    def step(pair: Job) -> Departure:
        asked.append([path.stem for path in pair.paths])
        return slid(3.0)

    out = chained(jobs, firsts, within, step)
    assert asked == [["1", "3"]]
    assert [one and one.figures[0] for one in out] == [0.0, 1.0, None, 4.0, 6.0, 6.5]
