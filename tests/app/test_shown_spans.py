"""Spans of starts, wherever they are told: at every demo site, inside what holds."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.resources import demo_sites
from app.shown.settings import start_state
from core.forecast import Forecast, forecast
from core.memory import Memory
from core.plan import SHOOT_NAMES, Plan
from core.planfile import load
from core.reporttext import forecast_page, starts_page
from core.verdict import sure_text
from tests.dusk import instant_s

_CLOCK = r"(\d\d:\d\d(?::\d\d)?)"
_SPAN = re.compile(rf"(?:at )?{_CLOCK}(?: to {_CLOCK})?")

Edges = tuple[float, float] | None


def told(plan: Plan, seen: Forecast) -> Iterator[tuple[str, Edges]]:
    """Every text with a span, and the span that it tells."""
    starts = seen.starts
    good = None
    if starts.earliest_s is not None and starts.latest_s is not None:
        good = starts.earliest_s, starts.latest_s
    state = start_state(plan, seen.outlook, starts)
    yield state.good.removeprefix("good ").removeprefix("from "), good
    yield sure_text(seen.outlook, starts).removeprefix("Sure "), starts.sure_s
    page = forecast_page(plan, seen)
    for name, edges in (("good", good), ("sure", starts.sure_s)):
        line = re.search(rf"{name} starts +(.*)", page)
        assert line is not None
        yield line[1], edges
    yield starts_page(plan, seen, ()).splitlines()[1], good
    for finding in seen.findings:
        if "alone holds" in finding.rest:
            yield finding.rest.partition("alone holds ")[2].removeprefix("from "), good


@pytest.mark.parametrize("path", demo_sites(), ids=lambda path: path.stem)
def test_a_span_told_anywhere_lies_inside_what_holds(path: Path) -> None:
    plan, memory = load(path), Memory()
    several = 0
    for name in SHOOT_NAMES:
        seen = forecast(plan, name, memory)
        night = seen.outlook.night
        for text, edges in told(plan, seen):
            found = _SPAN.match(text)
            assert (found is None) == (edges is None), text
            if found is None or edges is None:
                continue
            first, last = (
                instant_s(night, clock, near_s=edges[0])
                for clock in (found[1], found[2] or found[1])
            )
            assert edges[0] - 1e-3 <= first <= last <= edges[1] + 1e-3, text
            several += 1
    # A holds at every site.
    assert several >= 3
