"""Whether a change mends a problem and brings no other: remedies are tried before they are told."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from core.clip import camera_keeps_up
from core.edit import with_values
from core.findings import Remedy
from core.judge import LIMITS, raised_slack_stops, slack_by_limit
from core.language import say
from core.outlook import Outlook
from core.plan import SHOOT_NAMES, Plan, ShootName
from core.scales import EXPOSURE_KEYS, ExposureKey, scale_of, with_setting
from core.tones import mid_log2
from core.words import f_number_text, filter_text, iso_text, shutter_text

#: The outlook of a shoot of a changed plan.
Trial = Callable[[Plan, ShootName], Outlook]
#: What is missing, by the code of its finding: seconds, stops or minutes.
Lacks = Mapping[str, float]

LIGHT_CODES: frozenset[str] = frozenset({*LIMITS, "outside_night"})
FLIGHT_CODES = frozenset({"flight", "battery"})
CAMERA_CODES = frozenset({"write_time"})
#: A problem that was there before may grow by this much of its unit: no pilot sees it.
_GROWN = 0.05


@dataclass(frozen=True)
class Bench:
    """A shoot with its plan, and the way to try another plan."""

    plan: Plan
    seen: Outlook
    tried: Trial

    def key(self, name: str) -> str:
        """The dotted key of one of the shoot's values."""
        return f"shoots.{self.seen.name}.{name}"


def outside_night(seen: Outlook) -> bool:
    """Whether the take runs beyond the night whose light is known."""
    first_s, last_s = float(seen.light.time_s[0]), float(seen.light.time_s[-1])
    return seen.press_s < first_s or seen.last_frame_s > last_s


def lacks_of(plan: Plan, seen: Outlook) -> Lacks:
    """What keeps a shoot from holding, with how much is missing; empty where it holds."""
    lacks: dict[str, float] = {}
    if seen.clip.write == "skips":
        lacks["write_time"] = -seen.clip.write_left_s
    if outside_night(seen):
        lacks["outside_night"] = math.inf
    if seen.judgement.slack_stops < 0.0:
        by_limit = slack_by_limit(seen.tones, plan.bands, plan.camera.highlight_stops)
        failing = {limit: seen.judgement.failing[limit] for limit in LIMITS}
        for limit, frames in failing.items():
            if frames.size:
                lacks[limit] = float(-by_limit[limit][frames].min())
    if seen.flight.error is not None:
        lacks["flight"] = math.inf
    elif not seen.flight.fits:
        lacks["battery"] = -(seen.flight.margin_min or 0.0)
    return lacks


def mends(codes: frozenset[str], before: Lacks, after: Lacks) -> bool:
    """Whether nothing of `codes` is missing afterwards, and nothing else that was not before."""
    grown = (n > before.get(code, -math.inf) + _GROWN for code, n in after.items())
    return not codes & after.keys() and not any(grown)


def remedy_of(
    bench: Bench, codes: frozenset[str], label: str, values: Mapping[str, object]
) -> Remedy | None:
    """A change as a remedy for the problems of `codes`; None where it would bring another one.

    Where it mends them but the light no longer holds, the nearest exposure goes with it.
    """
    before = lacks_of(bench.plan, bench.seen)
    changed = with_values(bench.plan, values)
    if not _others_hold(bench, changed, values):
        return None
    seen = bench.tried(changed, bench.seen.name)
    after = lacks_of(changed, seen)
    if mends(codes, before, after):
        return Remedy(label, tuple(values.items()))
    if codes & LIGHT_CODES or not mends(codes, before, _without_light(after)):
        return None
    nearest = nearest_exposure(changed, seen, {key.rpartition(".")[2] for key in values})
    if nearest is None:
        return None
    key, value = nearest
    both = {**values, bench.key(key): value}
    changed = with_values(bench.plan, both)
    after = lacks_of(changed, bench.tried(changed, bench.seen.name))
    held = mends(codes, before, after)
    return Remedy(f"{label}, {setting_text(key, value)}", tuple(both.items())) if held else None


def _without_light(lacks: Lacks) -> Lacks:
    return {code: n for code, n in lacks.items() if code not in LIGHT_CODES}


def _others_hold(bench: Bench, changed: Plan, values: Mapping[str, object]) -> bool:
    """Whether a change of what both shoots share brings the other one no problem."""
    own = bench.key("")
    if all(key.startswith(own) for key in values):
        return True
    others = [name for name in SHOOT_NAMES if name != bench.seen.name]
    return all(
        mends(
            frozenset(),
            lacks_of(bench.plan, bench.tried(bench.plan, name)),
            lacks_of(changed, bench.tried(changed, name)),
        )
        for name in others
    )


def nearest_exposure(
    plan: Plan, seen: Outlook, without: frozenset[str] | set[str] = frozenset()
) -> tuple[ExposureKey, float] | None:
    """The smallest change of one exposure setting that makes this start hold.

    Settings in `without` stay as they are.
    """
    choices = [
        (key, value, with_setting(seen.shoot, key, value))
        for key in EXPOSURE_KEYS
        if key not in without
        for value in scale_of(plan.camera, key)
    ]
    rises = [seen.mid - mid_log2(shoot) for _, _, shoot in choices]
    slack = raised_slack_stops(seen.tones, plan.bands, plan.camera.highlight_stops, rises)
    held = [
        (abs(rise), key, value)
        for (key, value, shoot), rise, stops in zip(choices, rises, slack, strict=True)
        if stops >= 0.0 and camera_keeps_up(shoot, plan.camera)
    ]
    return min(held, key=lambda choice: choice[0])[1:] if held else None


def setting_text(key: ExposureKey, value: float) -> str:
    """A setting with its name, as it stands on a button."""
    if key == "shutter_s":
        return say("Shutter {shutter}", shutter=shutter_text(value))
    if key == "nd_stops":
        return (
            say("No filter") if value == 0.0 else say("Filter {filter}", filter=filter_text(value))
        )
    return iso_text(value) if key == "iso" else f_number_text(value)
