"""Findings: what is wrong with a shoot or wants a second look, and the way out."""

from __future__ import annotations

from core.advice.battery import battery_findings
from core.advice.camera import camera_findings
from core.advice.light import light_findings
from core.advice.rules import rule_findings
from core.findings import SEVERITIES, Finding
from core.outlook import Outlook
from core.plan import Plan
from core.starts import Starts


def findings_of(
    plan: Plan, seen: Outlook, starts: Starts, turned: Starts | None
) -> tuple[Finding, ...]:
    """All findings of one shoot, the worst first.

    Parameters
    ----------
    turned
        The starts with the path flown the other way; None where nobody asked.
    """
    every = [
        *camera_findings(plan, seen),
        *light_findings(plan, seen, starts, turned),
        *battery_findings(plan, seen, starts),
        *rule_findings(seen),
    ]
    return tuple(sorted(every, key=lambda finding: SEVERITIES.index(finding.severity)))
