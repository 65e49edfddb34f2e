"""What a reviewed take means for the next one, in a sentence."""

from __future__ import annotations

import datetime as dt

import msgspec

from core.memory import Memory
from core.moved import moved
from core.plan import Plan, ShootName
from core.scales import with_shoot


def next_sentence(before: Plan, after: Plan, name: ShootName, memory: Memory) -> str:
    """By how many minutes the best start moves from a plan to what it learned.

    Of a shoot on the night of a take, it is that of the day after: that night is over.
    """
    shoot = before.shoot(name)
    days = {take.flown.date for take in after.takes if take.flown is not None}
    if shoot.date in days:
        shoot = msgspec.structs.replace(shoot, date=max(days) + dt.timedelta(days=1))
    tonight, then = (with_shoot(plan, name, shoot) for plan in (before, after))
    return moved(tonight, then, name, memory).sentence
