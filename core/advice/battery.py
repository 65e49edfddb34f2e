"""Findings about the flight: whether it fits the battery, and what to watch on the way."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.battery import temperature_share
from core.clip import camera_keeps_up
from core.findings import Finding, Remedy, Severity
from core.outlook import Outlook
from core.plan import Plan
from core.scales import scale_of, with_setting
from core.sight import sight_guide_m
from core.starts import Starts
from core.words import (
    clock_text,
    cut_down,
    cut_up,
    number_text,
    percent_text,
    seconds_text,
    share_text,
)


def battery_findings(plan: Plan, seen: Outlook, starts: Starts) -> Iterator[Finding]:
    """A flight that cannot be flown or does not fit, then the cautions."""
    flight = seen.flight
    if flight.error is not None:
        fact, _, rest = flight.error.partition(". ")
        yield Finding("stop", "flight", seen.name, fact.rstrip(".") + ".", rest)
        return
    if not flight.fits:
        yield _too_long(plan, seen, starts)
    for code in flight.cautions:
        severity: Severity = "note" if code == "auto_return_binds" else "warn"
        fact, rest = _caution(code, plan, seen)
        yield Finding(severity, code, seen.name, fact, rest)


def shortage_text(margin_min: float) -> str:
    """Minutes missing, rounded up to a tenth: battery figures go to the unlucky side."""
    return number_text(cut_up(-margin_min, 0.1), 1)


def spare_text(margin_min: float) -> str:
    """Minutes to spare, rounded down to a tenth."""
    return number_text(cut_down(margin_min, 0.1), 1)


def _too_long(plan: Plan, seen: Outlook, starts: Starts) -> Finding:
    # Both are known of every flight that can be flown.
    margin, frames = seen.flight.margin_min or 0.0, seen.flight.max_frames or 0
    fact = f"The battery ends {shortage_text(margin)} min before the last frame."
    fit = f"{frames} of {seen.clip.frames} frames fit; {_light_alone(seen, starts)}"
    remedies = tuple(_shorter(plan, seen, frames))
    return Finding("stop", "battery", seen.name, fact, fit, remedies)


def _light_alone(seen: Outlook, starts: Starts) -> str:
    if starts.earliest_s is None or starts.latest_s is None:
        return "the light does not hold either."
    first, last = (clock_text(seen.night.clock(t)) for t in (starts.earliest_s, starts.latest_s))
    return f"the light alone holds from {first} to {last}."


def _shorter(plan: Plan, seen: Outlook, frames: int) -> Iterator[Remedy]:
    """As many frames as fit; or all of them at the longest interval that fits."""
    key, shoot = f"shoots.{seen.name}", seen.shoot
    if frames >= 1:
        length_s = frames / shoot.frame_rate_fps
        if length_s >= 0.1:
            yield Remedy(f"{frames} frames", ((f"{key}.clip_length_s", length_s),))
    take_min = seen.flight.max_take_min or 0.0
    intervals = [
        interval
        for interval in scale_of(plan.camera, "interval_s")
        if interval < shoot.interval_s
        and (seen.clip.frames - 1) * interval / 60.0 <= take_min
        and camera_keeps_up(with_setting(shoot, "interval_s", interval), plan.camera)
    ]
    if intervals:
        label = f"Interval {seconds_text(intervals[-1])}"
        yield Remedy(label, ((f"{key}.interval_s", intervals[-1]),))


def _caution(code: str, plan: Plan, seen: Outlook) -> tuple[str, str]:
    craft, flight, night = plan.craft, seen.flight, seen.shoot.conditions
    height = number_text(max(s.up_m for s in seen.path.stations), 0)
    limit = number_text(craft.wind_limit_m_s, 1)
    gust = number_text(flight.gust_at_camera_m_s or 0.0, 0)
    share = share_text(temperature_share(night.temperature_c, kept_warm=craft.battery_kept_warm))
    stop = percent_text(flight.stop_at_percent or 0.0)
    distance, sight = number_text(flight.distance_m or 0.0, 0), _sight(plan, seen)
    landing = percent_text(math.floor(flight.landing_percent or 0.0))
    reserve = percent_text(plan.flight.reserve_percent)
    charge = percent_text(seen.shoot.battery_start_percent)
    texts = {
        "gust_over_limit": (
            f"Gusts reach {gust} m/s at {height} m, above this craft's {limit} m/s.",
            "Fly lower, or on a calmer night.",
        ),
        "return_wind_over_limit": (
            f"The wind at the return height is above this craft's {limit} m/s.",
            "Lower the return height if nothing stands in the way.",
        ),
        "return_fails_in_gusts": (
            f"In gusts of {gust} m/s the way home comes to a stand.",
            "Come nearer, lower, or fly home faster.",
        ),
        "below_freezing": (
            f"At {number_text(night.temperature_c)} °C the battery gives {share} of its energy.",
            "Keep it warm until take-off and watch the clock, not the gauge.",
        ),
        "outside_battery_range": (
            f"At {number_text(night.temperature_c)} °C no battery figure can be promised.",
            "The figures shown are those of \N{MINUS SIGN}10 or 40 °C, the nearest known.",
        ),
        "aged_battery": (
            f"The battery holds {share_text(craft.state_of_health)} of its first energy.",
            "Below 80 % retire it from flying.",
        ),
        "beyond_sight_guide": (
            f"{distance} m out is further than is well seen at this size: {sight} m.",
            "Come nearer; keep it in sight the whole time.",
        ),
        "start_charge_reads_high": (
            f"At {charge} the gauge may read high in this cold.",
            "Take off with a full battery.",
        ),
        "auto_return_binds": (
            f"The craft turns home by itself at {percent_text(craft.auto_return_percent)}.",
            f"That sets the charge to stop at, {stop}.",
        ),
        "landing_near_reserve": (
            f"Lands with {landing}, close to the reserve of {reserve}.",
            "A gust or a second try at landing uses that up.",
        ),
    }
    return texts[code]


def _sight(plan: Plan, seen: Outlook) -> str:
    guide = sight_guide_m(plan.craft.diameter_m, seen.shoot.conditions.visibility_km)
    return number_text(math.floor(guide), 0)
