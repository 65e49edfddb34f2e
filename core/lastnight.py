"""From a flown take to tonight: what the pilot saw in it becomes readings, then learned figures.

The pilot says in the words of the trade what the take showed: the first frames one stop
over, the lamps fine, the end too dark from frame 210. Each remark is a tone of a part at a
frame, known to some tenths of a stop; together they narrow what is held about that night.
What stays with the place is kept apart from what went with the night.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from statistics import NormalDist

import msgspec
import numpy as np

from core.belief import UNKNOWNS, Belief, narrowed
from core.edit import PlanError, checked, get_value, with_values
from core.forecast import belief, belief_unread, framesky_tilted, outlook
from core.framesky import FrameSky
from core.judge import frames_with_land_limit
from core.language import say
from core.memory import Memory
from core.outlook import Outlook
from core.path import Tilt
from core.plan import (
    PARTS,
    Learned,
    Part,
    Plan,
    Reading,
    Remark,
    Shoot,
    ShootName,
    Take,
    TakeSummary,
)
from core.readings import KEPT, instant_s, learned_name, share_as_drawn
from core.scales import with_shoot
from core.tones import LEAST_SHARE

#: 1-sigma of a tone judged by eye against a limit, in stops (our judgement).
EYE_SIGMA_STOPS = 0.4
_ORDER = {part: at for at, part in enumerate(PARTS)}
#: A figure said to lie where it hardly can is taken as standing on the limit.
_LEAST_INSIDE = 1e-3
#: The widest 1-sigma that a reading of a plan may have.
_WIDEST_STOPS = 5.0
#: A reading and a take of one night lie no further apart.
_NIGHT_S = 86_400.0
#: What is worked out from readings, by the names that a plan keeps it under.
_HELD = {learned_name(unknown) for unknown in UNKNOWNS}


@dataclass(frozen=True)
class Lesson:
    """What a take taught: the plan that keeps it, the take, and the beliefs before and after.

    `before` is held before anything was read on the take's night, on site or in the take.
    `replaced` are takes that ran at the same time: one craft flies one take, so they were this
    one, told otherwise, or told by mistake.
    """

    plan: Plan
    take: Take
    before: Belief
    after: Belief
    replaced: tuple[Take, ...] = ()


def flown_take(plan: Plan, name: ShootName, take_id: str, start: dt.datetime) -> Take:
    """A take of a shoot as it is planned now, started at an aware instant."""
    return Take(id=take_id, shoot=name, start=start.isoformat(), flown=plan.shoot(name))


def as_flown(plan: Plan, take: Take, memory: Memory) -> Outlook:
    """The outlook of a take with the settings and the start with which it was flown."""
    return outlook(_plan_as_flown(plan, take, memory), take.shoot, memory)


def sky_as_flown(plan: Plan, take: Take, tilt: Tilt, memory: Memory) -> FrameSky:
    """What the lens saw of the sky in a take whose camera was off its planned poses."""
    return framesky_tilted(_plan_as_flown(plan, take, memory), take.shoot, tilt, memory)


def lesson_of(plan: Plan, take: Take, remarks: Sequence[Remark], memory: Memory) -> Lesson:
    """Learn from what a take showed.

    What was said of it before is replaced, under another minute of its press too.

    Raises
    ------
    PlanError
        When nothing is said, a remark is on a frame that the take has not, or on a part it
        does not show.
    """
    if not remarks:
        raise PlanError(say("Nothing is said of the take yet; say of one part what it showed."))
    plan, replaced = without_same(plan, take, memory)
    for other in replaced:
        if take.summary == TakeSummary() and other.summary.frames is None:
            # What was noted on site of the same take is kept; what its stills showed is not.
            take = msgspec.structs.replace(take, summary=other.summary)
    seen = as_flown(plan, take, memory)
    for remark in remarks:
        _reading(plan, take, seen, remark)
    take = msgspec.structs.replace(take, remarks=tuple(remarks))
    return lesson_from(plan, take, (), memory, replaced)


def lesson_from(
    plan: Plan,
    take: Take,
    readings: tuple[Reading, ...],
    memory: Memory,
    replaced: tuple[Take, ...] = (),
) -> Lesson:
    """Learn from a take, its remarks and its readings, that a plan does not hold yet.

    Parameters
    ----------
    plan, replaced
        From `without_same`.
    """
    noted = msgspec.structs.replace(
        plan, takes=(*plan.takes, take), readings=(*plan.readings, *readings)
    )
    taught = checked(relearned(checked(noted), memory))
    return Lesson(taught, take, *_held(taught, take, memory), replaced)


def without_same(plan: Plan, take: Take, memory: Memory) -> tuple[Plan, tuple[Take, ...]]:
    """The plan without a take, and without those that ran at the same time, which are named."""
    plan = _without(plan, take.id)
    replaced = tuple(_overlapping(plan, as_flown(plan, take, memory), memory))
    for other in replaced:
        plan = _without(plan, other.id)
    return plan, replaced


def _overlapping(plan: Plan, seen: Outlook, memory: Memory) -> list[Take]:
    """Takes that ran while this one did: the same one, its press told otherwise."""
    found = []
    for other in plan.takes:
        beside = as_flown(plan, other, memory)
        if beside.press_s <= seen.last_frame_s and seen.press_s <= beside.last_frame_s:
            found.append(other)
    return found


def without_take(plan: Plan, take_id: str, memory: Memory) -> Plan:
    """The plan without a take and without anything that was read from it or learned by it."""
    return relearned(_without(plan, take_id), memory)


def with_readings(plan: Plan, readings: tuple[Reading, ...], memory: Memory) -> Plan:
    """The plan with other readings, and with what takes teach beside them.

    Raises
    ------
    PlanError
        When no plan can hold one of the readings.
    """
    changed = set(readings) ^ set(plan.readings)
    plan = checked(msgspec.structs.replace(plan, readings=readings))
    since_s = min((instant_s(reading.time) for reading in changed), default=np.inf) - _NIGHT_S
    return checked(relearned(plan, memory, since_s))


def relearned(plan: Plan, memory: Memory, since_s: float = -np.inf) -> Plan:
    """The plan with what its takes taught worked out anew, the earliest first.

    A later take rests on what the earlier ones taught: none can be told, corrected or
    forgotten alone. What belongs to no take with readings stays.

    Parameters
    ----------
    since_s
        Takes that began before stay as they are, UTC seconds.
    """
    late = [take for take in plan.takes if instant_s(take.start) >= since_s]
    said = {take.id for take in late if take.remarks}
    told = said | {reading.take_id for reading in plan.readings}
    takes = sorted((t for t in late if t.id in told), key=lambda t: instant_s(t.start))
    ids = {take.id for take in takes}
    fresh = msgspec.structs.replace(
        plan,
        learned=tuple(
            item for item in plan.learned if item.take_id not in ids or item.name not in _HELD
        ),
        readings=tuple(reading for reading in plan.readings if reading.take_id not in said),
    )
    for take in takes:
        fresh = _read(fresh, take, memory)
        learned = (*fresh.learned, *_learned(take, *_held(fresh, take, memory)))
        fresh = msgspec.structs.replace(fresh, learned=learned)
    return fresh


def _read(plan: Plan, take: Take, memory: Memory) -> Plan:
    """The plan with a take's remarks read, each against what is held after the one before.

    'Fine' says no more than that a tone lay within its limits, which rests on what is held of
    it: so what went wrong is read first, and the ground, with a limit on either side, before
    the sky. In whatever order it was said, it says the same.
    """
    for remark in sorted(take.remarks, key=lambda one: (one.showed == "fine", _ORDER[one.part])):
        # A path that was drawn anew since may no longer show what the take did.
        with suppress(PlanError):
            reading = _reading(plan, take, as_flown(plan, take, memory), remark)
            plan = msgspec.structs.replace(plan, readings=(*plan.readings, reading))
    return plan


def _without(plan: Plan, take_id: str) -> Plan:
    """The plan without a take: what it taught is gone, what it replaced stands again.

    A value that was typed anew since stays, as does one whose predecessor no plan can hold.
    """
    for item in (one for take in plan.takes if take.id == take_id for one in take.summary.replaced):
        if get_value(plan, item.key) == item.after:
            with suppress(PlanError):
                plan = with_values(plan, {item.key: item.before})
    return msgspec.structs.replace(
        plan,
        takes=tuple(take for take in plan.takes if take.id != take_id),
        readings=tuple(item for item in plan.readings if item.take_id != take_id),
        learned=tuple(item for item in plan.learned if item.take_id != take_id),
    )


def _flown(plan: Plan, take: Take) -> Shoot:
    return take.flown or plan.shoot(take.shoot)


def _plan_as_flown(plan: Plan, take: Take, memory: Memory) -> Plan:
    planned = with_shoot(plan, take.shoot, _flown(plan, take))
    event_s = outlook(planned, take.shoot, memory).night.event.time_s
    minutes = (instant_s(take.start) - event_s) / 60.0
    shoot = msgspec.structs.replace(_flown(plan, take), start_after_event_min=minutes)
    return checked(with_shoot(plan, take.shoot, shoot))


def _held(plan: Plan, take: Take, memory: Memory) -> tuple[Belief, Belief]:
    """What is held of a take's night before anything is read on it, and after all that was.

    Beside good readings of its night a take narrows little; yet they teach through it, for no
    later night reads them again.
    """
    flown, shoot = _plan_as_flown(plan, take, memory), _flown(plan, take)
    return belief_unread(flown, shoot, memory), belief(flown, shoot, memory)


def _reading(plan: Plan, take: Take, seen: Outlook, remark: Remark) -> Reading:
    frames = len(seen.tones.time_s)
    named = int(remark.frame)
    if not 0 <= named < frames:
        raise PlanError(
            say(
                "The take has {frames} frames; frame {frame} is not among them: a number "
                "from 1 to {frames} was expected.",
                frames=frames,
                frame=named + 1,
            )
        )
    frame = _telling(plan, seen, remark.part) if remark.showed == "fine" else named
    shoot = _flown(plan, take)
    stops, sigma_stops = _tone(plan, seen, remark, frame)
    return Reading(
        time=dt.datetime.fromtimestamp(float(seen.tones.time_s[frame]), dt.UTC).isoformat(),
        part=remark.part,
        stops=stops,
        sigma_stops=sigma_stops,
        shutter_s=shoot.shutter_s,
        iso=shoot.iso,
        f_number=shoot.f_number,
        nd_stops=shoot.nd_stops,
        path_share=share_as_drawn(float(seen.tones.way[frame]), shoot),
        take_id=take.id,
    )


def _tone(plan: Plan, seen: Outlook, remark: Remark, frame: int) -> tuple[float, float]:
    """A remark as a tone and its 1-sigma, in stops."""
    expected, sigma_stops, low, high = _limits(plan, seen, remark.part, frame)
    if remark.showed == "over":
        return high + remark.by_stops, EYE_SIGMA_STOPS
    if remark.showed == "dark":
        return _dark_stops(plan, remark.part) - remark.by_stops, EYE_SIGMA_STOPS
    return within(expected, sigma_stops, low, high)


def _dark_stops(plan: Plan, part: Part) -> float:
    """Below which tone a part is dark; a sky has no limit for it: below mid-grey."""
    bands = plan.bands
    low = {"street": bands.street.low_stops, "land": bands.land.low_stops, "sky": 0.0}
    return low[part]


def _limits(plan: Plan, seen: Outlook, part: Part, frame: int) -> tuple[float, float, float, float]:
    """A part's expected tone at a frame, its 1-sigma, and its limits, all in stops."""
    tones, bands = seen.tones, plan.bands
    if part == "sky":
        expected = float(tones.sky.limit_stops[frame])
        if np.isnan(expected):
            raise PlanError(
                say(
                    "Frame {frame} shows too little sky to burn; name another frame.",
                    frame=frame + 1,
                )
            )
        burns = plan.camera.highlight_stops
        return expected, float(tones.sky.sigma_stops[frame]), -np.inf, burns
    shown = tones.street if part == "street" else tones.land
    if shown.frame_share[frame] < LEAST_SHARE:
        raise PlanError(
            say("Frame {frame} shows no street; name another frame or part.", frame=frame + 1)
            if part == "street"
            else say("Frame {frame} shows no land; name another frame or part.", frame=frame + 1)
        )
    band = bands.street if part == "street" else bands.land
    stops, sigma = float(shown.stops[frame]), float(shown.sigma_stops[frame])
    limited = frames_with_land_limit(len(shown.stops), bands)
    low = band.low_stops if part == "street" or limited else -np.inf
    return stops, sigma, low, band.high_stops


def within(expected: float, sigma: float, low: float, high: float) -> tuple[float, float]:
    """The reading, and its 1-sigma, that says no more than that a figure lay within limits.

    A normal figure cut off at both limits has a new mean and sigma (Johnson, Kotz and
    Balakrishnan 1994, Continuous Univariate Distributions 1, eq. 13.134 and 13.135; number
    from memory); the reading is the one that brings the figure there.
    """
    normal = NormalDist()
    below, above = (low - expected) / sigma, (high - expected) / sigma
    inside = normal.cdf(above) - normal.cdf(below)
    if inside < _LEAST_INSIDE:
        # It hardly can lie there: as if it stood on the nearer limit.
        return min(max(expected, low), high), EYE_SIGMA_STOPS
    at_low, at_high = normal.pdf(below), normal.pdf(above)
    shift = (at_low - at_high) / inside
    pull = (_times(below, at_low) - _times(above, at_high)) / inside
    left = 1.0 + pull - shift**2
    # What hardly narrows the figure is a reading with the widest sigma that one may have.
    weight = max(1.0 / left - 1.0, (sigma / _WIDEST_STOPS) ** 2)
    return expected + sigma * shift * (1.0 + weight) / weight, sigma / float(np.sqrt(weight))


def _times(deviation: float, density: float) -> float:
    """A product whose limit far out is nothing."""
    return deviation * density if np.isfinite(deviation) else 0.0


def _telling(plan: Plan, seen: Outlook, part: Part) -> int:
    """The frame of which 'fine' says most: the brightest sky, the darkest land with a low limit.

    Of the street, whose limits hold throughout, the middle one.
    """
    sky, frames = seen.tones.sky.limit_stops, len(seen.tones.time_s)
    if part == "sky":
        return int(np.nanargmax(sky)) if np.isfinite(sky).any() else 0
    limited = frames_with_land_limit(frames, plan.bands)
    if part == "land" and limited:
        return int(np.argmin(seen.tones.land.stops[:limited]))
    return frames // 2


def _learned(take: Take, before: Belief, after: Belief) -> list[Learned]:
    """What a take narrowed, each with how long it is good for."""
    return [
        Learned(
            name=learned_name(unknown),
            value=after.of(unknown),
            sigma=after.sigma_of(unknown),
            unit="sigmas" if unknown == "haze" else "stops",
            scope="place" if unknown in KEPT else "night",
            take_id=take.id,
        )
        for unknown in narrowed(before, after)
    ]
