"""Exif of a still, as cameras write it (CIPA DC-008, Exif 2.32)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction

from PIL import ExifTags, Image, TiffImagePlugin

_BASE, _GPS, _IFD = ExifTags.Base, ExifTags.GPS, ExifTags.IFD


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
    """The Exif block of a still, from its 'Exif' identifier on.

    A GPS receiver's time is told in whole seconds, cut off, as receivers do.
    """
    exif = Image.Exif()
    exif[_BASE.Make], exif[_BASE.Model] = shot.maker, shot.model
    exif[_BASE.Orientation] = 1
    exif[_BASE.DateTime] = f"{shot.clock:%Y:%m:%d %H:%M:%S}"
    exif.get_ifd(_IFD.Exif).update(_camera_tags(shot))
    if shot.gps_time is not None:
        exif.get_ifd(_IFD.GPSInfo).update(_gps_tags(shot, shot.gps_time))
    return exif.tobytes()


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
