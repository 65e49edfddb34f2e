"""Placing labels: nothing covers anything, and what goes first is the limit, then the part."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.sheet.labels import (
    FLAG,
    LIMIT,
    PART,
    VALUE,
    Box,
    Wish,
    flag_places,
    place_labels,
)

PLOT = Box(112.0, 0.0, 634.0, 224.0)
SIZE = (84.0, 20.0)


def flags(a: float, b: float, size: tuple[float, float] = SIZE) -> list[Box]:
    found = [box for box in flag_places((a, b), 0.0, (size, size), PLOT) if box is not None]
    assert len(found) == 2
    assert not found[0].overlaps(found[1])
    assert all(box.inside(PLOT) for box in found)
    return found


def test_flags_stand_right_of_their_edges_where_there_is_room() -> None:
    a, b = flags(400.0, 200.0)
    assert (a.x, b.x) == (400.0, 200.0)


def test_a_flag_that_would_cover_the_other_turns_to_the_other_side() -> None:
    a, b = flags(400.0, 360.0)
    assert a.x == 400.0
    assert b.right == 360.0


def test_both_starts_at_the_same_moment() -> None:
    a, b = flags(400.0, 400.0)
    assert a.x == 400.0
    assert b.right == 400.0


def test_b_just_after_a_stands_beyond_it() -> None:
    a, b = flags(400.0, 430.0)
    assert a.x == 400.0
    assert b.x >= a.right


@pytest.mark.parametrize("edge", [112.0, 740.0, 746.0])
def test_flags_at_the_edge_of_the_plot_stay_on_it(edge: float) -> None:
    a, b = flags(edge, edge)
    assert abs(a.x - edge) <= SIZE[0]
    assert b.overlaps(a, gap=3.0)


def test_dated_flags_of_two_nights() -> None:
    flags(430.0, 380.0, (170.0, 20.0))


def test_flags_at_200_percent_text() -> None:
    flags(430.0, 400.0, (168.0, 40.0))
    flags(430.0, 400.0, (300.0, 40.0))


def test_no_flag_where_the_plot_is_too_narrow_for_both() -> None:
    assert flag_places((400.0, 400.0), 0.0, ((400.0, 20.0), (400.0, 20.0)), PLOT)[1] is None


@given(
    st.floats(112.0, 746.0),
    st.floats(112.0, 746.0),
    st.sampled_from([(84.0, 20.0), (170.0, 20.0), (210.0, 40.0)]),
)
def test_flags_never_overlap(a: float, b: float, size: tuple[float, float]) -> None:
    found = [box for box in flag_places((a, b), 0.0, (size, size), PLOT) if box is not None]
    assert found
    assert all(box.inside(PLOT) for box in found)
    assert not any(one.overlaps(other) for one, other in combinations(found, 2))


def one_place(key: str, rank: int) -> Wish:
    return Wish(key, rank, (Box(200.0, 100.0, 60.0, 15.0),))


def test_labels_yield_in_the_order_limit_part_value() -> None:
    wishes = [one_place("limit", LIMIT), one_place("part", PART), one_place("value", VALUE)]
    assert set(place_labels(wishes, PLOT)) == {"value"}
    assert set(place_labels(wishes[:2], PLOT)) == {"part"}
    assert set(place_labels(wishes[:1], PLOT)) == {"limit"}


def test_a_label_takes_its_next_place_when_the_first_is_taken() -> None:
    first, second = Box(200.0, 100.0, 60.0, 15.0), Box(200.0, 130.0, 60.0, 15.0)
    placed = place_labels([Wish("part", PART, (first, second))], PLOT, taken=[first])
    assert placed["part"].box == second
    assert placed["part"].place == 1


def test_a_label_on_a_line_asks_for_a_chip() -> None:
    line = (np.array([112.0, 746.0]), np.array([0.0, 224.0]))
    on = Wish("on", VALUE, (Box(400.0, 100.0, 60.0, 15.0),))
    off = Wish("off", VALUE, (Box(600.0, 20.0, 60.0, 15.0),))
    placed = place_labels([on, off], PLOT, [line])
    assert placed["on"].crossed
    assert not placed["off"].crossed


def test_a_gap_in_a_line_is_no_line() -> None:
    line = (np.array([112.0, 300.0, 500.0, 746.0]), np.array([107.0, np.nan, np.nan, 107.0]))
    wish = Wish("value", VALUE, (Box(350.0, 100.0, 60.0, 15.0),))
    assert not place_labels([wish], PLOT, [line])["value"].crossed


def test_limits_and_parts_keep_off_inked_lines_but_values_do_not() -> None:
    edge = (np.array([220.0, 220.0]), np.array([0.0, 224.0]))
    for rank, stays in ((LIMIT, False), (PART, False), (VALUE, True), (FLAG, True)):
        assert bool(place_labels([one_place("it", rank)], PLOT, inked=[edge])) is stays


boxes = st.builds(
    Box,
    st.floats(100.0, 740.0),
    st.floats(-10.0, 220.0),
    st.floats(5.0, 180.0),
    st.floats(5.0, 40.0),
)


@given(
    st.lists(
        st.tuples(st.sampled_from([LIMIT, PART, VALUE, FLAG]), st.lists(boxes, max_size=4)),
        max_size=10,
    )
)
def test_no_label_ever_covers_another(wished: list[tuple[int, list[Box]]]) -> None:
    wishes = [Wish(str(k), rank, tuple(places)) for k, (rank, places) in enumerate(wished)]
    placed = [one.box for one in place_labels(wishes, PLOT, gap=2.0).values()]
    assert all(box.inside(PLOT) for box in placed)
    assert not any(one.overlaps(other, 2.0) for one, other in combinations(placed, 2))
