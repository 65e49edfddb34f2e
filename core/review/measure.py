"""What the pixels of a take's frames show, frame by frame, at a reduced scale.

A job is a run of frames that follow one another, the first of which is the key that the
others are followed from: so it can be done in a process of its own, one frame in memory
beside the key.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.review.curve import HIGHLIGHT_STOPS, display_stops
from core.review.departure import STAYED, Departure, departure_px
from core.review.drift import Follow, Followed, followed, spread_out, tiles_of
from core.review.geometry import Lens, Mask, Pose, off_middle
from core.review.match import Grey
from core.review.sameground import (
    BLACK_VALUE,
    BURNT_VALUE,
    CHANNEL_LIGHT,
    Brighter,
    Gained,
    brighter,
    gained,
)
from core.review.stills import StillRefusedError, opened, pixels
from core.safewrite import file_name

#: Tones are counted in bins of a sixteenth of a stop of the scene's light, from black to white,
#: as a usual camera shows it; `BIN_STOPS` is what the display shows of a grey of each.
DARKEST_STOPS, BINS_PER_STOP = -9.0, 16
BINS = int(np.ceil((HIGHLIGHT_STOPS - DARKEST_STOPS) * BINS_PER_STOP))
BIN_STOPS = display_stops(DARKEST_STOPS + (np.arange(BINS) + 0.5) / BINS_PER_STOP, HIGHLIGHT_STOPS)
#: Tones are read from about so many pixels of the reduced picture, evenly spread: plenty.
_PIXELS = 100_000
#: Ground is read from the middle of the picture where there is some, away from the lens's
#: dark corners: within this share of the half diagonal.
_MIDDLE = 0.7
_LEAST_PIXELS = 200

#: A departure is told surely to a 1-sigma of so much of a pixel of the reduced picture.
SURE_PX = 0.1

Counts = NDArray[np.int64]


@dataclass(frozen=True)
class Job:
    """Frames to be looked at: files, planned poses, the sky and the ground in each.

    The first is the key, which another job may look at as its last. Masks are (frame, rows,
    columns) of a coarse grid over the frame of the plan; `half_width` and `half_height` are the
    tangents of half its field.
    """

    paths: tuple[Path, ...]
    poses: tuple[Pose, ...]
    sky: Mask
    ground: Mask
    half_width: float
    half_height: float


@dataclass(frozen=True)
class Look:
    """What one frame shows, counted over the frame of the plan.

    `sky` and `ground` count pixels by their tone on the display (`BIN_STOPS`), `whole` those of the
    whole frame. `burnt_share` has a channel at the top, `black_share` all at the bottom;
    `sky_burnt_share` is of the whole frame too. `departure` is by how much the camera's pose
    departed from the planned one since the job's key frame (`core.review.departure`), None where
    it could not be followed. `brighter` is what each tile of ground gained since the key frame,
    `gained` what all of that ground did. `ground_off_middle` and `sky_off_middle` are the mean
    square of their pixels' distance from the middle of the lens, in half diagonals.
    """

    sky: Counts
    ground: Counts
    whole: Counts
    sky_pixels_share: float
    burnt_share: float
    black_share: float
    sky_burnt_share: float
    departure: Departure | None
    brighter: tuple[Brighter, ...]
    gained: Gained
    ground_off_middle: float
    sky_off_middle: float


@dataclass(frozen=True)
class Unseen:
    """A frame whose pixels cannot be decoded, and why."""

    file: str
    reason: str


def look_at(job: Job) -> list[Look | Unseen]:
    """Look at the frames of a job, one after the other; never fails on a file."""
    looks: list[Look | Unseen] = []
    key: _Seen | None = None
    for path, pose, sky, ground in zip(job.paths, job.poses, job.sky, job.ground, strict=True):
        try:
            with opened(path) as image:
                picture, _ = pixels(image)
        except StillRefusedError as refusal:
            looks.append(Unseen(file_name(path), str(refusal)))
            continue
        picture = in_frame(picture, job.half_width / job.half_height)
        grey = _grey(picture)
        lens = Lens(grey.shape[1], grey.shape[0], job.half_width, job.half_height)
        found: tuple[Followed, ...] = ()
        departure: Departure | None = STAYED
        if key is None or key.grey.shape != grey.shape:
            key_picture, key = picture, _Seen(grey, pose, STAYED)
            last = key
        else:
            found, departure = _departed(grey, ground, lens, pose, key, last)
            if departure is not None:
                last = _Seen(grey, pose, departure)
        looks.append(_look(picture, key_picture, sky, ground, departure, found))
    return looks


@dataclass(frozen=True)
class _Seen:
    """A frame that others are followed from, and its departure since the run's key."""

    grey: Grey
    pose: Pose
    departure: Departure


def _departed(
    grey: Grey, ground: Mask, lens: Lens, pose: Pose, key: _Seen, last: _Seen
) -> tuple[tuple[Followed, ...], Departure | None]:
    """The tiles of a frame found in its key frame, and its departure from there.

    A few tiles tell it as a rule. Where they do so unsurely, as the ground is dark, lamps came on
    since the key frame or the path leaves it behind, all tiles and the last frame are asked too.
    """
    follow = Follow(lens, pose, key.pose)
    tiles = tiles_of(grey, ground, follow)
    start = last.departure.figures
    found, departure = followed(key.grey, grey, follow, spread_out(tiles), start)
    if _sigma_px(lens, pose, departure) < SURE_PX:
        return found, departure
    told = [departure]
    for one in (key,) if last is key else (key, last):
        follow = Follow(lens, pose, one.pose)
        tiles = tiles_of(grey, ground, follow)
        again, step = followed(one.grey, grey, follow, tiles, start - one.departure.figures)
        told.append(step and one.departure + step)
        if one is key and departure is None:
            # Elsewhere the few go on telling the light: of other ground lamps light another share.
            found = again
    return found, min(told, key=lambda one: _sigma_px(lens, pose, one))


def _sigma_px(lens: Lens, pose: Pose, departure: Departure | None) -> float:
    """How surely a departure was matched: what a camera leans is the same whichever key tells."""
    if departure is None:
        return math.inf
    matched = replace(departure, by_lean=STAYED.by_lean)
    return float(departure_px(lens, pose, matched)[1].trace() ** 0.5)


def in_frame(picture: NDArray[np.uint8], aspect: float) -> NDArray[np.uint8]:
    """The middle of a picture that has the plan's aspect, width over height."""
    rows, columns = picture.shape[:2]
    kept_rows, kept_columns = min(rows, round(columns / aspect)), min(columns, round(rows * aspect))
    top, left = (rows - kept_rows) // 2, (columns - kept_columns) // 2
    return picture[top : top + kept_rows, left : left + kept_columns]


def _grey(picture: NDArray[np.uint8]) -> Grey:
    """A picture's brightness as stored, where noise is the same in the dark and the bright."""
    # Whole numbers until here: a fourth of the time that three casts to floats take.
    fourfold = picture[..., 0].astype(np.uint16) + picture[..., 2]
    fourfold += picture[..., 1]
    fourfold += picture[..., 1]
    return np.asarray(np.multiply(fourfold, 0.25, dtype=np.float32))


def _look(
    picture: NDArray[np.uint8],
    key: NDArray[np.uint8],
    sky: Mask,
    ground: Mask,
    departure: Departure | None,
    found: tuple[Followed, ...],
) -> Look:
    every = max(1, round(math.sqrt(picture.shape[0] * picture.shape[1] / _PIXELS)))
    few = picture[every // 2 :: every, every // 2 :: every]
    rows, columns = few.shape[:2]
    bins = _bins(few)
    in_sky, in_ground = (_spread(mask, rows, columns) for mask in (sky, ground))
    off = off_middle(rows, columns)
    middle = in_ground & (off <= _MIDDLE**2)
    if middle.sum() < _LEAST_PIXELS:
        middle = in_ground
    brightest = np.maximum(np.maximum(few[..., 0], few[..., 1]), few[..., 2])
    burnt = brightest >= BURNT_VALUE
    return Look(
        sky=_counted(bins[in_sky]),
        ground=_counted(bins[middle]),
        whole=_counted(bins.ravel()),
        sky_pixels_share=float(in_sky.mean()),
        burnt_share=float(burnt.mean()),
        black_share=float((brightest <= BLACK_VALUE).mean()),
        sky_burnt_share=float((burnt & in_sky).mean()),
        departure=departure,
        brighter=brighter(picture, found),
        gained=gained(picture, key, found),
        ground_off_middle=_mean(off[middle]),
        sky_off_middle=_mean(off[in_sky]),
    )


def _bins(picture: NDArray[np.uint8]) -> NDArray[np.intp]:
    """The bin of each pixel's luminance.

    The camera bends each channel for itself: the red of lamplight is on its shoulder where the
    green is not. So light is found channel by channel, by a usual curve, and summed then.
    """
    light = [CHANNEL_LIGHT[k].take(picture[..., k]) for k in range(3)]
    stops = np.log2(light[0] + light[1] + light[2])
    return np.asarray(
        np.clip(((stops - DARKEST_STOPS) * BINS_PER_STOP).astype(np.intp), 0, BINS - 1)
    )


def _counted(bins: NDArray[np.intp]) -> Counts:
    return np.bincount(bins, minlength=BINS)


def _spread(mask: Mask, rows: int, columns: int) -> Mask:
    """A coarse mask over a finer picture."""
    at_row = (np.arange(rows) * mask.shape[0]) // rows
    at_column = (np.arange(columns) * mask.shape[1]) // columns
    return np.asarray(mask[at_row[:, None], at_column])


def _mean(values: NDArray[np.float32]) -> float:
    return float(values.mean()) if values.size else 0.0
