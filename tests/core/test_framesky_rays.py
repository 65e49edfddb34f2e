"""What the lens sees, looked up, against tracing every ray of every frame under the real sky."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest

from core.exposure import FloatArray
from core.forecast import outlook
from core.framesky import between, interpolate
from core.memory import Memory
from core.outlook import Outlook
from core.path import half_field_tangents, poses_along
from core.place import skyline_altitude_deg
from core.plan import Plan
from core.tones import HIGH_SHARE, LEAST_SHARE, exceeded_by
from tests.dusk import SUNSET_HEADING_DEG, december_plan

#: Many times the rays of the look-up, and none of its short cuts.
COLUMNS, ROWS = 120, 90
FRAMES = range(0, 300, 33)
#: The whole of a frame's sky, beside the two shares that are shown or judged.
SHARES = (0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.85)
RIDGES = [[200.0, 2.0], [235.0, 6.0], [250.0, 1.0], [262.0, 8.0], [300.0, 3.0], [20.0, 1.0]]
PITCHES = {"level": (-12.0, -4.0), "from steep": (-50.0, -8.0), "upward": (-15.0, 20.0)}

#: Stops: the mean and every share that is exceeded are this near to the rays; the brightest
#: twentieth behind ridges that near, where a gap between two of them comes and goes.
NEAR, BEHIND_RIDGES = 0.05, 0.06


@dataclass(frozen=True)
class Off:
    """Looked up less traced in one frame, in stops; `limit` is NaN where nothing is judged."""

    mean: float
    high: float
    limit: float
    others: FloatArray


def traced(plan: Plan, seen: Outlook, frame: int) -> tuple[float, FloatArray]:
    """The sky's share of one frame, and the luminance along every ray that meets it."""
    half_width, half_height = half_field_tangents(plan.camera)
    pose = poses_along(seen.path, seen.tones.way[frame])
    pitch = np.radians(pose.pitch_deg[0])
    # No row is wasted below the flat horizon.
    lowest = float(np.clip(np.tan(-pitch), -half_height, half_height))
    x = half_width * (2.0 * (np.arange(COLUMNS) + 0.5) / COLUMNS - 1.0)
    y = lowest + (half_height - lowest) * (np.arange(ROWS) + 0.5) / ROWS
    across, up = np.meshgrid(x, y)
    forward, height = np.cos(pitch) - up * np.sin(pitch), np.sin(pitch) + up * np.cos(pitch)
    altitude = np.degrees(np.arctan2(height, np.hypot(across, forward)))
    azimuth = pose.heading_deg[0] + np.degrees(np.arctan2(across, forward))
    above = altitude > skyline_altitude_deg(plan.place.skyline, azimuth % 360.0)
    sun = float(seen.tones.sun_altitude_deg[frame])
    from_sun = azimuth[above] - float(seen.tones.sun_azimuth_deg[frame])
    share = above.mean() * (half_height - lowest) / (2.0 * half_height)
    return float(share), np.asarray(seen.sky.luminance(sun, altitude[above], from_sun))


def looked_up(seen: Outlook, frame: int, shares: FloatArray) -> tuple[float, FloatArray]:
    """Log2 of the mean and of what each share of the sky exceeds, from the table of poses."""
    sky, tones = seen.framesky, seen.tones
    at = slice(frame, frame + 1)
    azimuth = seen.light.at("sun_azimuth_deg", tones.time_s[at])
    corners = (
        between(sky.way, tones.way[at]),
        between(sky.sun_altitude_deg, tones.sun_altitude_deg[at]),
        between(sky.sun_azimuth_deg, azimuth),
    )
    exceeded = interpolate(sky.exceeded_log2, *corners)[0]
    each = np.broadcast_to(exceeded, (len(shares), len(exceeded)))
    return float(interpolate(sky.mean_log2, *corners)[0]), exceeded_by(each, shares)


def compared(plan: Plan) -> Iterator[Off]:
    """Every so many frames of a take that show enough sky to be judged."""
    seen, allowed = outlook(plan, "A", Memory()), plan.bands.sky.clip_area_share
    for frame in FRAMES:
        share, luminance = traced(plan, seen, frame)
        if share < 2.0 * LEAST_SHARE:
            continue
        limit = min(allowed / share, 1.0)
        shares = np.array([HIGH_SHARE, limit, *SHARES])
        mean, exceeded = looked_up(seen, frame, shares)
        off = exceeded - np.log2(np.quantile(luminance, 1.0 - shares))
        judged = off[1] if share > 1.02 * allowed else np.nan
        yield Off(mean - np.log2(luminance.mean()), off[0], judged, off[2:])


@pytest.mark.parametrize("start_min", [-20.0, 5.0, 25.0, 45.0])
@pytest.mark.parametrize("turn_deg", [0.0, 60.0, 180.0])
@pytest.mark.parametrize("haze_aod", [0.05, 0.12, 0.3])
def test_looked_up_as_traced(start_min: float, turn_deg: float, haze_aod: float) -> None:
    # From the sun up to the end of nautical twilight.
    heading = (SUNSET_HEADING_DEG + turn_deg) % 360.0
    found: list[Off] = []
    for pitches in PITCHES.values():
        ends = ((pitches[0], 0.0), (pitches[1], -30.0))
        for skyline in ((), RIDGES) if pitches == PITCHES["level"] else ((),):
            plan = december_plan(
                shoots__A__start_after_event_min=start_min,
                shoots__A__conditions__haze_aod=haze_aod,
                place__skyline=skyline,
                path__stations=[
                    {"up_m": 80.0, "pitch_deg": pitch, "heading_deg": heading, "east_m": east}
                    for pitch, east in ends
                ],
            )
            found += compared(plan)
    assert len(found) > 25
    decides = np.array([(off.mean, off.high, off.limit) for off in found])
    assert np.nanmax(np.abs(decides)) < NEAR
    assert np.sqrt(np.nanmean(np.square(decides))) < 0.015
    brightest, *others = np.abs(np.array([off.others for off in found])).T
    assert brightest.max() < BEHIND_RIDGES
    assert np.max(others) < NEAR


def test_a_turning_path_between_three_stations() -> None:
    # The way's own nodes need not fall on the middle station, where heading and pitch bend.
    stations = [
        {"up_m": 60.0, "pitch_deg": -35.0, "heading_deg": 190.0},
        {"up_m": 80.0, "pitch_deg": -8.0, "heading_deg": 240.0, "east_m": -40.0},
        {"up_m": 90.0, "pitch_deg": -3.0, "heading_deg": 262.0, "east_m": -70.0, "north_m": 50.0},
    ]
    plan = december_plan(path__stations=stations, shoots__A__conditions__haze_aod=0.08)
    found = list(compared(plan))
    assert len(found) > 5
    decides = np.array([(off.mean, off.high, off.limit) for off in found])
    assert np.nanmax(np.abs(decides)) < NEAR
