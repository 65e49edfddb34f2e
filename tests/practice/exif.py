"""Exif of a still, as cameras write it (CIPA DC-008, Exif 2.32)."""

from __future__ import annotations

import datetime as dt
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from PIL import ExifTags, Image, TiffImagePlugin

_BASE, _GPS, _IFD = ExifTags.Base, ExifTags.GPS, ExifTags.IFD
_APP1, _START = b"\xff\xe1", b"\xff\xd8"
_EXIF = b"Exif\x00\x00"


@dataclass(frozen=True)
class Shot:
    """What a camera knows of one still. `clock` is its own clock, `gps_time` is in UTC."""

    clock: dt.datetime
    gps_time: dt.datetime | None
    latitude_deg: float
    longitude_deg: float
    altitude_m: float
    shutter_s: float
    iso: float
    f_number: float
    focal_equivalent_mm: float
    size: tuple[int, int]
    maker: str = "Skarv"
    model: str = "S2"


def exif_of(shot: Shot) -> bytes:
    """The Exif block of a still, without its 'Exif' identifier.

    A GPS receiver's time is told in whole seconds, cut off, as receivers do.
    """
    exif = Image.Exif()
    exif[_BASE.Make], exif[_BASE.Model] = shot.maker, shot.model
    exif[_BASE.Orientation] = 1
    exif[_BASE.DateTime] = f"{shot.clock:%Y:%m:%d %H:%M:%S}"
    exif.get_ifd(_IFD.Exif).update(_camera_tags(shot))
    if shot.gps_time is not None:
        exif.get_ifd(_IFD.GPSInfo).update(_gps_tags(shot, shot.gps_time))
    return exif.tobytes().removeprefix(_EXIF)


def exif_span(jpeg: bytes) -> tuple[int, int]:
    """Where the Exif block of a still begins, behind its 'Exif' identifier, and ends."""
    for marker, first, last in segments(jpeg):
        if marker == _APP1 and jpeg[first : first + len(_EXIF)] == _EXIF:
            return first + len(_EXIF), last
    raise ValueError("The still has no Exif block.")


def with_exif(jpeg: bytes, block: bytes) -> bytes:
    """The still with an Exif block, given without its identifier, in place of what it had."""
    try:
        first, last = exif_span(jpeg)
        head, tail = jpeg[: first - len(_EXIF) - 4], jpeg[last:]
    except ValueError:
        # Exif is the first segment of a still (CIPA DC-008).
        head, tail = jpeg[:2], jpeg[2:]
    length = struct.pack(">H", 2 + len(_EXIF) + len(block))
    return head + _APP1 + length + _EXIF + block + tail


def segments(jpeg: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Marker, first and last byte of each segment before the picture (ISO 10918-1, annex B)."""
    at = len(_START)
    while at + 4 <= len(jpeg) and jpeg[at] == 0xFF and jpeg[at + 1] != 0xDA:
        length = int.from_bytes(jpeg[at + 2 : at + 4], "big")
        yield jpeg[at : at + 2], at + 4, at + 2 + length
        at += 2 + length


def _camera_tags(shot: Shot) -> dict[int, object]:
    offset = f"{shot.clock:%z}"
    return {
        _BASE.DateTimeOriginal: f"{shot.clock:%Y:%m:%d %H:%M:%S}",
        _BASE.SubsecTimeOriginal: f"{shot.clock.microsecond // 1000:03d}",
        _BASE.OffsetTimeOriginal: f"{offset[:3]}:{offset[3:5]}",
        _BASE.ExposureTime: _rational(shot.shutter_s),
        _BASE.FNumber: _rational(shot.f_number),
        _BASE.ISOSpeedRatings: round(shot.iso),
        _BASE.ExposureProgram: 1,
        _BASE.ExposureMode: 1,
        _BASE.WhiteBalance: 1,
        _BASE.FocalLengthIn35mmFilm: round(shot.focal_equivalent_mm),
        _BASE.ExifImageWidth: shot.size[0],
        _BASE.ExifImageHeight: shot.size[1],
    }


def _gps_tags(shot: Shot, time: dt.datetime) -> dict[int, object]:
    return {
        _GPS.GPSVersionID: b"\x02\x03\x00\x00",
        _GPS.GPSLatitudeRef: "N" if shot.latitude_deg >= 0.0 else "S",
        _GPS.GPSLatitude: _sexagesimal(abs(shot.latitude_deg)),
        _GPS.GPSLongitudeRef: "E" if shot.longitude_deg >= 0.0 else "W",
        _GPS.GPSLongitude: _sexagesimal(abs(shot.longitude_deg)),
        _GPS.GPSAltitudeRef: b"\x00" if shot.altitude_m >= 0.0 else b"\x01",
        _GPS.GPSAltitude: _rational(round(abs(shot.altitude_m), 2)),
        _GPS.GPSTimeStamp: tuple(map(_rational, (time.hour, time.minute, time.second))),
        _GPS.GPSDateStamp: f"{time:%Y:%m:%d}",
    }


def _rational(value: float) -> TiffImagePlugin.IFDRational:
    fraction = Fraction(value).limit_denominator(10000)
    return TiffImagePlugin.IFDRational(fraction.numerator, fraction.denominator)


def _sexagesimal(degrees: float) -> tuple[TiffImagePlugin.IFDRational, ...]:
    whole, rest = divmod(round(degrees * 3600.0 * 1000.0), 3600 * 1000)
    minutes, thousandths = divmod(rest, 60 * 1000)
    return _rational(whole), _rational(minutes), _rational(thousandths / 1000.0)
