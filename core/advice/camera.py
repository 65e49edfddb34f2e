"""Findings about the camera: whether it keeps up with the interval."""

from __future__ import annotations

from collections.abc import Iterator

from core.advice.mending import CAMERA_CODES, Bench, Trial, remedy_of
from core.clip import camera_keeps_up, exact_third_stop_s
from core.findings import Finding, Remedy
from core.judge import raised_slack_stops
from core.language import say
from core.outlook import Outlook
from core.plan import Plan
from core.scales import SettingKey, scale_of, with_setting
from core.tones import mid_log2
from core.words import cut_up, number_text, seconds_text, shutter_text

_NO_WAY = say("No one change mends that without another problem: search the best settings.")


def camera_findings(plan: Plan, seen: Outlook, tried: Trial) -> Iterator[Finding]:
    """A pairing of shutter and interval that the camera cannot keep, or may not.

    `tried` gives the outlook of a changed plan.
    """
    shoot, camera = seen.shoot, plan.camera
    needed_s = exact_third_stop_s(shoot.shutter_s) + camera.write_time_s
    # So near to the interval that tenths would hide what is missing; never told as less.
    digits = 1 if abs(needed_s - shoot.interval_s) >= 0.1 else 2
    needed = number_text(cut_up(needed_s, 10.0**-digits), digits)
    interval = seconds_text(shoot.interval_s)
    needs = say(
        "Shutter and write time need {needed} s, the interval is {interval}.",
        needed=needed,
        interval=interval,
    )
    if seen.clip.write == "skips":
        remedies = tuple(_remedies(Bench(plan, seen, tried)))
        skips = say("The camera would skip frames.")
        if not remedies:
            skips = f"{skips} {_NO_WAY}"
        yield Finding("stop", "write_time", seen.name, needs, skips, remedies)
    elif seen.clip.write == "unproven":
        yield Finding(
            "warn", "write_unproven", seen.name, needs,
            say("That is close: shoot 20 frames at home and count them."),
        )  # fmt: skip


def _remedies(bench: Bench) -> Iterator[Remedy]:
    """A shutter that fits this interval, and the shortest interval that fits this shutter."""
    for shutter_s in _shutters(bench):
        label = say("Shutter {shutter}", shutter=shutter_text(shutter_s))
        shorter = remedy_of(bench, CAMERA_CODES, label, {bench.key("shutter_s"): shutter_s})
        if shorter is not None:
            yield shorter
            break
    for interval_s in _steps(bench, "interval_s")[:1]:
        label = say("Interval {interval}", interval=seconds_text(interval_s))
        longer = remedy_of(bench, CAMERA_CODES, label, {bench.key("interval_s"): interval_s})
        if longer is not None:
            yield longer


def _shutters(bench: Bench) -> list[float]:
    """The longest shutter that fits the interval and keeps the light, then the longest at all."""
    plan, seen = bench.plan, bench.seen
    shutters = _steps(bench, "shutter_s")[::-1]
    rises = [seen.mid - mid_log2(with_setting(seen.shoot, "shutter_s", s)) for s in shutters]
    slack = raised_slack_stops(seen.tones, plan.bands, plan.camera.highlight_stops, rises)
    held = [s for s, stops in zip(shutters, slack, strict=True) if stops >= 0.0]
    return held[:1] + shutters[:1]


def _steps(bench: Bench, key: SettingKey) -> list[float]:
    """Steps of a setting with which the camera keeps up, ascending."""
    shoot, camera = bench.seen.shoot, bench.plan.camera
    values = scale_of(camera, key)
    return [v for v in values if camera_keeps_up(with_setting(shoot, key, v), camera)]
