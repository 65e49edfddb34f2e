"""Findings about the light: what burns, what goes dark, from which frame, and the way out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from core.clip import camera_keeps_up
from core.exposure import FloatArray
from core.findings import Finding, Remedy
from core.judge import LIMITS, Limit, frames_with_land_limit, raised_slack_stops, slack_by_limit
from core.outlook import Outlook
from core.plan import Plan
from core.scales import EXPOSURE_KEYS, ExposureKey, scale_of, with_setting
from core.starts import Starts
from core.tones import mid_log2
from core.words import (
    clock_text,
    f_number_text,
    filter_text,
    iso_text,
    share_text,
    short_text,
    shutter_text,
)  # fmt: skip

#: What a limit means, in a word or two: 'the sky burns', 'the street goes dark'.
LIMIT_WORDS: dict[Limit, str] = {
    "street_high": "the street burns",
    "street_low": "the street goes dark",
    "land_high": "the land burns",
    "land_low": "the land goes dark",
    "sky_clip": "the sky burns",
    "lamps": "the lamps are not on",
}


# How much more slack the other way must give to be worth a word.
_MORE_STOPS = 0.2


def light_findings(
    plan: Plan, seen: Outlook, starts: Starts, turned: Starts | None
) -> Iterator[Finding]:
    """What breaks a limit, or why no start of the night holds.

    `turned` are the starts with the path flown the other way, None where nobody asked.
    """
    if seen.press_s < seen.light.time_s[0] or seen.last_frame_s > seen.light.time_s[-1]:
        yield Finding(
            "stop", "outside_night", seen.name, "The take runs beyond this night.",
            "Its light is known from one solar noon to the next; start nearer to the event.",
        )  # fmt: skip
    by_limit = slack_by_limit(seen.tones, plan.bands, plan.camera.highlight_stops)
    broken = [limit for limit in LIMITS if seen.judgement.failing[limit].size]
    broken.sort(key=lambda limit: limit != seen.judgement.limit)
    if seen.judgement.slack_stops < 0.0:
        remedies = tuple(_remedies(plan, seen, starts))
        for limit in broken:
            fact, since = _says(seen, limit, by_limit[limit])
            yield Finding("stop", limit, seen.name, fact, since, remedies)
            remedies = ()
        if starts.best_s is None:
            yield _no_start(seen, starts)
        if turned is not None and turned.nearest_slack_stops > _MORE_STOPS + max(
            starts.nearest_slack_stops, 0.0
        ):
            yield _order_of_framing(seen, turned)
    else:
        for limit in broken:
            fact, since = _says(seen, limit, by_limit[limit])
            yield Finding(
                "note", f"excused_{limit}", seen.name, fact, f"{since} So few are excused."
            )
        yield from _dark_land(plan, seen)


def frames_text(frames: NDArray[np.int64], count: int) -> str:
    """Which frames, counted from 1: 'from frame 180 on', 'in the first 34 frames'."""
    first, last = int(frames[0]) + 1, int(frames[-1]) + 1
    if first == 1 and last == count:
        return "in every frame"
    if first == 1:
        return f"up to frame {last}"
    if first == last < count:
        return f"in frame {first}"
    return f"from frame {first} on" if last == count else f"from frame {first} to {last}"


def _says(seen: Outlook, limit: Limit, slack: FloatArray) -> tuple[str, str]:
    frames = seen.judgement.failing[limit]
    where = frames_text(frames, seen.clip.frames)
    since = f"{where[0].upper()}{where[1:]}."
    if limit == "lamps":
        return "The lamps are not on.", since
    if limit == "sky_clip":
        burnt = share_text(float(seen.tones.clipped_share[frames].max()))
        return f"Sky burns {burnt} of the frame.", since
    part, side = limit.split("_")
    by = short_text(float(-slack[frames].min()))
    if side == "high":
        return f"{part.capitalize()} burns, {by} past its limit.", since
    return f"{part.capitalize()} goes dark, {by} past its limit.", since


def _no_start(seen: Outlook, starts: Starts) -> Finding:
    clock = clock_text(seen.night.clock(starts.nearest_s))
    lacks = short_text(-starts.nearest_slack_stops)
    limit = starts.limit_at(starts.nearest_s)
    reason = f"There {LIMIT_WORDS[limit]} first." if limit else ""
    return Finding(
        "stop", "no_start", seen.name, "No start of this night holds at these settings.",
        f"The nearest, {clock}, lacks {lacks}. {reason}".strip(),
    )  # fmt: skip


def _order_of_framing(seen: Outlook, turned: Starts) -> Finding:
    """The glow fades: what looks into it may have to come last, or first."""
    first, last = (
        clock_text(seen.night.clock(edge or turned.nearest_s))
        for edge in (turned.earliest_s, turned.latest_s)
    )
    remedy = Remedy(
        "Reverse the path",
        ((f"shoots.{seen.name}.path_reversed", not seen.shoot.path_reversed),),
    )
    return Finding(
        "warn", "order_of_framing", seen.name, "Flown the other way the path keeps more.",
        f"It holds for starts from {first} to {last}.", (remedy,),
    )  # fmt: skip


def _dark_land(plan: Plan, seen: Outlook) -> Iterator[Finding]:
    """Land that goes dark after its limit has ended: it may, it is night by then."""
    judged = frames_with_land_limit(seen.clip.frames, plan.bands)
    dark = np.flatnonzero(seen.tones.land.stops < plan.bands.land.low_stops)
    later = dark[dark >= judged]
    if later.size and later.size == dark.size:
        share = share_text(plan.bands.land.low_share)
        yield Finding(
            "note", "land_dark_later", seen.name, f"Land goes dark from frame {later[0] + 1}.",
            f"It may: the limit is the first {share} of the take.",
        )  # fmt: skip


def _remedies(plan: Plan, seen: Outlook, starts: Starts) -> Iterator[Remedy]:
    if starts.best_s is not None:
        clock = clock_text(seen.night.clock(starts.best_s), seconds=True)
        minutes = (starts.best_s - seen.night.event.time_s) / 60.0
        yield Remedy(
            f"Start {seen.name} at {clock}",
            ((f"shoots.{seen.name}.start_after_event_min", minutes),),
        )
    exposure = _nearest_exposure(plan, seen)
    if exposure is not None:
        key, value = exposure
        yield Remedy(setting_text(key, value), ((f"shoots.{seen.name}.{key}", value),))


def setting_text(key: ExposureKey, value: float) -> str:
    """A setting with its name, as it stands on a button."""
    if key == "shutter_s":
        return f"Shutter {shutter_text(value)}"
    if key == "nd_stops":
        return "No filter" if value == 0.0 else f"Filter {filter_text(value)}"
    return iso_text(value) if key == "iso" else f_number_text(value)


def _nearest_exposure(plan: Plan, seen: Outlook) -> tuple[ExposureKey, float] | None:
    """The smallest change of one exposure setting that makes this start hold."""
    choices = [
        (key, value, with_setting(seen.shoot, key, value))
        for key in EXPOSURE_KEYS
        for value in scale_of(plan.camera, key)
    ]
    rises = [seen.mid - mid_log2(shoot) for _, _, shoot in choices]
    slack = raised_slack_stops(seen.tones, plan.bands, plan.camera.highlight_stops, rises)
    held = [
        (abs(rise), key, value)
        for (key, value, shoot), rise, stops in zip(choices, rises, slack, strict=True)
        if stops >= 0.0 and camera_keeps_up(shoot, plan.camera)
    ]
    return min(held, key=lambda choice: choice[0])[1:] if held else None
