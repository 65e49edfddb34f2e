"""Power of a small multirotor relative to a hover: level flight, climb, holding.

Momentum theory in Glauert's form gives the induced part; profile power and a
constant share for the electronics are added. Two speeds describe a craft: the
induced speed of its hover and the airspeed at which drag equals weight.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.air import REFERENCE_DENSITY_KG_M3
from core.plan import Craft

# Shares of hover power (engineering judgement; they add up to 1).
INDUCED_SHARE = 0.52
PROFILE_SHARE = 0.36
ELECTRONICS_SHARE = 0.12
# Induced power over its ideal; drag and climb are paid at the ideal rate. Leishman,
# Principles of Helicopter Aerodynamics, ch. 2, gives 1.15 as typical (from memory).
INDUCED_FACTOR = 1.15
# Propellers of 15 to 24 cm at 5000 to 9000 turns a minute: engineering judgement, no source.
BLADE_TIP_SPEED_M_S = 70.0
# Profile power grows by 4.65 (V / tip speed)^2 in forward flight: Bennett (1940), as in
# Leishman, ch. 5 (from memory).
PROFILE_GROWTH = 4.65
# Makers rate minutes of steady forward flight near minimum power, at 5 to 9 m/s: common
# practice, no source; this is the end of it nearest the least power of a 250 g craft.
RATED_AIRSPEED_M_S = 6.0
# Newton steps come down on the root from above; six reach rounding level.
_NEWTON_STEPS = 30
_RELATIVE_STEP = 1e-12


@dataclass(frozen=True, slots=True)
class PowerCurve:
    """Power relative to a hover in the same air.

    `hover_induced_m_s` is the air's speed through the discs in a hover,
    `drag_speed_m_s` the airspeed at which drag equals weight, both [m/s].
    """

    hover_induced_m_s: float
    drag_speed_m_s: float

    def at_density(self, density_kg_m3: float) -> PowerCurve:
        """Return the curve in other air: both speeds go with 1 / sqrt(density)."""
        stretch = math.sqrt(REFERENCE_DENSITY_KG_M3 / density_kg_m3)
        return PowerCurve(self.hover_induced_m_s * stretch, self.drag_speed_m_s * stretch)

    def level(self, airspeed_m_s: float) -> float:
        """Power of level flight over hover power.

        Parameters
        ----------
        airspeed_m_s
            [m/s], any sign.

        Returns
        -------
        float
            [-], 1 at rest; a 250 g craft has its minimum of 0.88 near 5.6 m/s.

        References
        ----------
        Glauert's high-speed form of the induced velocity, as in Leishman,
        Principles of Helicopter Aerodynamics, ch. 2.

        """
        airspeed = abs(airspeed_m_s)
        hover = self.hover_induced_m_s
        drag = (airspeed / self.drag_speed_m_s) ** 2
        thrust = math.hypot(1.0, drag)
        induced = _induced_m_s(hover, airspeed / thrust, airspeed * drag / thrust, thrust)
        return (
            INDUCED_SHARE * thrust * induced / hover
            + INDUCED_SHARE / INDUCED_FACTOR * drag * airspeed / hover
            + PROFILE_SHARE * (1.0 + PROFILE_GROWTH * (airspeed / BLADE_TIP_SPEED_M_S) ** 2)
            + ELECTRONICS_SHARE
        )

    def climbing(self, climb_m_s: float) -> float:
        """Power of a vertical climb over hover power.

        Parameters
        ----------
        climb_m_s
            [m/s], zero or more.

        Returns
        -------
        float
            [-], at least 1.

        References
        ----------
        Axial momentum theory, Leishman, ch. 2.

        """
        rate = climb_m_s / self.hover_induced_m_s
        return (
            INDUCED_SHARE * (math.hypot(rate / 2.0, 1.0) - rate / 2.0)
            + INDUCED_SHARE / INDUCED_FACTOR * rate
            + PROFILE_SHARE
            + ELECTRONICS_SHARE
        )

    def holding(self, wind_m_s: float, gust_m_s: float) -> float:
        """Power of holding a station in wind over hover power.

        The mean over gusts, taken at three airspeeds: the mean wind and the mean
        less and plus sqrt(2) sigma, with sigma a third of gust less mean. Never
        below 1: a craft at its station gets no credit for moving air.

        Parameters
        ----------
        wind_m_s, gust_m_s
            Mean wind and gust at the height of the station, [m/s].

        Returns
        -------
        float
            [-], at least 1.

        """
        spread = math.sqrt(2.0) * (gust_m_s - wind_m_s) / 3.0
        mean = (
            0.25 * self.level(wind_m_s - spread)
            + 0.5 * self.level(wind_m_s)
            + 0.25 * self.level(wind_m_s + spread)
        )
        return max(1.0, mean)


def _induced_m_s(hover_m_s: float, along_m_s: float, through_m_s: float, thrust: float) -> float:
    """Induced speed v with v * |(along, through + v)| = hover^2 * thrust, by Newton.

    The left side rises and is convex in v, and the start lies above the root, so
    the steps come down on it without overshoot.
    """
    target = hover_m_s**2 * thrust
    speed = math.sqrt(target)
    for _ in range(_NEWTON_STEPS):
        axial = through_m_s + speed
        flow = math.hypot(along_m_s, axial)
        step = (speed * flow - target) / (flow + speed * axial / flow)
        speed -= step
        if abs(step) <= _RELATIVE_STEP * speed:
            break
    return speed


def density_factor(density_kg_m3: float) -> float:
    """Hover power in this air over hover power at sea level and 25 degC.

    Parameters
    ----------
    density_kg_m3
        [kg/m3], above zero.

    Returns
    -------
    float
        [-], above 1 in thin air: induced and profile power go with
        1 / sqrt(density), the electronics do not.

    """
    rotors = (INDUCED_SHARE + PROFILE_SHARE) * math.sqrt(REFERENCE_DENSITY_KG_M3 / density_kg_m3)
    return rotors + ELECTRONICS_SHARE


def hover_minutes(craft: Craft) -> float:
    """Still-air hover a new battery gives at sea level and 25 degC, 100 to 0 %, [min].

    Minutes rated in forward flight were flown near minimum power, so a hover
    lasts a tenth less; minutes rated in a hover stand as they are.
    """
    if craft.rated_basis == "hover":
        return craft.rated_min
    curve = PowerCurve(craft.hover_induced_m_s, craft.drag_speed_m_s)
    return craft.rated_min * curve.level(RATED_AIRSPEED_M_S)
