"""The stills of a folder: what each says of itself, or why it cannot be read.

JPEG and, where LibRaw is installed, DNG (`core.review.raw`). Only the head of a file is read
here. Pixels are decoded by `pixels`, reduced already while they are decoded, and only of files
whose size is within bounds.
"""

from __future__ import annotations

import os
import stat
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from core.edit import PlanError
from core.language import say
from core.review.exif import Exif, exif_of
from core.review.raw import NOT_INSTALLED, Raw, can_be_read, head_of, is_raw, pixels_of
from core.safewrite import file_name, reason_text

#: Beyond these a file is no still of a small camera, and decoding one may fill the memory:
#: a progressive JPEG holds all its coefficients, 2 bytes each.
MOST_PIXELS = 120_000_000
MOST_BYTES = 200_000_000
MOST_FILES = 20_000
#: One decoder is all a file can reach; it opens multi-picture files as well.
_FORMATS = ("JPEG",)
#: Raw stills that nothing here reads.
_RAW = {".raw", ".cr2", ".cr3", ".nef", ".arw", ".raf", ".rw2", ".orf"}
#: Reduced pictures are about so wide: it tells drift to a tenth of a full pixel.
REDUCED_WIDTH_PX = 900
#: What the decoder can reduce by while it decodes.
_SCALES = (8, 4, 2)


@dataclass(frozen=True)
class Still:
    """A file that opens as a still: its name, its size as stored, and what it says of itself."""

    file: str
    width_px: int
    height_px: int
    exif: Exif = field(default_factory=Exif)


@dataclass(frozen=True)
class Unread:
    """A file that is none, and why."""

    file: str
    reason: str


class StillRefusedError(ValueError):
    """A file that cannot be read as a still; the text is the reason."""


def files_of(folder: str | os.PathLike[str]) -> tuple[Path, ...]:
    """The files of a folder by name, without the folders in it.

    Raises
    ------
    PlanError
        When there is no such folder, or nothing in it.
    """
    name = file_name(folder)
    try:
        with os.scandir(folder) as entries:
            paths = sorted(Path(entry.path) for entry in entries if not _is_folder(entry))
    except NotADirectoryError:
        raise PlanError(
            say("{name} is a file; name the folder that holds the stills.", name=name)
        ) from None
    except (OSError, ValueError) as refusal:
        raise PlanError(
            say(
                "The folder {name} cannot be read: {reason}; name the folder that holds "
                "the stills.",
                name=name,
                reason=reason_text(refusal),
            )
        ) from None
    if not paths:
        raise PlanError(
            say("The folder {name} holds no files; name the one that holds the stills.", name=name)
        )
    if len(paths) > MOST_FILES:
        raise PlanError(
            say(
                "The folder {name} holds {files} files, more than {most}; put the "
                "stills of one take into a folder of their own.",
                name=name,
                files=len(paths),
                most=MOST_FILES,
            )
        )
    return tuple(paths)


def read_still(path: Path) -> Still | Unread:
    """What a file says of itself, or why it cannot be read; never fails."""
    name = file_name(path)
    try:
        with opened(path) as image:
            width, height = image.size
            return Still(name, width, height, exif_of(image))
    except StillRefusedError as refusal:
        return Unread(name, str(refusal))


def without_twins(
    read: Iterable[Still | Unread],
) -> tuple[list[Still], list[Unread]]:
    """Stills, and files that are none; a DNG beside a JPEG of its name is the same shot."""
    read = list(read)
    jpegs = {
        Path(one.file).stem: one.file
        for one in read
        if isinstance(one, Still) and not is_raw(Path(one.file))
    }
    stills: list[Still] = []
    others: list[Unread] = []
    for one in read:
        twin = jpegs.get(Path(one.file).stem) if is_raw(Path(one.file)) else None
        if twin is not None:
            others.append(
                Unread(one.file, say("it is the same shot as {file}, which is read", file=twin))
            )
        elif isinstance(one, Still):
            stills.append(one)
        else:
            others.append(one)
    return stills, others


@contextmanager
def opened(path: Path) -> Iterator[Image.Image | Raw]:
    """Open a still whose size is within bounds; only its head has been read.

    Raises
    ------
    StillRefusedError
        With the reason, also for what goes wrong while it is decoded inside the block.
    """
    try:
        _check_file(path)
        with warnings.catch_warnings():
            # What the library warns of is decided here: size below, broken tags in `exif`.
            warnings.simplefilter("ignore")
            if is_raw(path):
                yield _raw(path)
                return
            with Image.open(path, formats=_FORMATS) as image:
                _check_size(image)
                yield image
    except StillRefusedError:
        raise
    except UnidentifiedImageError:
        raise StillRefusedError(_no_image(path)) from None
    except Image.DecompressionBombError:
        raise StillRefusedError(_TOO_LARGE) from None
    except MemoryError:
        raise StillRefusedError(say("the memory does not hold it")) from None
    except OSError as refusal:
        # The library raises OSError without a number for data that end or make no sense.
        known = refusal.errno is not None
        reason = reason_text(refusal) if known else say("the file is damaged or ends too early")
        raise StillRefusedError(reason) from None
    # A mutated file raises whatever its bytes lead to: struct, Syntax, Index and other errors.
    except Exception:  # noqa: BLE001
        raise StillRefusedError(say("the file is damaged")) from None


def pixels(
    image: Image.Image | Raw, width_px: int = REDUCED_WIDTH_PX
) -> tuple[NDArray[np.uint8], int]:
    """Decode a still, reduced to not less than a width, with the factor it was reduced by.

    The sensor's own orientation is kept: drones hold the horizon level, and a frame turned by
    its tag is turned for the eye only.

    Returns
    -------
    tuple
        sRGB (rows, columns, 3) and 1, 2, 4 or 8; of a DNG any even number.
    """
    if isinstance(image, Raw):
        return pixels_of(image, width_px, MOST_PIXELS)
    full = image.size[0]
    scale = next((scale for scale in _SCALES if full // scale >= width_px), 1)
    image.draft("RGB", (full // scale, image.size[1] // scale))
    # Exact: a decoder that does not reduce leaves the size as it was.
    scale = round(full / image.size[0])
    return np.asarray(image.convert("RGB")), scale


_TOO_LARGE = say(
    "it has more than {most_pixels} million pixels", most_pixels=MOST_PIXELS // 1000000
)


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _check_file(path: Path) -> None:
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        # A pipe would never end.
        raise StillRefusedError(say("it is not a file"))
    if status.st_size == 0:
        raise StillRefusedError(say("the file is empty"))
    if status.st_size > MOST_BYTES:
        raise StillRefusedError(
            say("the file has more than {most_bytes} MB", most_bytes=MOST_BYTES // 1000000)
        )


def _raw(path: Path) -> Raw:
    if not can_be_read():
        raise StillRefusedError(NOT_INSTALLED)
    raw = head_of(path)
    _check_size(raw)
    return raw


def _check_size(image: Image.Image | Raw) -> None:
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise StillRefusedError(_TOO_LARGE)
    if min(width, height) < 16:
        raise StillRefusedError(
            say("it has {width} × {height} pixels, too few to measure", width=width, height=height)
        )


def _no_image(path: Path) -> str:
    if path.suffix.lower() in _RAW:
        return say("it is raw; save it as JPEG, or let the camera keep both")
    return say("it is no JPEG")
