"""Photometry: what luminance becomes on the sensor, counted in stops from mid-grey."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

#: Reflected-light meter constant, cd·s/m² (ISO 2720:1974, recommended 10.6 to 13.4).
METER_CONSTANT = 12.5
#: Saturation-based speed S = 78 / H_sat with H in lx·s (ISO 12232:2019).
SATURATION_CONSTANT = 78.0
#: Focal-plane exposure H = q L t / N² (ISO 12232:2019, lens and vignetting term).
LENS_FACTOR = 0.65
#: Stops from mid-grey to saturation by the two standards: log2(78 / (0.65 · 12.5)) = 3.26.
STANDARD_HIGHLIGHT_STOPS = float(np.log2(SATURATION_CONSTANT / (LENS_FACTOR * METER_CONSTANT)))


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


def clip_cd_m2(f_number: float, shutter_s: float, iso: float, nd_stops: float = 0.0) -> float:
    """Luminance at which the sensor saturates by ISO 12232:2019, in cd/m²."""
    mid = mid_grey_cd_m2(f_number, shutter_s, iso, nd_stops)
    return float(mid * 2.0**STANDARD_HIGHLIGHT_STOPS)


def tone_stops(luminance_cd_m2: ArrayLike, mid_cd_m2: float) -> FloatArray:
    """Tone of a luminance, in stops from mid-grey; black is -inf.

    Parameters
    ----------
    luminance_cd_m2
        Any shape, 0 or more.
    mid_cd_m2
        From `mid_grey_cd_m2`, above 0.
    """
    with np.errstate(divide="ignore"):
        return np.log2(np.asarray(luminance_cd_m2, dtype=float) / mid_cd_m2)


def exposure_value_100(
    f_number: float, shutter_s: float, iso: float, nd_stops: float = 0.0
) -> float:
    """EV at ISO 100 that these settings expose for: log2(N² / t) - log2(S / 100) + nd.

    APEX, ASA PH2.12-1961: L = 0.125 · 2^EV at ISO 100 for K = 12.5.
    """
    return float(np.log2(f_number**2 / shutter_s * 100.0 / iso) + nd_stops)


def density_to_stops(density: float) -> float:
    """Stops that a neutral-density filter of this optical density takes: D / log10 2."""
    return density / float(np.log10(2.0))
