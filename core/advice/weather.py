"""Findings about the air: wind at height, mist and dew, ice, cloud base, visibility."""

from __future__ import annotations

from collections.abc import Iterator

from core.advice.height import height_under_m
from core.findings import Finding
from core.flightscene import gust_m_s, wind_m_s
from core.language import say
from core.measures import far_text, length_text, speed_text, temperature_text, warmer_text
from core.motion import Motion
from core.outlook import Outlook
from core.plan import Plan
from core.weather import (
    FOG_SPREAD_C,
    MIST_SPREAD_C,
    cloud_base_m,
    contrast_share,
    dew_point_c,
    ice_forms,
    spread_c,
)
from core.wind import ANEMOMETER_HEIGHT_M
from core.words import cut_down, cut_up, kept_text, number_text, percent_text

#: Mean wind beyond this share of the craft's limit is worth a word: engineering judgement.
WINDY_SHARE = 0.6
#: Three statute miles, the least visibility of 14 CFR 107.51(c), [km].
LEAST_VISIBILITY_KM = 3.0 * 1.609344
#: 500 ft below cloud, 14 CFR 107.51(d)(1), [m].
BELOW_CLOUD_M = 500.0 * 0.3048


def weather_findings(plan: Plan, seen: Outlook, motion: Motion) -> Iterator[Finding]:
    """What the typed air means; what the flight's own cautions say already is left to them."""
    height_m = motion.sweep.height_m
    yield from _windy(plan, seen, height_m)
    yield from _wet(seen)
    yield from _low_cloud(seen, height_m)
    yield from _murk(seen, motion)


def _windy(plan: Plan, seen: Outlook, height_m: float) -> Iterator[Finding]:
    limit, wind = plan.craft.wind_limit_m_s, wind_m_s(seen.shoot.conditions, height_m)
    told = seen.flight.error is not None or "gust_over_limit" in seen.flight.cautions
    if told or wind <= WINDY_SHARE * limit:
        return
    at_ground = speed_text(seen.shoot.conditions.wind_10m_m_s, None)
    share = percent_text(cut_up(100.0 * wind / limit))
    fact = say(
        "The mean wind of {typed} at {ground} is {wind} at {height}, "
        "{share} of what this craft is made for.",
        typed=at_ground,
        ground=length_text(ANEMOMETER_HEIGHT_M),
        wind=speed_text(wind, cut=cut_up),
        height=length_text(height_m),
        share=share,
    )
    gust = speed_text(gust_m_s(seen.shoot.conditions, height_m), cut=cut_up)
    lower_m = height_under_m(plan, seen.shoot.conditions.wind_10m_m_s / WINDY_SHARE, seen)
    most = percent_text(100.0 * WINDY_SHARE)
    out = (
        say("Fly on a calmer night.")
        if lower_m is None
        else say(
            "Below {height} it stays under {share}: fly lower, or on a calmer night.",
            height=length_text(lower_m, cut=cut_down),
            share=most,
        )
    )
    gusts = say("Gusts reach {gust} there.", gust=gust)
    yield Finding("warn", "windy", seen.name, fact, f"{gusts} {out}")


def _wet(seen: Outlook) -> Iterator[Finding]:
    air = seen.shoot.conditions
    humidity, celsius = air.humidity_percent, air.temperature_c
    if humidity is None:
        return
    if ice_forms(celsius, humidity):
        fact = say(
            "At {temperature} and {humidity} % humidity ice forms on the propellers.",
            temperature=temperature_text(celsius),
            humidity=number_text(humidity),
        )
        rest = say("Within minutes, from take-off on. Leave it for a drier or milder night.")
        yield Finding("stop", "icing", seen.name, fact, rest)
        return
    spread = spread_c(celsius, humidity)
    if spread > MIST_SPREAD_C:
        return
    dew_point = temperature_text(dew_point_c(celsius, humidity), 1)
    above = warmer_text(spread, cut=cut_down)
    fact = _damp(above, dew_point, fog=spread <= FOG_SPREAD_C)
    rest = say("Bring the craft to the air's temperature 20 min before, and look at the lens.")
    yield Finding("warn", "dew", seen.name, fact, rest)


def _damp(spread: str, dew_point: str, *, fog: bool) -> str:
    if fog:
        return say(
            "The air is {spread} above its dew point of {dew_point}: mist and fog are likely as "
            "it cools, and a lens colder than that fogs.",
            spread=spread,
            dew_point=dew_point,
        )
    return say(
        "The air is {spread} above its dew point of {dew_point}: mist may form as it cools, and "
        "a lens colder than that fogs.",
        spread=spread,
        dew_point=dew_point,
    )


def _low_cloud(seen: Outlook, height_m: float) -> Iterator[Finding]:
    air = seen.shoot.conditions
    if air.humidity_percent is None or air.cloud_okta <= 0.0:
        return
    base_m = cloud_base_m(air.temperature_c, air.humidity_percent)
    if base_m >= height_m + BELOW_CLOUD_M:
        return
    fact = say(
        "By temperature and humidity cloud may lie as low as {base}; the path reaches {height}.",
        base=length_text(base_m, cut=cut_down),
        height=length_text(height_m),
    )
    rest = say(
        "Look before take-off; some rules want {height} of clear air below it.",
        height=length_text(BELOW_CLOUD_M, cut=cut_up),
    )
    yield Finding("warn", "cloud_base", seen.name, fact, rest)


def _murk(seen: Outlook, motion: Motion) -> Iterator[Finding]:
    visibility_km = seen.shoot.conditions.visibility_km
    if visibility_km is None or visibility_km >= LEAST_VISIBILITY_KM:
        return
    fact = say(
        "Visibility is {visibility}, below the 3 statute miles (4.83 km) that some rules ask.",
        visibility=far_text(visibility_km),
    )
    rest = say("Shoot on a clearer night.")
    if motion.middle_m is not None:
        left = kept_text(contrast_share(motion.middle_m / 1000.0, visibility_km))
        contrast = say(
            "At {distance}, the middle of the ground, {share} of the contrast is left.",
            distance=length_text(motion.middle_m),
            share=left,
        )
        rest = f"{contrast} {rest}"
    yield Finding("warn", "visibility", seen.name, fact, rest)
