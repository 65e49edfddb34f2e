"""Where the charge track's words stand beside its line, its bracket and its reserve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, overload

import numpy as np

from app.sheet.clock import Clock
from app.sheet.flightpicture import ChargePicture
from app.sheet.ink import text_size
from app.sheet.labels import LIMIT, PART, VALUE, Box, Placed, Wish, place_labels
from app.theme import px
from app.widgets.stamp import Face
from core.exposure import FloatArray

Kind = Literal["margin", "stop", "landing", "reserve", "100", "50"]
#: Size and weight of each kind's type.
_FACES: Final[dict[Kind, Face]] = {
    "margin": (13, 700),
    "stop": (12, 400),
    "landing": (12, 400),
    "reserve": (11, 400),
    "100": (11, 400),
    "50": (11, 400),
}
BY_TYPE: Final[Face] = (12, 600)
#: Room for a problem's mark before the words at the bracket.
MARK_ROOM: Final = 17.0
_TOP, _BOTTOM = 8.0, 6.0
_BRACKET_RISE = 46.0


@dataclass(frozen=True)
class Scale:
    """Charge over the height of the track, in logical pixels."""

    top: float
    bottom: float

    @overload
    def y(self, percent: float) -> float: ...
    @overload
    def y(self, percent: FloatArray) -> FloatArray: ...
    def y(self, percent: float | FloatArray) -> float | FloatArray:
        """Where a charge stands."""
        return self.bottom - percent / 100.0 * (self.bottom - self.top)


def scale_of(height: float) -> Scale:
    """The scale of a track of a height."""
    return Scale(px(_TOP), height - px(_BOTTOM))


def face_of(kind: Kind) -> Face:
    """The face of each kind of word."""
    return _FACES[kind]


def foot_s(picture: ChargePicture) -> float:
    """The latest last frame: where the line meets the charge to stop at."""
    return picture.bracket_s[0] if picture.short else picture.bracket_s[1]


def bracket_of(picture: ChargePicture, clock: Clock, scale: Scale) -> Box:
    """From the last frame to the latest one, above the foot of the line."""
    first, last = (round(clock.x(one)) for one in picture.bracket_s)
    foot = scale.y(picture.stop_percent)
    top = max(scale.top + px(12), foot - px(_BRACKET_RISE))
    return Box(first, top, last - first, foot - top)


def words_of(picture: ChargePicture) -> dict[Kind, str]:
    """The words by their kind; the margin's second line is `picture.by_words`."""
    words: dict[Kind, str] = {
        "margin": picture.margin_words,
        "stop": picture.stop_words,
        "landing": picture.landing_words,
        "reserve": picture.reserve_words,
        "100": "100 %",
        "50": "50 %",
    }
    return {kind: text for kind, text in words.items() if text}


def place_words(
    picture: ChargePicture, clock: Clock, height: float, edges: tuple[float, ...] = ()
) -> dict[str, Placed]:
    """Place the words in one pass.

    Parameters
    ----------
    height
        Of the track, in logical pixels.
    edges
        Where verticals run, which ask for a chip.
    """
    scale = scale_of(height)
    wishes = [
        Wish(kind, *_wish(kind, text, picture, clock, scale))
        for kind, text in words_of(picture).items()
    ]
    bounds = Box(clock.left, 0.0, clock.width, height)
    line = (clock.x(picture.flown_s), np.array([scale.y(p) for p in picture.flown_percent]))
    upright = [(np.array([x, x]), np.array([0.0, height])) for x in edges]
    taken = [bracket_of(picture, clock, scale)]
    return place_labels(wishes, bounds, [line, *upright], taken)


def _wish(
    kind: Kind, text: str, picture: ChargePicture, clock: Clock, scale: Scale
) -> tuple[int, tuple[Box, ...]]:
    width, height = text_size(text, face_of(kind))
    if kind == "margin":
        return VALUE, _at_bracket(picture, clock, scale, (width, height))
    if kind == "stop":
        return VALUE, _at_stop(picture, clock, scale, (width, height))
    if kind == "landing":
        return PART, _at_landing(picture, clock, scale, (width, height))
    if kind == "reserve":
        y = scale.y(picture.reserve_percent) + px(4)
        right = clock.right - width - px(4)
        return LIMIT, (Box(clock.left + px(3), y, width, height), Box(right, y, width, height))
    y = scale.y(float(kind)) + px(2)
    return LIMIT, (Box(clock.right - width - px(2), y, width, height),)


def _at_bracket(
    picture: ChargePicture, clock: Clock, scale: Scale, size: tuple[float, float]
) -> tuple[Box, ...]:
    """Both lines right of the bracket, or left of the flight where there is no room."""
    by_width, by_height = text_size(picture.by_words, BY_TYPE)
    room = px(MARK_ROOM) if picture.short else 0.0
    width, height = max(size[0] + room, by_width), size[1] + by_height
    bracket = bracket_of(picture, clock, scale)
    top = bracket.y - px(4)
    before = clock.x(float(picture.flown_s[0]))
    places = (bracket.right + px(8), before - width - px(8), clock.right - width)
    return tuple(Box(x, top, width, height) for x in places)


def _at_stop(
    picture: ChargePicture, clock: Clock, scale: Scale, size: tuple[float, float]
) -> tuple[Box, ...]:
    """Left of the stop line, upon it, or beyond its foot."""
    width, height = size
    first, y = clock.x(float(picture.flown_s[0])), scale.y(picture.stop_percent)
    return (
        Box(first - width - px(3), y - height / 2.0, width, height),
        Box(first + px(3), y - height - px(2), width, height),
        Box(clock.x(foot_s(picture)) + px(8), y - height / 2.0, width, height),
    )


def _at_landing(
    picture: ChargePicture, clock: Clock, scale: Scale, size: tuple[float, float]
) -> tuple[Box, ...]:
    """Right of the line's end, and above the line of the reserve."""
    width, height = size
    x = clock.x(max(float(picture.flown_s[-1]), foot_s(picture))) + px(8)
    y = scale.y(float(picture.flown_percent[-1]))
    rows = (y - height / 2.0, y - height, scale.y(picture.stop_percent) - height / 2.0, y)
    lowest = scale.y(picture.reserve_percent) - height
    return tuple(Box(x, min(row, lowest), width, height) for row in rows)
