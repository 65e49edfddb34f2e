"""The frames of a take as a table and as JSON: light, tones, and where the camera is."""

from __future__ import annotations

from core.export.track import Spot, track_of
from core.forecast import Forecast
from core.outlook import Outlook
from core.plainvalues import Values, as_csv, as_json
from core.plan import Plan
from core.report import FRAME_COLUMNS, forecast_report, frame_rows

POSE_COLUMNS = (
    "latitude_deg", "longitude_deg", "elevation_m", "up_m", "heading_deg", "pitch_deg",
)  # fmt: skip


def frames_csv(plan: Plan, seen: Forecast, _made_s: float) -> bytes:
    """Return a table with a row a frame, in UTF-8; a missing value is an empty cell."""
    poses = (_pose(spot) for spot in track_of(plan, seen.outlook).frames)
    rows = [(*row, *pose.values()) for row, pose in zip(frame_rows(seen), poses, strict=True)]
    return as_csv((*FRAME_COLUMNS, *POSE_COLUMNS), rows).encode()


def frames_json(plan: Plan, seen: Forecast, _made_s: float) -> bytes:
    """Return the forecast's own JSON with the place, the shoot, and the pose of each frame."""
    report = forecast_report(seen)
    frames = report["frames"]
    spots = track_of(plan, seen.outlook).frames
    posed = [
        frame | {"pose": _pose(spot)}
        for frame, spot in zip(frames, spots, strict=True)  # type: ignore[call-overload]
    ]
    return as_json(_about(plan, seen.outlook) | report | {"frames": posed}).encode()


def _about(plan: Plan, seen: Outlook) -> Values:
    place, shoot = plan.place, seen.shoot
    return {
        "place": {
            "name": place.name,
            "latitude_deg": place.latitude_deg,
            "longitude_deg": place.longitude_deg,
            "elevation_m": place.elevation_m,
            "time_zone": place.time_zone,
        },
        "shoot": {
            "name": seen.name,
            "interval_s": shoot.interval_s,
            "shutter_s": shoot.shutter_s,
            "iso": shoot.iso,
            "f_number": shoot.f_number,
            "nd_stops": shoot.nd_stops,
            "frame_rate_fps": shoot.frame_rate_fps,
        },
    }


def _pose(spot: Spot) -> Values:
    return {name: getattr(spot, name) for name in POSE_COLUMNS}
