"""DNG stills written for tests, by the tags of the Adobe DNG Specification 1.4.0.0, chapter 4."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

BLACK, WHITE = 256, 16383
#: What a white wall gives in red and blue where it gives 1 in green, in hundredths.
NEUTRAL = (50, 100, 70)
#: Linear sRGB of CIE XYZ, IEC 61966-2-1:1999, in ten-thousandths.
_SRGB_OF_XYZ = (32406, -15372, -4986, -9689, 18758, 415, 557, -2040, 10570)


def mosaic_of(light: NDArray[np.floating]) -> NDArray[np.uint16]:
    """A sensor's values of (3, rows, columns) of light, 1 where it clips in green.

    Four pixels of the mosaic (red, green / green, blue) stand for each that is given.
    """
    seen = np.clip(light * np.array(NEUTRAL)[:, None, None] / 100.0, 0.0, 1.0)
    values = np.rint(BLACK + (WHITE - BLACK) * seen).astype(np.uint16)
    mosaic = np.repeat(np.repeat(values[1], 2, axis=0), 2, axis=1)
    mosaic[0::2, 0::2], mosaic[1::2, 1::2] = values[0], values[2]
    return mosaic


def dng_of(mosaic: NDArray[np.uint16], block: bytes = b"", baseline_stops: int = 0) -> bytes:
    """A DNG of a mosaic, with what an Exif block says of it."""
    exif = Image.Exif()
    if block:
        exif.load(b"Exif\x00\x00" + block)
        for tag in (0x8769, 0x8825):
            exif.get_ifd(tag)
    rows, columns = mosaic.shape
    exif[254], exif[256], exif[257], exif[258] = 0, columns, rows, 16  # size, bits a sample
    exif[259], exif[262], exif[277] = 1, 32803, 1  # not compressed, colour filter array
    # One strip; where it begins is counted from behind the tags by what writes them.
    exif[273], exif[278], exif[279] = 0, rows, 2 * mosaic.size
    exif[33421], exif[33422] = (2, 2), bytes([0, 1, 1, 2])  # CFARepeatPatternDim, CFAPattern
    exif[50706], exif[50707] = bytes([1, 4, 0, 0]), bytes([1, 1, 0, 0])  # DNGVersion
    exif[50708] = "Skarv S2"  # UniqueCameraModel
    exif[50714], exif[50717] = BLACK, WHITE  # BlackLevel, WhiteLevel
    exif[50721] = tuple(IFDRational(part, 10000) for part in _SRGB_OF_XYZ)  # ColorMatrix1
    exif[50728] = tuple(IFDRational(part, 100) for part in NEUTRAL)  # AsShotNeutral
    exif[50730] = IFDRational(baseline_stops, 1)  # BaselineExposure
    exif[50778] = 21  # CalibrationIlluminant1: D65
    head = exif.tobytes().removeprefix(b"Exif\x00\x00")
    return head + mosaic.astype("<u2" if head[:2] == b"II" else ">u2").tobytes()
