"""From the values of a JPEG back to light: sRGB, and what the camera's own curve does to it.

A camera puts mid-grey at sRGB 118 (ISO 12232:2019, standard output sensitivity) and bends
everything else: more contrast than sRGB between, a shoulder up to where it clips. The inverse
used here has one figure for each: `highlight_stops`, where it clips, and `contrast`, the
exponent about mid-grey. Neither is in the file; near mid-grey neither matters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.exposure import FloatArray
from core.plan import Camera
from core.preview.develop import MID_GREY

#: Where a camera clips that nothing is known of, in stops above mid-grey: as `core.plan` has it.
HIGHLIGHT_STOPS = Camera().highlight_stops
#: Exponent about mid-grey of cameras' standard pictures (our judgement), and its 1-sigma.
CONTRAST, CONTRAST_SIGMA = 1.1, 0.15
_VALUES = np.arange(256) / 255.0
#: Linear share of the display of each 8-bit value: sRGB inverse, IEC 61966-2-1:1999, 5.2.
LINEAR = np.where(_VALUES <= 0.04045, _VALUES / 12.92, ((_VALUES + 0.055) / 1.055) ** 2.4)
#: Rec. ITU-R BT.709-6 luminance of linear red, green, blue.
LUMINANCE = (0.2126, 0.7152, 0.0722)
#: The tone of white, in stops of the display from mid-grey.
WHITE_STOPS = float(-np.log2(MID_GREY))


def scene_stops(
    shown_stops: ArrayLike, highlight_stops: float, contrast: float = CONTRAST
) -> FloatArray:
    """Tone of the light behind a tone of the display, both in stops from mid-grey.

    x = w / (1 + k - k w), w = z^(1/contrast): the curve of `core.preview.develop` turned
    round, with a contrast; white of the display is the light at `highlight_stops`.

    Parameters
    ----------
    shown_stops
        log2 of linear sRGB over mid-grey, up to `WHITE_STOPS`.
    """
    stops = np.minimum(np.asarray(shown_stops, dtype=float), WHITE_STOPS) / contrast
    k = _shoulder(highlight_stops, contrast)
    return np.asarray(stops - np.log2(1.0 + k - k * np.exp2(stops)))


def display_stops(
    scene: ArrayLike, highlight_stops: float, contrast: float = CONTRAST
) -> FloatArray:
    """Tone of the display of a tone of the light: `scene_stops` turned round, up to white."""
    light = np.exp2(np.minimum(np.asarray(scene, dtype=float), highlight_stops))
    k = _shoulder(highlight_stops, contrast)
    return np.asarray(contrast * np.log2(light * (1.0 + k) / (1.0 + k * light)))


def _shoulder(highlight_stops: float, contrast: float) -> float:
    white = 2.0 ** (WHITE_STOPS / contrast)
    return float((1.0 - white * 2.0**-highlight_stops) / (white - 1.0))
