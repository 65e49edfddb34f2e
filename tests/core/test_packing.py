"""The filters to pack: those that some useful start needs, each with what it is for."""

from __future__ import annotations

import dataclasses
from typing import Any

from core.edit import with_values
from core.memory import Memory
from core.packing import _packed, filters_to_pack
from core.settings import settings_of
from core.wish import Wish
from tests.dusk import december_plan

#: A camera whose shutter is slow: early on nothing holds without a filter.
SLOW: dict[str, Any] = {"camera__shutters_s": [0.25, 0.5, 1.0]}


def test_filters_are_packed_for_the_useful_starts_alone() -> None:
    plan, memory = december_plan(), Memory()
    pack = filters_to_pack(plan, "A", memory, Wish())
    assert pack
    stops = [packed.nd_stops for packed in pack]
    assert stops == sorted(set(stops))
    assert set(stops) <= set(plan.camera.nd_stops) - {0.0}
    best = settings_of(plan, "A", memory, Wish()).choices[0]
    for packed in pack:
        assert packed.first_s <= packed.last_s
        assert abs(packed.first_s - best.start_s) < 3600.0
        assert "without" in packed.why
    bare = with_values(plan, {"camera.nd_stops": [0.0]})
    assert filters_to_pack(bare, "A", memory, Wish()) == ()


def test_a_filter_stays_packed_for_the_one_start_that_needs_it() -> None:
    plan, memory = december_plan(**SLOW), Memory()
    bare = with_values(plan, {"camera.nd_stops": [0.0]})
    strongest = filters_to_pack(plan, "A", memory, Wish())[-1]
    early = Wish(earliest_s=strongest.first_s, latest_s=strongest.first_s)
    needs_it = settings_of(plan, "A", memory, early).choices[0]
    assert settings_of(bare, "A", memory, early).choices == ()
    # A better choice, which has its like without any filter, takes nothing away from it.
    late = settings_of(bare, "A", memory, Wish()).choices[0]
    assert late.points > needs_it.points
    either = [needs_it, dataclasses.replace(late, nd_stops=needs_it.nd_stops)]
    packed = _packed(plan, "A", memory, Wish(), needs_it.nd_stops, either)
    assert packed is not None
    assert packed.first_s == packed.last_s == needs_it.start_s
    assert packed.why.endswith("nothing holds without")


def test_a_filter_is_explained_by_the_start_that_loses_most_without_it() -> None:
    plan, memory = december_plan(**SLOW), Memory()
    bare = with_values(plan, {"camera.nd_stops": [0.0]})
    for packed in filters_to_pack(plan, "A", memory, Wish()):
        held = [
            settings_of(bare, "A", memory, Wish(earliest_s=edge_s, latest_s=edge_s)).choices
            for edge_s in (packed.first_s, packed.last_s)
        ]
        assert packed.why.endswith("nothing holds without") == (not all(held))
