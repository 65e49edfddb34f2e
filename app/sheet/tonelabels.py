"""Which words stand on the tone plot, and where: flags, failures, values, parts, limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from app.sheet.clock import Clock
from app.sheet.ink import text_size
from app.sheet.labels import (
    FAILING,
    LIMIT,
    PART,
    VALUE,
    Box,
    Wish,
    flag_places,
    place_labels,
)
from app.sheet.toneground import HIGHEST_STOPS, LOWEST_STOPS, tone_y
from app.sheet.tonepicture import Limits, Line, Take, TonePicture
from app.theme import px
from app.widgets.stamp import Face
from core.exposure import FloatArray
from core.language import say
from core.names import part_text
from core.plan import PARTS, Part, ShootName
from core.words import MINUS, number_text, signed_text

LANE = 20.0
#: Room that a mark or a glyph takes before its words.
MARK_ROOM, GLYPH_ROOM = 18.0, 14.0
_NUDGE = 3.0
_STEP = 36.0

Kind = Literal["flag", "failing", "value", "beyond", "part", "limit"]
_FACES: Final[dict[Kind, Face]] = {
    "flag": (12, 700),
    "failing": (12, 600),
    "value": (12, 600),
    "beyond": (12, 600),
    "part": (12, 600),
    "limit": (11, 400),
}


@dataclass(frozen=True)
class Word:
    """A label in its place. `of` is the shoot or part that it belongs to."""

    kind: Kind
    text: str
    box: Box
    chip: bool
    of: ShootName | Part | None = None


@dataclass(frozen=True)
class Reading:
    """A tone read at the cursor, with its 1-sigma."""

    part: Part
    stops: float
    sigma_stops: float

    @property
    def text(self) -> str:
        """The value in words: '+1.0 ± 0.2'."""
        return f"{signed_text(self.stops)} ± {number_text(self.sigma_stops, 1)}"


def face_of(kind: Kind) -> Face:
    """The face of each kind of label."""
    return _FACES[kind]


def readings_at(picture: TonePicture, axis_s: float) -> tuple[Reading, ...]:
    """Tones at a place of the axis: the active take's where the part is in its frame."""
    take = picture.takes[1]
    inked = {line.part: line.at(axis_s) for line in take.lines}
    thin = {line.part: line.at(axis_s) for line in picture.evening}
    found = ((part, inked.get(part) or thin.get(part)) for part in PARTS)
    return tuple(Reading(part, *value) for part, value in found if value is not None)


def words_of(
    picture: TonePicture, limits: Limits, clock: Clock, height: float, cursor_s: float | None
) -> tuple[Word, ...]:
    """All words of the plot in one placement pass.

    Parameters
    ----------
    height
        Of the plot, in logical pixels.
    cursor_s
        Second of the axis that is read, or None.
    """
    bounds = Box(clock.left, 0.0, clock.width, height)
    flags = _flags(picture.takes, clock, bounds)
    wishes = list(_failing(picture.takes, clock))
    if cursor_s is not None:
        wishes += _values(readings_at(picture, cursor_s), clock.x(cursor_s), height)
    wishes += _beyond(picture, clock, bounds)
    lines = [_on_plot(line, clock, height) for line in picture.evening]
    wishes += _parts(picture.evening, lines, bounds)
    wishes += _limits(limits, bounds)
    taken = [word.box for word in flags] + _bars(picture.takes, clock)
    inked = [_on_plot(line, clock, height) for take in picture.takes for line in take.lines]
    ends = (clock.x(end) for take in picture.takes for end in (take.first_s, take.last_s))
    inked += [(np.array([x, x]), np.array([0.0, height])) for x in ends]
    levels = [_level(stops, bounds) for stops in (limits.low_stops, limits.high_stops)]
    placed = place_labels(
        [wish for wish, _ in wishes], bounds, [*lines, *inked, *levels], taken, inked=inked
    )
    words = {wish.key: word for wish, word in wishes}
    return flags + tuple(
        Word(words[key].kind, words[key].text, at.box, at.crossed, words[key].of)
        for key, at in placed.items()
    )


def _level(stops: float, bounds: Box) -> tuple[FloatArray, FloatArray]:
    return np.array([bounds.x, bounds.right]), np.full(2, tone_y(stops, bounds.height))


@dataclass(frozen=True)
class _Said:
    """A label that still looks for its place."""

    kind: Kind
    text: str
    of: ShootName | Part | None


_Wished = tuple[Wish, _Said]


def _wish(
    kind: Kind, text: str, places: Iterable[Box], rank: int, of: ShootName | Part | None = None
) -> _Wished:
    return Wish(f"{kind} {of} {text}", rank, places), _Said(kind, text, of)


def _flags(takes: Sequence[Take], clock: Clock, bounds: Box) -> tuple[Word, ...]:
    """The active shoot's flag first, so that it keeps its side."""
    order = tuple(reversed(takes))
    sizes = [_flag_size(take.flag) for take in order]
    edges = [clock.x(take.first_s) for take in order]
    boxes = flag_places(edges, 0.0, sizes, bounds)
    words = []
    for take, box, edge in zip(order, boxes, edges, strict=True):
        text, at = take.flag, box
        if at is None:
            # Too narrow for both: the letter alone still says whose edge it is.
            text = take.name
            others = [one for one in boxes if one is not None]
            size = _flag_size(text)
            at = flag_places(
                [*(one.x for one in others), edge],
                0.0,
                [*((one.width, one.height) for one in others), size],
                bounds,
            )[-1]
        if at is not None:
            words.append(Word("flag", text, at, chip=False, of=take.name))
    return tuple(words)


def _flag_size(text: str) -> tuple[float, float]:
    return text_size(text, face_of("flag"))[0] + px(8), float(px(LANE))


def bar_of(take: Take, clock: Clock) -> Iterator[Box]:
    """The bars along the top of a take where it breaks a limit."""
    for first_s, last_s in take.failing_s:
        first, last = clock.x(first_s), clock.x(last_s)
        yield Box(first, px(LANE) + px(2), max(last - first, float(px(3))), float(px(6)))


def _bars(takes: Sequence[Take], clock: Clock) -> list[Box]:
    return [bar for take in takes for bar in bar_of(take, clock)]


def _failing(takes: Sequence[Take], clock: Clock) -> Iterator[_Wished]:
    for take in takes:
        if not take.failing_words:
            continue
        width, height = text_size(take.failing_words, face_of("failing"))
        width += px(MARK_ROOM)
        first, last = clock.x(take.first_s), clock.x(take.last_s)
        left, right = first - width - px(6), last + px(6)
        rows = (px(LANE) + px(2), px(LANE) + px(4) + height, px(LANE) + px(6) + 2 * height)
        places = [Box(x, y, width, height) for y in rows for x in (left, right)]
        yield _wish("failing", take.failing_words, places, FAILING, take.name)


def _values(readings: Sequence[Reading], x: float, height: float) -> list[_Wished]:
    wishes = []
    for reading in readings:
        width, tall = text_size(reading.text, face_of("value"))
        y = tone_y(reading.stops, height)
        above, below = y - tall - px(_NUDGE), y + px(_NUDGE)
        right, left = x + px(5), x - px(5) - width
        places = [Box(a, b, width, tall) for a in (right, left) for b in (above, below)]
        wishes.append(_wish("value", reading.text, places, VALUE, reading.part))
    return wishes


def _beyond(picture: TonePicture, clock: Clock, bounds: Box) -> Iterator[_Wished]:
    """What the active take shows wholly above or below the plot, at that edge with its figure."""
    take = picture.takes[1]
    lines = {line.part: line for line in (*picture.evening, *take.lines)}
    lane = (HIGHEST_STOPS - LOWEST_STOPS) * px(LANE) / bounds.height
    for part in PARTS:
        name, stops = part_text(part), lines[part].stops if part in lines else np.array([])
        stops = stops[np.isfinite(stops)]
        if stops.size and stops.min() > HIGHEST_STOPS - lane:
            above, figure = True, signed_text(stops.max())
            text = say("{part} {stops} over", part=name, stops=figure)
        elif stops.size and stops.max() < LOWEST_STOPS:
            above, figure = False, signed_text(stops.min())
            text = say("{part} {stops} under", part=name, stops=figure)
        else:
            continue
        yield _wish("beyond", text, _at_edge(text, take, clock, bounds, above=above), VALUE, part)


def _at_edge(text: str, take: Take, clock: Clock, bounds: Box, *, above: bool) -> Iterator[Box]:
    """Places under the flags or over the grips, row after row: in the take, else beside it."""
    width, height = text_size(text, face_of("beyond"))
    width += px(GLYPH_ROOM)
    first, last = clock.x(take.first_s), clock.x(take.last_s)
    middle = min(max((first + last - width) / 2.0, bounds.x), bounds.right - width)
    for x in (middle, last + px(6), first - width - px(6)):
        for row in range(2 * len(PARTS)):
            down = row * (height + px(_NUDGE))
            top = px(LANE) + px(12) + down if above else bounds.bottom - px(34) - height - down
            yield Box(x, top, width, height)


def _on_plot(line: Line, clock: Clock, height: float) -> tuple[FloatArray, FloatArray]:
    return clock.x(line.axis_s), tone_y(line.stops, height)


def _parts(
    evening: Sequence[Line], lines: Sequence[tuple[FloatArray, FloatArray]], bounds: Box
) -> list[_Wished]:
    return [
        _wish("part", name, _beside_line(name, on_plot, bounds), PART, line.part)
        for line, on_plot in zip(evening, lines, strict=True)
        for name in [part_text(line.part)]
    ]


def _beside_line(text: str, line: tuple[FloatArray, FloatArray], bounds: Box) -> Iterator[Box]:
    """Places along a line from its right end: above it, then below, then further left."""
    width, height = text_size(text, face_of("part"))
    width += px(GLYPH_ROOM)
    x, y = line
    lane = bounds.y + px(LANE)
    seen = np.isfinite(y) & (y > lane) & (y < bounds.bottom) & (x >= bounds.x) & (x <= bounds.right)
    if not seen.any():
        return
    end = min(float(x[seen][-1]), bounds.right)
    for step in range(5):
        left = min(end - px(22), bounds.right - width - px(6)) - step * px(_STEP)
        # The line under the word; it may leave the plot below it.
        at = np.linspace(left, min(left + width, end), 8)
        under = np.interp(at, x, y)
        under = under[np.isfinite(under)]
        if under.size:
            above, below = under.min() - height - px(_NUDGE), under.max() + px(_NUDGE)
            yield from (Box(left, float(top), width, height) for top in (above, below))


def _limits(limits: Limits, bounds: Box) -> list[_Wished]:
    """Limits in words at the left: above the burnt level, inside the band."""
    wishes = []
    for text, stops, under in (
        (limits.burnt_words, limits.burnt_stops, False),
        (limits.words, limits.high_stops, True),
    ):
        width, height = text_size(text, face_of("limit"))
        y = tone_y(stops, bounds.height)
        top = y + px(2) if under else y - height - px(1)
        places = [Box(bounds.x + px(3 + 60 * step), top, width, height) for step in range(3)]
        wishes.append(_wish("limit", text, places, LIMIT))
    return wishes


def axis_text(stops: int) -> str:
    """A figure of the axis, signed: '+2', '0', '−2'."""
    return f"+{stops}" if stops > 0 else str(stops).replace("-", MINUS)
