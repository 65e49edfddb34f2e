"""Placing words on the plot: one pass over rectangles, by rank, never over one another."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from core.exposure import FloatArray

#: Ranks, lowest first to go: what does not fit beside the higher ones is left out.
LIMIT, PART, VALUE, FAILING, FLAG = range(5)


class Box(NamedTuple):
    """A rectangle in logical pixels, y downward."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Whether two boxes come nearer than a gap."""
        return (
            self.x < other.right + gap
            and other.x < self.right + gap
            and self.y < other.bottom + gap
            and other.y < self.bottom + gap
        )

    def inside(self, other: Box) -> bool:
        """Whether it lies within another."""
        return (
            self.x >= other.x
            and self.y >= other.y
            and self.right <= other.right
            and self.bottom <= other.bottom
        )


@dataclass(frozen=True, slots=True)
class Wish:
    """A label and the boxes it may stand in, the best first."""

    key: str
    rank: int
    places: Iterable[Box]


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a label stands. `place` counts its wishes; `crossed` asks for a chip below it."""

    box: Box
    place: int
    crossed: bool


def place_labels(
    wishes: Iterable[Wish],
    bounds: Box,
    lines: Sequence[tuple[FloatArray, FloatArray]] = (),
    taken: Sequence[Box] = (),
    gap: float = 2.0,
    inked: Sequence[tuple[FloatArray, FloatArray]] = (),
) -> dict[str, Placed]:
    """Place labels in one pass, the highest rank first, in order within a rank.

    Parameters
    ----------
    bounds
        Where labels may stand.
    lines
        Lines of the plot as (x, y) in pixels, x rising or all the same; NaN parts a line.
    taken
        Boxes that are occupied already.
    inked
        Lines that only values and what ranks higher may stand on.

    Returns
    -------
    dict
        The labels that found room, by key; no two come nearer than `gap`.
    """
    placed: dict[str, Placed] = {}
    occupied = list(taken)
    all_of = [_Course.of(x, y) for x, y in lines if x.size]
    inked_of = [_Course.of(x, y) for x, y in inked if x.size]
    for wish in sorted(wishes, key=lambda wish: -wish.rank):
        for place, box in enumerate(wish.places):
            if not box.inside(bounds) or any(box.overlaps(other, gap) for other in occupied):
                continue
            if wish.rank >= VALUE or not any(course.crosses(box) for course in inked_of):
                crossed = any(course.crosses(box) for course in all_of)
                placed[wish.key] = Placed(box, place, crossed)
                occupied.append(box)
                break
    return placed


class _Course(NamedTuple):
    """A line and the box round it, by which most labels are told to be clear of it."""

    x: FloatArray
    y: FloatArray
    left: float
    right: float
    top: float
    bottom: float

    @classmethod
    def of(cls, x: FloatArray, y: FloatArray) -> _Course:
        """Make one of a line's points; NaN parts a line."""
        top, bottom = np.fmin.reduce(y), np.fmax.reduce(y)
        return cls(x, y, float(x[0]), float(x[-1]), float(top), float(bottom))

    def crosses(self, box: Box) -> bool:
        """Whether the line runs through a box."""
        x, y = self.x, self.y
        if self.right < box.x or self.left > box.right:
            return False
        if not (self.top < box.bottom and self.bottom > box.y):
            return False
        if self.left == self.right:
            return True
        first, last = np.searchsorted(x, (box.x, box.right))
        ends = np.interp((max(box.x, self.left), min(box.right, self.right)), x, y)
        heights = np.concatenate((ends, y[first:last]))
        # What is NaN is never above or below anything.
        return bool(np.any(heights < box.bottom) and np.any(heights > box.y))


def beside(x: float, y: float, size: tuple[float, float], bounds: Box) -> tuple[Box, ...]:
    """Places for a flag at an edge: right of it, left of it, then pushed inside the bounds."""
    width, height = size
    right, left = Box(x, y, width, height), Box(x - width, y, width, height)
    pushed = min(max(x, bounds.x), bounds.right - width)
    return right, left, Box(pushed, y, width, height)


def flag_places(
    edges: Sequence[float], y: float, sizes: Sequence[tuple[float, float]], bounds: Box
) -> tuple[Box | None, ...]:
    """Boxes of the flags at their edges, the first keeping its place.

    A flag stands right of its edge; one that would cover another turns to the other side;
    where neither side has room it stands next to the other. None only where the bounds are
    too narrow for both.
    """
    boxes: list[Box | None] = []
    for edge, size in zip(edges, sizes, strict=True):
        others = [box for box in boxes if box is not None]
        wished = beside(edge, y, size, bounds)
        next_to = [
            Box(x, y, *size)
            for other in others
            for x in (other.right + 2.0, other.x - size[0] - 2.0)
        ]
        free = (
            box
            for box in (*wished, *next_to)
            if box.inside(bounds) and not any(box.overlaps(other) for other in others)
        )
        boxes.append(next(free, None))
    return tuple(boxes)
