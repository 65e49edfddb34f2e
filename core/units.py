"""Units by the ending of a key: their words, symbols, and what else may be typed for them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from core.language import say, say_as, say_typed
from core.manner import Manner, manner


@dataclass(frozen=True)
class Unit:
    """A unit that a key is written in: its plural in words, its symbol, what may be typed for it.

    A value of the key is `per` times the figure that is written, plus `zero`. `typed` gives the
    same two for each other spelling; `digits` are the decimals that a converted figure is shown
    with, None for six significant ones. A share runs 0 to 1 and is shown in percent.
    """

    plural: str
    symbol: str
    typed: tuple[tuple[str, tuple[float, float]], ...] = ()
    is_share: bool = False
    digits: int | None = None
    per: float = 1.0
    zero: float = 0.0

    def shown(self, value: float) -> float:
        """Return the figure that a value of the key is written as."""
        return (value - self.zero) / self.per


_Typed = tuple[tuple[str, tuple[float, float]], ...]


def _by(factors: Mapping[str, float], unit: float = 1.0) -> _Typed:
    """What may be typed for a unit of `unit` times the base of some factors."""
    return tuple((name, (factor / unit, 0.0)) for name, factor in factors.items())


def _each(names: tuple[str, ...], factor: float) -> dict[str, float]:
    """One factor under each of its names, as they are compared: without spaces."""
    return {name.replace(" ", ""): factor for name in names}


# Factors by definition; knot, mile, foot, pound and the degree Fahrenheit from NIST SP 811
# (2008), appendix B.8.
_FOOT_M, _MILE_M, _POUND_KG = 0.3048, 1609.344, 0.45359237
_FAHRENHEIT = (1.0 / 1.8, -32.0 / 1.8)
_LENGTH = {"cm": 0.01, "m": 1.0, "km": 1000.0, "ft": _FOOT_M, "mi": _MILE_M}
_SPEED = {
    "m/s": 1.0, "km/h": 1.0 / 3.6, "kmh": 1.0 / 3.6, "kn": 1852.0 / 3600.0,
    "kt": 1852.0 / 3600.0, "mph": _MILE_M / 3600.0,
}  # fmt: skip
_MASS = {"kg": 1.0, "g": 0.001, "lb": _POUND_KG, "oz": _POUND_KG / 16.0}
_WARMTH: _Typed = (
    ("°c", (1.0, 0.0)), ("c", (1.0, 0.0)), ("°f", _FAHRENHEIT), ("f", _FAHRENHEIT),
)  # fmt: skip


def _time() -> dict[str, float]:
    return {
        "ms": 0.001,
        **_each(say_typed("s, sec, second, seconds"), 1.0),
        **_each(say_typed("min, mins, minute, minutes"), 60.0),
        **_each(say_typed("h, hour, hours"), 3600.0),
    }


def _metric() -> dict[str, Unit]:
    """Units by the ending of the key, longest first."""
    percent = say_typed("%, percent")
    stops = _each(say_typed("stops, stop, ev"), 1.0)
    # Forecasts give cloud in percent of the sky.
    okta = _each(say_typed("okta, oktas"), 1.0) | _each(percent, 0.08)
    degrees = _each(say_typed("°, deg, degrees"), 1.0)
    rate = _each(say_typed("fps, per s, per second"), 1.0)
    return {
        "_cd_m2": Unit(
            say_as("a number of", "candela per square metre"), "cd/m²",
            _by({"cd/m²": 1.0, "cd/m2": 1.0}),
        ),
        "_percent": Unit(
            say_as("a number of", "percent"), "%", _by(_each(percent, 1.0)), digits=1
        ),
        "_stops": Unit(say_as("a number of", "stops"), say("stops"), _by(stops), digits=2),
        "_okta": Unit(say_as("a number of", "eighths of sky"), say("okta"), _by(okta), digits=1),
        "_m_s": Unit(say_as("a number of", "metres per second"), "m/s", _by(_SPEED), digits=1),
        "_min": Unit(say_as("a number of", "minutes"), "min", _by(_time(), 60.0), digits=2),
        "_deg": Unit(say_as("a number of", "degrees"), "°", _by(degrees), digits=2),
        "_fps": Unit(say_as("a number of", "frames per second"), "fps", _by(rate), digits=2),
        "_km": Unit(say_as("a number of", "kilometres"), "km", _by(_LENGTH, 1000.0), digits=2),
        "_kg": Unit(say_as("a number of", "kilograms"), "kg", _by(_MASS), digits=3),
        "_mm": Unit(say_as("a number of", "millimetres"), "mm", _by({"mm": 1.0}), digits=1),
        "_mb": Unit(say_as("a number of", "megabytes"), "MB", _by({"mb": 1.0, "gb": 1000.0})),
        "_lx": Unit(say_as("a number of", "lux"), "lx", _by(_each(say_typed("lx, lux"), 1.0))),
        "_s": Unit(say_as("a number of", "seconds"), "s", _by(_time()), digits=3),
        "_m": Unit(say_as("a number of", "metres"), "m", _by(_LENGTH), digits=1),
        "_c": Unit(
            say_as("a number of", "degrees Celsius"), "°C", (*_WARMTH, ("°", (1.0, 0.0))), digits=1
        ),
        "share": Unit("", "", _by(_each(percent, 0.01)), is_share=True),
    }  # fmt: skip


def _imperial() -> dict[str, Unit]:
    """What stands in their place for a pilot of feet and miles; lenses stay in millimetres."""
    return {
        "_m_s": Unit(
            say_as("a number of", "miles per hour"), "mph", _by(_SPEED), digits=1,
            per=_MILE_M / 3600.0,
        ),
        "_km": Unit(
            say_as("a number of", "miles"), "mi", _by(_LENGTH, 1000.0), digits=2,
            per=_MILE_M / 1000.0,
        ),
        "_kg": Unit(say_as("a number of", "pounds"), "lb", _by(_MASS), digits=3, per=_POUND_KG),
        "_m": Unit(say_as("a number of", "feet"), "ft", _by(_LENGTH), digits=1, per=_FOOT_M),
        "_c": Unit(
            say_as("a number of", "degrees Fahrenheit"), "°F", (*_WARMTH, ("°", _FAHRENHEIT)),
            digits=1, per=_FAHRENHEIT[0], zero=_FAHRENHEIT[1],
        ),
    }  # fmt: skip


@cache
def _units(written: Manner) -> dict[str, Unit]:
    """The units of a manner, which is that of the process, by the ending of the key."""
    return {**_metric(), **(_imperial() if written.units == "imperial" else {})}


# Names whose ending does not say the unit.
_UNIT_KEYS = {
    "skyline": "_deg",
    "look_at": "_m",
    "state_of_health": "share",
    "stops": "_stops",
}


def _ending(name: str) -> str | None:
    if name in _UNIT_KEYS:
        return _UNIT_KEYS[name]
    return next((ending for ending in _units(manner()) if name.endswith(ending)), None)


def unit_of(name: str) -> Unit | None:
    """Return the unit that a key is written in, by its last name ("interval_s"); None for none."""
    ending = _ending(name)
    return measured_in(ending) if ending else None


def measured_in(ending: str) -> Unit:
    """Return the unit of the pilot for keys of an ending ("_m_s").

    Raises KeyError for an ending that no key has.
    """
    return _units(manner())[ending]
