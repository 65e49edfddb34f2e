"""What a take cost of the battery, and what that tells of the craft."""

from __future__ import annotations

import math

from core.edit import PlanError
from core.flightenergy import PRACTICE_SPREAD
from core.language import say
from core.review.figures import Changed, changed, fused, sigma_at_hand
from core.review.review import Reviewed
from core.words import percent_text

#: 1-sigma of a charge that a craft shows in whole percents, %.
_SHOWS_SIGMA_PERCENT = 1.0
#: A craft that needs more or less than this of what was reckoned was read wrong.
_LEAST_FACTOR, _MOST_FACTOR = 0.8, 2.0

Charges = tuple[float, float]


def practice_changed(reviewed: Reviewed, charges: Charges) -> Changed:
    """By what the craft's power departs from what is reckoned, from a take's own minutes.

    Parameters
    ----------
    charges
        What the craft showed at the first frame and at the last one, %.

    Raises
    ------
    PlanError
        When the charges are none that the take can have had.
    """
    flight, frames, craft = reviewed.seen.flight, reviewed.frames, reviewed.plan.craft
    minutes = (frames[-1].time_s - frames[0].time_s) / 60.0
    reckoned = flight.take_percent_per_min
    shown = charges[0] - charges[1]
    if not 100.0 >= charges[0] > charges[1] >= 0.0 or reckoned is None or minutes <= 0.0:
        raise PlanError(
            say(
                "The charge at the first frame is given as {first}, at the last as "
                "{last}; a charge of at most 100 % and a lower one at the end were "
                "expected, of a take whose flight can be reckoned.",
                first=percent_text(charges[0]),
                last=percent_text(charges[1]),
            )
        )
    # A gauge that is not known shows all that was drawn, or leaves out what the cold locked away.
    drawn = [
        tell(charges[0]) - tell(charges[1])
        for tell in (flight.gauge.charge_percent, flight.gauge.least_charge_percent)
    ]
    used, doubt = sum(drawn) / 2.0, abs(drawn[1] - drawn[0]) / 2.0
    seen = craft.practice_factor * used / (reckoned * minutes)
    share = math.hypot(math.sqrt(2.0) * _SHOWS_SIGMA_PERCENT, doubt) / shown
    if not _LEAST_FACTOR < seen < _MOST_FACTOR:
        raise PlanError(
            say(
                "The take is said to have cost {used}, reckoned {reckoned}; look at the "
                "charges once more.",
                used=percent_text(used),
                reckoned=percent_text(reckoned * minutes),
            )
        )
    before_sigma = sigma_at_hand(reviewed.plan, "practice_factor", PRACTICE_SPREAD)
    value, sigma = fused(craft.practice_factor, before_sigma, seen, seen * share)
    return changed(
        "craft.practice_factor", "practice_factor", craft.practice_factor, before_sigma,
        round(value, 4), sigma, "times", "craft",
    )  # fmt: skip
