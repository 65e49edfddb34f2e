"""Stills written for tests: plain pictures with the Exif that a test wants."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

START = dt.datetime(2026, 12, 5, 17, 7, 16, tzinfo=dt.UTC)


def write_still(
    path: Path,
    clock: dt.datetime | None = START,
    *,
    picture: NDArray[np.uint8] | None = None,
    digits: int = 3,
    offset: str | None = None,
    gps: dt.datetime | None = None,
    camera: str = "C1",
    exposure: IFDRational | None = None,
    iso: int = 100,
    **saved: Any,
) -> Path:
    """Write a JPEG whose Exif shows a clock, to so many digits of a second."""
    shown = np.full((48, 64, 3), 90, np.uint8) if picture is None else picture
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Maker", camera
    own = exif.get_ifd(0x8769)
    if clock is not None:
        own[0x9003] = clock.strftime("%Y:%m:%d %H:%M:%S")
        if digits:
            own[0x9291] = f"{clock.microsecond:06d}"[:digits]
    if offset is not None:
        own[0x9011] = offset
    own[0x829A] = IFDRational(1, 1) if exposure is None else exposure
    own[0x829D], own[0x8827], own[0xA405] = IFDRational(17, 10), iso, 24
    if gps is not None:
        where = exif.get_ifd(0x8825)
        where[1], where[2] = "N", (IFDRational(38), IFDRational(30), IFDRational(0))
        where[3], where[4] = "W", (IFDRational(1), IFDRational(15), IFDRational(36))
        where[7] = (IFDRational(gps.hour), IFDRational(gps.minute), IFDRational(gps.second))
        where[0x1D] = gps.strftime("%Y:%m:%d")
    Image.fromarray(shown).save(path, "JPEG", exif=exif, **saved)
    return path


def after(seconds: float) -> dt.datetime:
    """The start of the take and so many seconds."""
    return START + dt.timedelta(seconds=seconds)
