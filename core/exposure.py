"""Photometry: the luminance that settings render as mid-grey, and the stops of a filter."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

#: Reflected-light meter constant, cd·s/m² (ISO 2720:1974, recommended 10.6 to 13.4).
METER_CONSTANT = 12.5


def mid_grey_cd_m2(f_number: float, shutter_s: float, iso: float, nd_stops: float = 0.0) -> float:
    """Luminance that a frame at these settings renders as mid-grey, in cd/m².

    L_mid = K N² 2^nd / (t S), ISO 2720:1974 with K = 12.5 cd·s/m².

    Parameters
    ----------
    f_number, shutter_s, iso
        Settings of the camera, all above 0.
    nd_stops
        Stops the filter takes, 0 or more; the lens's own losses are not in K.
    """
    return float(METER_CONSTANT * f_number**2 * 2.0**nd_stops / (shutter_s * iso))


def density_to_stops(density: float) -> float:
    """Stops that a neutral-density filter of this optical density takes: D / log10 2."""
    return density / float(np.log10(2.0))
