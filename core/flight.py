"""Whether the flight round a take fits the battery, and when shooting must stop.

Minutes count from take-off. Charges are shares of the energy that can be drawn
tonight unless they are said to be what the gauge shows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.battery import Gauge
from core.clip import most_frames
from core.flightenergy import Budget, Caution, FlightEnergy, flight_energy
from core.flightlegs import Leg, Unflown
from core.flightscene import FlightRoute
from core.language import say
from core.words import cut_down, cut_up, number_text, percent_text

__all__ = ["Flight", "FlightEnergy", "FlightRoute", "Segment", "flight_energy", "plan_flight"]

# A landing this close above the reserve, or a gauge this far off, is worth a word.
NEAR_PERCENT = 3.0
_FULL_PERCENT = 100.0
_ROUNDING = 1e-9
# Rounding of heights leaves legs of 1e-17 min: no leg at all.
_NO_LEG_MIN = 1e-12


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of the timeline with the true charge at both its ends."""

    name: str
    starts_min: float
    minutes: float
    percent: float
    charge_before_percent: float
    charge_after_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Flight:
    """The flight of one take.

    Attributes
    ----------
    segments
        checks, climb, out, set-up, wait, take, settle, return climb, home,
        descent, landing; those of no length are left out, the take never. The way
        home is the dearest over all places of the path. A charge below zero means
        that the battery is empty before.
    start_percent, gauge
        True charge at take-off, the lowest that the gauge's reading can stand for;
        what the craft shows for a charge.
    before_min, before_percent
        Take-off to the press.
    home_min, home_percent
        Last frame to landed.
    usable_hover_min
        Still-air hover in a full battery tonight.
    take_percent_per_min
        What a minute of the take costs.
    max_take_min, max_frames
        The longest take that leaves charge for the way home and the reserve.
    max_frames_low, max_frames_high
        The same with the practice factor 0.1 higher and lower: how well the
        figure is known before the pilot's own log has fixed that factor.
    stop_charge_percent
        True charge at which shooting must stop: the reserve and the way home, or
        the charge at which the craft may turn home by itself, whichever is higher.
    stop_at_exact_percent, stop_at_percent
        The same on the gauge; rounded up to the next whole percent.
    latest_stop_min, land_by_min
        The last frame must be taken by then; landed by then with the reserve left.
    margin_min, landing_percent, fits
        Minutes to spare; true charge after landing; whether the take fits.
    unflown
        What cannot be flown; then every figure of the budget is None.
    cautions
        What a pilot should know before; none where the flight cannot be flown.
    distance_m, camera_height_m, return_height_m
        Greatest distance over ground; greatest height of the path; height of the
        way home.
    wind_at_camera_m_s, gust_at_camera_m_s, wind_at_return_m_s, gust_at_return_m_s
        Mean wind and gust at these two heights.
    ground_speed_home_m_s
        Over ground on the dearest return; None when it starts overhead.

    """

    segments: tuple[Segment, ...]
    start_percent: float
    gauge: Gauge
    before_min: float | None = None
    before_percent: float | None = None
    home_min: float | None = None
    home_percent: float | None = None
    usable_hover_min: float | None = None
    take_percent_per_min: float | None = None
    max_take_min: float | None = None
    max_frames: int | None = None
    max_frames_low: int | None = None
    max_frames_high: int | None = None
    stop_charge_percent: float | None = None
    stop_at_exact_percent: float | None = None
    stop_at_percent: int | None = None
    latest_stop_min: float | None = None
    land_by_min: float | None = None
    margin_min: float | None = None
    landing_percent: float | None = None
    fits: bool | None = None
    unflown: Unflown | None = None
    cautions: tuple[Caution, ...] = ()
    distance_m: float | None = None
    camera_height_m: float | None = None
    return_height_m: float | None = None
    wind_at_camera_m_s: float | None = None
    gust_at_camera_m_s: float | None = None
    wind_at_return_m_s: float | None = None
    gust_at_return_m_s: float | None = None
    ground_speed_home_m_s: float | None = None

    @property
    def error(self) -> str | None:
        """What cannot be flown and the way out, in words."""
        return None if self.unflown is None else self.unflown.text

    @property
    def error_leg(self) -> str | None:
        """Which part cannot be flown: hold, out, home or charge."""
        return None if self.unflown is None else self.unflown.leg

    def charge_at(self, minutes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the true charge at minutes from take-off, [%]; level outside the flight."""
        first = self.segments[0]
        times = [first.starts_min, *(part.starts_min + part.minutes for part in self.segments)]
        charges = [
            first.charge_before_percent,
            *(part.charge_after_percent for part in self.segments),
        ]
        return np.interp(minutes, times, charges)

    @property
    def empty_min(self) -> float | None:
        """Minutes from take-off to an empty battery, [min]; None where some is left at the end."""
        for part in self.segments:
            if part.charge_after_percent < 0.0:
                used = part.charge_before_percent - part.charge_after_percent
                return part.starts_min + part.minutes * part.charge_before_percent / used
        return None

    def gauge_at(self, minutes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return what the craft shows at minutes from take-off, [%]; the larger if unknown."""
        return self.gauge.reading_percent(self.charge_at(minutes))


def plan_flight(
    energy: FlightEnergy, frames: int, interval_s: float, battery_start_percent: float
) -> Flight:
    """Fit a take into a flight.

    Parameters
    ----------
    energy
        The flight round the take.
    frames
        Number of stills, at least 1; the first is taken at the press.
    interval_s
        From one still to the next, [s].
    battery_start_percent
        What the gauge shows at take-off, [%], domain [1, 100]; the lowest charge
        that this can stand for is what the flight counts with.

    Returns
    -------
    Flight
        Shooting stops at the higher of reserve plus way home and the charge at
        which the craft may turn home by itself, at the earliest moment its gauge
        can show that figure.

    """
    start = energy.gauge.least_charge_percent(battery_start_percent)
    take = Leg("take", (frames - 1) * interval_s / 60.0, energy.hold_power)
    if energy.budget is None or energy.budget_low is None or energy.budget_high is None:
        at_home = energy.unflown is not None and energy.unflown.leg == "home"
        flown = (*energy.before, take) if at_home else energy.before
        return _unflown(energy, flown, start, energy.unflown)
    budget = energy.budget
    stop, max_take = _longest_take(energy, budget, start)
    if max_take <= 0.0:
        unflown = Unflown("charge", *_no_charge(energy, budget, battery_start_percent))
        return _unflown(energy, energy.before, start, unflown)
    segments = _segments(energy, (*energy.before, take, *energy.home), start)
    before_min = sum(leg.minutes for leg in energy.before)
    home_min = sum(leg.minutes for leg in energy.home)
    max_frames, fewest, most = (
        most_frames(_longest_take(energy, budget_of, start)[1], interval_s)
        for budget_of in (budget, energy.budget_low, energy.budget_high)
    )
    reading = energy.gauge.reading_percent(stop)
    landing = start - sum(segment.percent for segment in segments)
    fits = frames <= max_frames
    return Flight(
        segments=segments,
        start_percent=start,
        gauge=energy.gauge,
        before_min=before_min,
        before_percent=budget.before_percent,
        home_min=home_min,
        home_percent=budget.home_percent,
        usable_hover_min=energy.usable_hover_min,
        take_percent_per_min=budget.take_percent_per_min,
        max_take_min=max_take,
        max_frames=max_frames,
        max_frames_low=fewest,
        max_frames_high=most,
        stop_charge_percent=stop,
        stop_at_exact_percent=reading,
        stop_at_percent=math.ceil(reading - _ROUNDING),
        latest_stop_min=before_min + max_take,
        land_by_min=before_min + max_take + home_min,
        margin_min=max_take - take.minutes,
        landing_percent=landing,
        fits=fits,
        cautions=energy.cautions
        + _cautions(energy, budget, battery_start_percent, landing, fits=fits),
        distance_m=energy.distance_m,
        camera_height_m=energy.camera_height_m,
        return_height_m=energy.return_height_m,
        wind_at_camera_m_s=energy.wind_at_camera_m_s,
        gust_at_camera_m_s=energy.gust_at_camera_m_s,
        wind_at_return_m_s=energy.wind_at_return_m_s,
        gust_at_return_m_s=energy.gust_at_return_m_s,
        ground_speed_home_m_s=energy.ground_speed_home_m_s,
    )


def _longest_take(
    energy: FlightEnergy, budget: Budget, start_percent: float
) -> tuple[float, float]:
    """Charge to stop at, [%], and minutes of take until then (negative: none)."""
    kept = energy.reserve_percent + budget.home_percent
    stop = max(kept, _turns_home_percent(energy))
    left = start_percent - budget.before_percent - stop
    return stop, left / budget.take_percent_per_min


def _segments(
    energy: FlightEnergy, legs: Sequence[Leg], start_percent: float
) -> tuple[Segment, ...]:
    segments = []
    clock, charge = 0.0, start_percent
    for leg in legs:
        if leg.minutes <= _NO_LEG_MIN and leg.name != "take":
            continue
        percent = energy.percent(leg)
        segments.append(Segment(leg.name, clock, leg.minutes, percent, charge, charge - percent))
        clock, charge = clock + leg.minutes, charge - percent
    return tuple(segments)


def _unflown(
    energy: FlightEnergy, legs: Sequence[Leg], start_percent: float, unflown: Unflown | None
) -> Flight:
    """Tell what cannot be flown, with the timeline as far as it goes."""
    segments = _segments(energy, legs, start_percent)
    return Flight(
        segments=segments,
        start_percent=start_percent,
        gauge=energy.gauge,
        unflown=unflown,
    )


def _turns_home_percent(energy: FlightEnergy) -> float:
    """Give the highest true charge at which the craft may turn home by itself, [%]."""
    return energy.gauge.charge_percent(energy.auto_return_percent)


def _auto_return_binds(energy: FlightEnergy, budget: Budget) -> bool:
    return _turns_home_percent(energy) > energy.reserve_percent + budget.home_percent


def _no_charge(
    energy: FlightEnergy, budget: Budget, start_reading_percent: float
) -> tuple[str, str]:
    """Where the charge goes before a first frame, and the way out."""
    take_off = _take_off_text(energy.gauge, start_reading_percent)
    used = percent_text(cut_up(budget.before_percent))
    if _auto_return_binds(energy, budget):
        return say(
            "No charge is left for frames: {take_off}, {used} is used before the press, and the "
            "craft turns home by itself at {charge}.",
            take_off=take_off,
            used=used,
            charge=f"{number_text(energy.auto_return_percent)} %",
        ), say("Shorten set-up and wait, or set its own return lower.")
    fact = say(
        "No charge is left for frames: {take_off}, {used} is used before the press, and "
        "{kept} is kept for the way home and the reserve.",
        take_off=take_off,
        used=used,
        kept=percent_text(cut_up(energy.reserve_percent + budget.home_percent)),
    )
    if start_reading_percent >= _FULL_PERCENT:
        return fact, say("Shorten set-up and wait, come nearer, or take a larger battery.")
    return fact, say("Shorten set-up and wait, come nearer, or take a fuller battery.")


def _take_off_text(gauge: Gauge, reading_percent: float) -> str:
    """The charge at take-off as shown and, where less can be drawn, how much of it."""
    shown = f"{number_text(reading_percent)} %"
    drawn = max(0.0, cut_down(gauge.least_charge_percent(reading_percent)))
    if reading_percent - drawn < 1.0:
        return say("take-off is at {charge}", charge=shown)
    return say(
        "take-off is at {charge} on the gauge, of which this cold may leave {left}",
        charge=shown,
        left=percent_text(drawn),
    )


def _cautions(
    energy: FlightEnergy,
    budget: Budget,
    start_reading_percent: float,
    landing_percent: float,
    *,
    fits: bool,
) -> tuple[Caution, ...]:
    """What a pilot should know about this take's charge."""
    excess = start_reading_percent - energy.gauge.least_charge_percent(start_reading_percent)
    checks: dict[Caution, bool] = {
        "start_charge_reads_high": excess >= NEAR_PERCENT,
        "auto_return_binds": _auto_return_binds(energy, budget),
        "landing_near_reserve": fits and landing_percent - energy.reserve_percent < NEAR_PERCENT,
    }
    return tuple(code for code, applies in checks.items() if applies)
