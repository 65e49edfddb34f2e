"""A forecast as plain values for other programs: the JSON of the command line, and its tables.

Times are ISO 8601 with the offset of the place, to the millisecond; a value that does
not exist is None; figures carry nine significant digits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from core.findings import Finding, Remedy
from core.forecast import Forecast
from core.lightwords import no_span_reason
from core.motion import Motion
from core.night import Night
from core.outlook import Outlook
from core.plainvalues import Values, changes_values, figure, iso_time
from core.startgrid import GridStart
from core.tones import PartTone, SkyTone, Tones

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
        "motion": motion_values(seen.motion),
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
        "event": {"name": night.event.name, "time": iso_time(night, night.event.time_s)},
        "reason": night.reason,
        "moments": [
            {
                "name": moment.name,
                "time": iso_time(night, moment.time_s),
                "sun_altitude_deg": figure(moment.sun_altitude_deg),
                "sun_azimuth_deg": figure(moment.sun_azimuth_deg),
            }
            for moment in night.moments
        ],
    }


def _light(outlook: Outlook) -> Values:
    night, light = outlook.night, outlook.light
    return {
        "lamps_on": iso_time(night, light.lamps_on_s),
        "lamps_off": iso_time(night, light.lamps_off_s),
        "local_sunset": iso_time(night, light.local_sunset_s),
    }


def _clip(outlook: Outlook) -> Values:
    clip = outlook.clip
    return {
        "frames": clip.frames,
        "clip_length_s": figure(clip.clip_length_s),
        "shooting_s": figure(clip.shooting_s),
        "speed_up": figure(clip.speed_up),
        "shutter_angle_deg": figure(clip.shutter_angle_deg),
    }


def motion_values(motion: Motion) -> Values:
    """Return what moves in the picture: pixels of one 1920 wide, per frame and per exposure."""
    return {
        "subjects": [
            {
                "name": moving.name,
                "speed_m_s": figure(moving.speed_m_s),
                "lengths_per_frame": figure(moving.lengths_per_frame),
                "distance_m": figure(moving.distance_m),
                "px_per_frame": figure(moving.px_per_frame),
                "smear_px": figure(moving.smear_px),
                "near_m": figure(moving.near_m),
                "near_px_per_frame": figure(moving.near_px_per_frame),
                "near_smear_px": figure(moving.near_smear_px),
            }
            for moving in motion.moving
        ],
        "nearest_ground_m": figure(motion.near_m),
        "pan_limit_px": figure(motion.pan_limit_px),
        "turn_px_per_frame": figure(motion.turn_px_per_frame),
        "scenery_px_per_frame": figure(motion.scenery_px_per_frame),
        "turn_smear_px": figure(motion.turn_smear_px),
        "scenery_smear_px": figure(motion.scenery_smear_px),
        "streak_share": figure(motion.streak_share),
        "gimbal_jitter_px": figure(motion.jitter_px),
        "hover_drift_px": figure(motion.drift_px),
        "hover_drift_middle_px": figure(motion.middle_drift_px),
        "soft_share": figure(motion.soft_share),
    }


def _frames(night: Night, tones: Tones) -> list[Values]:
    return [
        {
            "index": index,
            "time": iso_time(night, tones.time_s[index]),
            "sun_altitude_deg": figure(tones.sun_altitude_deg[index]),
            "illuminance_lx": figure(tones.illuminance_lx[index]),
            "clipped_share": figure(tones.clipped_share[index]),
            "tones": {
                "street": _part(tones.street, index),
                "land": _part(tones.land, index),
                "sky": _sky(tones.sky, index),
            },
        }
        for index in range(len(tones.time_s))
    ]


def _part(tone: PartTone, index: int) -> Values:
    return {"stops": figure(tone.stops[index]), "sigma_stops": figure(tone.sigma_stops[index])}


def _sky(tone: SkyTone, index: int) -> Values | None:
    if math.isnan(tone.mean_stops[index]):
        return None
    return {
        "mean_stops": figure(tone.mean_stops[index]),
        "high_stops": figure(tone.high_stops[index]),
        "sigma_stops": figure(tone.sigma_stops[index]),
        "frame_share": figure(tone.frame_share[index]),
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
        iso_time(night, tones.time_s[index]),
        *(figure(values[index]) for values in figures),
        *(sky.get(name) for name in names),
    )


def _flight(outlook: Outlook) -> Values:
    flight, night = outlook.flight, outlook.night
    take_off_s = segments_from_s(outlook)
    return {
        "take_off": iso_time(night, outlook.take_off_s),
        "segments": [
            {
                "name": segment.name,
                "starts": iso_time(night, _later_s(take_off_s, segment.starts_min)),
                "minutes": figure(segment.minutes),
                "percent": figure(segment.percent),
            }
            for segment in flight.segments
        ],
        "max_frames": flight.max_frames,
        "stop_at_percent": flight.stop_at_percent,
        "latest_stop": iso_time(night, outlook.latest_stop_s),
        "land_by": iso_time(night, outlook.land_by_s),
        "margin_min": figure(flight.margin_min),
        "landing_percent": figure(flight.landing_percent),
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
        "earliest": iso_time(night, starts.earliest_s),
        "latest": iso_time(night, starts.latest_s),
        "best": iso_time(night, starts.best_s),
        "slack_stops": figure(judged.slack_stops),
        "limit": judged.limit,
        "p_hold": None if chance is None else figure(chance),
        "sure": sure and {"earliest": iso_time(night, sure[0]), "latest": iso_time(night, sure[1])},
        "reason": no_span_reason(night, starts),
    }


def _grid_start(night: Night, start: GridStart) -> Values:
    return {
        "time": iso_time(night, start.time_s),
        "slack_stops": figure(start.slack_stops),
        "limit": start.limit,
        "p_hold": figure(start.p_hold),
        "keepable_share": {part: figure(share) for part, share in start.keepable_share.items()},
        "mixed_light_share": figure(start.mixed_light_share),
    }


def _start_row(night: Night, start: GridStart) -> Row:
    kept = (figure(share) for share in start.keepable_share.values())
    slack, mixed = figure(start.slack_stops), figure(start.mixed_light_share)
    return (iso_time(night, start.time_s), slack, start.limit, figure(start.p_hold), *kept, mixed)


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
    return {"label": remedy.label, "set": changes_values(remedy.values)}


def _later_s(time_s: float | None, minutes: float) -> float | None:
    return None if time_s is None else time_s + 60.0 * minutes
