"""What the tracks show, as ready arrays and words: pure functions of the forecasts.

A track compares its new picture with the one on the screen and repaints only if they
differ. Places along the clock are seconds on the sheet's axis.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass

import numpy as np

from app.sheet.clock import Axis
from core.night import Night
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.starts import Starts
from core.words import clock_text


@dataclass(frozen=True)
class View:
    """All that the sheet shows: the plan, both outlooks, the active shoot and its starts."""

    plan: Plan
    active: ShootName
    outlooks: Mapping[ShootName, Outlook]
    starts: Starts | None

    @property
    def outlook(self) -> Outlook:
        """The active shoot's outlook."""
        return self.outlooks[self.active]

    @property
    def other(self) -> ShootName:
        """The shoot that is not active."""
        return "B" if self.active == "A" else "A"


@dataclass(frozen=True)
class Edges:
    """First and last frame of a shoot's take, in seconds on the axis."""

    name: ShootName
    first_s: float
    last_s: float


def edges_of(view: View, axis: Axis) -> tuple[Edges, Edges]:
    """Edges of both takes, the active one last so that it is painted over the other."""
    other, active = (
        Edges(name, axis.of(one.press_s, name), axis.of(one.last_frame_s, name))
        for name, one in ((name, view.outlooks[name]) for name in (view.other, view.active))
    )
    return other, active


_NAMES: dict[type, tuple[str, ...]] = {}


def _fields(kind: type) -> tuple[str, ...]:
    """Names of a dataclass's fields; none for any other type."""
    if kind not in _NAMES:
        found = fields(kind) if is_dataclass(kind) else ()
        _NAMES[kind] = tuple(field.name for field in found)
    return _NAMES[kind]


def same(one: object, other: object) -> bool:
    """Whether two pictures show the same, arrays and all."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return np.array_equal(one, other, equal_nan=True)
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    names = _fields(type(one))
    if names:
        return all(same(getattr(one, name), getattr(other, name)) for name in names)
    return one == other


def clock_of(night: Night, time_s: float) -> str:
    """The local clock to the nearest second: '19:22:10'."""
    return clock_text(night.clock(time_s), seconds=True)


def minute_of(night: Night, time_s: float) -> str:
    """The local clock to the nearest minute: '19:22'."""
    return clock_text(night.clock(time_s))
