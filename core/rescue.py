"""Late, early, or already in the air: the best that can still be done with a shoot.

The ranking rule: the plan as it is comes first where it can still be flown and holds. Then
whatever else holds tonight with a chance of `LONG_SHOT` or more, by what its light gives
(`core.ranking`) less what it departs from the plan (`core.optionof`). Then the next night that
holds. Then tonight's long shots, and last what does not hold, by the share of frames it keeps.
Nothing is listed that the battery does not bring home or the camera cannot store.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from core.forecast import outlook, starts
from core.language import say
from core.memory import Memory
from core.option import Kind, Option
from core.optionof import option_of
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.preferences import Preferences
from core.rescuewords import nothing_reason
from core.standpoint import Standpoint, across_min, standpoint, turned
from core.starts import starts_window_s
from core.waysout import another_night, for_tonight, least_bad, other_settings, shorter_clip

__all__ = ["Option", "Rescue", "rescue"]

#: So much late, rounding to the second included, is on time.
ON_TIME_S = 1.0
#: Options nearer to each other than this, with the same settings, are one.
SAME_START_S = 30.0
#: So many options that hold tonight are listed, and of what does not hold where nothing does.
LISTED, LEAST_BAD = 5, 2
#: A smaller chance than this is luck: another night comes before it.
LONG_SHOT = 0.2
#: Of two choices of settings that differ in the start and by less clip than this one is listed.
SAME_CLIP_S = 2.0


@dataclass(frozen=True)
class Rescue:
    """What can still be done, best first; instants are UTC seconds.

    `planned` is the take as planned. `ready_s` is the earliest press from now, None where
    nothing can be flown. `reason` says that tonight nothing holds, or by luck alone, and when
    it would; None where something holds. `options` are empty only with a reason.
    """

    planned: Outlook
    now_s: float
    airborne: bool
    ready_s: float | None
    options: tuple[Option, ...]
    reason: str | None


@dataclass(frozen=True)
class _Case:
    """A shoot, where the pilot stands, and the earliest press from there."""

    plan: Plan
    seen: Outlook
    here: Standpoint
    ready_s: float
    wanted: Preferences

    def option(self, kind: Kind, plan: Plan, press_s: float) -> Option | None:
        """A plan pressed at an instant; None where it cannot be flown, brought home or stored."""
        pressed = self.here.pressed_at(plan, press_s)
        if pressed is None:
            return None
        return option_of(kind, self.plan, pressed, self.here, self.wanted)

    def at_best(self, kind: Kind, plan: Plan, earliest_s: float) -> Option | None:
        """A plan pressed at its best start from an instant on."""
        every = starts(plan, self.here.name, self.here.memory)
        best_s = every.best_between_s(earliest_s, self.here.latest_s(plan))
        return None if best_s is None else self.option(kind, plan, best_s)


def rescue(
    plan: Plan,
    name: ShootName,
    now_s: float,
    memory: Memory,
    preferences: Preferences,
    airborne: bool,
) -> Rescue:
    """Rank what can still be done with a shoot from a moment on.

    Parameters
    ----------
    now_s
        UTC seconds; before, during or after the shoot's night.
    preferences
        What the pilot likes; the clip wanted is the planned one.
    airborne
        Whether the craft holds at the first station, see `core.standpoint`.
    """
    seen = outlook(plan, name, memory)
    here = standpoint(plan, name, now_s, memory, airborne=airborne)
    ready_s = here.ready_s(plan)
    if ready_s is None:
        return Rescue(seen, now_s, airborne, None, (), nothing_reason(seen, None, (), None))
    wanted = for_tonight(preferences, seen)
    tonight = _tonight(_Case(plan, seen, here, ready_s, wanted))
    later = another_night(plan, seen, here, wanted)
    likely = any(_is_likely(option) for option in tonight)
    reason = None if likely else nothing_reason(seen, ready_s, tonight, later)
    if airborne and not tonight:
        # Whatever hovers on spends the way home.
        reason = say("Fly home now. {reason}", reason=reason)
    return Rescue(seen, now_s, airborne, ready_s, _ranked(tonight, later), reason)


def _tonight(case: _Case) -> list[Option]:
    """Whatever can be done tonight, the kinds that change least first."""
    plan, seen, here = case.plan, case.seen, case.here
    first_s, last_s = starts_window_s(seen.night, seen.light)
    on_time = seen.press_s > case.ready_s - ON_TIME_S
    as_it_is = case.option("as_planned", plan, seen.press_s) if on_time else None
    if case.ready_s > last_s:
        return _distinct([as_it_is])
    earliest_s = max(case.ready_s, first_s)
    if as_it_is is None:
        as_it_is = case.option("press_now", plan, case.ready_s)
    as_set = _distinct([as_it_is, case.at_best("wait", plan, earliest_s)])
    search = (plan, seen, here, earliest_s, case.wanted)
    ways = list(other_settings(*search))
    if not any(option.holds for option in as_set):
        ways = [*shorter_clip(*search), *ways]
    found = [case.option(*way) for way in ways]
    options = _distinct([*as_set, _reversed(case, earliest_s), *found])
    if any(option.holds for option in options):
        return options
    losing = [case.option(*way) for way in least_bad(plan, seen, here, earliest_s)]
    return _distinct([*options, *losing])


def _reversed(case: _Case, earliest_s: float) -> Option | None:
    """The path flown the other way; in the air the craft has to get to its other end first."""
    other = turned(case.seen, case.plan)
    ready_s = case.here.ready_s(other)
    if ready_s is None:
        return None
    if case.here.took_off_s is not None:
        ready_s += 60.0 * across_min(case.plan, case.seen.path)
    return case.at_best("reverse", other, max(earliest_s, ready_s))


def _distinct(options: Iterable[Option | None]) -> list[Option]:
    """Each take once: of two with the same settings and start the first is kept."""
    listed: list[Option] = []
    for option in options:
        if option is not None and not any(_alike(option, other) for other in listed):
            listed.append(option)
    return listed


def _alike(one: Option, other: Option) -> bool:
    near = abs(one.start_s - other.start_s) < SAME_START_S
    return near and _settings(one) == _settings(other)


def _settings(option: Option, *also: str) -> dict[str, object]:
    """What an option changes, but for start and wait and what is named."""
    ignored = ("start_after_event_min", "wait_min", *also)
    return {key: value for key, value in option.changes if not key.endswith(ignored)}


def _ranked(tonight: list[Option], later: Option | None) -> tuple[Option, ...]:
    """Order the options by the rule at the head of this module."""
    holding = [option for option in tonight if option.holds]
    holding.sort(key=lambda option: (option.kind != "as_planned", -option.points))
    listed = _unlike(holding)[:LISTED]
    losing = [option for option in tonight if not option.holds]
    losing.sort(key=lambda option: (-option.kept_share, -option.slack_stops))
    if holding:
        losing = [option for option in losing if option.kind in ("as_planned", "press_now")]
    return (
        *(option for option in listed if _is_likely(option)),
        *([later] if later else []),
        *(option for option in listed if not _is_likely(option)),
        *losing[:LEAST_BAD],
    )


def _is_likely(option: Option) -> bool:
    as_it_is = option.kind == "as_planned"
    return option.holds and (as_it_is or (option.p_hold or 0.0) >= LONG_SHOT)


def _unlike(ranked: list[Option]) -> list[Option]:
    """The options without those that a better one with the same settings stands for."""
    listed: list[Option] = []
    for option in ranked:
        searched = option.kind in ("settings", "shorten")
        if not (searched and any(_stands_for(other, option) for other in listed)):
            listed.append(option)
    return listed


def _stands_for(better: Option, option: Option) -> bool:
    same = _settings(better, "clip_length_s") == _settings(option, "clip_length_s")
    return same and abs(better.clip_length_s - option.clip_length_s) < SAME_CLIP_S
