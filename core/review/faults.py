"""What went wrong in a reviewed take, each beside the frame at which it begins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from core.exposure import FloatArray
from core.findings import Severity
from core.review.estimate import PartSeen
from core.review.learn import Shown
from core.words import number_text, share_text, short_text

#: A part that departs by more than this many of its own 1-sigmas, and so many stops, is a fault.
_SIGMAS, _LEAST_STOPS = 2.0, 0.3
#: Shake that a stabiliser takes out for a few per cent of the picture is none (our judgement).
_CROP_PERCENT = 6.0


@dataclass(frozen=True)
class Fault:
    """A fault: `index` is the place in the take of the frame where it begins, None for all of it.

    `fact` says what and how much, `rest` what it means or what to do.
    """

    index: int | None
    severity: Severity
    fact: str
    rest: str


def faults_of(shown: Shown) -> tuple[Fault, ...]:
    """The faults of a take, problems first, then by where they begin."""
    found = [fault for part in (_burnt, _gaps, _changes, _parts, _shake) for fault in part(shown)]
    ranks = {"stop": 0, "warn": 1, "note": 2}
    return tuple(sorted(found, key=lambda one: (ranks[one.severity], one.index or 0)))


def lead_of(faults: tuple[Fault, ...]) -> str:
    """The most telling fault in a sentence, or that nothing was off."""
    of_light = [fault for fault in faults if fault.fact.startswith(("Burnt", *_PARTS))]
    return (*of_light, *faults)[0].fact if faults else "As expected."


_PARTS = ("Street", "Land", "Sky")


def _burnt(shown: Shown) -> Iterator[Fault]:
    reviewed = shown.reviewed
    allowed = reviewed.plan.bands.sky.clip_area_share
    shares = np.array([np.nan if look is None else look.burnt_share for look in reviewed.looks])
    over = np.flatnonzero(shares > allowed)
    if over.size:
        first = reviewed.frames[int(over[0])].index
        yield Fault(
            first,
            "stop",
            f"Burnt from frame {first + 1} on.",
            f"{share_text(float(np.nanmax(shares)))} of the frame at worst; {share_text(allowed)}"
            " may be.",
        )


def _gaps(shown: Shown) -> Iterator[Fault]:
    """Runs of missing frames, each where it begins."""
    missing = shown.reviewed.timeline.missing
    starts = [k for before, k in pairwise((-2, *missing)) if k != before + 1]
    for first in starts:
        count = next(n for n in range(1, len(missing) + 1) if first + n not in missing)
        one = count == 1
        yield Fault(
            first,
            "warn",
            f"Frame {first + 1} missing."
            if one
            else f"Frames {first + 1} to {first + count} missing.",
            f"The camera skipped {'one interval' if one else f'{count} intervals'}.",
        )


def _changes(shown: Shown) -> Iterator[Fault]:
    names = {"exposure_s": "Shutter", "iso": "ISO", "f_number": "f-number", "size": "Size"}
    for change in shown.reviewed.timeline.changes:
        yield Fault(
            change.index,
            "stop",
            f"{names.get(change.name, 'A setting')} changes at frame {change.index + 1}.",
            "Lock the exposure before the take.",
        )


def _parts(shown: Shown) -> Iterator[Fault]:
    estimated, tones = shown.estimated, shown.reviewed.tones
    for name, seen, expected in (
        ("Street", estimated.street, tones.street.stops),
        ("Land", estimated.land, tones.land.stops),
        ("Sky", estimated.sky, tones.sky.limit_stops),
    ):
        off = off_stops(seen, expected)
        if off is None:
            continue
        stops, sigma = off
        if abs(stops) >= max(_LEAST_STOPS, _SIGMAS * sigma):
            side = "brighter" if stops > 0.0 else "darker"
            yield Fault(
                None,
                "warn",
                f"{name} {short_text(abs(stops))} {side} than expected.",
                f"Measured to ±{number_text(sigma, 1)}; learning from the take moves the next one.",
            )


def off_stops(seen: PartSeen, expected: FloatArray) -> tuple[float, float] | None:
    """By how much a part departs from what was expected, and its 1-sigma; None where unseen."""
    off = seen.stops - expected
    known = np.isfinite(off)
    if not known.any():
        return None
    weight = seen.sigma_stops[known] ** -2.0
    return float(weight @ off[known] / weight.sum()), float(seen.sigma_stops[known].min())


def _shake(shown: Shown) -> Iterator[Fault]:
    crop = shown.steadiness.crop_percent
    if np.isfinite(crop) and crop > _CROP_PERCENT:
        yield Fault(
            None,
            "warn",
            f"Steadying costs {number_text(crop, 1)} % of the frame's side.",
            "Fly lower or in less wind; the picture shakes by"
            f" {number_text(shown.steadiness.rms_px, 1)} px rms.",
        )
