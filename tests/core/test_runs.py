"""Runs of a row, on rows that are plain to read."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from core.runs import runs_of


def test_a_row_that_holds_is_one_run_and_an_empty_one_none() -> None:
    assert runs_of(np.ones(3, dtype=bool)) == (slice(0, 3),)
    assert runs_of(np.zeros(3, dtype=bool)) == ()
    assert runs_of(np.zeros(0, dtype=bool)) == ()


def test_runs_stand_apart() -> None:
    row = np.array([False, True, True, False, True])
    assert runs_of(row) == (slice(1, 3), slice(4, 5))


@given(st.lists(st.booleans(), max_size=30))
def test_runs_cover_what_holds_and_nothing_else(row: list[bool]) -> None:
    holds = np.array(row, dtype=bool)
    covered = np.zeros(len(row), dtype=bool)
    runs = runs_of(holds)
    for run in runs:
        covered[run] = True
    assert covered.tolist() == row
    assert all(one.stop < other.start for one, other in pairwise(runs))
