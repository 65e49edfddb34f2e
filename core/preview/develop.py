"""From linear light to the picture: clipping, the tone curve, and the dim theme's ramp."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.preview.frames import LinearFrames

#: What a display shows mid-grey at, of its white: sRGB value 118.
MID_GREY = 0.18
#: The top of the dim ramp and its middle: nothing brighter or bluer reaches dark-adapted eyes.
DIM_TOP = (214, 118, 62)
_DIM_KNOTS = (0.0, 0.5, 1.0)
_DIM_COLOURS = ((0, 0, 0), (122, 30, 14), DIM_TOP)
#: A positive float32 without its last 15 bits: 8 bits of exponent and 8 of mantissa.
_DROPPED_BITS = 15
#: Below the codes of infinity and of what is no number.
_FINITE_CODES = 255 << (23 - _DROPPED_BITS)


def display_share(relative: FloatArray, highlight_stops: float) -> FloatArray:
    """Linear light of the display, 0 to 1, for light relative to mid-grey.

    y = s x / (1 + k x), with s and k such that mid-grey (x = 1) becomes `MID_GREY` and the
    highlight limit (x = 2^highlight_stops) exactly 1, where each channel clips. Shadows
    stay proportional; the shoulder bends gently to the limit.

    Parameters
    ----------
    relative
        0 or more.
    highlight_stops
        Stops from mid-grey to clipping, 0.5 to 8.
    """
    limit = 2.0**highlight_stops
    k = (MID_GREY * limit - 1.0) / ((1.0 - MID_GREY) * limit)
    x = np.minimum(relative, limit)
    return np.asarray(MID_GREY * (1.0 + k) * x / (1.0 + k * x))


def srgb_value(share: FloatArray) -> FloatArray:
    """Value in sRGB, 0 to 255, of a display's linear light, 0 to 1 (IEC 61966-2-1:1999)."""
    curve = 1.055 * np.maximum(share, 0.0031308) ** (1.0 / 2.4) - 0.055
    return 255.0 * np.where(share <= 0.0031308, 12.92 * share, curve)


def develop(frames: LinearFrames, mid: float, highlight_stops: float) -> NDArray[np.uint8]:
    """Expose linear frames: sRGB pictures, (n, rows, cols, 3).

    Each channel clips by itself, so that a blue zenith or a red glow burns out in colour
    before its luminance does.

    Parameters
    ----------
    mid
        Log2 of the luminance that becomes mid-grey, as `Outlook.mid`.
    highlight_stops
        Stops from mid-grey to clipping, as `Camera.highlight_stops`.
    """
    # The bits of a float are near its logarithm, so a table over them replaces the curve;
    # 256 steps an octave are finer than a step of the result.
    codes = np.arange(_FINITE_CODES, dtype=np.uint32) << _DROPPED_BITS
    middle = (codes + (1 << (_DROPPED_BITS - 1))).view(np.float32).astype(float)
    value = srgb_value(display_share(middle * 2.0**-mid, highlight_stops))
    table = np.rint(value).astype(np.uint8)
    return table.take(frames.rgb.view(np.uint32) >> _DROPPED_BITS)


def dim_ramp(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A picture for dark-adapted eyes: black, deep red, amber, by brightness alone.

    Parameters
    ----------
    image
        sRGB, (..., 3).

    Returns
    -------
    ndarray
        Same shape; red is never below green, nor green below blue, and no pixel is
        brighter than `DIM_TOP`.
    """
    level = np.arange(256) / 255.0
    ramp = np.stack(
        [np.interp(level, _DIM_KNOTS, channel) for channel in zip(*_DIM_COLOURS, strict=True)], -1
    )
    # Rec.709 weights in 256ths.
    weighed = image[..., 0] * np.uint16(54) + image[..., 1] * np.uint16(183)
    brightness = (weighed + image[..., 2] * np.uint16(19)) >> 8
    return np.asarray(np.rint(ramp).astype(np.uint8)[brightness])
