"""Findings: what is wrong with a shoot or wants a second look, and the way out."""

from __future__ import annotations

from core.advice.battery import battery_findings
from core.advice.camera import camera_findings
from core.advice.light import light_findings
from core.advice.mending import Trial
from core.advice.motion import motion_findings
from core.advice.rules import rule_findings
from core.advice.weather import weather_findings
from core.findings import SEVERITIES, Finding
from core.motion import Motion
from core.outlook import Outlook
from core.plan import Plan
from core.starts import Starts


def findings_of(
    plan: Plan,
    seen: Outlook,
    starts: Starts,
    turned: Starts | None,
    motion: Motion,
    tried: Trial,
) -> tuple[Finding, ...]:
    """All findings of one shoot, the worst first.

    Parameters
    ----------
    turned
        The starts with the path flown the other way; None where nobody asked.
    motion
        What moves in the picture of this shoot.
    tried
        Gives the outlook of a shoot of a changed plan: remedies are tried before they
        are offered, so that none brings another problem.
    """
    every = [
        *camera_findings(plan, seen, tried),
        *light_findings(plan, seen, starts, turned, tried),
        *battery_findings(plan, seen, starts, tried),
        *weather_findings(plan, seen, motion),
        *motion_findings(plan, seen, motion, tried),
        *rule_findings(seen),
    ]
    return tuple(sorted(every, key=lambda finding: SEVERITIES.index(finding.severity)))
