"""Findings about the light: what burns, what goes dark, from which frame, and the way out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from core.advice.mending import (
    LIGHT_CODES,
    Bench,
    Trial,
    nearest_exposure,
    outside_night,
    remedy_of,
    setting_text,
)
from core.clocks import span_words
from core.exposure import FloatArray
from core.findings import Finding, Remedy
from core.judge import LIMITS, Limit, frames_with_land_limit, slack_by_limit
from core.language import say
from core.lightwords import frames_sentence, no_start_words
from core.outlook import Outlook
from core.plan import Plan
from core.starts import Starts
from core.tones import LEAST_SHARE
from core.words import burnt_text, clock_text, share_text, short_text

# How much more slack the other way must give to be worth a word.
_MORE_STOPS = 0.2


def light_findings(
    plan: Plan, seen: Outlook, starts: Starts, turned: Starts | None, tried: Trial
) -> Iterator[Finding]:
    """What breaks a limit, or why no start of the night holds.

    `turned` are the starts with the path flown the other way, None where nobody asked;
    `tried` gives the outlook of a changed plan.
    """
    bench = Bench(plan, seen, tried)
    if outside_night(seen):
        yield Finding(
            "stop",
            "outside_night",
            seen.name,
            say("The take runs beyond this night."),
            say("Its light is known from one solar noon to the next; start nearer to the event."),
        )
    by_limit = slack_by_limit(seen.tones, plan.bands, plan.camera.highlight_stops)
    broken = [limit for limit in LIMITS if seen.judgement.failing[limit].size]
    failing = seen.judgement.failing
    broken.sort(key=lambda limit: (limit != seen.judgement.limit, -failing[limit].size))
    if seen.judgement.slack_stops < 0.0:
        remedies = tuple(_remedies(bench, starts))
        for limit in broken:
            fact, since = _says(seen, limit, by_limit[limit])
            yield Finding("stop", limit, seen.name, fact, since, remedies)
            remedies = ()
        if starts.best_s is None:
            yield _no_start(seen, starts)
        least = _MORE_STOPS + max(starts.nearest_slack_stops, 0.0)
        if turned is not None and turned.nearest_slack_stops > least:
            yield from _order_of_framing(bench, turned)
    else:
        for limit in broken:
            fact, since = _says(seen, limit, by_limit[limit])
            yield Finding(
                "note",
                f"excused_{limit}",
                seen.name,
                fact,
                f"{since} {_EXCUSED}",
            )
        yield from _dark_land(plan, seen)


_EXCUSED = say("So few are excused.")
_BROKEN: Mapping[Limit, str] = {
    "street_high": say("Street burns, {by} past its limit."),
    "street_low": say("Street goes dark, {by} past its limit."),
    "land_high": say("Land burns, {by} past its limit."),
    "land_low": say("Land goes dark, {by} past its limit."),
}


def _says(seen: Outlook, limit: Limit, slack: FloatArray) -> tuple[str, str]:
    frames = seen.judgement.failing[limit]
    since = frames_sentence(frames, seen.clip.frames)
    if limit == "lamps":
        return say("The lamps are not on."), since
    if limit == "sky_clip":
        burnt = burnt_text(float(seen.tones.sky.burnt_share[frames].max()))
        return say("Sky burns {share} of the frame.", share=burnt), since
    return _BROKEN[limit].format(by=short_text(float(-slack[frames].min()))), since


def _no_start(seen: Outlook, starts: Starts) -> Finding:
    return Finding("stop", "no_start", seen.name, *no_start_words(seen.night, starts))


def _order_of_framing(bench: Bench, turned: Starts) -> Iterator[Finding]:
    """The glow fades: what looks into it may have to come last, or first."""
    seen = bench.seen
    if turned.earliest_s is None or turned.latest_s is None or turned.best_s is None:
        return
    span = span_words(seen.night, turned.earliest_s, turned.latest_s, "from ")
    clock, minutes = _start_words(seen, turned.best_s)
    values = {
        bench.key("path_reversed"): not seen.shoot.path_reversed,
        bench.key("start_after_event_min"): minutes,
    }
    # Turned at this start it may not hold yet: the best one goes with it.
    remedy = remedy_of(
        bench, LIGHT_CODES, say("Reverse the path, start at {clock}", clock=clock), values
    )
    yield Finding(
        "warn", "order_of_framing", seen.name, say("Flown the other way the path keeps more."),
        say("It holds for starts {span}.", span=span), () if remedy is None else (remedy,),
    )  # fmt: skip


def _dark_land(plan: Plan, seen: Outlook) -> Iterator[Finding]:
    """Land that goes dark after its limit has ended: it may, it is night by then."""
    judged = frames_with_land_limit(seen.clip.frames, plan.bands)
    land = seen.tones.land
    dark = np.flatnonzero(
        (land.frame_share >= LEAST_SHARE) & (land.stops < plan.bands.land.low_stops)
    )
    later = dark[dark >= judged]
    if later.size and later.size == dark.size:
        share = share_text(plan.bands.land.low_share)
        yield Finding(
            "note",
            "land_dark_later",
            seen.name,
            say("Land goes dark from frame {frame}.", frame=later[0] + 1),
            say("It may: the limit is the first {share} of the take.", share=share),
        )


def _remedies(bench: Bench, starts: Starts) -> Iterator[Remedy]:
    """The best start, and the smallest change of one setting that makes this start hold."""
    if starts.best_s is not None:
        clock, minutes = _start_words(bench.seen, starts.best_s)
        label = say("Start {shoot} at {clock}", shoot=bench.seen.name, clock=clock)
        values = {bench.key("start_after_event_min"): minutes}
        start = remedy_of(bench, LIGHT_CODES, label, values)
        if start is not None:
            yield start
    exposure = nearest_exposure(bench.plan, bench.seen)
    if exposure is not None:
        key, value = exposure
        label = setting_text(key, value)
        other = remedy_of(bench, LIGHT_CODES, label, {bench.key(key): value})
        if other is not None:
            yield other


def _start_words(seen: Outlook, start_s: float) -> tuple[str, float]:
    """A start's clock, and its minutes after the event of the night."""
    minutes = (start_s - seen.night.event.time_s) / 60.0
    return clock_text(seen.night.clock(start_s), seconds=True), minutes
