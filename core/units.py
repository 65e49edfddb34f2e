"""Units by the ending of a key: their words, symbols, and what else may be typed for them."""

from __future__ import annotations

from dataclasses import dataclass

from core.manner import manner


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


_Factors = tuple[tuple[str, float], ...]


def _by(factors: _Factors, unit: float = 1.0) -> tuple[tuple[str, tuple[float, float]], ...]:
    """What may be typed for a unit of `unit` times the base of some factors."""
    return tuple((name, (factor / unit, 0.0)) for name, factor in factors)


# Factors by definition; knot, mile, foot, pound and the degree Fahrenheit from NIST SP 811
# (2008), appendix B.8.
_FOOT_M, _MILE_M, _POUND_KG = 0.3048, 1609.344, 0.45359237
_FAHRENHEIT = (1.0 / 1.8, -32.0 / 1.8)
_TIME = (
    ("ms", 0.001), ("s", 1.0), ("sec", 1.0), ("second", 1.0), ("seconds", 1.0),
    ("min", 60.0), ("mins", 60.0), ("minute", 60.0), ("minutes", 60.0), ("h", 3600.0),
)  # fmt: skip
_LENGTH = (
    ("cm", 0.01), ("m", 1.0), ("km", 1000.0), ("ft", _FOOT_M), ("mi", _MILE_M),
)  # fmt: skip
_SPEED = (
    ("m/s", 1.0), ("km/h", 1.0 / 3.6), ("kmh", 1.0 / 3.6), ("kn", 1852.0 / 3600.0),
    ("kt", 1852.0 / 3600.0), ("mph", _MILE_M / 3600.0),
)  # fmt: skip
_MASS = (("kg", 1.0), ("g", 0.001), ("lb", _POUND_KG), ("oz", _POUND_KG / 16.0))
_WARMTH = (
    ("°c", (1.0, 0.0)), ("c", (1.0, 0.0)), ("°f", _FAHRENHEIT), ("f", _FAHRENHEIT),
)  # fmt: skip


# By the ending of the key, longest first.
_UNITS: dict[str, Unit] = {
    "_cd_m2": Unit("candela per square metre", "cd/m²", _by((("cd/m²", 1.0), ("cd/m2", 1.0)))),
    "_percent": Unit("percent", "%", _by((("%", 1.0), ("percent", 1.0))), digits=1),
    "_stops": Unit("stops", "stops", _by((("stops", 1.0), ("stop", 1.0), ("ev", 1.0))), digits=2),
    "_okta": Unit("eighths of sky", "okta", _by((("okta", 1.0), ("oktas", 1.0))), digits=1),
    "_m_s": Unit("metres per second", "m/s", _by(_SPEED), digits=1),
    "_min": Unit("minutes", "min", _by(_TIME, 60.0), digits=2),
    "_deg": Unit("degrees", "°", _by((("°", 1.0), ("deg", 1.0), ("degrees", 1.0))), digits=2),
    "_fps": Unit("frames per second", "fps", _by((("fps", 1.0),)), digits=2),
    "_km": Unit("kilometres", "km", _by(_LENGTH, 1000.0), digits=2),
    "_kg": Unit("kilograms", "kg", _by(_MASS), digits=3),
    "_mm": Unit("millimetres", "mm", _by((("mm", 1.0),)), digits=1),
    "_mb": Unit("megabytes", "MB", _by((("mb", 1.0), ("gb", 1000.0)))),
    "_lx": Unit("lux", "lx", _by((("lx", 1.0), ("lux", 1.0)))),
    "_s": Unit("seconds", "s", _by(_TIME), digits=3),
    "_m": Unit("metres", "m", _by(_LENGTH), digits=1),
    "_c": Unit("degrees Celsius", "°C", (*_WARMTH, ("°", (1.0, 0.0))), digits=1),
    "share": Unit("", "", _by((("%", 0.01), ("percent", 0.01))), is_share=True),
}
#: What stands in their place for a pilot of feet and miles; lenses stay in millimetres there.
_IMPERIAL: dict[str, Unit] = {
    "_m_s": Unit("miles per hour", "mph", _by(_SPEED), digits=1, per=_MILE_M / 3600.0),
    "_km": Unit("miles", "mi", _by(_LENGTH, 1000.0), digits=2, per=_MILE_M / 1000.0),
    "_kg": Unit("pounds", "lb", _by(_MASS), digits=3, per=_POUND_KG),
    "_m": Unit("feet", "ft", _by(_LENGTH), digits=1, per=_FOOT_M),
    "_c": Unit(
        "degrees Fahrenheit", "°F", (*_WARMTH, ("°", _FAHRENHEIT)), digits=1,
        per=_FAHRENHEIT[0], zero=_FAHRENHEIT[1],
    ),
}  # fmt: skip
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
    return next((ending for ending in _UNITS if name.endswith(ending)), None)


def unit_of(name: str) -> Unit | None:
    """Return the unit that a key is written in, by its last name ("interval_s"); None for none."""
    ending = _ending(name)
    return measured_in(ending) if ending else None


def measured_in(ending: str) -> Unit:
    """Return the unit of the pilot for keys of an ending ("_m_s").

    Raises KeyError for an ending that no key has.
    """
    imperial = _IMPERIAL.get(ending) if manner().units == "imperial" else None
    return imperial or _UNITS[ending]


def without_unit(name: str) -> str:
    """Return a key's last name without the unit at its end: "interval_s" gives "interval"."""
    ending = _ending(name) or ""
    return name.removesuffix(ending) if ending.startswith("_") else name
