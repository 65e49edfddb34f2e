"""Interpolation between nodes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.sky.interpolate import Bracket, Directions, Mixture, folded, positions

NODES = np.log(np.array([0.05, 0.15, 0.30, 0.50]))


@pytest.mark.parametrize("power", [0, 1, 2, 3])
@given(st.floats(float(NODES[0]), float(NODES[-1])))
def test_a_mixture_of_four_nodes_is_exact_for_a_cubic(power: int, value: float) -> None:
    assert float(Mixture.at(NODES, value).blend(NODES**power)) == pytest.approx(value**power)


def test_a_mixture_is_the_node_at_a_node_and_is_held_beyond() -> None:
    for index, node in enumerate(NODES):
        np.testing.assert_allclose(Mixture.at(NODES, node).weights, np.eye(4)[index], atol=1e-12)
    np.testing.assert_allclose(Mixture.at(NODES, -9.0).weights, np.eye(4)[0], atol=1e-12)
    np.testing.assert_allclose(Mixture.at(NODES, 9.0).weights, np.eye(4)[3], atol=1e-12)


@pytest.mark.parametrize(
    ("value", "lower", "share"), [(-1.0, 0, 0.0), (2.0, 0, 0.5), (4.0, 1, 0.0), (99.0, 1, 1.0)]
)
def test_a_bracket_and_positions_agree(value: float, lower: int, share: float) -> None:
    nodes = np.array([0.0, 4.0, 10.0])
    assert Bracket.of(nodes, value) == Bracket(lower, share)
    found, shares = positions(nodes, np.array([value]))
    assert (found[0], shares[0]) == (lower, share)


@given(st.floats(-3600.0, 3600.0))
def test_azimuth_folds_by_its_cosine(azimuth: float) -> None:
    turn = float(folded(np.asarray(azimuth)))
    assert 0.0 <= turn <= 180.0
    assert np.cos(np.radians(turn)) == pytest.approx(np.cos(np.radians(azimuth)), abs=1e-9)


def test_a_plane_is_interpolated_exactly() -> None:
    directions = Directions(np.array([0.0, 2.0, 10.0, 90.0]), np.array([0.0, 30.0, 180.0]))
    view, azimuth = directions.flat()
    rng = np.random.default_rng(1)
    at_view, at_azimuth = rng.uniform(0.0, 90.0, (7, 1)), rng.uniform(-180.0, 180.0, (1, 9))
    cells = directions.cells(at_view, at_azimuth)
    both = np.stack([3.0 * view - azimuth, view], axis=-1)
    seen = cells.interpolate(both)
    assert seen.shape == (7, 9, 2)
    np.testing.assert_allclose(seen[..., 0], 3.0 * at_view - np.abs(at_azimuth), atol=1e-9)
    np.testing.assert_allclose(seen[..., 1], at_view + 0.0 * at_azimuth, atol=1e-9)
    single = cells.interpolate(both.astype(np.float32))
    assert single.dtype == np.float32
    np.testing.assert_allclose(single, seen, atol=1e-3)
    later = np.concatenate([both - 7.0, both])
    np.testing.assert_allclose(cells.interpolate(later, directions.count), seen)
