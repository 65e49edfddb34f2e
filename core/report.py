"""A forecast as plain values for other programs: the JSON of the command line, and its tables.

Times are ISO 8601 with the offset of the place, to the millisecond; a value that does
not exist is None; figures carry nine significant digits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from core.advice.light import no_span_reason
from core.findings import Finding, Remedy
from core.forecast import Forecast
from core.night import Night
from core.outlook import Outlook
from core.startgrid import GridStart
from core.tones import PartTone, SkyTone, Tones

Values = dict[str, object]
Row = tuple[object, ...]

FRAME_COLUMNS = (
    "index", "time", "sun_altitude_deg", "illuminance_lx", "clipped_share",
    "street_stops", "street_sigma_stops", "land_stops", "land_sigma_stops",
    "sky_mean_stops", "sky_high_stops", "sky_sigma_stops", "sky_frame_share",
)  # fmt: skip
START_COLUMNS = (
    "time", "slack_stops", "limit", "p_hold", "keepable_street_share", "keepable_land_share",
    "keepable_sky_share", "mixed_light_share",
)  # fmt: skip


def forecast_report(seen: Forecast) -> Values:
    """Return a shoot's forecast as plain values, ready for JSON."""
    outlook = seen.outlook
    return {
        "night": _night(outlook.night),
        "light": _light(outlook),
        "clip": _clip(outlook),
        "frames": _frames(outlook.night, outlook.tones),
        "flight": _flight(outlook),
        "starts": _starts(seen),
        "findings": [_finding(finding) for finding in seen.findings],
    }


def starts_report(seen: Forecast, grid: Sequence[GridStart]) -> Values:
    """Return a shoot's forecast with the listing of its starts as `grid` in `starts`."""
    night = seen.outlook.night
    listing = [_grid_start(night, start) for start in grid]
    return forecast_report(seen) | {"starts": _starts(seen) | {"grid": listing}}


def frame_rows(seen: Forecast) -> list[Row]:
    """Return the table of frames, one row a frame, in the order of `FRAME_COLUMNS`."""
    night, tones = seen.outlook.night, seen.outlook.tones
    return [_frame_row(night, tones, index) for index in range(len(tones.time_s))]


def start_rows(seen: Forecast, grid: Sequence[GridStart]) -> list[Row]:
    """Return the listing of starts, one row a start, in the order of `START_COLUMNS`."""
    night = seen.outlook.night
    return [_start_row(night, start) for start in grid]


def _night(night: Night) -> Values:
    return {
        "date": night.date.isoformat(),
        "twilight": night.twilight,
        "event": {"name": night.event.name, "time": _iso(night, night.event.time_s)},
        "reason": night.reason,
        "moments": [
            {
                "name": moment.name,
                "time": _iso(night, moment.time_s),
                "sun_altitude_deg": _figure(moment.sun_altitude_deg),
                "sun_azimuth_deg": _figure(moment.sun_azimuth_deg),
            }
            for moment in night.moments
        ],
    }


def _light(outlook: Outlook) -> Values:
    night, light = outlook.night, outlook.light
    return {
        "lamps_on": _iso(night, light.lamps_on_s),
        "lamps_off": _iso(night, light.lamps_off_s),
        "local_sunset": _iso(night, light.local_sunset_s),
    }


def _clip(outlook: Outlook) -> Values:
    clip = outlook.clip
    return {
        "frames": clip.frames,
        "clip_length_s": _figure(clip.clip_length_s),
        "shooting_s": _figure(clip.shooting_s),
        "speed_up": _figure(clip.speed_up),
        "shutter_angle_deg": _figure(clip.shutter_angle_deg),
    }


def _frames(night: Night, tones: Tones) -> list[Values]:
    return [
        {
            "index": index,
            "time": _iso(night, tones.time_s[index]),
            "sun_altitude_deg": _figure(tones.sun_altitude_deg[index]),
            "illuminance_lx": _figure(tones.illuminance_lx[index]),
            "clipped_share": _figure(tones.clipped_share[index]),
            "tones": {
                "street": _part(tones.street, index),
                "land": _part(tones.land, index),
                "sky": _sky(tones.sky, index),
            },
        }
        for index in range(len(tones.time_s))
    ]


def _part(tone: PartTone, index: int) -> Values:
    return {"stops": _figure(tone.stops[index]), "sigma_stops": _figure(tone.sigma_stops[index])}


def _sky(tone: SkyTone, index: int) -> Values | None:
    if math.isnan(tone.mean_stops[index]):
        return None
    return {
        "mean_stops": _figure(tone.mean_stops[index]),
        "high_stops": _figure(tone.high_stops[index]),
        "sigma_stops": _figure(tone.sigma_stops[index]),
        "frame_share": _figure(tone.frame_share[index]),
    }


def _frame_row(night: Night, tones: Tones, index: int) -> Row:
    street, land, sky = tones.street, tones.land, _sky(tones.sky, index) or {}
    figures = (
        tones.sun_altitude_deg, tones.illuminance_lx, tones.clipped_share,
        street.stops, street.sigma_stops, land.stops, land.sigma_stops,
    )  # fmt: skip
    names = ("mean_stops", "high_stops", "sigma_stops", "frame_share")
    return (
        index,
        _iso(night, tones.time_s[index]),
        *(_figure(values[index]) for values in figures),
        *(sky.get(name) for name in names),
    )


def _flight(outlook: Outlook) -> Values:
    flight, night = outlook.flight, outlook.night
    take_off_s = segments_from_s(outlook)
    return {
        "take_off": _iso(night, outlook.take_off_s),
        "segments": [
            {
                "name": segment.name,
                "starts": _iso(night, take_off_s, segment.starts_min),
                "minutes": _figure(segment.minutes),
                "percent": _figure(segment.percent),
            }
            for segment in flight.segments
        ],
        "max_frames": flight.max_frames,
        "stop_at_percent": flight.stop_at_percent,
        "latest_stop": _iso(night, outlook.latest_stop_s),
        "land_by": _iso(night, outlook.land_by_s),
        "margin_min": _figure(flight.margin_min),
        "landing_percent": _figure(flight.landing_percent),
        "fits": flight.fits,
        "error": flight.error,
    }


def segments_from_s(outlook: Outlook) -> float | None:
    """When the segments of a flight begin, in UTC seconds.

    Also for a flight that fails on the way home or for want of charge: its way out is
    known. None where the craft does not even reach the first station.
    """
    flight = outlook.flight
    if outlook.take_off_s is not None:
        return outlook.take_off_s
    if flight.error_leg not in ("home", "charge"):
        return None
    minutes = sum(segment.minutes for segment in flight.segments if segment.name != "take")
    return outlook.press_s - 60.0 * minutes


def _starts(seen: Forecast) -> Values:
    night, starts, judged = seen.outlook.night, seen.starts, seen.outlook.judgement
    chance, sure = starts.chance_at(seen.outlook.press_s), starts.sure_s
    return {
        "earliest": _iso(night, starts.earliest_s),
        "latest": _iso(night, starts.latest_s),
        "best": _iso(night, starts.best_s),
        "slack_stops": _figure(judged.slack_stops),
        "limit": judged.limit,
        "p_hold": None if chance is None else _figure(chance),
        "sure": sure and {"earliest": _iso(night, sure[0]), "latest": _iso(night, sure[1])},
        "reason": no_span_reason(night, starts),
    }


def _grid_start(night: Night, start: GridStart) -> Values:
    return {
        "time": _iso(night, start.time_s),
        "slack_stops": _figure(start.slack_stops),
        "limit": start.limit,
        "p_hold": _figure(start.p_hold),
        "keepable_share": {part: _figure(share) for part, share in start.keepable_share.items()},
        "mixed_light_share": _figure(start.mixed_light_share),
    }


def _start_row(night: Night, start: GridStart) -> Row:
    kept = (_figure(share) for share in start.keepable_share.values())
    slack, mixed = _figure(start.slack_stops), _figure(start.mixed_light_share)
    return (_iso(night, start.time_s), slack, start.limit, _figure(start.p_hold), *kept, mixed)


def _finding(finding: Finding) -> Values:
    remedies = [_remedy(remedy) for remedy in finding.remedies]
    several: Values = {"remedies": remedies} if len(remedies) > 1 else {}
    return {
        "severity": finding.severity,
        "code": finding.code,
        "shoot": finding.shoot,
        "text": finding.text,
        "remedy": remedies[0] if remedies else None,
    } | several


def _remedy(remedy: Remedy) -> Values:
    return {"label": remedy.label, "set": msgspec.to_builtins(dict(remedy.values))}


def _iso(night: Night, time_s: float | None, later_min: float = 0.0) -> str | None:
    if time_s is None:
        return None
    instant_s = round(float(time_s) + 60.0 * later_min, 3)
    return night.clock(instant_s).isoformat(timespec="milliseconds")


def _figure(value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    # Adding nought leaves no negative one.
    return float(f"{value:.9g}") + 0.0
