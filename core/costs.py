"""What a choice of settings costs, in points and in words.

One point is what a stop of ISO costs. The order of the trade-offs is the trade's: clip length
before shutter angle, angle before ISO, ISO before a longer interval, the filter last; the
figures that put it into points are our judgement.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from core.clip import write_left_s, write_verdict
from core.exposure import FloatArray
from core.exposures import Exposures, Take
from core.language import say, say_as, say_count
from core.motion import PICTURE_PX, SMEAR_PX, fastest_turn_px
from core.plan import Camera, Path
from core.preferences import Preferences
from core.takewords import every_text
from core.tradeoff import LEAST_MARGIN_MIN
from core.words import (
    degrees_text,
    f_number_text,
    filter_text,
    iso_text,
    number_text,
    seconds_text,
    shutter_text,
    spare_text,
)

#: A clip shorter than wanted costs this a second, and once more below the least accepted.
SHORT_CLIP_POINTS, TOO_SHORT_CLIP_POINTS = 1.0, 4.0
#: Shutter angles from which traffic flows, and from which sky and skyline do.
FLOWING_DEG, ACCEPTED_DEG = 90.0, 45.0
BELOW_FLOWING_POINTS, BELOW_ACCEPTED_POINTS = 1.0, 2.0
#: A stop of shutter off the wanted one, and a stop beyond the accepted one on top.
SHUTTER_POINTS, BEYOND_SHUTTER_POINTS = 0.5, 1.5
#: A stop of ISO above the wanted one, and a stop beyond the accepted one on top.
ISO_POINTS, BEYOND_ISO_POINTS = 1.0, 1.0
#: A doubling (or halving) of the interval beyond those wanted.
INTERVAL_POINTS = 2.0
#: A pairing that only a trial proves, and one with nothing to spare at all on top.
UNPROVEN_POINTS, NOTHING_SPARE_POINTS = 1.0, 1.0
FILTER_POINTS = 0.5
#: Aperture closed further than this gets softer by diffraction: points a stop.
SHARP_F_NUMBER, DIFFRACTION_POINTS = 8.0, 1.0
#: A take without a margin to speak of.
MARGIN_POINTS = 1.0
#: A pixel of smear by the camera's own turn beyond what reads as smear.
SMEAR_POINTS = 0.25
#: A shutter this much off the wanted one is worth a word, in stops.
NOTED_STOPS = 0.5

# Rounding must not push an angle or a step over its limit.
_NEAR = 1e-6


def costs_of(
    takes: Sequence[Take],
    exposures: Exposures,
    camera: Camera,
    wanted: Preferences,
    turns_px_per_s: Sequence[float],
) -> tuple[FloatArray, ...]:
    """Points that each exposure costs in each take, (rows,) a take.

    Parameters
    ----------
    turns_px_per_s
        How fast the picture turns in each take, see `turn_px_per_s`.
    """
    return tuple(
        take_points(take, wanted) + exposure_points(exposures, take, camera, wanted, turn_px_per_s)
        for take, turn_px_per_s in zip(takes, turns_px_per_s, strict=True)
    )


def turn_px_per_s(path: Path, camera: Camera, take: Take) -> float:
    """How fast the picture turns where the path turns fastest; a single frame stands still."""
    return fastest_turn_px(path, camera) / take.shooting_s if take.frames > 1 else 0.0


def take_points(take: Take, wanted: Preferences) -> float:
    """Points that a take costs whatever its exposure."""
    short_s = max(wanted.clip_length_s - take.clip_length_s, 0.0)
    too_short = take.clip_length_s < wanted.clip_least_s - _NEAR
    off = _doublings_off(take.interval_s, wanted.intervals_wanted_s)
    return (
        SHORT_CLIP_POINTS * short_s
        + TOO_SHORT_CLIP_POINTS * too_short
        + INTERVAL_POINTS * off
        + MARGIN_POINTS * (take.margin_min < LEAST_MARGIN_MIN)
    )


def exposure_points(
    exposures: Exposures, take: Take, camera: Camera, wanted: Preferences, turn_px_per_s: float
) -> FloatArray:
    """Points that each exposure costs in a take, (rows,); infinite where the camera skips."""
    iso_off = np.maximum(np.log2(exposures.iso / wanted.iso_wanted), 0.0)
    iso_beyond = np.maximum(np.log2(exposures.iso / wanted.iso_accepted), 0.0)
    closed = np.maximum(2.0 * np.log2(exposures.f_number / SHARP_F_NUMBER), 0.0)
    by_shutter = {
        s: _shutter_points(float(s), take, camera, wanted, turn_px_per_s)
        for s in np.unique(exposures.shutter_s)
    }
    return np.asarray(
        ISO_POINTS * iso_off
        + BEYOND_ISO_POINTS * iso_beyond
        + DIFFRACTION_POINTS * closed
        + FILTER_POINTS * (exposures.nd_stops > 0.0)
        + np.array([by_shutter[s] for s in exposures.shutter_s])
    )


def cost_words(
    take: Take,
    shutter_s: float,
    iso: float,
    f_number: float,
    nd_stops: float,
    camera: Camera,
    wanted: Preferences,
    turn_px: float,
) -> tuple[str, ...]:
    """What a choice costs, dearest matters first; empty where it is all that was wanted.

    Parameters
    ----------
    turn_px
        Smear by the camera's own turn during one exposure, in pixels of the picture.
    """
    return (
        *_clip_words(take, wanted),
        *_shutter_words(take, shutter_s, wanted),
        *_exposure_words(iso, f_number, nd_stops, wanted),
        *_interval_words(take, shutter_s, camera, wanted),
        *_smear_words(turn_px),
    )


def _clip_words(take: Take, wanted: Preferences) -> Iterator[str]:
    if take.clip_length_s < wanted.clip_length_s - _NEAR:
        length = number_text(take.clip_length_s, 1)
        # One frame more would use up the margin, or leave none.
        spent = take.margin_min - take.interval_s / 60.0 < LEAST_MARGIN_MIN
        why = (
            say("the battery gives no more at {interval}", interval=seconds_text(take.interval_s))
            if take.longest
            else say(
                "more leaves less than {margin} min of battery to spare",
                margin=number_text(LEAST_MARGIN_MIN),
            )
            if spent
            else say("the light changes less in a shorter take")
        )
        yield say(
            "clip {length} s instead of {wanted}: {why}",
            length=length,
            wanted=seconds_text(wanted.clip_length_s),
            why=why,
        )
    if take.margin_min < LEAST_MARGIN_MIN:
        yield say(
            "battery margin {spare} min: press on time and stop on time",
            spare=spare_text(take.margin_min),
        )


def _shutter_words(take: Take, shutter_s: float, wanted: Preferences) -> Iterator[str]:
    angle = _angle_deg(shutter_s, take.interval_s)
    marked, best = shutter_text(shutter_s), shutter_text(wanted.shutter_wanted_s)
    ratio = shutter_s / wanted.shutter_wanted_s
    if np.log2(ratio) <= -NOTED_STOPS:
        yield say(
            "{shutter} instead of {wanted}: traffic smears {share} as far, crisper",
            shutter=marked,
            wanted=best,
            share=_share_word(ratio),
        )
    elif np.log2(ratio) >= NOTED_STOPS:
        times = number_text(round(ratio, 1))
        yield say(
            "{shutter} instead of {wanted}: whatever moves or drifts smears {times} times as far",
            shutter=marked,
            wanted=best,
            times=times,
        )
    if angle < ACCEPTED_DEG - _NEAR:
        yield say(
            "shutter angle {angle}: traffic jumps from frame to frame", angle=degrees_text(angle)
        )
    elif angle < FLOWING_DEG - _NEAR:
        yield say(
            "shutter angle {angle}: enough for sky and skyline, traffic stutters",
            angle=degrees_text(angle),
        )


def _exposure_words(
    iso: float, f_number: float, nd_stops: float, wanted: Preferences
) -> Iterator[str]:
    stops = np.log2(iso / wanted.iso_wanted)
    if stops > _NEAR:
        yield say_count(
            "{iso}: {stops} stop more noise than {wanted}",
            "{iso}: {stops} stops more noise than {wanted}",
            1 if stops < 1.05 else 2,
            iso=iso_text(iso),
            stops=number_text(round(float(stops), 1)),
            wanted=iso_text(wanted.iso_wanted),
        )
    if f_number > SHARP_F_NUMBER + _NEAR:
        yield say("{f_number}: softer by diffraction", f_number=f_number_text(f_number))
    if nd_stops > 0.0:
        yield say(
            "filter {filter}: on before take-off, and it stays on to the end",
            filter=filter_text(nd_stops),
        )


def _interval_words(
    take: Take, shutter_s: float, camera: Camera, wanted: Preferences
) -> Iterator[str]:
    shortest, longest = wanted.intervals_wanted_s
    every = every_text(take.interval_s)
    if take.interval_s > longest + _NEAR:
        times = number_text(round(take.interval_s / longest, 1))
        yield say(
            "{every}: traffic and people race {times} times as fast as at {wanted}",
            every=every,
            times=times,
            wanted=seconds_text(longest),
        )
    elif take.interval_s < shortest - _NEAR:
        yield say(
            "{every}: more frames to store, and traffic slower than at {wanted}",
            every=every,
            wanted=seconds_text(shortest),
        )
    left = write_left_s(shutter_s, take.interval_s, camera.write_time_s)
    if write_verdict(left) == "unproven":
        yield (
            say("the camera has nothing to spare in each interval: shoot 20 frames at home first")
            if left <= 0.0
            else say(
                "the camera has {spare} s to spare in each interval: shoot 20 frames at home first",
                spare=number_text(left, 2),
            )
        )


def _smear_words(turn_px: float) -> Iterator[str]:
    if turn_px > SMEAR_PX:
        yield (
            say(
                "the camera's own turn smears {pixels} px of a {picture} px picture "
                "where it is fastest",
                pixels=number_text(turn_px, 1),
                picture=f"{PICTURE_PX:.0f}",
            )
        )


def _shutter_points(
    shutter_s: float, take: Take, camera: Camera, wanted: Preferences, turn_px_per_s: float
) -> float:
    left = write_left_s(shutter_s, take.interval_s, camera.write_time_s)
    verdict = write_verdict(left)
    if verdict == "skips":
        return float("inf")
    angle = _angle_deg(shutter_s, take.interval_s)
    off = abs(np.log2(shutter_s / wanted.shutter_wanted_s))
    beyond = max(np.log2(wanted.shutter_accepted_s / shutter_s), 0.0)
    return float(
        SHUTTER_POINTS * off
        + BEYOND_SHUTTER_POINTS * beyond
        + BELOW_FLOWING_POINTS * (angle < FLOWING_DEG - _NEAR)
        + BELOW_ACCEPTED_POINTS * (angle < ACCEPTED_DEG - _NEAR)
        + UNPROVEN_POINTS * (verdict == "unproven")
        + NOTHING_SPARE_POINTS * (left < 0.0)
        + SMEAR_POINTS * max(turn_px_per_s * shutter_s - SMEAR_PX, 0.0)
    )


def _angle_deg(shutter_s: float, interval_s: float) -> float:
    return 360.0 * shutter_s / interval_s


def _doublings_off(interval_s: float, wanted_s: tuple[float, float]) -> float:
    shortest, longest = wanted_s
    nearest = min(max(interval_s, shortest), longest)
    return float(abs(np.log2(interval_s / nearest)))


def _share_word(ratio: float) -> str:
    names = {
        2: say_as("as far", "half"),
        3: say_as("as far", "a third"),
        4: say_as("as far", "a quarter"),
        5: say_as("as far", "a fifth"),
        6: say_as("as far", "a sixth"),
        8: say_as("as far", "an eighth"),
    }
    whole = round(1.0 / ratio)
    near = abs(1.0 / ratio - whole) < 0.1 * whole and whole in names
    if near or whole > 8:
        return names.get(whole, f"1/{whole}")
    return say_as("as far", "{ratio} times", ratio=number_text(round(ratio, 1)))
