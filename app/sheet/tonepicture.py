"""The tone track's picture: the evening's thin curves, the takes, the limits, the shade."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from app.remember import Last
from app.sheet.clock import Axis
from app.sheet.pictures import View, clock_of
from core.dates import weekday_text
from core.exposure import FloatArray
from core.judge import Limit
from core.language import say
from core.names import part_text
from core.outlook import Evening, Outlook
from core.phrases import leading
from core.plan import PARTS, Part, Plan, ShootName
from core.runs import runs_of
from core.tones import LEAST_SHARE, Tones
from core.words import burnt_text, number_text, signed_text

#: Luminance 60° up, in log2 cd/m², that the brightest and the darkest shade stand for: a
#: clear sky a little after sunset, and the end of nautical twilight.
BRIGHT_LOG2, DARK_LOG2 = 8.5, -5.5
SHADE_STOPS: Final = 16
_MOST_POINTS = 64
#: What fails in a take, where its flag stands.
_FAILING: Final[dict[Limit, str]] = {
    "street_high": say("street burns"),
    "street_low": say("street goes dark"),
    "land_high": say("land burns"),
    "land_low": say("land goes dark"),
    "sky_clip": say("sky burns"),
    "lamps": say("lamps are not on"),
}


@dataclass(frozen=True)
class Line:
    """A part's tone along the clock: stops from mid-grey; NaN where it is out of the frame."""

    part: Part
    axis_s: FloatArray
    stops: FloatArray
    sigma_stops: FloatArray

    @cached_property
    def runs(self) -> tuple[slice, ...]:
        """Every run of the line that is in the frame."""
        return runs_of(np.isfinite(self.stops))

    def at(self, axis_s: float) -> tuple[float, float] | None:
        """Stops and 1-sigma at a place of the axis; None beyond the line or out of frame."""
        if not self.axis_s.size or not self.axis_s[0] <= axis_s <= self.axis_s[-1]:
            return None
        stops = float(np.interp(axis_s, self.axis_s, self.stops))
        sigma = float(np.interp(axis_s, self.axis_s, self.sigma_stops))
        return (stops, sigma) if np.isfinite(stops) else None


@dataclass(frozen=True)
class Take:
    """One shoot's take over the plot; `failing_s` are stretches that break a limit."""

    name: ShootName
    first_s: float
    last_s: float
    flag: str
    lines: tuple[Line, ...]
    failing_s: tuple[tuple[float, float], ...]
    failing_words: str


@dataclass(frozen=True)
class Limits:
    """The keepable band of a part and the level above which tones burn, with their words."""

    part: Part
    low_stops: float
    high_stops: float
    words: str
    burnt_stops: float
    burnt_words: str


@dataclass(frozen=True)
class TonePicture:
    """All that the tone track shows; the active shoot's take comes last."""

    evening: tuple[Line, ...]
    takes: tuple[Take, Take]
    description: str


@dataclass(frozen=True)
class Shade:
    """Darkness of the ground along the clock, 0 brightest to 1, at even shares of the width."""

    darkness: tuple[float, ...]


def shade_of(outlook: Outlook, axis: Axis) -> Shade:
    """The model's sky luminance 60° up, as the darkness of the tracks' ground."""
    at_s = np.linspace(axis.first_s, axis.last_s, SHADE_STOPS) + axis.zero_s(outlook.name)
    log2 = np.interp(at_s, outlook.evening.time_s, outlook.evening.sky_60_up_log2)
    darkness = np.clip((BRIGHT_LOG2 - log2) / (BRIGHT_LOG2 - DARK_LOG2), 0.0, 1.0)
    return Shade(tuple(round(float(one), 3) for one in darkness))


def limits_of(plan: Plan) -> Limits:
    """The street's band, or the land's where no lamp lights the ground."""
    bands, burnt = plan.bands, plan.camera.highlight_stops
    part: Part = "street" if _lit(plan) else "land"
    band = bands.street if part == "street" else bands.land
    low, high = (_limit_text(value) for value in (band.low_stops, band.high_stops))
    return Limits(
        part=part,
        low_stops=band.low_stops,
        high_stops=band.high_stops,
        words=say("{part} keepable {low} to {high}", part=part_text(part), low=low, high=high),
        burnt_stops=burnt,
        burnt_words=say("burnt above {burnt}", burnt=signed_text(burnt)),
    )


def _limit_text(stops: float) -> str:
    text = number_text(round(stops, 1))
    return text if stops <= 0.0 else f"+{text}"


def _lit(plan: Plan) -> bool:
    lamps = plan.ground.lamps
    return lamps.luminance_cd_m2 > 0.0 and lamps.lit_share > 0.0


class TonePainting:
    """Makes the pictures of one plot; what did not change since the last is not made anew."""

    def __init__(self) -> None:
        self._evening: Last[tuple[Line, ...]] = Last()
        self._takes: dict[ShootName, Last[Take]] = {"A": Last(), "B": Last()}

    def picture(self, view: View, axis: Axis) -> TonePicture:
        """The whole evening at the active shoot's settings, and both takes at their own."""
        seen, lit = view.outlook, _lit(view.plan)
        evening = self._evening.of(
            (seen.evening,),
            (seen.mid, seen.name, axis, lit),
            lambda: _evening(seen, axis, lit=lit),
        )
        takes = self._take(view, view.other, axis), self._take(view, view.active, axis)
        return TonePicture(evening, takes, _description(seen, takes[1]))

    def _take(self, view: View, name: ShootName, axis: Axis) -> Take:
        outlook = view.outlooks[name]
        return self._takes[name].of((outlook,), (axis,), lambda: _take(outlook, axis))


def _evening(outlook: Outlook, axis: Axis, *, lit: bool) -> tuple[Line, ...]:
    evening = outlook.evening
    axis_s = axis.of(evening.time_s, outlook.name)
    step_s = float(axis_s[1] - axis_s[0])
    near = (axis_s >= axis.first_s - step_s) & (axis_s <= axis.last_s + step_s)
    lines = (
        Line(part, axis_s[near], log2[near] - outlook.mid, sigma[near])
        for part, log2, sigma in _evening_parts(evening)
        if lit or part != "street"
    )
    return tuple(line for line in lines if np.isfinite(line.stops).any())


def _evening_parts(evening: Evening) -> tuple[tuple[Part, FloatArray, FloatArray], ...]:
    return (
        ("street", evening.street_log2, evening.street_sigma_stops),
        ("land", evening.land_log2, evening.land_sigma_stops),
        ("sky", evening.sky_log2, evening.sky_sigma_stops),
    )


def _take(outlook: Outlook, axis: Axis) -> Take:
    name, tones = outlook.name, outlook.tones
    failing = _failing_frames(outlook)
    return Take(
        name=name,
        first_s=axis.of(outlook.press_s, name),
        last_s=axis.of(outlook.last_frame_s, name),
        flag=flag_text(outlook, dated=axis.two_nights),
        lines=_take_lines(tones, axis.of(tones.time_s, name)),
        failing_s=_stretches(failing, axis.of(tones.time_s, name), outlook.shoot.interval_s),
        failing_words=_failing_words(outlook) if failing.any() else "",
    )


def flag_text(outlook: Outlook, *, dated: bool) -> str:
    """What a start's flag says: 'A 19:22:10', with its date where the nights differ."""
    moment = outlook.night.clock(outlook.press_s)
    day = f"{weekday_text(moment.date())}  " if dated else ""
    return f"{outlook.name} {day}{clock_of(outlook.night, outlook.press_s)}"


def _take_lines(tones: Tones, axis_s: FloatArray) -> tuple[Line, ...]:
    sky = tones.sky.limit_stops
    if not np.isfinite(sky).any():
        sky = tones.sky.mean_stops
    seen = {
        "street": np.where(tones.street.frame_share >= LEAST_SHARE, tones.street.stops, np.nan),
        "land": np.where(tones.land.frame_share >= LEAST_SHARE, tones.land.stops, np.nan),
        "sky": sky,
    }
    sigmas = {
        "street": tones.street.sigma_stops,
        "land": tones.land.sigma_stops,
        "sky": tones.sky.sigma_stops,
    }
    lines = []
    for part in PARTS:
        in_frame = np.isfinite(seen[part])
        if in_frame.any():
            kept = _kept(in_frame)
            lines.append(Line(part, axis_s[kept], seen[part][kept], sigmas[part][kept]))
    return tuple(lines)


def _kept(in_frame: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Indices of the frames that are drawn: tones change so evenly that few are enough.

    Where a part comes into the frame or leaves it, both frames are kept.
    """
    count = len(in_frame)
    kept = np.zeros(count, dtype=bool)
    kept[np.linspace(0, count - 1, min(count, _MOST_POINTS)).astype(np.int64)] = True
    turns = np.flatnonzero(np.diff(in_frame))
    kept[turns] = kept[turns + 1] = True
    return np.flatnonzero(kept)


def _failing_frames(outlook: Outlook) -> NDArray[np.bool_]:
    """Frames that break a limit; none while all of them are excused."""
    failing = np.zeros(len(outlook.tones.time_s), dtype=np.bool_)
    if outlook.judgement.slack_stops < 0.0:
        for frames in outlook.judgement.failing.values():
            failing[frames] = True
    return failing


def _stretches(
    failing: NDArray[np.bool_], axis_s: FloatArray, interval_s: float
) -> tuple[tuple[float, float], ...]:
    """Stretches of the axis that failing frames cover, half an interval round each."""
    half_s = interval_s / 2.0
    return tuple(
        (max(axis_s[0], axis_s[run][0] - half_s), min(axis_s[-1], axis_s[run][-1] + half_s))
        for run in runs_of(failing)
    )


def _failing_words(outlook: Outlook) -> str:
    limit = outlook.judgement.limit
    if limit is None:
        return ""
    if limit == "sky_clip":
        burnt = outlook.tones.sky.burnt_share[outlook.judgement.failing[limit]]
        return say("sky burns {share}", share=burnt_text(float(burnt.max())))
    return _FAILING[limit]


def _description(outlook: Outlook, take: Take) -> str:
    tones = (
        f"{part_text(line.part)} {signed_text(line.stops[run.start])}"
        for line in take.lines
        for run in line.runs[:1]
    )
    said = ", ".join(tones)
    when = clock_of(outlook.night, outlook.press_s)
    text = say(
        "Take {name} from {clock}: {tones} stops from mid-grey when it first shows.",
        name=take.name,
        clock=when,
        tones=said,
    )
    return f"{text} {leading(take.failing_words)}." if take.failing_words else text
