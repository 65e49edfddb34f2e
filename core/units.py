"""Units by the ending of a key: their words, symbols, and what else may be typed for them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """A unit: its plural in words, its symbol, and what else may be typed for it.

    `typed` gives for each spelling the factor to this unit; `digits` are the decimals that
    a converted figure is shown with, None for six significant ones. A share runs 0 to 1 and
    is shown in percent.
    """

    plural: str
    symbol: str
    typed: tuple[tuple[str, float], ...] = ()
    is_share: bool = False
    digits: int | None = None


# Factors by definition; knot, mile and foot from NIST SP 811 (2008), appendix B.8.
_TIME = (
    ("ms", 0.001), ("s", 1.0), ("sec", 1.0), ("second", 1.0), ("seconds", 1.0),
    ("min", 60.0), ("mins", 60.0), ("minute", 60.0), ("minutes", 60.0), ("h", 3600.0),
)  # fmt: skip
_LENGTH = (("cm", 0.01), ("m", 1.0), ("km", 1000.0), ("ft", 0.3048))
_SPEED = (
    ("m/s", 1.0), ("km/h", 1.0 / 3.6), ("kmh", 1.0 / 3.6), ("kn", 1852.0 / 3600.0),
    ("kt", 1852.0 / 3600.0), ("mph", 0.44704),
)  # fmt: skip


def _scaled(typed: tuple[tuple[str, float], ...], by: float) -> tuple[tuple[str, float], ...]:
    return tuple((name, factor / by) for name, factor in typed)


# By the ending of the key, longest first.
_UNITS: dict[str, Unit] = {
    "_cd_m2": Unit("candela per square metre", "cd/m²", (("cd/m²", 1.0), ("cd/m2", 1.0))),
    "_percent": Unit("percent", "%", (("%", 1.0), ("percent", 1.0)), digits=1),
    "_stops": Unit("stops", "stops", (("stops", 1.0), ("stop", 1.0), ("ev", 1.0)), digits=2),
    "_okta": Unit("eighths of sky", "okta", (("okta", 1.0), ("oktas", 1.0)), digits=1),
    "_m_s": Unit("metres per second", "m/s", _SPEED, digits=1),
    "_min": Unit("minutes", "min", _scaled(_TIME, 60.0), digits=2),
    "_deg": Unit("degrees", "°", (("°", 1.0), ("deg", 1.0), ("degrees", 1.0)), digits=2),
    "_fps": Unit("frames per second", "fps", (("fps", 1.0),), digits=2),
    "_km": Unit("kilometres", "km", _scaled(_LENGTH, 1000.0), digits=2),
    "_kg": Unit("kilograms", "kg", (("kg", 1.0), ("g", 0.001)), digits=3),
    "_mm": Unit("millimetres", "mm", (("mm", 1.0),), digits=1),
    "_mb": Unit("megabytes", "MB", (("mb", 1.0), ("gb", 1000.0))),
    "_lx": Unit("lux", "lx", (("lx", 1.0), ("lux", 1.0))),
    "_s": Unit("seconds", "s", _TIME, digits=3),
    "_m": Unit("metres", "m", _LENGTH, digits=1),
    "_c": Unit("degrees Celsius", "°C", (("°c", 1.0), ("c", 1.0), ("°", 1.0)), digits=1),
    "share": Unit("", "", (("%", 0.01), ("percent", 0.01)), is_share=True),
}
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
    """Return the unit of a key by its last name ("interval_s"), None for one without a unit."""
    ending = _ending(name)
    return _UNITS[ending] if ending else None


def without_unit(name: str) -> str:
    """Return a key's last name without the unit at its end: "interval_s" gives "interval"."""
    ending = _ending(name) or ""
    return name.removesuffix(ending) if ending.startswith("_") else name
