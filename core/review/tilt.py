"""By how much a take's camera was off its planned poses: dragged, typed, told."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.language import say
from core.path import Tilt
from core.review.geometry import Lens, Pose
from core.sentences import shown
from core.words import number_text

#: No gimbal is further off than this, degrees.
MOST_TILT_DEG = 45.0
#: Tilts are told, and dragged, in tenths of a degree.
_DIGITS = 1


def tilted_pose(pose: Pose, tilt: Tilt) -> Pose:
    """Where a camera looked that was off its pose by a tilt."""
    return replace(
        pose,
        pitch_deg=pose.pitch_deg + tilt.pitch_deg,
        roll_deg=pose.roll_deg + tilt.roll_deg,
    )


def raised(tilt: Tilt, lens: Lens, from_y: float, to_y: float) -> Tilt:
    """The tilt once the skyline is dragged from one height in the picture to another, in pixels."""
    before, after = (
        math.degrees(math.atan(lens.half_height * (2.0 * y / lens.rows - 1.0)))
        for y in (from_y, to_y)
    )
    return held(tilt.pitch_deg + after - before, tilt.roll_deg)


def turned(
    tilt: Tilt, lens: Lens, start: tuple[float, float], end: tuple[float, float], middle_y: float
) -> Tilt:
    """The tilt once the skyline is dragged by one of its ends, in pixels.

    It turns about `middle_y` in the middle column.
    """
    middle_x = lens.columns / 2.0
    before, after = (math.atan2(middle_y - y, abs(x - middle_x)) for x, y in (start, end))
    side = math.copysign(1.0, start[0] - middle_x)
    return held(tilt.pitch_deg, tilt.roll_deg + side * math.degrees(after - before))


def held(pitch_deg: float, roll_deg: float) -> Tilt:
    """The tilt that can be told and kept, in tenths of a degree, next to what is wished."""
    pitch, roll = (
        round(min(max(one, -MOST_TILT_DEG), MOST_TILT_DEG), _DIGITS) + 0.0
        for one in (pitch_deg, roll_deg)
    )
    return Tilt(pitch, roll)


def typed_tilt_deg(text: str) -> float:
    """Degrees of pitch or roll as they are typed.

    Raises
    ------
    PlanError
        With one sentence, when the text is no such angle.
    """
    value = amount_of("tilt_deg", plain_text(text) or "0")
    if value is None or abs(value) > MOST_TILT_DEG:
        raise PlanError(
            say(
                "{shown} is no angle of the camera; \N{MINUS SIGN}{most} to +{most}° was expected.",
                shown=shown(text),
                most=number_text(MOST_TILT_DEG, 0),
            )
        )
    return value


def tilt_sentences(tilt: Tilt) -> Iterator[str]:
    """How the camera was off its planned poses; nothing where it was not."""
    pitch, roll = (f"{number_text(abs(one), _DIGITS)}°" for one in (tilt.pitch_deg, tilt.roll_deg))
    if tilt.pitch_deg:
        yield (
            say("The camera looked {angle} higher than planned.", angle=pitch)
            if tilt.pitch_deg > 0.0
            else say("The camera looked {angle} lower than planned.", angle=pitch)
        )
    if tilt.roll_deg:
        yield (
            say("The camera leaned {angle} to the right.", angle=roll)
            if tilt.roll_deg > 0.0
            else say("The camera leaned {angle} to the left.", angle=roll)
        )
