"""What the lens sees, looked up, against tracing every ray of every frame under the real sky."""

from __future__ import annotations

import numpy as np
import pytest

from core.exposure import FloatArray
from core.forecast import outlook
from core.framesky import SKY_SHARES, between, interpolate
from core.memory import Memory
from core.outlook import Outlook
from core.path import half_field_tangents, poses_along
from core.plan import Plan
from tests.dusk import december_plan

#: Twice the rays of the look-up each way, and none of its short cuts.
COLUMNS, ROWS = 80, 48
FRAMES = np.arange(0, 300, 20)
#: The shares of the sky that limits are read at; the dim end of a frame decides nothing.
SHARES = (0.02, 0.1, 0.3)


def traced(plan: Plan, seen: Outlook, frame: int) -> FloatArray:
    """Luminance along every ray of one frame that meets sky, over a flat horizon."""
    half_width, half_height = half_field_tangents(plan.camera)
    x = half_width * (2.0 * (np.arange(COLUMNS) + 0.5) / COLUMNS - 1.0)
    y = half_height * (1.0 - 2.0 * (np.arange(ROWS) + 0.5) / ROWS)
    across, up = np.meshgrid(x, y)
    pose = poses_along(seen.path, seen.tones.way[frame])
    pitch = np.radians(pose.pitch_deg[0])
    forward, height = np.cos(pitch) - up * np.sin(pitch), np.sin(pitch) + up * np.cos(pitch)
    altitude = np.degrees(np.arctan2(height, np.hypot(across, forward)))
    azimuth = pose.heading_deg[0] + np.degrees(np.arctan2(across, forward))
    above = altitude > 0.0
    sun = float(seen.tones.sun_altitude_deg[frame])
    from_sun = azimuth[above] - float(seen.tones.sun_azimuth_deg[frame])
    return np.asarray(seen.sky.luminance(sun, altitude[above], from_sun))


def looked_up(seen: Outlook, frame: int) -> tuple[float, FloatArray]:
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
    return float(interpolate(sky.mean_log2, *corners)[0]), np.interp(SHARES, SKY_SHARES, exceeded)


@pytest.mark.parametrize("start_min", [20.0, 30.0])
@pytest.mark.parametrize("turn_deg", [0.0, 60.0, 180.0])
@pytest.mark.parametrize("haze_aod", [0.05, 0.3])
def test_looked_up_as_traced(start_min: float, turn_deg: float, haze_aod: float) -> None:
    plan = december_plan(
        shoots__A__start_after_event_min=start_min,
        shoots__A__conditions__haze_aod=haze_aod,
        path__stations=[
            {"up_m": 80.0, "pitch_deg": -12.0, "heading_deg": (243.0 + turn_deg) % 360.0},
            {"up_m": 80.0, "pitch_deg": -4.0, "heading_deg": (243.0 + turn_deg) % 360.0},
        ],
    )
    seen = outlook(plan, "A", Memory())
    off = []
    for frame in FRAMES:
        luminance = traced(plan, seen, int(frame))
        mean, exceeded = looked_up(seen, int(frame))
        off.append(mean - np.log2(luminance.mean()))
        off += list(exceeded - np.log2(np.quantile(luminance, 1.0 - np.array(SHARES))))
    assert np.sqrt(np.mean(np.square(off))) < 0.05
    assert np.max(np.abs(off)) < 0.08
