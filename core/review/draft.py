"""A draft of the clip: deflickered, levelled, steadied, cropped, 1080 lines.

Frames are made one at a time, so memory does not grow with the take. With the optional
video extra they go into an MP4; without it into the numbered JPEGs of a folder.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from core.edit import PlanError
from core.exposure import FloatArray
from core.language import say
from core.path import half_field_tangents
from core.review.learn import Shown
from core.review.level import levelled_codes
from core.review.measure import in_frame
from core.review.review import Cancelled, Progress
from core.review.stills import StillRefusedError, opened, pixels
from core.safewrite import file_name, unwritten_text

WIDTH_PX, HEIGHT_PX = 1920, 1080
#: Quality of the draft: x264's rate factor and preset (measured in flight.md), and the JPEGs'.
_VIDEO = {"crf": "20", "preset": "veryfast"}
_JPEG_QUALITY = 90
#: Rec. ITU-R BT.709, as Rec. ITU-T H.273 numbers its primaries, transfer and matrix.
_BT_709 = 1

Picture = NDArray[np.uint8]


class _CancelledError(Exception):
    """The clip is wanted no more."""


def video_library() -> ModuleType | None:
    """The optional library that writes MP4, None where it is not installed."""
    try:
        import av
    except ImportError:
        return None
    module: ModuleType = av
    return module


def clip_place(target: Path) -> Path:
    """Where a clip of a name comes to lie: an MP4, or without the video extra a folder.

    Raises
    ------
    PlanError
        When the name is no MP4's, or something lies there already.
    """
    if target.suffix.lower() != ".mp4":
        raise PlanError(
            say(
                "The clip is {file}; a name that ends in .mp4 was expected.", file=file_name(target)
            )
        )
    place = target if video_library() is not None else target.with_suffix("")
    if place.exists():
        raise PlanError(
            say("{file} is there already and stays; give another name.", file=file_name(place))
        )
    return place


def write_clip(
    shown: Shown,
    target: Path,
    *,
    progress: Progress = lambda _done, _of: None,
    cancelled: Cancelled = lambda: False,
) -> Path | None:
    """Write the draft of a reviewed take at the plan's frame rate, and return where it lies.

    An MP4 where the optional library is there, else a folder of JPEGs beside it, named
    without the ending. It comes to its name once it is whole: None, and nothing left, where it
    was cancelled. Frames that are missing or cannot be read are left out.

    Parameters
    ----------
    progress
        Told how many frames of how many are done; `cancelled` is asked before each.

    Raises
    ------
    PlanError
        When nothing was measured, or the target is there already or cannot be written.
    """
    library, place = video_library(), clip_place(target)
    if not any(shown.reviewed.looks):
        raise PlanError(say("No frame of the take could be read; there is nothing to play."))
    pictures = _pictures(shown, progress, cancelled)
    try:
        # In a folder of its own beside the place: nothing that lies there is ever touched.
        with TemporaryDirectory(
            prefix=f"{place.stem}.", suffix=".unfinished", dir=place.parent
        ) as own:
            part = Path(own) / place.name
            if library is None:
                _write_pictures(pictures, part)
            else:
                _write_video(library, pictures, shown.reviewed.seen.shoot.frame_rate_fps, part)
            part.rename(clip_place(target))
    except _CancelledError:
        return None
    except OSError as refusal:
        raise PlanError(
            say(
                "{file} was not written: {unwritten}.",
                file=file_name(place),
                unwritten=unwritten_text(refusal),
            )
        ) from None
    return place


def _pictures(shown: Shown, progress: Progress, cancelled: Cancelled) -> Iterator[Picture]:
    """The frames of the clip, one after the other."""
    reviewed, estimated = shown.reviewed, shown.estimated
    highlight, count = reviewed.plan.camera.highlight_stops, len(reviewed.frames)
    crop = np.nan_to_num(shown.steadiness.crop_percent) / 100.0
    across, down = half_field_tangents(reviewed.plan.camera)
    make = _maker(across / down, float(crop))
    shake = np.nan_to_num(shown.steadiness.shake_px)
    for k, frame in enumerate(reviewed.frames):
        if cancelled():
            raise _CancelledError
        codes = levelled_codes(float(estimated.gain_stops[k]), highlight, estimated.contrast)
        with suppress(StillRefusedError):
            yield make(reviewed.folder / frame.still.file, codes, shake[k])
        progress(k + 1, count)


def _maker(aspect: float, crop: float) -> Callable[[Path, Picture, FloatArray], Picture]:
    """What makes a frame of the clip: levelled, shifted, cut to 16:9 and to size."""

    def made(path: Path, codes: Picture, shake_px: FloatArray) -> Picture:
        with opened(path) as image:
            rgb, scale = pixels(image, math.ceil(WIDTH_PX / (1.0 - crop)))
        rgb = in_frame(rgb, aspect)
        rows, cols = rgb.shape[:2]
        width = min(cols, rows * WIDTH_PX / HEIGHT_PX) * (1.0 - crop)
        height = width * HEIGHT_PX / WIDTH_PX
        left = (cols - width) / 2.0 + float(shake_px[0]) / scale
        top = (rows - height) / 2.0 + float(shake_px[1]) / scale
        left, top = min(max(left, 0.0), cols - width), min(max(top, 0.0), rows - height)
        cut = Image.fromarray(codes[rgb]).resize(
            (WIDTH_PX, HEIGHT_PX),
            Image.Resampling.BICUBIC,
            box=(left, top, left + width, top + height),
        )
        return np.asarray(cut)

    return made


def _write_pictures(pictures: Iterator[Picture], folder: Path) -> None:
    folder.mkdir()
    for k, picture in enumerate(pictures, start=1):
        Image.fromarray(picture).save(folder / f"{k:05d}.jpg", quality=_JPEG_QUALITY)


def _write_video(
    library: ModuleType, pictures: Iterator[Picture], rate_fps: float, path: Path
) -> None:
    rate = Fraction(rate_fps).limit_denominator(1001)
    with library.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=rate, options=_VIDEO)
        stream.width, stream.height, stream.pix_fmt = WIDTH_PX, HEIGHT_PX, "yuv420p"
        coding = stream.codec_context
        coding.color_primaries = coding.color_trc = coding.colorspace = _BT_709
        for picture in pictures:
            frame = library.VideoFrame.from_ndarray(picture, format="rgb24")
            frame = frame.reformat(format="yuv420p", dst_colorspace=_BT_709)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
