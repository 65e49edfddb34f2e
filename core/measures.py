"""Lengths, speeds and temperatures as they are written, in the units of the pilot.

Each takes its figure in the unit that the program computes in. What is cut to the side that
promises less is cut as it is written: 80.2 m cut up are 81 m, or 264 ft. Without `digits` a
figure stands as it was typed.
"""

from __future__ import annotations

from collections.abc import Callable

from core.language import say
from core.units import Unit, measured_in
from core.words import amount_text, number_text

#: `core.words.cut_up` or `core.words.cut_down`.
Cut = Callable[[float, float], float]


def length_text(value_m: float, digits: int | None = 0, cut: Cut | None = None) -> str:
    """Write a length, height or way over ground: '109 m', '358 ft'."""
    return _written(measured_in("_m"), value_m, digits, cut)


def far_text(value_km: float, digits: int | None = None) -> str:
    """Write a distance that is not flown: '10 km', '6.21 mi'."""
    return _written(measured_in("_km"), value_km, digits, None)


def speed_text(value_m_s: float, digits: int | None = 1, cut: Cut | None = None) -> str:
    """Write a speed: '4.2 m/s', '9.4 mph'."""
    return _written(measured_in("_m_s"), value_m_s, digits, cut)


def speeds_text(low_m_s: float, high_m_s: float | None) -> str:
    """Write a wind and its gusts, each to the nearest whole: '4 to 7 m/s'; '4 m/s' without."""
    unit = measured_in("_m_s")
    low = number_text(unit.shown(low_m_s), 0)
    if high_m_s is None:
        return f"{low} {unit.symbol}"
    high = number_text(unit.shown(high_m_s), 0)
    return say("{low} to {high} {unit}", low=low, high=high, unit=unit.symbol)


def temperature_text(value_c: float, digits: int | None = None) -> str:
    """Write a temperature: '−2.5 °C', '27.5 °F'."""
    return _written(measured_in("_c"), value_c, digits, None)


def warmer_text(difference_c: float, digits: int = 1, cut: Cut | None = None) -> str:
    """Write by how much one temperature is above another: '2.5 °C', '4.5 °F'."""
    unit = measured_in("_c")
    return _with_unit(unit, difference_c / unit.per, digits, cut)


def _written(unit: Unit, value: float, digits: int | None, cut: Cut | None) -> str:
    return _with_unit(unit, unit.shown(value), digits, cut)


def _with_unit(unit: Unit, figure: float, digits: int | None, cut: Cut | None) -> str:
    if digits is None:
        return f"{amount_text(figure, unit.digits)} {unit.symbol}"
    if cut is not None:
        figure = cut(figure, 10.0**-digits)
    return f"{number_text(figure, digits)} {unit.symbol}"
