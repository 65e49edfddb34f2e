"""What lamplight makes of ground that daylight lights as well: how much redder."""

from __future__ import annotations

import numpy as np

from core.exposure import FloatArray

#: Red and blue of lamplight over those of twilight of the same luminance, in linear sRGB
#: (IEC 61966-2-1:1999): black bodies of 3500 K, between the 3000 and 4000 K of street lamps
#: (common practice, no source), beside daylight D75 (CIE 15:2018).
RED, BLUE = 1.68, 0.354


def redder_stops(lamplight: FloatArray) -> FloatArray:
    """Stops by which ground's red gains over its blue.

    Parameters
    ----------
    lamplight
        Luminance by lamps over that by daylight of the same ground, 0 or more.
    """
    return np.asarray(np.log2((1.0 + RED * lamplight) / (1.0 + BLUE * lamplight)))


def redder_slope(lamplight: FloatArray) -> FloatArray:
    """Change of `redder_stops` with the natural logarithm of the lamplight."""
    red, blue = (share * lamplight / (1.0 + share * lamplight) for share in (RED, BLUE))
    return np.asarray((red - blue) / np.log(2.0))
