"""A forecast as a page of text: the verdict, then all of it by subject, and the findings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from core import words
from core.checklist import checklist_of
from core.clocks import clock_cut, moment_clock, span_words
from core.findings import CHECK_RULES, Finding, Severity
from core.flight import Segment
from core.forecast import Forecast
from core.judge import Limit
from core.language import say, say_as, say_count
from core.light import Light
from core.lightwords import LIMIT_WORDS, no_span_reason
from core.measures import length_text
from core.motion import PICTURE_PX, Motion
from core.names import moment_text, part_text, segment_text, subject_text
from core.night import EventName, Night
from core.outlook import Outlook
from core.pages import joined, title, typed_changes, wrapped
from core.plan import PARTS, Plan
from core.report import segments_from_s
from core.startgrid import GridStart
from core.takewords import every_text, locked_texts
from core.verdict import press_text, verdict_of
from core.words import NOTHING, spare_text

_SEVERITY_WORDS: dict[Severity, str] = {
    "stop": say("Problem"),
    "warn": say("Caution"),
    "note": say("Note"),
}
_LOCAL_EVENTS: dict[EventName, str] = {
    "sunset": say("local sunset"),
    "sunrise": say("local sunrise"),
}
_INDENT = "  "
_NAME_WIDTH = 14


def forecast_page(plan: Plan, seen: Forecast) -> str:
    """Return a shoot's forecast as a page to read before the flight."""
    outlook = seen.outlook
    sections = (
        [title(plan, outlook), *_verdict(seen)],
        [say("Moments"), *_moments(outlook.night)],
        [say("Light"), *_light(seen)],
        [say("Clip"), *_clip(outlook)],
        [say("Motion"), *_motion(seen.motion)],
        [say("Flight"), *_flight(outlook)],
        [say("Findings"), *_findings(seen.findings)],
        [say("Before take-off"), *_checklist(plan, outlook)],
    )
    return joined([*sections, [CHECK_RULES]])


def starts_page(plan: Plan, seen: Forecast, grid: Sequence[GridStart]) -> str:
    """Return the listing of a shoot's starts as a page, the good ones marked."""
    night = seen.outlook.night
    head = (
        "", say("start"), say("slack"), say("limit"), say("holds"),
        *(part_text(part) for part in PARTS), say("mixed light"),
    )  # fmt: skip
    rows = [_start_row(night, start) for start in grid]
    notes = say(
        "Slack in stops to the nearest limit; * keeps the light. Holds: the chance, with\n"
        "weather, haze and lamps as unsure as they are. Street, land and sky: share of\n"
        "their frames inside the band; mixed light: share of the take."
    ).splitlines()
    sections = (
        [title(plan, seen.outlook), *wrapped(_span_text(seen))],
        [*_table((head, *rows), "<>><>>>>>"), *notes],
    )
    return joined([*sections, [CHECK_RULES]])


def _verdict(seen: Forecast) -> list[str]:
    return wrapped(verdict_of(seen.outlook, seen.findings, seen.starts).line)


def _moments(night: Night) -> Iterator[str]:
    rows = [
        (
            moment_text(moment.name),
            moment_clock(night, moment),
            say("sun {altitude}", altitude=words.degrees_text(moment.sun_altitude_deg, 1)),
            say("at {bearing}", bearing=words.bearing_text(moment.sun_azimuth_deg)),
        )
        for moment in night.moments
    ]
    yield from _table(rows, "<>>>")
    if night.reason:
        yield from wrapped(night.reason, _INDENT)


def _light(seen: Forecast) -> list[str]:
    night, light = seen.outlook.night, seen.outlook.light
    judged = seen.outlook.judgement
    event = night.event.name
    rows = [
        (say("press"), press_text(seen.outlook)),
        (say("this start"), _slack_text(judged.slack_stops, judged.limit) + _chance_text(seen)),
        (say("good starts"), _span_text(seen)),
        (say("sure starts"), _sure_text(seen)),
        (say("lamps"), _lamps_text(night, light)),
    ]
    if event in _LOCAL_EVENTS:
        rows.append((_LOCAL_EVENTS[event], _clock(night, light.local_sunset_s)))
    return _described(rows)


def _slack_text(slack_stops: float, limit: Limit | None) -> str:
    if limit is None or not math.isfinite(slack_stops):
        return say("nothing in the frame limits it")
    if slack_stops >= 0.0:
        return say(
            "{slack} before {limit}",
            slack=words.slack_text(slack_stops),
            limit=LIMIT_WORDS[limit],
        )
    return say(
        "{limit}, {short} past the limit",
        limit=LIMIT_WORDS[limit],
        short=words.short_text(-slack_stops),
    )


def _span_text(seen: Forecast) -> str:
    night, starts = seen.outlook.night, seen.starts
    if starts.earliest_s is None or starts.latest_s is None:
        return no_span_reason(night, starts) or NOTHING
    best = _clock(night, starts.best_s, seconds=True)
    return say(
        "{span}, best at {best}",
        span=span_words(night, starts.earliest_s, starts.latest_s),
        best=best,
    )


def _sure_text(seen: Forecast) -> str:
    night, starts = seen.outlook.night, seen.starts
    if starts.sure_s is None:
        return say(
            "none (the likeliest holds {chance})",
            chance=words.chance_text(float(starts.p_hold.max())),
        )
    return span_words(night, *starts.sure_s)


def _chance_text(seen: Forecast) -> str:
    chance = seen.starts.chance_at(seen.outlook.press_s)
    return "" if chance is None else say("; holds {chance}", chance=words.chance_text(chance))


def _lamps_text(night: Night, light: Light) -> str:
    if not light.lamp_output.any():
        return say("none switched")
    on, off = light.lamps_on_s, light.lamps_off_s
    first = say("burn already") if on is None else say("on {clock}", clock=_clock(night, on))
    last = say("burn on") if off is None else say("off {clock}", clock=_clock(night, off))
    return f"{first}, {last}"


def _clip(outlook: Outlook) -> list[str]:
    clip, shoot = outlook.clip, outlook.shoot
    settings = locked_texts(shoot)
    frames = words.number_text(clip.frames)
    every = every_text(shoot.interval_s)
    length = words.number_text(clip.clip_length_s)
    rate = words.number_text(shoot.frame_rate_fps)
    shooting = words.duration_text(clip.shooting_s)
    angle = words.degrees_text(clip.shutter_angle_deg)
    return _described(
        [
            (
                say("settings"),
                say("{settings}; {every}", settings=", ".join(settings), every=every),
            ),
            (
                say("frames"),
                say(
                    "{frames} in {shooting} min, {length} s at {rate} fps",
                    frames=frames,
                    shooting=shooting,
                    length=length,
                    rate=rate,
                ),
            ),
            (
                say("motion"),
                say(
                    "{times} times as fast, shutter angle {angle}",
                    times=words.number_text(clip.speed_up),
                    angle=angle,
                ),
            ),
        ]
    )


def _motion(motion: Motion) -> Iterator[str]:
    if motion.moving:
        shift = (say("a frame"), say("smear"))
        head = ("", say("middle"), *shift, say("nearest"), *shift)
        rows = [
            (
                subject_text(moving.name),
                *_shift_texts(moving.distance_m, moving.px_per_frame, moving.smear_px),
                *_shift_texts(moving.near_m, moving.near_px_per_frame, moving.near_smear_px),
            )
            for moving in motion.moving
        ]
        yield from _table((head, *rows), "<>>>>>>")
    turn, passing = motion.turn_px_per_frame, motion.scenery_px_per_frame
    limit = words.number_text(words.cut_down(motion.pan_limit_px, 0.1), 1)
    smear = motion.path_smear_px
    own = say(
        "an exposure {gimbal} by the gimbal, {hover} by the hover; {share} of frames soft",
        gimbal=words.px_text(motion.jitter_px),
        hover=words.px_text(motion.middle_drift_px),
        share=words.share_text(motion.soft_share),
    )
    yield from _described(
        [
            (
                say_as("of the camera", "turn"),
                say(
                    "{turn} a frame at most, the pan rule holds to {limit} px",
                    turn=words.px_text(turn),
                    limit=limit,
                ),
            ),
            (
                say("ground"),
                say(
                    "the nearest passes at {passing} a frame at most",
                    passing=words.px_text(passing),
                ),
            ),
            (say("path's smear"), say("{smear} an exposure at most", smear=words.px_text(smear))),
            (say("craft's own"), own),
            (say("pixels"), say("of a picture {width} wide", width=words.number_text(PICTURE_PX))),
        ]
    )


def _shift_texts(distance_m: float, px_per_frame: float, smear_px: float) -> tuple[str, str, str]:
    distance = length_text(distance_m)
    return distance, words.px_text(px_per_frame), words.px_text(smear_px)


def _flight(outlook: Outlook) -> Iterator[str]:
    flight = outlook.flight
    rows = [
        (
            segment_text(segment.name),
            _segment_clock(outlook, segment),
            words.minutes_text(words.cut_up(segment.minutes, 0.1)),
            say("uses {percent}", percent=words.percent_text(words.cut_up(segment.percent))),
            _left_text(outlook, segment),
        )
        for segment in flight.segments
    ]
    yield from _table(rows, "<>>>>")
    if flight.error is not None:
        yield from wrapped(flight.error, _INDENT)
        return
    if flight.stop_at_percent is None or flight.margin_min is None:
        return
    stop = _by(outlook.night, outlook.latest_stop_s)
    gauge = words.percent_text(flight.stop_at_percent)
    frames = flight.max_frames or 0
    most = say_count(
        "at most {frames} frame",
        "at most {frames} frames",
        frames,
        frames=words.number_text(frames),
    )
    yield from _described(
        [
            (say("stop by"), say("{stop}, when the gauge shows {gauge}", stop=stop, gauge=gauge)),
            (say("landed by"), _by(outlook.night, outlook.land_by_s)),
            (
                say("margin"),
                say("{spare} min, {most}", spare=spare_text(flight.margin_min), most=most),
            ),
        ]
    )


def _left_text(outlook: Outlook, segment: Segment) -> str:
    """The charge that a segment leaves, or when the battery is empty on the way."""
    left, before = segment.charge_after_percent, segment.charge_before_percent
    if left >= 0.0:
        return say("leaves {left}", left=words.percent_text(words.cut_down(left)))
    begins_s = segments_from_s(outlook)
    empty_min = outlook.flight.empty_min
    if before < 0.0 or begins_s is None or empty_min is None:
        return say("empty")
    return say("empty at {clock}", clock=clock_cut(outlook.night, begins_s + 60.0 * empty_min))


def _segment_clock(outlook: Outlook, segment: Segment) -> str:
    """When a segment begins at the latest; the take begins with the press, as it is told."""
    begins_s = segments_from_s(outlook)
    if segment.name == "take" and begins_s is not None:
        return _clock(outlook.night, outlook.press_s, seconds=True)
    return _by(outlook.night, None if begins_s is None else begins_s + 60.0 * segment.starts_min)


def _findings(findings: Sequence[Finding]) -> Iterator[str]:
    if not findings:
        yield _INDENT + say("None.")
    for finding in findings:
        lead = f"{_INDENT}{_SEVERITY_WORDS[finding.severity]:<9}"
        # The closing line of the page is not said twice.
        text = finding.fact if finding.rest == CHECK_RULES else finding.text
        yield from wrapped(text, lead, " " * len(lead))
        for remedy in finding.remedies:
            typed = typed_changes(remedy.values)
            yield from wrapped(f"{remedy.label}: {typed}", " " * len(lead))


def _checklist(plan: Plan, outlook: Outlook) -> Iterator[str]:
    for item in checklist_of(plan, outlook):
        # The closing line of the page is not said twice.
        if item.code != "rules":
            lead = f"{_INDENT}[ ] "
            yield from wrapped(f"{item.fact}: {item.how}", lead, " " * len(lead))


def _start_row(night: Night, start: GridStart) -> tuple[str, ...]:
    finite = math.isfinite(start.slack_stops)
    return (
        "*" if start.slack_stops >= 0.0 else "",
        _clock(night, start.time_s, seconds=True),
        words.signed_text(words.cut_down(start.slack_stops, 0.1)) if finite else NOTHING,
        LIMIT_WORDS[start.limit] if start.limit else NOTHING,
        words.kept_text(start.p_hold),
        *(_share_text(share) for share in start.keepable_share.values()),
        words.share_text(start.mixed_light_share),
    )


def _share_text(share: float | None) -> str:
    return NOTHING if share is None else words.kept_text(share)


def _clock(night: Night, time_s: float | None, *, seconds: bool = False) -> str:
    return NOTHING if time_s is None else words.clock_text(night.clock(time_s), seconds=seconds)


def _by(night: Night, time_s: float | None) -> str:
    """A clock to be kept, cut down to the second."""
    return NOTHING if time_s is None else clock_cut(night, time_s)


def _described(rows: Sequence[tuple[str, str]]) -> list[str]:
    """Lines of a name and what there is to say of it, the second column aligned."""
    lines: list[str] = []
    width = max(_NAME_WIDTH, *(len(name) + 2 for name, _ in rows))
    for name, text in rows:
        lead = f"{_INDENT}{name:<{width}}"
        lines += wrapped(text, lead, " " * len(lead))
    return lines


def _table(rows: Sequence[Sequence[str]], sides: str) -> list[str]:
    """Lines of aligned columns; `sides` has '<' or '>' for each."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return [
        _INDENT
        + "  ".join(f"{cell:{side}{w}}" for cell, side, w in zip(row, sides, widths, strict=True))
        for row in rows
    ]
