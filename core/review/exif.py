"""What a still says of itself: time, exposure, place; read so that no file can do harm.

Tags and types are those of CIPA DC-008-2023 (Exif 3.0), tables 4 to 15. A tag that is missing
or makes no sense is None; it never costs the still its other tags.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from PIL import Image

_EXIF_IFD, _GPS_IFD = 0x8769, 0x8825
_MAKE, _MODEL, _ORIENTATION = 0x010F, 0x0110, 0x0112
_EXPOSURE_TIME, _F_NUMBER, _ISO, _INDEX = 0x829A, 0x829D, 0x8827, 0x8832
_TIME, _OFFSET, _SUB_SECONDS = 0x9003, 0x9011, 0x9291
_FOCAL_35_MM, _EXPOSURE_MODE, _WHITE_BALANCE = 0xA405, 0xA402, 0xA403
_LATITUDE, _LONGITUDE, _GPS_TIME, _GPS_DATE = 0x0002, 0x0004, 0x0007, 0x001D
_ALTITUDE_REF, _ALTITUDE = 0x0005, 0x0006
#: Of two bytes a sensitivity's tag holds no more: the true one stands in another.
_ISO_FULL = 65535
_DATE_AND_TIME = re.compile(r"(\d{4})[:\-/](\d\d)[:\-/](\d\d)[ T](\d\d):(\d\d):(\d\d)")
#: No camera's clock is set before digital cameras were.
_FIRST_YEAR = 1990
_LONGEST_TEXT = 100

_Value = TypeVar("_Value")
Tags = Mapping[int, Any]


@dataclass(frozen=True)
class Exif:
    """What a still says of itself; None for what it does not say.

    `clock_s` is the camera's clock counted as if it showed UTC, with sub-seconds; `offset_s`
    what that clock is ahead of UTC, where the still says so; `gps_s` is UTC by satellite.
    `auto_exposure` and `auto_white` are whether the camera was left to choose.
    """

    camera: str = ""
    clock_s: float | None = None
    offset_s: float | None = None
    gps_s: float | None = None
    exposure_s: float | None = None
    iso: float | None = None
    f_number: float | None = None
    focal_equivalent_mm: float | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    altitude_m: float | None = None
    orientation: int = 1
    auto_exposure: bool = False
    auto_white: bool = False


class Opened(Protocol):
    """A still that was opened, whatever its format."""

    def getexif(self) -> Image.Exif:
        """The directory of its tags."""


def exif_of(image: Opened) -> Exif:
    """Read what an opened still says of itself; never fails."""
    first = _tried(image.getexif)
    if first is None:
        return Exif()
    own: Tags = _tried(lambda: first.get_ifd(_EXIF_IFD)) or {}
    gps: Tags = _tried(lambda: first.get_ifd(_GPS_IFD)) or {}
    orientation = _number(first.get(_ORIENTATION), 1.0, 8.0) or 1.0
    return Exif(
        camera=f"{_text(first.get(_MAKE))} {_text(first.get(_MODEL))}".strip(),
        clock_s=_tried(lambda: _clock_s(own)),
        offset_s=_tried(lambda: _offset_s(own)),
        gps_s=_tried(lambda: _gps_s(gps)),
        exposure_s=_number(own.get(_EXPOSURE_TIME), 1e-5, 3600.0),
        iso=_iso(own),
        f_number=_number(own.get(_F_NUMBER), 0.3, 128.0),
        focal_equivalent_mm=_number(own.get(_FOCAL_35_MM), 1.0, 5000.0),
        latitude_deg=_tried(lambda: _angle_deg(gps, _LATITUDE, "S", 90.0)),
        longitude_deg=_tried(lambda: _angle_deg(gps, _LONGITUDE, "W", 180.0)),
        altitude_m=_tried(lambda: _altitude_m(gps)),
        orientation=int(orientation),
        auto_exposure=own.get(_EXPOSURE_MODE) in (0, 2),
        auto_white=own.get(_WHITE_BALANCE) == 0,
    )


def _tried(read: Callable[[], _Value]) -> _Value | None:
    """What a read gives; None where the block is so broken that the reader gives up."""
    try:
        return read()
    # A mutated block raises whatever its bytes lead to: struct, Syntax, Overflow and other errors.
    except Exception:  # noqa: BLE001
        return None


def _text(value: object) -> str:
    plain = value.decode("ascii", "replace") if isinstance(value, bytes) else value
    if not isinstance(plain, str):
        return ""
    printable = "".join(char for char in plain[:_LONGEST_TEXT] if char.isprintable())
    return printable.strip()


def _number(value: object, low: float, high: float) -> float | None:
    """A rational, whole or real number within a range; the first of several."""
    if isinstance(value, (tuple, list)):
        value = value[0] if value else None
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if low <= number <= high else None


def _iso(own: Tags) -> float | None:
    iso = _number(own.get(_ISO), 1.0, 1e7)
    full = _number(own.get(_INDEX), 1.0, 1e7)
    return full if iso is None or iso == _ISO_FULL else iso


def _clock_s(own: Tags) -> float | None:
    found = _DATE_AND_TIME.match(_text(own.get(_TIME)))
    if found is None or int(found[1]) < _FIRST_YEAR:
        return None
    whole = dt.datetime(*(int(part) for part in found.groups()), tzinfo=dt.UTC)  # type: ignore[arg-type, misc]
    digits = _text(own.get(_SUB_SECONDS))
    # A string of digits after the point: "25" and "250" are both a quarter.
    part = float(f"0.{digits}") if digits.isascii() and digits.isdigit() else 0.0
    return whole.timestamp() + part


def _offset_s(own: Tags) -> float | None:
    found = re.fullmatch(r"([+\-])(\d\d):(\d\d)", _text(own.get(_OFFSET)))
    if found is None or int(found[2]) > 14 or int(found[3]) > 59:
        return None
    away = 3600.0 * int(found[2]) + 60.0 * int(found[3])
    return -away if found[1] == "-" else away


def _gps_s(gps: Tags) -> float | None:
    date = re.match(r"(\d{4})[:\-/](\d\d)[:\-/](\d\d)", _text(gps.get(_GPS_DATE)))
    hours, minutes, seconds = (float(part) for part in gps[_GPS_TIME])
    of_day = 3600.0 * hours + 60.0 * minutes + seconds
    if date is None or int(date[1]) < _FIRST_YEAR or not 0.0 <= of_day <= 86401.0:
        return None
    day = dt.datetime(int(date[1]), int(date[2]), int(date[3]), tzinfo=dt.UTC)
    return day.timestamp() + of_day


def _angle_deg(gps: Tags, tag: int, negative: str, most: float) -> float | None:
    degrees, minutes, seconds = (float(part) for part in gps[tag])
    angle = degrees + minutes / 60.0 + seconds / 3600.0
    if not (math.isfinite(angle) and 0.0 <= angle <= most):
        return None
    # The tag before holds the side.
    return -angle if _text(gps.get(tag - 1)).upper() == negative else angle


def _altitude_m(gps: Tags) -> float | None:
    height = _number(gps.get(_ALTITUDE), 0.0, 1e5)
    below = gps.get(_ALTITUDE_REF) in (1, b"\x01", 3, b"\x03")
    return -height if height is not None and below else height
