"""A reviewed take as plain values for other programs, as a page to read, and frame by frame."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from core import words
from core.edit import PlanError
from core.language import say
from core.pages import joined, title, wrapped
from core.plainvalues import Values, as_csv, figure, iso_time
from core.plan import PARTS, Part
from core.review.figures import Figure
from core.review.result import FrameSeen, TakeReview, Tone
from core.review.stills import Unread
from core.safewrite import file_name, unwritten_text, write_whole

REVIEW_COLUMNS = (
    "file", "index", "time", "exposure_s", "iso", "f_number",
    *(f"{part}_{name}" for part in PARTS for name in ("stops", "sigma_stops")),
    *(f"{part}_expected_{name}" for part in PARTS for name in ("stops", "sigma_stops")),
    "level_stops", "levelled_stops", "clipped_share", "clipped_expected_share", "black_share",
    "drift_right_px", "drift_down_px", "faults",
)  # fmt: skip
_MOST_NAMED = 12
_DIGITS = 4


def review_report(seen: TakeReview, *, kept: bool) -> Values:
    """Return a reviewed take as plain values, ready for JSON.

    Parameters
    ----------
    kept
        Whether the plan's file keeps what it teaches.
    """
    night, timeline = seen.shown.reviewed.seen.night, seen.shown.reviewed.timeline
    return {
        "complete": seen.complete,
        "start": iso_time(night, seen.start_s),
        "frames": [_frame(seen, frame) for frame in seen.frames],
        "missing": list(seen.missing),
        "unreadable": _reasons(seen.unreadable),
        "strangers": _reasons(seen.strangers),
        "changes": [
            {"index": one.index, "name": one.name, "before": one.before, "after": one.after}
            for one in timeline.changes
        ],
        "interval_s": figure(seen.interval_s),
        "clock_error_s": figure(seen.clock_error_s),
        "flicker_stops": figure(seen.flicker_stops),
        "flicker_sigma_stops": figure(seen.flicker_sigma_stops),
        "flicker_after_stops": figure(seen.flicker_after_stops),
        "drift_rms_px": figure(seen.drift_rms_px),
        "crop_percent": figure(seen.crop_percent),
        "pitch_off_deg": figure(seen.shown.reviewed.tilt.pitch_deg),
        "roll_off_deg": figure(seen.shown.reviewed.tilt.roll_deg),
        "lamps_on": iso_time(night, seen.lamps_on_s),
        "lamps_half": iso_time(night, seen.lamps_half_s),
        "learned": [_learned(one) for one in seen.learned],
        "kept": kept,
        "verdict": list(seen.verdict),
        "advice": seen.advice,
    }


def review_rows(seen: TakeReview) -> list[tuple[object, ...]]:
    """Return the frames, one row each, in the order of `REVIEW_COLUMNS`."""
    return [_row(seen, frame) for frame in seen.frames]


def review_page(seen: TakeReview, *, kept: str | None) -> str:
    """Return a reviewed take as a page: what it showed, what it taught, what to do.

    Parameters
    ----------
    kept
        How the plan's file comes to keep what it teaches; None where it does.
    """
    reviewed = seen.shown.reviewed
    start = words.clock_text(reviewed.seen.night.clock(seen.start_s), seconds=True)
    head = [title(reviewed.plan, reviewed.seen), say("Take begun at {start}", start=start)]
    if not seen.complete:
        head.append(say("Stopped before all frames were looked at."))
    advice = (seen.advice, kept) if kept and seen.taught else (seen.advice,)
    told = (_lines(part) for part in (seen.verdict, seen.lesson, advice))
    return joined([head, *told, *files_aside(seen)])


def table_name(plan_name: str, seen: TakeReview) -> str:
    """Name of the table of a take's frames, beside a plan file of a name without its ending."""
    return f"{plan_name}.{seen.shown.reviewed.take.id}.csv"


def write_table(seen: TakeReview, path: Path) -> None:
    """Write the table of a take's frames.

    Raises
    ------
    PlanError
        With one sentence, when it cannot be written.
    """
    try:
        write_whole(path, as_csv(REVIEW_COLUMNS, review_rows(seen)).encode())
    except OSError as refusal:
        raise PlanError(
            say(
                "Nothing was learned, as {file} was not saved: {unwritten}.",
                file=file_name(path),
                unwritten=unwritten_text(refusal),
            )
        ) from None


def _lines(sentences: Iterable[str]) -> list[str]:
    return [line for one in sentences for line in wrapped(one)]


def _reasons(files: Iterable[Unread]) -> list[Values]:
    return [{"file": one.file, "reason": one.reason} for one in files]


def files_aside(seen: TakeReview, most: int = _MOST_NAMED) -> tuple[list[str], list[str]]:
    """Lines on files that could not be read, and on those of no take; of each so many at most."""
    return (
        _files(say("Could not be read"), seen.unreadable, most),
        _files(say("No part of the take"), seen.strangers, most),
    )


def _files(lead: str, files: Sequence[Unread], most: int) -> list[str]:
    if not files:
        return []
    named = [f"  {one.file}: {one.reason}" for one in files[:most]]
    more = len(files) - most
    return [
        f"{lead}: {len(files)}",
        *named,
        *(["  " + say("and {more} more", more=more)] if more > 0 else []),
    ]


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


def _frame(seen: TakeReview, frame: FrameSeen) -> Values:
    return {
        **_head(seen, frame),
        "measured": _tones(frame.measured),
        "predicted": _tones(frame.predicted),
        "clipped_share": figure(frame.clipped_share),
        "black_share": figure(frame.black_share),
        "drift_px": None if frame.drift_px is None else [figure(part) for part in frame.drift_px],
        "faults": [{"name": one.name, "text": one.sentence} for one in frame.faults],
    }


def _head(seen: TakeReview, frame: FrameSeen) -> Values:
    moment = seen.shown.reviewed.seen.night.clock(frame.time_s)
    return {
        "file": frame.file,
        "index": frame.index,
        "time": moment.isoformat(timespec="milliseconds"),
        "exposure_s": figure(frame.exposure_s),
        "iso": figure(frame.iso),
        "f_number": figure(frame.f_number),
    }


def _tones(tones: dict[Part, Tone]) -> Values:
    return {
        part: {"stops": figure(tone.stops), "sigma_stops": figure(tone.sigma_stops)}
        if (tone := tones.get(part))
        else None
        for part in PARTS
    }


def _row(seen: TakeReview, frame: FrameSeen) -> tuple[object, ...]:
    tones = [
        None if tone is None else getattr(tone, name)
        for held in (frame.measured, frame.predicted)
        for tone in map(held.get, PARTS)
        for name in ("stops", "sigma_stops")
    ]
    right, down = frame.drift_px or (None, None)
    shares = (frame.clipped_share, frame.clipped_expected_share, frame.black_share)
    values = (*tones, frame.level_stops, frame.levelled_stops, *shares, right, down)
    faults = " ".join(one.name for one in frame.faults)
    return (*_head(seen, frame).values(), *map(_short, values), faults)


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS) + 0.0
