"""How far away a small craft can still be seen well enough to be flown by eye."""

from __future__ import annotations


def sight_guide_m(diameter_m: float, visibility_km: float | None) -> float:
    """Distance beyond which the craft is hard to fly by eye.

    Parameters
    ----------
    diameter_m
        Largest dimension of the craft, [m].
    visibility_km
        Ground visibility, [km]; None when it is not known.

    Returns
    -------
    float
        [m]

    References
    ----------
    EASA, Guidelines for UAS operations in the open and specific category - Ref to
    Regulation (EU) 2019/947, on the visual line of sight: the lesser of the attitude
    line of sight of a multirotor, 327 m per metre of craft plus 20 m, and the detection
    line of sight, 0.3 of the ground visibility. Read in the tables of a national
    authority that applies it; the edition is not known here.

    """
    by_size = 327.0 * diameter_m + 20.0
    if visibility_km is None:
        return by_size
    return min(by_size, 300.0 * visibility_km)
