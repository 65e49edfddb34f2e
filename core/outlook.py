"""What the fast half of a forecast holds, for one shoot."""

from __future__ import annotations

from dataclasses import dataclass

from core.clip import Clip
from core.exposure import FloatArray
from core.flight import Flight
from core.framesky import FrameSky
from core.judge import Judgement
from core.light import Light
from core.night import Night
from core.plan import Path, Shoot, ShootName
from core.sky.sky import Sky
from core.tones import Tones


@dataclass(frozen=True)
class Evening:
    """The whole evening's luminance in log2 cd/m², for the thin curves of a plot.

    `sky_log2` is the sky as the take's brightest pose sees it: what the allowed share of
    that frame exceeds; all NaN where the path never sees so much sky. Subtract
    `Outlook.mid` for stops from mid-grey.
    """

    time_s: FloatArray
    street_log2: FloatArray
    land_log2: FloatArray
    sky_log2: FloatArray
    street_sigma_stops: FloatArray
    land_sigma_stops: FloatArray
    sky_sigma_stops: FloatArray
    sky_60_up_log2: FloatArray


@dataclass(frozen=True)
class Outlook:
    """One shoot's forecast without what takes longer; times are UTC seconds.

    `light` is under all that is held of the night, `typed` as it was typed, before anything was
    read or learned. `path` is the path as flown. `take_off_s` and `latest_stop_s`, `land_by_s`
    follow from the flight's minutes; None where the flight cannot be flown.
    """

    name: ShootName
    shoot: Shoot
    night: Night
    light: Light
    typed: Light
    sky: Sky
    path: Path
    framesky: FrameSky
    clip: Clip
    mid: float
    press_s: float
    last_frame_s: float
    tones: Tones
    judgement: Judgement
    evening: Evening
    flight: Flight
    take_off_s: float | None
    latest_stop_s: float | None
    land_by_s: float | None
