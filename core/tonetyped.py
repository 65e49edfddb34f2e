"""A tone as it is typed on site: stops from mid-grey, or what a light meter shows."""

from __future__ import annotations

import re

import numpy as np

from core.amounts import amount_of, plain_text
from core.edit import PlanError
from core.exposure import METER_CONSTANT
from core.language import say
from core.sentences import shown
from core.words import number_text

#: What a reading of a plan can hold, see `core.plan`.
_FURTHEST_STOPS = 20.0
_EV = re.compile(r"ev ?(?P<ev>[+-]?\d+(?:[.,]\d+)?)", re.ASCII)


def typed_tone_stops(text: str, mid: float) -> float:
    """Return a tone in stops from mid-grey: '+0.7', '-1.5 stops', or a meter's 'EV 3.5'.

    A reflected-light meter's EV at ISO 100 is a luminance: L = K 2^EV / 100 with
    K = 12.5 cd·s/m² (ISO 2720:1974).

    Parameters
    ----------
    mid
        Log2 luminance of mid-grey at the settings that the tone belongs to.

    Raises
    ------
    PlanError
        When the text is neither.
    """
    plain = plain_text(text)
    metered = _EV.fullmatch(plain)
    if metered:
        ev = float(metered["ev"].replace(",", "."))
        stops: float | None = ev + float(np.log2(METER_CONSTANT / 100.0)) - mid
    else:
        stops = amount_of("tone_stops", plain)
    if stops is not None and abs(stops) > _FURTHEST_STOPS:
        raise PlanError(
            say(
                "The tone {shown} is {stops} stops from mid-grey, further than any picture "
                "shows; up to {furthest} either way was expected.",
                shown=shown(text),
                stops=number_text(stops, 1),
                furthest=number_text(_FURTHEST_STOPS),
            )
        )
    if stops is None:
        raise PlanError(
            say(
                "The tone {shown} was not understood; stops from mid-grey such as +0.7, or "
                "a meter's value at ISO 100 such as EV 3.5, was expected.",
                shown=shown(text),
            )
        )
    return stops
