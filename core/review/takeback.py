"""Taking a reviewed take back out of the plan."""

from __future__ import annotations

from core.edit import get_value, with_values
from core.lastnight import without_take
from core.memory import Memory
from core.plan import Plan


def reviewed_without(plan: Plan, take_id: str, memory: Memory) -> Plan:
    """The plan without a take: what it taught is gone, what it replaced stands again.

    A value that was typed anew since stays.
    """
    for take in plan.takes:
        if take.id == take_id:
            back = {
                item.key: item.before
                for item in take.summary.replaced
                if get_value(plan, item.key) == item.after
            }
            plan = with_values(plan, back) if back else plan
    return without_take(plan, take_id, memory)
