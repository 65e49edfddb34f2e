"""Reminders of rules: never a clearance, always with where to look."""

from __future__ import annotations

from collections.abc import Iterator

from core.clocks import moment_clock
from core.findings import Finding
from core.outlook import Outlook

#: Stands among the findings of every plan.
CHECK_RULES = "Check the local rules and your licence."
CIVIL_DEG = -6.0


def rule_findings(seen: Outlook) -> Iterator[Finding]:
    """When night begins or ends by many rules, and what to check.

    The sun 6 degrees down bounds the night of Regulation (EU) 2019/947, Art. 2(34), and of
    several other authorities; some use 30 minutes from sunset instead.
    """
    civil = next((m for m in seen.night.moments if m.name == "civil"), None)
    if civil is None and seen.light.sun_altitude_deg.max() < CIVIL_DEG:
        fact = "Night by many rules all day: the sun stays more than 6° below the horizon."
    elif civil is None:
        fact = "The sun does not reach 6° below the horizon."
    else:
        clock = moment_clock(seen.night, civil)
        verb = "begins" if seen.night.twilight == "dusk" else "ends"
        fact = f"Night by many rules {verb} {clock}, with the sun 6° down."
    yield Finding("note", "rules", seen.name, fact, CHECK_RULES)
    if seen.night.reason is not None:
        yield Finding("note", "no_event", seen.name, seen.night.reason)
