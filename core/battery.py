"""The battery: what cold and age leave of it, and what the craft's gauge shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

Charge = TypeVar("Charge", float, NDArray[np.float64])

# Share of the energy of a new pack at 25 degC that can be drawn before 3.3 V per
# cell. Constant-power discharge over 34 min, Doyle-Fuller-Newman model, parameter
# set of Ecker et al. (2015), J. Electrochem. Soc. 162 A1836 and A1849, rounded;
# no gain is taken above 25 degC.
_TEMPERATURE_C = (-10.0, -5.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 40.0)
#: The air that batteries were measured in, coldest and warmest, [degC].
KNOWN_RANGE_C = (_TEMPERATURE_C[0], _TEMPERATURE_C[-1])
_SOAKED = (0.53, 0.68, 0.79, 0.86, 0.91, 0.95, 0.98, 1.0, 1.0)
_KEPT_WARM = (0.67, 0.76, 0.83, 0.89, 0.93, 0.96, 0.985, 1.0, 1.0)

# Outside this range the table ends: nothing is promised.
COLDEST_C = _TEMPERATURE_C[0]
HOTTEST_C = _TEMPERATURE_C[-1]


def temperature_share(temperature_c: float, *, kept_warm: bool) -> float:
    """Share of the rated energy that the temperature leaves.

    Parameters
    ----------
    temperature_c
        Air temperature, [degC]. Beyond -10 and 40 the value at the end of the
        table stands; the caller has to say that nothing is known there.
    kept_warm
        True when the pack is at 25 degC at take-off, False when it has taken on
        the temperature of the air.

    Returns
    -------
    float
        [-], range [0.53, 1].

    """
    shares = _KEPT_WARM if kept_warm else _SOAKED
    return float(np.interp(temperature_c, _TEMPERATURE_C, shares))


def usable_hover_min(
    hover_min: float, temperature_share: float, state_of_health: float, density_factor: float
) -> float:
    """Minutes of hover in a full battery, in tonight's air.

    Parameters
    ----------
    hover_min
        Hover of a new pack at sea level and 25 degC, [min].
    temperature_share, state_of_health
        What cold and age leave, [-], domain (0, 1].
    density_factor
        Hover power in this air over that at sea level and 25 degC, [-].

    Returns
    -------
    float
        [min]

    """
    return hover_min * temperature_share * state_of_health / density_factor


@dataclass(frozen=True, slots=True)
class Gauge:
    """What the craft shows for a charge.

    The true charge is the share of the energy that can be drawn tonight. A
    `compensated` gauge shows it. A `nominal` gauge counts what has left a full pack
    against the capacity at room temperature: in the cold it falls too slowly and,
    nearly empty, still shows what cannot be had. An `unknown` gauge is taken for
    the one that errs to the early side: for the nominal one where a figure to stop
    at is wanted and where a pack's charge at take-off is read off it, for the
    compensated one where the gauge itself triggers something.
    """

    kind: Literal["compensated", "nominal", "unknown"]
    temperature_share: float

    def reading_percent(self, charge_percent: Charge) -> Charge:
        """Return the highest reading for a true charge, both [%]."""
        if self.kind == "compensated":
            return charge_percent
        return 100.0 - (100.0 - charge_percent) * self.temperature_share

    def charge_percent(self, reading_percent: float) -> float:
        """Return the highest true charge at which the gauge can show a reading, both [%].

        Below zero: the pack is empty before a nominal gauge shows this reading.
        """
        return self._nominal_percent(reading_percent) if self.kind == "nominal" else reading_percent

    def least_charge_percent(self, reading_percent: float) -> float:
        """Return the lowest true charge at which the gauge can show a reading, both [%].

        A nominal gauge at 80 % has lost a fifth of the room-temperature capacity;
        what the cold locks away comes off what is left. Below zero: nothing is left.
        """
        if self.kind == "compensated":
            return reading_percent
        return self._nominal_percent(reading_percent)

    def _nominal_percent(self, reading_percent: float) -> float:
        return 100.0 - (100.0 - reading_percent) / self.temperature_share
