"""A choice of start and settings, and the short list of them."""

from __future__ import annotations

from dataclasses import dataclass

from core.judge import Limit


@dataclass(frozen=True)
class Choice:
    """Start and settings of a take, with what they give and what they cost.

    `start_s` is UTC seconds. `slack_stops`, `limit` and `p_hold` are those of the forecast with
    the choice applied; `mixed_light_share` is the share of the frames with daylight and
    lamplight within two stops. `turn_px` is the smear by the camera's own turn in one
    exposure, in pixels of a picture 1920 wide. `costs` are sentences without a full stop,
    empty where all is as wanted. `points` rank the choice, see `core.ranking`.
    """

    interval_s: float
    shutter_s: float
    iso: float
    f_number: float
    nd_stops: float
    clip_length_s: float
    frames: int
    start_s: float
    start_after_event_min: float
    slack_stops: float
    limit: Limit | None
    p_hold: float
    mixed_light_share: float
    shutter_angle_deg: float
    turn_px: float
    margin_min: float
    costs: tuple[str, ...]
    points: float


@dataclass(frozen=True)
class Settings:
    """The ranked short list, best first, or the sentence that says why it is empty.

    `nearest` is what comes nearest to holding where the light alone is in the way.
    """

    choices: tuple[Choice, ...]
    reason: str | None = None
    nearest: Choice | None = None
