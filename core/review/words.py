"""A reviewed take in the pilot's words: what was right, what was off, since which frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from core.language import say, say_count
from core.lessonwords import lesson_sentences
from core.review.estimate import mean_off
from core.review.faults import Fault
from core.review.figures import MOST_HELD_UP, Figure
from core.review.learn import Shown, Taught, sky_is_ground
from core.review.tilt import tilt_sentences
from core.review.timeline import CLOCK_TOLERANCE_S
from core.words import (
    clock_text,
    duration_text,
    frames_count_text,
    listed,
    number_text,
    percent_text,
    stops_text,
)

#: Flicker below is not seen, and above wants to be taken out, in stops (our judgement, from
#: Weber's 1 to 2 % of luminance).
UNSEEN_FLICKER_STOPS, STRONG_FLICKER_STOPS = 0.02, 0.05
#: An interval so near the planned one is as planned.
_SAME_INTERVAL_SHARE = 0.01
_SAME_STOPS = 0.15
_MOST_NAMED, _MOST_FAULTS = 6, 5
#: Faults of single frames, which the figures of gaps, flicker and shake stand for.
_TOLD_BY_FIGURE = ("gap", "flash", "leap")


def verdict_sentences(shown: Shown, faults: Sequence[Fault]) -> tuple[str, ...]:
    """What a take showed: how it ran, what went wrong since when, then its tones."""
    ran, showed = (
        tuple(sentence for part in parts for sentence in part(shown))
        for parts in (
            (_gaps, _interval, _tilt, _assumed, _clock),
            (_tones, _horizon, _flicker, _drift, _lamps),
        )
    )
    wrong = tuple(fault.sentence for fault in faults if fault.name not in _TOLD_BY_FIGURE)
    return (*ran, *wrong[:_MOST_FAULTS], *showed)


def lesson_lines(taught: Taught) -> tuple[str, ...]:
    """What a take taught, in sentences: the night's light first, then lamps and camera."""
    own = tuple(_figure_sentence(one) for one in taught.figures if one.name in _NAMES)
    return lesson_sentences(taught.lesson) + own


def _figure_sentence(figure: Figure) -> str:
    """A figure of camera or lamps that a take taught, before and after."""
    name, unit = _NAMES[figure.name], _UNITS.get(figure.unit, figure.unit)
    digits = figure.digits
    after = (
        f"{number_text(figure.after, digits)} {unit}, ±{number_text(figure.after_sigma, digits)}"
    )
    was = number_text(figure.before, digits)
    if figure.before_sigma is not None:
        was += f" ±{number_text(figure.before_sigma, digits)}"
    return say("{name} {after} (was {was}); that stays.", name=name, after=after, was=was)


_UNITS = {
    "stops": say("stops"),
    "min": say("min after sunset"),
    "times": say("times the power reckoned"),
}
_NAMES = {
    "highlight_stops": say("The camera burns out at"),
    "write_time_s": say("The camera stores a still in"),
    "practice_factor": say("The craft draws"),
    "lamps_on_lx": say("The lamps come on at"),
    "lamps_on_after_event_min": say("The lamps come on"),
}


def clip_sentence(shown: Shown) -> str:
    """What the draft of the clip is made of, and what was taken out of it."""
    seen, flicker = sum(look is not None for look in shown.reviewed.looks), shown.estimated.flicker
    crop = shown.steadiness.crop_percent
    told = [frames_count_text(seen)]
    if np.isfinite(flicker.rms_stops):
        told.append(
            say("flicker of {stops} stop levelled", stops=number_text(flicker.rms_stops, 3))
        )
    if np.isfinite(crop):
        told.append(say("{share} of the side cropped to steady it", share=percent_text(crop, 1)))
    return f"{', '.join(told)}."


def _gaps(shown: Shown) -> Iterator[str]:
    timeline = shown.reviewed.timeline
    have, missing = len(timeline.frames), len(timeline.missing)
    if not missing:
        yield say("{have} frames, none missing between the first and the last.", have=have)
        return
    named = tuple(str(k + 1) for k in timeline.missing[:_MOST_NAMED])
    more = missing - _MOST_NAMED
    places = (
        say("{places} and {more} more", places=", ".join(named), more=more)
        if more > 0
        else listed(named, "and")
    )
    yield say_count(
        "{have} frames; {count} frame missing between the first and the last: {places}.",
        "{have} frames; {count} frames missing between the first and the last: {places}.",
        missing,
        have=have,
        places=places,
    )


def _tilt(shown: Shown) -> Iterator[str]:
    yield from tilt_sentences(shown.reviewed.tilt)


def _interval(shown: Shown) -> Iterator[str]:
    found_s = shown.reviewed.timeline.interval_s
    planned_s = shown.reviewed.seen.shoot.interval_s
    if found_s > MOST_HELD_UP * planned_s:
        yield say(
            "The interval was {found} s, planned {planned} s: too long for a camera that is "
            "slow to store, so no write time is learned; see that the stills are of this shoot.",
            found=number_text(found_s, 2),
            planned=number_text(planned_s),
        )
    elif abs(found_s / planned_s - 1.0) > _SAME_INTERVAL_SHARE:
        yield (
            say(
                "The interval was {found} s, planned {planned} s: see that shutter and "
                "write time fit in it.",
                found=number_text(found_s, 2),
                planned=number_text(planned_s),
            )
        )


def _clock(shown: Shown) -> Iterator[str]:
    error_s = shown.reviewed.timeline.clock_error_s
    if error_s is not None and abs(error_s) > CLOCK_TOLERANCE_S:
        by = _seconds_text(abs(error_s))
        yield (
            say(
                "The camera's clock is {by} ahead of satellite time; the frames are taken "
                "by satellite time.",
                by=by,
            )
            if error_s > 0.0
            else say(
                "The camera's clock is {by} behind satellite time; the frames are taken "
                "by satellite time.",
                by=by,
            )
        )


def _assumed(shown: Shown) -> Iterator[str]:
    """That the stills do not tell their zone, and which was taken."""
    timeline, place = shown.reviewed.timeline, shown.reviewed.plan.place
    if not timeline.offset_told:
        yield say(
            "The stills do not say in which zone the camera's clock was set; it was taken to "
            "show the time of {zone}.",
            zone=place.time_zone,
        )


def _seconds_text(value_s: float) -> str:
    """Seconds, from two minutes on with their minutes."""
    return f"{number_text(value_s, 0)} s" if value_s < 120.0 else duration_text(value_s)


def _tones(shown: Shown) -> Iterator[str]:
    for words, _off in _offs(shown):
        yield words


def _offs(shown: Shown) -> Iterator[tuple[str, tuple[float, float]]]:
    """Each part that was seen: its departure in a sentence, and as a figure with its 1-sigma."""
    tones, estimated = shown.reviewed.tones, shown.estimated
    for name, seen, expected in (
        (say("Land"), estimated.land, tones.land.stops),
        (say("Street"), estimated.street, tones.street.stops),
        (say("Sky"), estimated.sky, tones.sky.limit_stops),
    ):
        off = mean_off(seen, expected)
        if off is None:
            continue
        stops, doubt = off
        if abs(stops) < _SAME_STOPS:
            yield (
                say("{part} as expected, ±{doubt} stop.", part=name, doubt=number_text(doubt, 1)),
                off,
            )
        else:
            yield _off_text(name, stops, doubt), off


def _off_text(part: str, stops: float, doubt: float) -> str:
    values = {
        "part": part,
        "stops": stops_text(number_text(abs(stops), 1), stops),
        "doubt": number_text(doubt, 1),
    }
    if stops > 0.0:
        return say("{part} {stops} brighter than expected, ±{doubt}.", **values)
    return say("{part} {stops} darker than expected, ±{doubt}.", **values)


def _horizon(shown: Shown) -> Iterator[str]:
    """That what was read as sky is ground, and how the sky is found."""
    if sky_is_ground(shown):
        yield say(
            "Ground may have been read as sky, of which nothing is learned: lay the horizon on the "
            "edge of the sky in the window, or give --pitch."
        )


def lead_sentence(shown: Shown) -> str:
    """By how much the light was off at most, in a sentence."""
    told = [(abs(off[0]), words) for words, off in _offs(shown)]
    if not told:
        return say("The light could not be measured.")
    most, words = max(told)
    return words if most >= _SAME_STOPS else say("The light was as expected.")


def _flicker(shown: Shown) -> Iterator[str]:
    stops = shown.estimated.flicker.rms_stops
    if not np.isfinite(stops):
        return
    told = number_text(stops, 3)
    if stops < UNSEEN_FLICKER_STOPS:
        yield say("Flicker {stops} stop rms, too little to be seen.", stops=told)
    elif stops < STRONG_FLICKER_STOPS:
        yield say("Flicker {stops} stop rms, to be seen in an even sky.", stops=told)
    else:
        yield say("Flicker {stops} stop rms: level the frames before they are played.", stops=told)


def _drift(shown: Shown) -> Iterator[str]:
    steady = shown.steadiness
    if np.isfinite(steady.rms_px):
        yield (
            say(
                "Shake {pixels} px rms about the path; steadying it costs {share} of the "
                "frame's side.",
                pixels=number_text(steady.rms_px, 1),
                share=percent_text(steady.crop_percent, 1),
            )
        )


def _lamps(shown: Shown) -> Iterator[str]:
    if shown.estimated.lamps is None:
        return
    night = shown.reviewed.seen.night
    clock = clock_text(night.clock(shown.estimated.lamps.on_s), seconds=True)
    expected_s = shown.reviewed.seen.light.lamps_on_s
    if expected_s is None:
        yield say("The lamps came on at {clock}.", clock=clock)
        return
    late_s = shown.estimated.lamps.on_s - expected_s
    by = _seconds_text(abs(late_s))
    yield (
        say("The lamps came on at {clock}, {by} later than expected.", clock=clock, by=by)
        if late_s > 0.0
        else say("The lamps came on at {clock}, {by} earlier than expected.", clock=clock, by=by)
    )
