"""Raw stills (DNG): their head by the reader of Exif, their pixels by LibRaw where it is installed.

A DNG is TIFF 6.0 with further tags (Adobe Digital Negative Specification 1.4.0.0, chapter 4).
Its pixels are linear in the light, camera channel by channel. They are shown as a usual camera
would show them, so that whatever reads a JPEG reads them alike: white is where the raw clips.
"""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image
from PIL.TiffImagePlugin import ImageFileDirectory_v2

from core.language import say
from core.preview.develop import MID_GREY, srgb_value
from core.readonly import read_only
from core.review.curve import display_stops

if TYPE_CHECKING:
    import rawpy

SUFFIX = ".dng"
#: What is told of a DNG where the library is missing.
NOT_INSTALLED = say('it is DNG: install Duskwright with its extra "raw" to have it read')
#: From mid-grey to where a raw clips, in stops: ISO 12232:2019 has 10/S lx s at mid-grey by
#: standard output sensitivity and 78/S lx s at saturation.
CLIP_STOPS = math.log2(78.0 / 10.0)
#: TIFF 6.0 and DNG 1.4 tags: size, further directories, and by how many stops the camera left
#: more room above mid-grey than usual.
_WIDTH, _HEIGHT, _SUB_IFDS, _BASELINE_EXPOSURE = 0x0100, 0x0101, 0x014A, 0xC62A
#: No camera moves its zero by more.
_MOST_BASELINE_STOPS = 5.0
#: Directories of one file that are looked at.
_MOST_IFDS = 16
#: The byte order, and where the first directory lies (TIFF 6.0, section 2).
_HEAD_BYTES = 8
_FULL = 65535


@dataclass(frozen=True)
class Raw:
    """A DNG whose head was read; `size` is that of its largest picture, columns and rows."""

    path: Path
    size: tuple[int, int]
    exif: Image.Exif

    def getexif(self) -> Image.Exif:
        """What it says of itself, as of any other still."""
        return self.exif


def is_raw(path: Path) -> bool:
    """Whether a file is named as a DNG."""
    return path.suffix.lower() == SUFFIX


def can_be_read() -> bool:
    """Whether the library that decodes raw stills is installed."""
    return importlib.util.find_spec("rawpy") is not None


def head_of(path: Path) -> Raw:
    """Read the head of a DNG.

    Raises
    ------
    OSError, ValueError
        When it has none.
    """
    exif = Image.Exif()
    with path.open("rb") as file:
        exif.load_from_fp(file)
        sizes = [(exif.get(_WIDTH), exif.get(_HEIGHT)), *_sub_sizes(file, exif)]
        # Later look-ups must not need the file.
        for tag in (ExifTags.IFD.Exif, ExifTags.IFD.GPSInfo):
            exif.get_ifd(tag)
    whole = [(w, h) for w, h in sizes if isinstance(w, int) and isinstance(h, int)]
    if not whole:
        raise ValueError("no picture")
    return Raw(path, max(whole, key=lambda size: size[0] * size[1]), exif)


def _sub_sizes(file: BinaryIO, exif: Image.Exif) -> Iterator[tuple[object, object]]:
    """Sizes of the pictures in the further directories of a file."""
    at = exif.get(_SUB_IFDS, ())
    places = at if isinstance(at, tuple) else (at,)
    file.seek(0)
    head = file.read(_HEAD_BYTES)
    for place in places[:_MOST_IFDS]:
        if isinstance(place, int):
            directory = ImageFileDirectory_v2(head)
            file.seek(place)
            directory.load(file)
            yield directory.get(_WIDTH), directory.get(_HEIGHT)


def pixels_of(raw: Raw, width_px: int, most_pixels: int) -> tuple[NDArray[np.uint8], int]:
    """Decode a DNG, reduced to not less than a width, with the factor it was reduced by.

    Returns
    -------
    tuple
        sRGB (rows, columns, 3) and an even number.

    Raises
    ------
    ValueError
        When the library cannot decode it, or it is larger than its head says.
    """
    import rawpy

    try:
        with rawpy.imread(str(raw.path)) as opened:
            sizes = opened.sizes
            if sizes.raw_width * sizes.raw_height > most_pixels:
                raise ValueError("too large")
            light: NDArray[Any] = opened.postprocess(
                half_size=True,
                output_bps=16,
                gamma=(1.0, 1.0),
                no_auto_bright=True,
                user_wb=[1.0, 1.0, 1.0, 1.0],
                output_color=rawpy.ColorSpace.raw,
                user_flip=0,
                adjust_maximum_thr=0.0,
            )
            gains = _gains(opened)
    except rawpy.LibRawError as refusal:
        raise ValueError(str(refusal)) from None
    by = max(1, light.shape[1] // width_px)
    return _shown(_reduced(light, by), gains, CLIP_STOPS + _baseline_stops(raw.exif)), 2 * by


def _gains(opened: rawpy.RawPy) -> NDArray[np.float32]:
    """What makes the camera's own white grey, green left as it is."""
    told = np.array(opened.camera_whitebalance[:3], dtype=float)
    if not (np.isfinite(told).all() and (told > 0.0).all()):
        return np.ones(3, dtype=np.float32)
    return np.asarray(np.clip(told / told[1], 0.1, 10.0), dtype=np.float32)


def _reduced(light: NDArray[Any], by: int) -> NDArray[np.float32]:
    """Means of squares of pixels, in linear light; what is left at the edges is cut off."""
    rows, columns = (side // by for side in light.shape[:2])
    kept = light[: rows * by, : columns * by, :3].reshape(rows, by, columns, by, 3)
    return np.asarray(kept.mean(axis=(1, 3), dtype=np.float32))


def _shown(
    light: NDArray[np.float32], gains: NDArray[np.float32], clip_stops: float
) -> NDArray[np.uint8]:
    """Values of 8 bits that a usual camera would store; what clips in the raw is white."""
    balanced = np.where(light >= _FULL, _FULL, np.minimum(light * gains, _FULL))
    return np.asarray(_table(clip_stops).take(np.rint(balanced).astype(np.uint16)))


@lru_cache(maxsize=4)
def _table(clip_stops: float) -> NDArray[np.uint8]:
    """The value of 8 bits of each of 16."""
    share = np.maximum(np.arange(_FULL + 1), 0.5) / _FULL
    linear = MID_GREY * np.exp2(display_stops(np.log2(share) + clip_stops, clip_stops))
    return read_only(np.rint(np.clip(srgb_value(linear), 0.0, 255.0)).astype(np.uint8))


def _baseline_stops(exif: Image.Exif) -> float:
    try:
        told = float(exif.get(_BASELINE_EXPOSURE, 0.0))
    except (TypeError, ValueError, ZeroDivisionError):
        return 0.0
    return told if abs(told) <= _MOST_BASELINE_STOPS else 0.0
