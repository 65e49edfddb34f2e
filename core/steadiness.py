"""How still a hovering craft holds its camera, and how many frames that spoils."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

#: More smear of standing things than this is soft, in pixels of a picture 1920 wide: 1 px
#: is sharp, 2 to 4 px soft. Engineering judgement.
SOFT_PX = 2.0
#: What a gimbal lets through in still air, and twice that in gusts at the craft's limit:
#: 0.005 to 0.01 degrees, a figure from memory, no source.
STILL_JITTER_DEG = 0.005
#: A satellite hold keeps the craft within half a metre, taken as two sigma, and wanders
#: through that in some seconds. Engineering judgement.
HOLD_M, WANDER_S = 0.5, 5.0
#: Share of a gust's speed that the craft gives way with: engineering judgement.
GIVING_WAY = 0.05
#: A gust is this many sigma of the turbulence above the mean wind: engineering judgement, as
#: in the power of holding a station.
GUST_SIGMAS = 3.0


def jitter_deg(gust_m_s: float, wind_limit_m_s: float) -> float:
    """Angle that the gimbal does not correct during an exposure, 1-sigma, [deg].

    Parameters
    ----------
    gust_m_s, wind_limit_m_s
        Gust at the camera's height and what the craft is made for, [m/s].

    """
    return STILL_JITTER_DEG * (1.0 + gust_m_s / wind_limit_m_s)


def drift_m_s(wind_m_s: float, gust_m_s: float) -> float:
    """Speed at which a craft that holds its station wanders, 1-sigma in each direction, [m/s]."""
    still = HOLD_M / 2.0 / WANDER_S
    return still + GIVING_WAY * (gust_m_s - wind_m_s) / GUST_SIGMAS


def soft_share(sigma_px: ArrayLike) -> float:
    """Share of frames with more than `SOFT_PX` of smear, 0 to 1, the mean over the take.

    Parameters
    ----------
    sigma_px
        1-sigma of the smear in each direction of the picture, normally distributed: its
        length then follows Rayleigh's distribution, P(> r) = exp(-r² / 2 sigma²).

    """
    sigma = np.maximum(np.asarray(sigma_px, dtype=float), 1e-9)
    return float(np.exp(-0.5 * (SOFT_PX / sigma) ** 2).mean())
