"""How low the path must lie for the wind to stay under the craft's limit."""

from __future__ import annotations

from msgspec.structs import replace

from core.advice.mending import Bench, lacks_of, remedy_of
from core.edit import with_values
from core.findings import Remedy
from core.language import say
from core.measures import length_text
from core.outlook import Outlook
from core.plan import Plan
from core.wind import ANEMOMETER_HEIGHT_M, gust_10m_m_s
from core.words import cut_down

_FLIGHT = frozenset({"flight"})


def height_under_m(plan: Plan, speed_10m_m_s: float, seen: Outlook) -> float | None:
    """The greatest whole height at which a wind stays within the craft's limit, [m].

    The power law of `core.wind.shear_ratio` turned round. None where the wind is above the
    limit at 10 m already, or grows with no height.
    """
    limit, exponent = plan.craft.wind_limit_m_s, seen.shoot.conditions.wind_shear_exponent
    if speed_10m_m_s <= 0.0 or exponent <= 0.0 or speed_10m_m_s > limit:
        return None
    try:
        height_m = ANEMOMETER_HEIGHT_M * (limit / speed_10m_m_s) ** (1.0 / exponent)
    except OverflowError:
        return None
    return cut_down(height_m)


def gust_height_m(plan: Plan, seen: Outlook) -> float | None:
    """The greatest whole height at which gusts stay within the craft's limit, [m]."""
    air = seen.shoot.conditions
    return height_under_m(plan, gust_10m_m_s(air.wind_10m_m_s, air.gust_10m_m_s), seen)


def wind_height_m(plan: Plan, seen: Outlook) -> float | None:
    """The greatest whole height at which the mean wind stays within the craft's limit, [m]."""
    return height_under_m(plan, seen.shoot.conditions.wind_10m_m_s, seen)


def lower_words(height_m: float | None, *, of_gusts: bool) -> str:
    """The way out of too much wind: 'Below 45 m they stay under it: fly lower, or ...'."""
    if height_m is None:
        return say("Fly on a calmer night.")
    height = length_text(height_m, cut=cut_down)
    if of_gusts:
        return say(
            "Below {height} they stay under it: fly lower, or on a calmer night.", height=height
        )
    return say("Below {height} it is under it: fly lower, or on a calmer night.", height=height)


def lowered(bench: Bench, height_m: float | None) -> Remedy | None:
    """All stations no higher than a height, where that is simply done.

    Only down to the return height: below it something may stand in the way. None where the
    wind stays above the limit, or either shoot would get another problem.
    """
    plan = bench.plan
    if height_m is None or height_m < plan.flight.return_height_m:
        return None
    stations = tuple(
        replace(station, up_m=min(station.up_m, height_m)) for station in plan.path.stations
    )
    values: dict[str, object] = {
        f"path.stations.{place}.up_m": station.up_m
        for place, station in enumerate(stations)
        if station != plan.path.stations[place]
    }
    if not values:
        return None
    label = say("Stations at {height} or lower", height=length_text(height_m, cut=cut_down))
    codes = _FLIGHT & lacks_of(plan, bench.seen).keys()
    remedy = remedy_of(bench, codes, label, values)
    if remedy is None:
        return None
    # Between stations the path may rise above them.
    flight = bench.tried(with_values(plan, dict(remedy.values)), bench.seen.name).flight
    return None if "gust_over_limit" in flight.cautions else remedy
