"""Another start that is worth moving to: where a reading, or the lamps, moved the best one."""

from __future__ import annotations

from typing import Final

from core.site import Site
from core.starts import Starts

#: It is offered from this much later or earlier on, with so much more of a chance.
_MOVED_S: Final = 45.0
_SURER: Final = 0.1


def better_start_s(site: Site, starts: Starts, now_s: float) -> float | None:
    """The best start, UTC seconds, where it is surer than the press and can be kept; else None."""
    if starts.best_s is None or site.phase not in ("ground", "air"):
        return None
    press_s = site.table.seen.press_s
    at_press, at_best = (starts.chance_at(time_s) or 0.0 for time_s in (press_s, starts.best_s))
    moved = abs(starts.best_s - press_s) >= _MOVED_S
    surer = at_best >= at_press + _SURER
    return starts.best_s if moved and surer and starts.best_s > _earliest_s(site, now_s) else None


def _earliest_s(site: Site, now_s: float) -> float:
    """The earliest press from now on: on the ground the way to the station comes first."""
    before_min = site.table.seen.flight.before_min if site.phase == "ground" else None
    return now_s + 60.0 * (before_min or 0.0)
