"""Files that are no stills any more, and mutants of whole ones by the thousand."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import assert_never

import numpy as np

from tests.practice.exif import exif_span, segments, with_exif
from tests.practice.truth import Broken

#: Bytes at which readers of lengths, counts and offsets trip.
_EDGES = np.array([0x00, 0x01, 0x7F, 0x80, 0xD8, 0xD9, 0xDA, 0xE1, 0xFE, 0xFF], dtype=np.uint8)
_MOST_PIXELS = 65500


def broken_file(kind: Broken, whole: bytes, seed: tuple[int, int]) -> bytes:
    """Bytes of a file that passes for a still by its name alone, made from a whole still."""
    rng = np.random.default_rng(seed)
    match kind:
        case "empty":
            return b""
        case "cut":
            # In the middle of the Exif block: neither a time nor a picture is left.
            first, last = exif_span(whole)
            return whole[: (first + last) // 2]
        case "bytes":
            return rng.bytes(4096)
        case "text":
            return b"Battery 2, west of the mole, sun gone behind the ridge.\n" * 20
        case "hostile_exif":
            return with_exif(whole, _hostile_exif())
        case "huge":
            return _with_size(whole, _MOST_PIXELS, _MOST_PIXELS)
        case _:
            assert_never(kind)


def mutants(jpeg: bytes, seed: int, count: int) -> Iterator[bytes]:
    """Mutated copies of a still: half of them anywhere, half within the Exif block."""
    rng = np.random.default_rng(seed)
    first, last = exif_span(jpeg)
    for k in range(count):
        if k % 2 == 0:
            yield _mutated(jpeg, rng)
        else:
            yield with_exif(jpeg, _mutated(jpeg[first:last], rng)[:65000])


def _mutated(data: bytes, rng: np.random.Generator) -> bytes:
    """Some bytes flipped, put to an edge, cut out, doubled or exchanged, a few times over."""
    values = np.frombuffer(data, np.uint8).copy()
    for _ in range(int(rng.integers(1, 5))):
        if not len(values):
            break
        # As often near the head, where the lengths stand, as anywhere.
        reach = len(values) if rng.random() < 0.5 else min(len(values), 400)
        at = int(rng.integers(reach))
        end = min(at + int(2 ** rng.uniform(0.0, 6.0)), len(values))
        match int(rng.integers(6)):
            case 0:
                values[at] ^= np.uint8(1 << rng.integers(8))
            case 1:
                values[at:end] = rng.choice(_EDGES)
            case 2:
                values[at:end] = rng.integers(0, 256, end - at, dtype=np.uint8)
            case 3:
                values = np.delete(values, slice(at, end))
            case 4:
                values = np.insert(values, at, values[at:end])
            case _:
                values = values[: max(at, 1)] if rng.random() < 0.3 else np.roll(values, 1)
    return values.tobytes()


def _with_size(jpeg: bytes, cols: int, rows: int) -> bytes:
    """The still with another size in its frame header: SOF, rows and columns from byte 1 on."""
    for marker, first, _ in segments(jpeg):
        if marker in {b"\xff\xc0", b"\xff\xc1", b"\xff\xc2"}:
            return jpeg[: first + 1] + struct.pack(">HH", rows, cols) + jpeg[first + 5 :]
    raise ValueError("The still has no frame header.")


def _hostile_exif() -> bytes:
    """A directory whose entries claim four thousand million values and that leads to itself."""
    text, pointer, rational = 2, 4, 5
    entries = [
        (0x0132, text, 0xFFFFFFFF, 0xFFFFFFF0),
        (0x8769, pointer, 1, 8),
        (0x8825, pointer, 1, 8),
        (0x829A, rational, 0xFFFFFFFF, 8),
        (0x9003, text, 0x7FFFFFFF, 1),
    ]
    rows = b"".join(struct.pack("<HHII", *entry) for entry in entries)
    return b"II*\x00" + struct.pack("<IH", 8, len(entries)) + rows + struct.pack("<I", 8)
