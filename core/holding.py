"""Where a setting holds with all else fixed: light, write time and battery together.

Shutter, ISO, f-number and filter move every tone by the same stops, so the frames are
judged again without being looked up again. Interval, length and rate need new frames: they are
found in steps, see `core.steps`.
"""

from __future__ import annotations

from collections.abc import Mapping

from core.clip import camera_keeps_up
from core.judge import raised_slack_stops
from core.outlook import Outlook
from core.plan import Plan
from core.scales import (
    EXPOSURE_KEYS,
    ExposureKey,
    SettingKey,
    scale_of,
    with_setting,
)
from core.tones import mid_log2

#: For each setting whether each step of its scale holds; what is missing is not known yet.
GoodValues = Mapping[SettingKey, tuple[bool, ...]]


def good_exposures(plan: Plan, seen: Outlook) -> GoodValues:
    """Good steps of the settings that only move the exposure, from the frames at hand."""
    return {key: _good_exposures(plan, seen, key) for key in EXPOSURE_KEYS}


def holds(seen: Outlook) -> bool:
    """Whether light, write time and battery all hold."""
    light_holds = seen.judgement.slack_stops >= 0.0
    return bool(light_holds and seen.clip.write != "skips" and seen.flight.fits)


def _good_exposures(plan: Plan, seen: Outlook, key: ExposureKey) -> tuple[bool, ...]:
    variants = [with_setting(seen.shoot, key, value) for value in scale_of(plan.camera, key)]
    rises = [seen.mid - mid_log2(variant) for variant in variants]
    slack = raised_slack_stops(seen.tones, plan.bands, plan.camera.highlight_stops, rises)
    return tuple(
        bool(stops >= 0.0 and seen.flight.fits and camera_keeps_up(variant, plan.camera))
        for stops, variant in zip(slack, variants, strict=True)
    )
