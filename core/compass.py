"""The points of the compass as directions: sixteen names, a quarter of a quarter apart."""

from __future__ import annotations

from functools import cache
from typing import Final

from core.language import say_typed
from core.manner import manner

_STEP_DEG: Final = 22.5


def point_deg(plain: str) -> float | None:
    """Return the direction that a point of the compass names, clockwise from north.

    'NW', 'north-west' and 'northwest' are 315; the points of the pilot's language too. None
    for another text.

    Parameters
    ----------
    plain
        Small letters with one kind of space and hyphen, see `core.amounts.plain_text`.
    """
    return _points(manner().language).get(plain.replace("-", "").replace(" ", ""))


@cache
def _points(_language: str) -> dict[str, float]:
    """Directions by every name of theirs in the language spoken."""
    names = (
        say_typed("N, north"),
        say_typed("NNE, northnortheast"),
        say_typed("NE, northeast"),
        say_typed("ENE, eastnortheast"),
        say_typed("E, east"),
        say_typed("ESE, eastsoutheast"),
        say_typed("SE, southeast"),
        say_typed("SSE, southsoutheast"),
        say_typed("S, south"),
        say_typed("SSW, southsouthwest"),
        say_typed("SW, southwest"),
        say_typed("WSW, westsouthwest"),
        say_typed("W, west"),
        say_typed("WNW, westnorthwest"),
        say_typed("NW, northwest"),
        say_typed("NNW, northnorthwest"),
    )
    return {name: place * _STEP_DEG for place, each in enumerate(names) for name in each}
