"""Findings about the camera: whether it keeps up with the interval."""

from __future__ import annotations

from collections.abc import Iterator

from core.clip import camera_keeps_up, exact_third_stop_s
from core.findings import Finding, Remedy
from core.outlook import Outlook
from core.plan import Plan
from core.scales import SettingKey, scale_of, with_setting
from core.words import number_text, seconds_text, shutter_text


def camera_findings(plan: Plan, seen: Outlook) -> Iterator[Finding]:
    """A pairing of shutter and interval that the camera cannot keep, or may not."""
    shoot, camera = seen.shoot, plan.camera
    needed_s = exact_third_stop_s(shoot.shutter_s) + camera.write_time_s
    # So near to the interval that tenths would hide what is missing.
    needed = number_text(needed_s, 1 if abs(needed_s - shoot.interval_s) >= 0.1 else 2)
    interval = seconds_text(shoot.interval_s)
    needs = f"Shutter and write time need {needed} s, the interval is {interval}."
    if seen.clip.write == "skips":
        yield Finding(
            "stop", "write_time", seen.name, needs, "The camera would skip frames.",
            tuple(_remedies(plan, seen)),
        )  # fmt: skip
    elif seen.clip.write == "unproven":
        yield Finding(
            "warn", "write_unproven", seen.name, needs,
            "That is close: shoot 20 frames at home and count them.",
        )  # fmt: skip


def _remedies(plan: Plan, seen: Outlook) -> Iterator[Remedy]:
    """The longest shutter that fits this interval, the shortest interval that fits this shutter."""
    shoot, camera = seen.shoot, plan.camera
    key = f"shoots.{seen.name}"

    def steps(name: SettingKey) -> list[float]:
        values = scale_of(camera, name)
        return [v for v in values if camera_keeps_up(with_setting(shoot, name, v), camera)]

    shutters, intervals = steps("shutter_s"), steps("interval_s")
    if shutters:
        yield Remedy(f"Shutter {shutter_text(shutters[-1])}", ((f"{key}.shutter_s", shutters[-1]),))
    if intervals:
        label = f"Interval {seconds_text(intervals[0])}"
        yield Remedy(label, ((f"{key}.interval_s", intervals[0]),))
