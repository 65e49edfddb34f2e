"""Ways out that need a search: a shorter clip, other settings, another night."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

import msgspec

from core.clip import camera_keeps_up, frame_count, most_frames
from core.forecast import outlook, starts
from core.option import Kind, Option, kept_frames
from core.optionof import option_of
from core.outlook import Outlook
from core.plan import LAST_DATE, Camera, Plan, Shoot
from core.preferences import Preferences
from core.scales import CLIP_LENGTHS_S, EXPOSURE_KEYS, scale_of
from core.settings import Choice, Settings, Wish, apply_choice, settings_of
from core.standpoint import Standpoint, changed, started, turned

#: A shorter clip than this is no shot: common practice, no source.
SHORTEST_CLIP_S = 4.0
#: Nights after the planned one that are tried as set; only the next one is searched for more:
#: the light of neighbouring nights is too much alike.
NIGHTS = 7
#: In the air settings are searched for a press now and for one up to so much later.
HOVERS_MIN = (0.0, 5.0)
#: So many choices of settings are taken from a search.
CHOICES = 3

#: Changing a setting must keep so much more of the frames where nothing holds.
WORTH_SHARE = 0.02

#: What to do, the plan with it applied, and when to press it in UTC seconds.
WayOut = tuple[Kind, Plan, float]


def for_tonight(preferences: Preferences, seen: Outlook) -> Preferences:
    """A pilot's preferences for a shoot that is planned already: its clip is the one wanted."""
    wanted_s = seen.clip.clip_length_s
    return msgspec.structs.replace(
        preferences, clip_length_s=wanted_s, clip_least_s=min(preferences.clip_least_s, wanted_s)
    )


def shorter_clip(
    plan: Plan, seen: Outlook, here: Standpoint, earliest_s: float, wanted: Preferences
) -> Iterator[WayOut]:
    """The longest clip below the planned one that holds with the settings as they are."""
    narrow = msgspec.structs.replace(plan, camera=_camera_as_set(plan.camera, seen.shoot))
    pressed = here.pressed_at(narrow, earliest_s)
    most_min = outlook(pressed, here.name, here.memory).flight.max_take_min if pressed else None
    if pressed is None or most_min is None:
        return
    for length_s in _shorter_lengths_s(seen, most_min):
        frames = frame_count(length_s, seen.shoot.frame_rate_fps)
        spare_min = most_min - _shooting_min(seen.shoot, length_s)
        latest_s = earliest_s + 60.0 * spare_min if here.took_off_s is not None else None
        searched = narrow if latest_s is None else here.pressed_at(narrow, latest_s)
        if searched is None:
            continue
        only = msgspec.structs.replace(wanted, clip_length_s=length_s, clip_least_s=length_s)
        wish = Wish(earliest_s=earliest_s, latest_s=latest_s, preferences=only)
        found = settings_of(searched, here.name, here.memory, wish)
        for choice in found.choices:
            if choice.frames == frames:
                yield "shorten", changed(plan, here.name, clip_length_s=length_s), choice.start_s
                return


def other_settings(
    plan: Plan, seen: Outlook, here: Standpoint, earliest_s: float, wanted: Preferences
) -> Iterator[WayOut]:
    """The best settings from an instant on.

    In the air the filter stays as it is.
    """
    within = plan
    if here.took_off_s is not None:
        camera = msgspec.structs.replace(plan.camera, nd_stops=(seen.shoot.nd_stops,))
        within = msgspec.structs.replace(plan, camera=camera)
    for searched, latest_s in _searches(within, here, earliest_s):
        wish = Wish(earliest_s=earliest_s, latest_s=latest_s, preferences=wanted)
        for choice in _settings_of(searched, here, wish).choices[:CHOICES]:
            yield "settings", _applied(plan, here, choice, seen), choice.start_s


def least_bad(plan: Plan, seen: Outlook, here: Standpoint, press_s: float) -> Iterator[WayOut]:
    """What loses the fewest frames at an instant: as set, and with one exposure setting changed.

    The clip is cut to what the battery gives.
    """
    pressed = here.pressed_at(plan, press_s)
    most_min = outlook(pressed, here.name, here.memory).flight.max_take_min if pressed else None
    if pressed is None or most_min is None:
        return
    lengths_s = [seen.shoot.clip_length_s, *_shorter_lengths_s(seen, most_min)]
    fit = [s for s in lengths_s if _shooting_min(seen.shoot, s) <= most_min]
    if not fit:
        return
    as_set = (
        pressed if fit[0] == lengths_s[0] else changed(pressed, here.name, clip_length_s=fit[0])
    )
    yield "shorten", as_set, press_s
    filters = () if here.took_off_s is None else ("nd_stops",)
    others = [
        changed(as_set, here.name, **{key: value})
        for key in EXPOSURE_KEYS
        if key not in filters
        for value in scale_of(plan.camera, key)
    ]
    stored = [other for other in others if camera_keeps_up(other.shoot(here.name), plan.camera)]
    best = max(stored, key=lambda other: _kept_share(other, here), default=as_set)
    if _kept_share(best, here) > _kept_share(as_set, here) + WORTH_SHARE:
        yield "settings", best, press_s


def another_night(
    plan: Plan, seen: Outlook, here: Standpoint, wanted: Preferences
) -> Option | None:
    """The next night that holds: as set, the path the other way, or with other settings."""
    nights = list(_nights(plan, here))
    other_way = [turned(seen, night) for night in nights[:1]]
    can_be_shot = seen.flight.fits and seen.clip.write != "skips"
    for night in [*nights, *other_way] if can_be_shot else ():
        best_s = starts(night, here.name, here.memory).best_s
        option = None if best_s is None else _on(night, best_s, plan, here, wanted)
        if option is not None:
            return option
    for night in nights[:1]:
        found = _settings_of(night, here, Wish(preferences=wanted))
        for choice in found.choices[:1]:
            applied = _applied(night, here, choice, seen)
            option = _on(applied, choice.start_s, plan, here, wanted)
            if option is not None and option.holds:
                return option
    return None


def _nights(plan: Plan, here: Standpoint) -> Iterator[Plan]:
    """The next nights that are not past by now."""
    date = plan.shoot(here.name).date
    for days in range(1, min(NIGHTS, (LAST_DATE - date).days) + 1):
        later = changed(plan, here.name, date=date + dt.timedelta(days=days))
        if outlook(later, here.name, here.memory).night.event.time_s > here.now_s:
            yield later


def _on(
    night: Plan, press_s: float, plan: Plan, here: Standpoint, wanted: Preferences
) -> Option | None:
    event_s = outlook(night, here.name, here.memory).night.event.time_s
    pressed = started(night, here.name, (press_s - event_s) / 60.0)
    option = option_of("another_night", plan, pressed, here, wanted)
    # That night too may be past, or too near to be reached.
    return option if option is not None and option.take_off_s >= here.now_s else None


def _searches(
    plan: Plan, here: Standpoint, earliest_s: float
) -> Iterator[tuple[Plan, float | None]]:
    """Plans to search with, with the latest press that their battery has charge for."""
    hovers_min = (0.0,) if here.took_off_s is None else HOVERS_MIN
    if here.took_off_s is None:
        yield plan, None
    for hover_min in hovers_min:
        latest_s = earliest_s + 60.0 * hover_min
        pressed = here.pressed_at(plan, latest_s)
        if pressed is not None:
            yield pressed, latest_s


def _settings_of(plan: Plan, here: Standpoint, wish: Wish) -> Settings:
    """Search with the least clip accepted, and with shorter ones where nothing holds."""
    found = settings_of(plan, here.name, here.memory, wish)
    if found.choices or wish.preferences.clip_least_s <= SHORTEST_CLIP_S:
        return found
    shorter = msgspec.structs.replace(wish.preferences, clip_least_s=SHORTEST_CLIP_S)
    return settings_of(plan, here.name, here.memory, replace(wish, preferences=shorter))


def _applied(plan: Plan, here: Standpoint, choice: Choice, seen: Outlook) -> Plan:
    """The plan with a choice, its clip no longer than was planned."""
    applied = apply_choice(plan, here.name, choice)
    if choice.frames >= seen.clip.frames:
        return changed(applied, here.name, clip_length_s=seen.shoot.clip_length_s)
    return applied


def _kept_share(plan: Plan, here: Standpoint) -> float:
    return float(kept_frames(plan, outlook(plan, here.name, here.memory)).mean())


def _shooting_min(shoot: Shoot, length_s: float) -> float:
    return (frame_count(length_s, shoot.frame_rate_fps) - 1) * shoot.interval_s / 60.0


def _shorter_lengths_s(seen: Outlook, most_min: float) -> list[float]:
    """Clips below the planned one, in half seconds, and the longest that the battery gives."""
    shoot = seen.shoot
    longest_s = most_frames(most_min, shoot.interval_s) / shoot.frame_rate_fps
    lengths = {*CLIP_LENGTHS_S, longest_s}
    planned_s = seen.clip.clip_length_s
    fit = [s for s in lengths if SHORTEST_CLIP_S <= s <= longest_s and s < planned_s]
    return sorted(fit, reverse=True)


def _camera_as_set(camera: Camera, shoot: Shoot) -> Camera:
    """The camera with nothing to choose from but what is set."""
    return msgspec.structs.replace(
        camera,
        shutters_s=(shoot.shutter_s,),
        isos=(shoot.iso,),
        f_numbers=(shoot.f_number,),
        nd_stops=(shoot.nd_stops,),
        intervals_s=(shoot.interval_s,),
    )
