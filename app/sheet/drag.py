"""Taking a take by hand: what a drag along the clock makes of the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from app.sheet.clock import Clock
from app.sheet.pictures import Edges
from core.fields import field_of
from core.language import say
from core.outlook import Outlook
from core.plan import ShootName

Grip = Literal["whole", "end"]


@dataclass(frozen=True, slots=True)
class Hold:
    """A hand on a take: which shoot, which part of it, and where it took hold."""

    name: ShootName
    grip: Grip
    from_s: float
    outlook: Outlook


def grip_at(
    clock: Clock, edges: Sequence[Edges], x: float, reach: float
) -> tuple[ShootName, Grip] | None:
    """What a hand at a place would take hold of; the take on top comes last in `edges`.

    Parameters
    ----------
    reach
        How far from an edge, in logical pixels, still holds it.
    """
    for edge in reversed(edges):
        first, last = clock.x(edge.first_s), clock.x(edge.last_s)
        # The end is held on its own side only, or a short take could not be moved at all.
        inner = min(reach, (last - first) / 3.0)
        if last - inner <= x <= last + reach:
            return edge.name, "end"
        if first - reach <= x <= last:
            return edge.name, "whole"
    return None


def dragged(hold: Hold, axis_s: float) -> tuple[str, dict[str, object]]:
    """The step's name and the plan's new values for a hand that has moved to `axis_s`."""
    moved_s = axis_s - hold.from_s
    if hold.grip == "whole":
        return say("Start {name}", name=hold.name), _start(hold.outlook, moved_s)
    return say("Clip length {name}", name=hold.name), _length(hold.outlook, moved_s)


def _start(outlook: Outlook, moved_s: float) -> dict[str, object]:
    """The start, on a whole second of the clock."""
    press_s = round(outlook.press_s + moved_s)
    minutes = (press_s - outlook.night.event.time_s) / 60.0
    return _within_range(f"shoots.{outlook.name}.start_after_event_min", minutes)


def _length(outlook: Outlook, moved_s: float) -> dict[str, object]:
    """The clip length, in whole frames and at least one."""
    shoot = outlook.shoot
    steps = round((outlook.clip.shooting_s + moved_s) / shoot.interval_s)
    seconds = round((max(steps, 0) + 1) / shoot.frame_rate_fps, 4)
    return _within_range(f"shoots.{outlook.name}.clip_length_s", seconds)


def _within_range(key: str, value: float) -> dict[str, object]:
    """The value, held where a plan's range ends."""
    field = field_of(key)
    if field is None or field.low is None or field.high is None:
        return {key: value}
    return {key: min(max(value, field.low), field.high)}
