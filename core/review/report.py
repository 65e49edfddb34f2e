"""A reviewed take as plain values for other programs, as a page to read, and frame by frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from core import words
from core.lessonwords import lesson_sentences
from core.pages import joined, title, wrapped
from core.plainvalues import Values, figure, iso_time
from core.review.figures import Figure
from core.review.learn import Shown, Taught
from core.review.timeline import Frame
from core.review.words import figure_sentence, verdict_sentences

REVIEW_COLUMNS = (
    "file", "index", "time", "exposure_s", "iso", "f_number",
    "land_stops", "land_sigma_stops", "land_expected_stops",
    "street_stops", "street_sigma_stops", "street_expected_stops",
    "sky_stops", "sky_sigma_stops", "sky_expected_stops",
    "level_stops", "smooth_stops", "clipped_share", "clipped_expected_share", "black_share",
    "drift_right_px", "drift_down_px",
)  # fmt: skip
_MOST_NAMED = 12


def review_report(shown: Shown, taught: Taught | None, advice: str) -> Values:
    """Return a reviewed take as plain values, ready for JSON."""
    reviewed, timeline = shown.reviewed, shown.reviewed.timeline
    return {
        "complete": reviewed.complete,
        "start": iso_time(reviewed.seen.night, reviewed.seen.press_s),
        "frames": [_frame(shown, k) for k in range(len(reviewed.frames))],
        "missing": list(timeline.missing),
        "unreadable": [{"file": one.file, "reason": one.reason} for one in reviewed.unreadable],
        "strangers": [{"file": one.file, "reason": one.reason} for one in timeline.strangers],
        "changes": [
            {"index": one.index, "name": one.name, "before": one.before, "after": one.after}
            for one in timeline.changes
        ],
        "interval_s": figure(timeline.interval_s),
        "clock_error_s": figure(timeline.clock_error_s),
        "flicker_stops": figure(shown.estimated.flicker_stops),
        "drift_rms_px": figure(shown.steadiness.rms_px),
        "crop_percent": figure(shown.steadiness.crop_percent),
        "contrast": figure(shown.estimated.contrast),
        "lamps_on": None
        if shown.lamps is None
        else iso_time(reviewed.seen.night, shown.lamps.on_s),
        "learned": [_learned(one) for one in taught.figures] if taught else [],
        "verdict": list(verdict_sentences(shown)),
        "advice": advice,
    }


def review_rows(shown: Shown) -> list[tuple[object, ...]]:
    """Return the frames, one row each, in the order of `REVIEW_COLUMNS`."""
    return [_row(shown, k) for k in range(len(shown.reviewed.frames))]


def review_page(shown: Shown, taught: Taught | None, advice: str) -> str:
    """Return a reviewed take as a page: what it showed, what it taught, what to do."""
    reviewed = shown.reviewed
    start = words.clock_text(reviewed.seen.night.clock(reviewed.seen.press_s), seconds=True)
    head = [title(reviewed.plan, reviewed.seen), f"Take begun at {start}"]
    if not reviewed.complete:
        head.append("Stopped before all frames were looked at.")
    verdict = [line for one in verdict_sentences(shown) for line in wrapped(one)]
    learned = [line for one in lesson_lines(taught) for line in wrapped(one)] if taught else []
    aside = _files("Could not be read", reviewed.unreadable)
    others = _files("No part of the take", reviewed.timeline.strangers)
    return joined([head, verdict, learned, wrapped(advice), aside, others])


def lesson_lines(taught: Taught) -> tuple[str, ...]:
    """What a take taught, in sentences: the night's light first, then lamps and camera."""
    own = tuple(figure_sentence(one) for one in taught.figures if one.name in _OF_THINGS)
    return lesson_sentences(taught.lesson) + own


_OF_THINGS = ("highlight_stops", "write_time_s", "lamps_on_lx", "lamps_on_after_event_min")


def _files(lead: str, files: Sequence[object]) -> list[str]:
    if not files:
        return []
    named = [f"  {one.file}: {one.reason}" for one in files[:_MOST_NAMED]]  # type: ignore[attr-defined]
    more = len(files) - _MOST_NAMED
    return [f"{lead}: {len(files)}", *named, *([f"  and {more} more"] if more > 0 else [])]


def _learned(one: Figure) -> Values:
    return {
        "name": one.name,
        "before": figure(one.before),
        "before_sigma": figure(one.before_sigma),
        "after": figure(one.after),
        "after_sigma": figure(one.after_sigma),
        "unit": one.unit,
        "scope": one.scope,
    }


def _frame(shown: Shown, k: int) -> Values:
    reviewed = shown.reviewed
    frame, look = reviewed.frames[k], reviewed.looks[k]
    estimated, tones = shown.estimated, reviewed.tones
    drift = reviewed.departure_px[k]
    return {
        **_head(frame, reviewed.seen.night.clock(frame.time_s).isoformat(timespec="milliseconds")),
        "measured": {
            name: None
            if not np.isfinite(seen.stops[k])
            else {"stops": figure(seen.stops[k]), "sigma_stops": figure(seen.sigma_stops[k])}
            for name, seen in (
                ("land", estimated.land),
                ("street", estimated.street),
                ("sky", estimated.sky),
            )
        },
        "predicted": {
            name: None
            if not np.isfinite(stops[k])
            else {"stops": figure(stops[k]), "sigma_stops": figure(sigma[k])}
            for name, stops, sigma in (
                ("land", tones.land.stops, tones.land.sigma_stops),
                ("street", tones.street.stops, tones.street.sigma_stops),
                ("sky", tones.sky.limit_stops, tones.sky.sigma_stops),
            )
        },
        "clipped_share": None if look is None else figure(look.burnt_share),
        "drift_px": None if not np.isfinite(drift).all() else [figure(part) for part in drift],
    }


def _head(frame: Frame, time: str) -> Values:
    exif = frame.still.exif
    return {
        "file": frame.still.file,
        "index": frame.index,
        "time": time,
        "exposure_s": figure(exif.exposure_s),
        "iso": figure(exif.iso),
        "f_number": figure(exif.f_number),
    }


def _row(shown: Shown, k: int) -> tuple[object, ...]:
    reviewed, estimated = shown.reviewed, shown.estimated
    frame, look, tones = reviewed.frames[k], reviewed.looks[k], reviewed.tones
    time = reviewed.seen.night.clock(frame.time_s).isoformat(timespec="milliseconds")
    values = (
        estimated.land.stops[k], estimated.land.sigma_stops[k], tones.land.stops[k],
        estimated.street.stops[k], estimated.street.sigma_stops[k], tones.street.stops[k],
        estimated.sky.stops[k], estimated.sky.sigma_stops[k], tones.sky.limit_stops[k],
        estimated.level_stops[k], estimated.smooth_stops[k],
        np.nan if look is None else look.burnt_share, tones.clipped_share[k],
        np.nan if look is None else look.black_share, *reviewed.departure_px[k],
    )  # fmt: skip
    return (*_head(frame, time).values(), *(_short(float(value)) for value in values))


def _short(value: float) -> float | None:
    return round(value, 4) + 0.0 if np.isfinite(value) else None
