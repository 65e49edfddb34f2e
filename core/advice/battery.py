"""Findings about the flight: whether it fits the battery, and what to watch on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from core.advice.flightcautions import caution_text
from core.advice.height import gust_height_m, lower_words, lowered, wind_height_m
from core.advice.mending import FLIGHT_CODES, Bench, Trial, remedy_of
from core.clip import camera_keeps_up
from core.clocks import span_words
from core.edit import with_values
from core.findings import Finding, Remedy, Severity
from core.flightlegs import Unflown
from core.language import say
from core.outlook import Outlook
from core.plan import Plan
from core.scales import CLIP_LENGTHS_S, scale_of, with_setting
from core.starts import Starts
from core.words import battery_short_text, frames_count_text, percent_text, seconds_text

_FULL_PERCENT = 100.0
#: A shorter clip than this is no clip: common practice, no source.
SHORTEST_CLIP_S = CLIP_LENGTHS_S[0]


def battery_findings(plan: Plan, seen: Outlook, starts: Starts, tried: Trial) -> Iterator[Finding]:
    """A flight that cannot be flown or does not fit, then the cautions.

    `tried` gives the outlook of a changed plan.
    """
    bench = Bench(plan, seen, tried)
    flight = seen.flight
    if flight.unflown is not None:
        yield _unflown(bench, flight.unflown)
        return
    if not flight.fits:
        yield _too_long(bench, starts)
    for code in flight.cautions:
        severity: Severity = "note" if code == "auto_return_binds" else "warn"
        fact, rest = caution_text(code, plan, seen)
        found = Finding(severity, code, seen.name, fact, rest)
        if code == "gust_over_limit":
            found = _with(found, lowered(bench, gust_height_m(plan, seen)))
        yield found


def _with(finding: Finding, remedy: Remedy | None) -> Finding:
    return finding if remedy is None else replace(finding, remedies=(remedy,))


def _unflown(bench: Bench, unflown: Unflown) -> Finding:
    """A flight that cannot be flown, with the height or the charge that would do."""
    found = Finding("stop", "flight", bench.seen.name, unflown.fact, unflown.way_out)
    if unflown.leg == "hold":
        height_m = wind_height_m(bench.plan, bench.seen)
        found = replace(found, rest=lower_words(height_m, of_gusts=False))
        return _with(found, lowered(bench, height_m))
    return _with(found, _charged(bench)) if unflown.leg == "charge" else found


def _too_long(bench: Bench, starts: Starts) -> Finding:
    # Both are known of every flight that can be flown.
    seen = bench.seen
    margin, frames = seen.flight.margin_min or 0.0, seen.flight.max_frames or 0
    fact = battery_short_text(margin)
    fit = _fitting(seen, starts, frames)
    remedies = tuple(_remedies(bench))
    if not remedies:
        fit = f"{fit} {_no_way(frames / seen.shoot.frame_rate_fps)}"
    return Finding("stop", "battery", seen.name, fact, fit, remedies)


def _no_way(clip_s: float) -> str:
    if clip_s < SHORTEST_CLIP_S:
        return say("This take does not fit this battery: shorten set-up and wait, or come nearer.")
    return say("No one change fits battery and light both: search the best settings.")


def _fitting(seen: Outlook, starts: Starts, fit: int) -> str:
    frames = seen.clip.frames
    if starts.earliest_s is None or starts.latest_s is None:
        return say(
            "{fit} of {frames} frames fit; the light does not hold either.", fit=fit, frames=frames
        )
    span = span_words(seen.night, starts.earliest_s, starts.latest_s, "from ")
    return say(
        "{fit} of {frames} frames fit; the light alone holds {span}.",
        fit=fit,
        frames=frames,
        span=span,
    )


def _remedies(bench: Bench) -> Iterator[Remedy]:
    """A full battery, as many frames as fit, or all of them at the longest interval that fits."""
    for remedy in (_charged(bench), _fewer_frames(bench, bench.seen), _faster(bench)):
        if remedy is not None:
            yield remedy


def _charged(bench: Bench) -> Remedy | None:
    """A full battery where the charge at take-off is what is missing, with frames that fit."""
    if bench.seen.shoot.battery_start_percent >= _FULL_PERCENT:
        return None
    label = say("Start charge {charge}", charge=percent_text(_FULL_PERCENT))
    values = {bench.key("battery_start_percent"): _FULL_PERCENT}
    whole = remedy_of(bench, FLIGHT_CODES, label, values)
    if whole is not None:
        return whole
    full = bench.tried(with_values(bench.plan, values), bench.seen.name)
    return _fewer_frames(bench, full, label, values)


def _fewer_frames(
    bench: Bench, seen: Outlook, lead: str = "", with_it: Mapping[str, object] | None = None
) -> Remedy | None:
    """As many frames as fit a flight, if they make a clip."""
    frames = seen.flight.max_frames or 0
    length_s = frames / seen.shoot.frame_rate_fps
    if length_s < SHORTEST_CLIP_S or frames >= seen.clip.frames:
        return None
    label = frames_count_text(frames)
    values = {**(with_it or {}), bench.key("clip_length_s"): length_s}
    return remedy_of(bench, FLIGHT_CODES, f"{lead}, {label}" if lead else label, values)


def _faster(bench: Bench) -> Remedy | None:
    """All frames at the longest shorter interval that fits battery, camera and light."""
    plan, seen = bench.plan, bench.seen
    shoot, take_min = seen.shoot, seen.flight.max_take_min or 0.0
    intervals = [
        interval
        for interval in scale_of(plan.camera, "interval_s")
        if interval < shoot.interval_s
        and (seen.clip.frames - 1) * interval / 60.0 <= take_min
        and camera_keeps_up(with_setting(shoot, "interval_s", interval), plan.camera)
    ]
    tried = (
        remedy_of(
            bench,
            FLIGHT_CODES,
            say("Interval {interval}", interval=seconds_text(interval)),
            {bench.key("interval_s"): interval},
        )
        for interval in reversed(intervals)
    )
    return next((remedy for remedy in tried if remedy is not None), None)
