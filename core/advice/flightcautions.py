"""What each caution about the flight says; figures are cut to the side of the bad luck."""

from __future__ import annotations

from collections.abc import Callable

from core.advice.height import gust_height_m, lower_words, wind_height_m
from core.battery import KNOWN_RANGE_C, temperature_share
from core.flightenergy import Caution
from core.language import say
from core.measures import length_text, speed_text, temperature_text
from core.outlook import Outlook
from core.plan import Plan
from core.sight import sight_guide_m
from core.words import cut_down, cut_up, kept_text, number_text, percent_text


def caution_text(code: Caution, plan: Plan, seen: Outlook) -> tuple[str, str]:
    """What and how much, then the way out; of a flight that can be flown."""
    return _TEXTS[code](plan, seen)


def _reach_text(wind_m_s: float | None) -> str:
    """A wind that is too much, cut up to the tenth."""
    return speed_text(wind_m_s or 0.0, cut=cut_up)


def _height_text(height_m: float | None) -> str:
    return length_text(height_m or 0.0)


def _typed_text(percent: float) -> str:
    """A percentage of the plan as typed."""
    return f"{number_text(percent)} %"


def _limit_text(plan: Plan) -> str:
    """The craft's limit as typed: rounded, it could read as what it is exceeded by."""
    return speed_text(plan.craft.wind_limit_m_s, None)


def _gust_over_limit(plan: Plan, seen: Outlook) -> tuple[str, str]:
    flight = seen.flight
    gust, height = _reach_text(flight.gust_at_camera_m_s), _height_text(flight.camera_height_m)
    fact = say(
        "Gusts reach {gust} at {height}, above this craft's {limit}.",
        gust=gust,
        height=height,
        limit=_limit_text(plan),
    )
    return fact, lower_words(gust_height_m(plan, seen), of_gusts=True)


def _return_wind_over_limit(plan: Plan, seen: Outlook) -> tuple[str, str]:
    flight = seen.flight
    wind, height = _reach_text(flight.wind_at_return_m_s), _height_text(flight.return_height_m)
    fact = say(
        "The mean wind reaches {wind} at the return height of {height}, above this "
        "craft's {limit}.",
        wind=wind,
        height=height,
        limit=_limit_text(plan),
    )
    under_m = wind_height_m(plan, seen)
    lower = say("Lower the return height if nothing stands in the way.")
    if under_m is None:
        return fact, lower
    below = say("Below {height} it is under it.", height=length_text(under_m, cut=cut_down))
    return fact, f"{below} {lower}"


def _return_fails_in_gusts(_plan: Plan, seen: Outlook) -> tuple[str, str]:
    flight = seen.flight
    gust, height = _reach_text(flight.gust_at_return_m_s), _height_text(flight.return_height_m)
    fact = say(
        "In gusts of {gust} at the return height of {height} the craft comes to a "
        "stand on its way home.",
        gust=gust,
        height=height,
    )
    return fact, say("Come nearer, lower, or fly home faster.")


def _below_freezing(plan: Plan, seen: Outlook) -> tuple[str, str]:
    celsius = seen.shoot.conditions.temperature_c
    share = temperature_share(celsius, kept_warm=plan.craft.battery_kept_warm)
    fact = say(
        "At {temperature} the battery gives {share} of its energy.",
        temperature=temperature_text(celsius),
        share=kept_text(share),
    )
    return fact, say("Keep it warm until take-off and watch the clock, not the gauge.")


def _outside_battery_range(_plan: Plan, seen: Outlook) -> tuple[str, str]:
    air = temperature_text(seen.shoot.conditions.temperature_c)
    fact = say("At {temperature} no battery figure can be promised.", temperature=air)
    coldest, warmest = (temperature_text(celsius) for celsius in KNOWN_RANGE_C)
    return fact, say(
        "The figures shown are those of {coldest} or {warmest}, the nearest known.",
        coldest=coldest,
        warmest=warmest,
    )


def _aged_battery(plan: Plan, _seen: Outlook) -> tuple[str, str]:
    held = kept_text(plan.craft.state_of_health)
    # Capacity at which a pack counts as worn out: Battery University BU-801b and BU-801c.
    fact = say("The battery holds {share} of its first energy.", share=held)
    return fact, say("Below 80 % retire it from flying.")


def _beyond_sight_guide(plan: Plan, seen: Outlook) -> tuple[str, str]:
    guide_m = sight_guide_m(plan.craft.diameter_m, seen.shoot.conditions.visibility_km)
    out = length_text(seen.flight.distance_m or 0.0, cut=cut_up)
    guide = length_text(guide_m, cut=cut_down)
    fact = say(
        "{distance} out is further than is well seen at this size: {guide}.",
        distance=out,
        guide=guide,
    )
    return fact, say("Come nearer; keep it in sight the whole time.")


def _start_charge_reads_high(_plan: Plan, seen: Outlook) -> tuple[str, str]:
    shown = _typed_text(seen.shoot.battery_start_percent)
    drawn = percent_text(cut_down(seen.flight.start_percent))
    fact = say(
        "Of the {shown} on the gauge at take-off this cold may leave {left}.",
        shown=shown,
        left=drawn,
    )
    return fact, say("The figures count with {left}. Take off with a full battery.", left=drawn)


def _auto_return_binds(plan: Plan, seen: Outlook) -> tuple[str, str]:
    turns = _typed_text(plan.craft.auto_return_percent)
    stop = percent_text(seen.flight.stop_at_percent or 0.0)
    fact = say("The craft turns home by itself at {charge}.", charge=turns)
    return fact, say("That sets the charge to stop at, {charge}.", charge=stop)


def _landing_near_reserve(plan: Plan, seen: Outlook) -> tuple[str, str]:
    landing = percent_text(cut_down(seen.flight.landing_percent or 0.0))
    reserve = _typed_text(plan.flight.reserve_percent)
    fact = say(
        "Lands with {charge}, close to the reserve of {reserve}.", charge=landing, reserve=reserve
    )
    return fact, say("A gust or a second try at landing uses that up.")


_TEXTS: dict[Caution, Callable[[Plan, Outlook], tuple[str, str]]] = {
    "gust_over_limit": _gust_over_limit,
    "return_wind_over_limit": _return_wind_over_limit,
    "return_fails_in_gusts": _return_fails_in_gusts,
    "below_freezing": _below_freezing,
    "outside_battery_range": _outside_battery_range,
    "aged_battery": _aged_battery,
    "beyond_sight_guide": _beyond_sight_guide,
    "start_charge_reads_high": _start_charge_reads_high,
    "auto_return_binds": _auto_return_binds,
    "landing_near_reserve": _landing_near_reserve,
}
