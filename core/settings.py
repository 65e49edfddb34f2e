"""The best settings for a start, and the best start and settings for an aim.

Every shutter, ISO, f-number and filter of the camera at each of its intervals, at every start
of the night: all that light decides depends on one figure of the exposure, so the table of
the evening is read once a length of take and the rest is arithmetic. What is listed is judged
exactly. The ranking rule stands in `core.ranking` and `core.costs`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.candidates import Candidates, candidates_of, starts_tried_s
from core.choice import Choice, Settings
from core.costs import cost_words, costs_of, turn_px_per_s
from core.exposure import FloatArray
from core.exposures import Exposures, Take, exposures_of, takes_of
from core.forecast import outlook
from core.language import say
from core.lightwords import LIMIT_WORDS
from core.memory import Memory
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.preferences import Preferences
from core.ranking import holds_moment, kinds_of, short_list
from core.scales import EXPOSURE_KEYS, held_camera, with_shoot
from core.starts import starts_window_s
from core.takewords import every_text
from core.verified import Verified, verified
from core.wish import AIMS, Aim, Wish
from core.words import chance_text, clock_text, iso_text, seconds_text, short_text, shutter_text

__all__ = [
    "AIMS", "Aim", "Choice", "Preferences", "Settings", "Wish", "apply_choice",
    "settings_of",
]  # fmt: skip

#: So many more than are asked for are judged exactly, and so many of the very best.
SPARE, TOP = 2, 6
#: Starts so many minutes to either side of a candidate's are judged with it.
NEAR = 2
#: A chance less than the best of the list by this is worth a word.
NOTED_CHANCE = 0.05


@dataclass(frozen=True)
class _Search:
    """What there is to choose from; `costs` (exposures,) for each take, in points."""

    plan: Plan
    seen: Outlook
    wish: Wish
    takes: tuple[Take, ...]
    exposures: Exposures
    costs: tuple[FloatArray, ...]
    turns_px_per_s: tuple[float, ...]
    starts_s: FloatArray

    def cheapest(self) -> list[FloatArray]:
        """For each take the least that each of the exposures' mid-greys costs."""
        return [self.exposures.least_by_mid(costs) for costs in self.costs]


def settings_of(
    plan: Plan, name: ShootName, memory: Memory, wish: Wish, count: int = 5
) -> Settings:
    """Search the camera's scales for what serves a wish best on a shoot's night.

    Only takes that hold are listed: every tone within its limits but for the excused frames,
    shutter and write time within the interval, the battery with its reserve.

    Parameters
    ----------
    count
        At most so many are listed, no two of them alike.
    """
    seen = outlook(plan, name, memory)
    searched = _search(plan, seen, wish)
    if isinstance(searched, str):
        return Settings((), searched)
    found = candidates_of(
        plan, seen, wish, searched.takes, searched.exposures, searched.cheapest(),
        searched.starts_s,
    )  # fmt: skip
    listed = _listed(searched, found, count)
    if listed:
        return Settings(_compared(listed))
    if found.nearest is None:
        return Settings((), _no_moment(searched))
    nearest = _nearest(searched, found.nearest)
    if nearest.slack_stops >= 0.0:
        return Settings((nearest,))
    reason = [_nothing_holds(searched, nearest)]
    if wish.held:
        reason.append(say("What is locked was left alone."))
    return Settings((), " ".join(reason), nearest)


def apply_choice(plan: Plan, name: ShootName, choice: Choice) -> Plan:
    """The plan with a choice as the shoot's start and settings."""
    keys = ("interval_s", "clip_length_s", "start_after_event_min", *EXPOSURE_KEYS)
    values = {key: getattr(choice, key) for key in keys}
    return with_shoot(plan, name, msgspec.structs.replace(plan.shoot(name), **values))


def _search(plan: Plan, seen: Outlook, wish: Wish) -> _Search | str:
    """What there is to choose from, or why there is nothing."""
    if seen.flight.max_take_min is None:
        return seen.flight.error or say("This flight leaves no minutes for a take.")
    window_s = starts_window_s(seen.night, seen.light)
    starts_s = starts_tried_s(wish, window_s)
    if not starts_s.size:
        first, last = (clock_text(seen.night.clock(edge)) for edge in window_s)
        return say(
            "Starts of this night are judged from {first} to {last}; give a time between them.",
            first=first,
            last=last,
        )
    wanted, shoot = wish.preferences, seen.shoot
    camera = held_camera(plan.camera, shoot, wish.held)
    only_length_s = shoot.clip_length_s if "clip_length_s" in wish.held else None
    takes = takes_of(camera, wanted, seen.flight.max_take_min, shoot.frame_rate_fps, only_length_s)
    exposures = exposures_of(camera)
    turns = tuple(turn_px_per_s(seen.path, camera, take) for take in takes)
    costs = costs_of(takes, exposures, camera, wanted, turns)
    usable = [k for k, cost in enumerate(costs) if np.isfinite(cost).any()]
    if not usable and wish.held:
        return say("With what is locked no take fits into this battery: unlock a setting.")
    if not usable:
        write = seconds_text(camera.write_time_s)
        return say(
            "No shutter of the camera fits beside its write time of {write} into an "
            "interval that the battery has time for; add longer intervals or shorter "
            "shutters.",
            write=write,
        )
    return _Search(
        plan, seen, wish, tuple(takes[k] for k in usable), exposures,
        tuple(costs[k] for k in usable), tuple(turns[k] for k in usable), starts_s,
    )  # fmt: skip


def _listed(searched: _Search, found: Candidates, count: int) -> list[Choice]:
    """The short list with every figure exact."""
    gain = np.full((len(searched.takes), len(searched.exposures.mids)), -np.inf)
    gain[found.take_at, found.mid_at] = found.gain
    start_s = np.zeros_like(gain)
    start_s[found.take_at, found.mid_at] = found.start_s
    points = gain[:, searched.exposures.mid_at] - _paid_once(searched)
    take_at, row = np.nonzero(np.isfinite(points))
    points = points[take_at, row]
    kinds = _kinds(searched, take_at, row)
    # Where candidates fail on a closer look there must be others left.
    pool = np.union1d(
        short_list(points, kinds, count + SPARE), np.argsort(-points, kind="stable")[:TOP]
    )
    judged: dict[tuple[int, int], Verified] = {}
    for at in pool:
        key = (int(take_at[at]), int(searched.exposures.mid_at[row[at]]))
        if key not in judged:
            judged[key] = _verified(searched, *key, float(start_s[key]))
    made = [
        _choice(searched, int(take_at[at]), int(row[at]),
                judged[int(take_at[at]), int(searched.exposures.mid_at[row[at]])])
        for at in pool
    ]  # fmt: skip
    exact = np.array([one.points if one.slack_stops >= 0.0 else -np.inf for one in made])
    return [made[k] for k in short_list(exact, kinds[pool], count)]


def _paid_once(searched: _Search) -> FloatArray:
    """Costs (takes, rows); infinite where the same light at the same shutter costs less.

    A higher ISO behind a darker filter or a smaller aperture is only more noise.
    """
    mixes, costs = searched.exposures, np.stack(searched.costs)
    alike = np.column_stack([mixes.shutter_s, mixes.mid_at])
    _, group = np.unique(alike, axis=0, return_inverse=True)
    once = np.full_like(costs, np.inf)
    for at, cost in enumerate(costs):
        order = np.argsort(cost, kind="stable")
        best = order[np.unique(group[order], return_index=True)[1]]
        once[at, best] = cost[best]
    return once


def _kinds(searched: _Search, take_at: NDArray[np.intp], row: NDArray[np.intp]) -> FloatArray:
    interval_s = np.array([take.interval_s for take in searched.takes])[take_at]
    clip_s = np.array([take.clip_length_s for take in searched.takes])[take_at]
    mixes = searched.exposures
    mine = replace(
        mixes, shutter_s=mixes.shutter_s[row], iso=mixes.iso[row],
        f_number=mixes.f_number[row], nd_stops=mixes.nd_stops[row],
    )  # fmt: skip
    return kinds_of(interval_s, mine, clip_s)


def _verified(searched: _Search, take_at: int, mid_at: int, start_s: float) -> Verified:
    take, starts_s = searched.takes[take_at], searched.starts_s
    at = int(np.searchsorted(starts_s, start_s))
    near = starts_s[max(at - NEAR, 0) : at + NEAR + 1]
    near = near[holds_moment(near, take.shooting_s, searched.wish)]
    mid = float(searched.exposures.mids[mid_at])
    return verified(searched.plan, searched.seen, searched.wish, take, mid, near)


def _choice(searched: _Search, take_at: int, row: int, judged: Verified) -> Choice:
    take, mixes, camera = searched.takes[take_at], searched.exposures, searched.plan.camera
    shutter_s, iso = float(mixes.shutter_s[row]), float(mixes.iso[row])
    f_number, nd_stops = float(mixes.f_number[row]), float(mixes.nd_stops[row])
    smear_px = searched.turns_px_per_s[take_at] * shutter_s
    return Choice(
        interval_s=take.interval_s,
        shutter_s=shutter_s,
        iso=iso,
        f_number=f_number,
        nd_stops=nd_stops,
        clip_length_s=take.clip_length_s,
        frames=take.frames,
        start_s=judged.start_s,
        start_after_event_min=(judged.start_s - searched.seen.night.event.time_s) / 60.0,
        slack_stops=judged.slack_stops,
        limit=judged.limit,
        p_hold=judged.p_hold,
        mixed_light_share=judged.mixed_light_share,
        shutter_angle_deg=360.0 * shutter_s / take.interval_s,
        turn_px=smear_px,
        margin_min=take.margin_min,
        costs=cost_words(
            take, shutter_s, iso, f_number, nd_stops, camera, searched.wish.preferences, smear_px
        ),
        points=judged.gain - float(searched.costs[take_at][row]),
    )


def _compared(listed: list[Choice]) -> tuple[Choice, ...]:
    """The list with a word where a choice is less sure than the surest of it."""
    most = max(choice.p_hold for choice in listed)
    return tuple(
        replace(choice, costs=(_less_sure(choice.p_hold, most), *choice.costs))
        if chance_text(choice.p_hold) != chance_text(most) and most - choice.p_hold >= NOTED_CHANCE
        else choice
        for choice in listed
    )


def _less_sure(chance: float, most: float) -> str:
    return say(
        "holds {chance}; the surest here holds {most}",
        chance=chance_text(chance),
        most=chance_text(most),
    )


def _nearest(searched: _Search, nearest: tuple[int, int, float]) -> Choice:
    take_at, mid_at, start_s = nearest
    costs = np.where(searched.exposures.mid_at == mid_at, searched.costs[take_at], np.inf)
    judged = _verified(searched, take_at, mid_at, start_s)
    return _choice(searched, take_at, int(costs.argmin()), judged)


def _no_moment(searched: _Search) -> str:
    if searched.wish.moment_s is None:
        return say("No exposure of this camera can be tried on this night.")
    clock = clock_text(searched.seen.night.clock(searched.wish.moment_s))
    return say(
        "No take that may start in these hours holds {clock} between its first and its "
        "last frame; name another minute, or let the start be earlier or later.",
        clock=clock,
    )


def _nothing_holds(searched: _Search, nearest: Choice) -> str:
    wish, night = searched.wish, searched.seen.night
    clock = clock_text(night.clock(nearest.start_s), seconds=True)
    parts = (shutter_text(nearest.shutter_s), iso_text(nearest.iso), every_text(nearest.interval_s))
    settings = ", ".join(parts)
    short = short_text(-nearest.slack_stops)
    lacks = (
        say("falls {short} short because {limit}", short=short, limit=LIMIT_WORDS[nearest.limit])
        if nearest.limit
        else say("falls {short} short", short=short)
    )
    if wish.earliest_s is not None and wish.earliest_s == wish.latest_s:
        return say(
            "No settings of this camera keep the light from {clock} on: the nearest, "
            "{settings}, {lacks}.",
            clock=clock,
            settings=settings,
            lacks=lacks,
        )
    return say(
        "No start with any settings of this camera keeps the light: the nearest, "
        "{clock} at {settings}, {lacks}.",
        clock=clock,
        settings=settings,
        lacks=lacks,
    )
