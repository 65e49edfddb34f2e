"""The slow half of a forecast in small steps, for a window that must stay at hand.

Each step leaves its result in the memory, so that what asks for the whole afterwards
finds it there. Between two steps the window may do other things, or let the rest be.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator

from core.forecast import chance_view, diagonals, known_starts, outlook, starts, turned_plan
from core.holding import GoodValues, holds
from core.memory import Memory
from core.plan import Plan, ShootName
from core.scales import TAKE_KEYS, SettingKey, scale_of, with_setting, with_shoot


def starts_steps(plan: Plan, name: ShootName, memory: Memory) -> Iterator[None]:
    """Make a shoot's starts, and those of its path flown the other way where they are needed."""
    yield from _starts_steps(plan, name, memory)
    if starts(plan, name, memory).best_s is None:
        yield from _starts_steps(turned_plan(plan, name), name, memory)


def _starts_steps(plan: Plan, name: ShootName, memory: Memory) -> Iterator[None]:
    if known_starts(plan, name, memory) is not None:
        return
    for stage in (diagonals, chance_view):
        stage(plan, plan.shoot(name), memory)
        yield
    starts(plan, name, memory)
    yield


def take_steps(plan: Plan, name: ShootName, memory: Memory) -> Generator[None, None, GoodValues]:
    """Find the good steps of the settings that make another take, one value after the other.

    Returns
    -------
    GoodValues
        Of interval, length and rate.
    """
    shoot = plan.shoot(name)
    good: dict[SettingKey, tuple[bool, ...]] = {}
    for key in TAKE_KEYS:
        found = []
        for value in scale_of(plan.camera, key):
            other = with_shoot(plan, name, with_setting(shoot, key, value))
            found.append(holds(outlook(other, name, memory)))
            yield
        good[key] = tuple(found)
    return good
