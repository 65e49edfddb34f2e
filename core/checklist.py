"""What to lock and to look at before take-off, in words made from the plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from core.forecast import flight_route
from core.language import say
from core.measures import length_text
from core.outlook import Outlook
from core.plan import Plan
from core.sight import sight_guide_m
from core.weather import MIST_SPREAD_C, spread_c
from core.words import (
    cut_down,
    cut_up,
    f_number_text,
    filter_text,
    iso_text,
    number_text,
    percent_text,
    seconds_text,
    shutter_text,
)

#: Lamps this far away are as good as infinitely far for a lens of this class: common practice,
#: no source.
FAR_LAMP_M = 100.0
_MB_PER_GB = 1000.0
_FULL_PERCENT = 100.0


@dataclass(frozen=True)
class ChecklistItem:
    """One thing to lock or to look at.

    `code` names it for ever, `fact` is what must be so tonight, `how` the way to see to it.
    """

    code: str
    fact: str
    how: str


def checklist_of(plan: Plan, seen: Outlook) -> tuple[ChecklistItem, ...]:
    """Everything to lock and to look at before the take-off of one shoot, in order."""
    return (*_on_the_camera(plan, seen), *_on_the_craft(plan, seen), *_on_site(plan, seen))


def card_gb(frames: int, frame_mb: float) -> float:
    """Space that a take needs on the card, [GB] of 1000 MB, for frames of so many MB."""
    return frames * frame_mb / _MB_PER_GB


def _on_the_camera(plan: Plan, seen: Outlook) -> Iterator[ChecklistItem]:
    shoot, frames = seen.shoot, number_text(seen.clip.frames)
    settings = f"{shutter_text(shoot.shutter_s)}, {iso_text(shoot.iso)}"
    if len(plan.camera.f_numbers) > 1:
        settings += f", {f_number_text(shoot.f_number)}"
    yield ChecklistItem(
        "filter", _on_the_lens(shoot.nd_stops), say("to the last frame; the glass clean")
    )
    yield ChecklistItem(
        "focus",
        say("Focus proven"),
        say(
            "by hand, on a lamp beyond {distance}, magnified; then left alone",
            distance=length_text(FAR_LAMP_M),
        ),
    )
    yield ChecklistItem(
        "white_balance", say("White balance fixed"), say("at a value in kelvin, not automatic")
    )
    yield ChecklistItem(
        "exposure",
        say("Automatic ISO and exposure off"),
        say("set by hand: {settings}", settings=settings),
    )
    yield ChecklistItem(
        "raw", say("Raw on"), say("JPEG alone keeps less of the sky and of the street")
    )
    length = number_text(seen.clip.clip_length_s)
    yield ChecklistItem(
        "interval",
        say("Interval {interval}", interval=seconds_text(shoot.interval_s)),
        say("{frames} frames, {length} s of clip", frames=frames, length=length),
    )
    space = number_text(cut_up(card_gb(seen.clip.frames, plan.camera.frame_mb), 0.1), 1)
    size = number_text(plan.camera.frame_mb)
    yield ChecklistItem(
        "card",
        say("Card space {space} GB", space=space),
        say("for {frames} frames of {size} MB; read it from the camera", frames=frames, size=size),
    )


def _on_the_lens(nd_stops: float) -> str:
    if round(nd_stops, 2) == 0.0:
        return say("No filter on the lens")
    return say("{filter} on the lens", filter=filter_text(nd_stops))


def _on_the_craft(plan: Plan, seen: Outlook) -> Iterator[ChecklistItem]:
    charge = seen.shoot.battery_start_percent
    yield ChecklistItem(
        "battery",
        say("Battery at {charge}", charge=percent_text(charge)),
        say("seated and locked") if charge >= _FULL_PERCENT else say("or more; seated and locked"),
    )
    yield ChecklistItem(
        "lights",
        say("Own lights out of view"),
        say("anti-collision light on from take-off, hidden from the lens; every other light off"),
    )
    yield ChecklistItem(
        "return_height",
        say(
            "Return height {height}",
            height=length_text(_return_height_m(plan, seen), cut=cut_up),
        ),
        say("set in the craft; above all that stands on the way home, looked at by daylight"),
    )
    air = seen.shoot.conditions
    if (
        air.humidity_percent is not None
        and spread_c(air.temperature_c, air.humidity_percent) <= MIST_SPREAD_C
    ):
        yield ChecklistItem(
            "lens_dew", say("Lens as cold as the air"), say("20 min outside, then clear")
        )


def _return_height_m(plan: Plan, seen: Outlook) -> float:
    """The greater of the typed height and that of the path, as the flight counts it."""
    return max(plan.flight.return_height_m, flight_route(seen.path).camera_height_m)


def _on_site(plan: Plan, seen: Outlook) -> Iterator[ChecklistItem]:
    guide_m = sight_guide_m(plan.craft.diameter_m, seen.shoot.conditions.visibility_km)
    yield ChecklistItem(
        "landing_place", say("Landing place lit"), say("flat and clear, seen from where you stand")
    )
    yield ChecklistItem(
        "sight",
        say("Craft in sight the whole time"),
        say(
            "to about {distance} at this size and visibility",
            distance=length_text(guide_m, cut=cut_down),
        ),
    )
    yield ChecklistItem(
        "rules", say("Rules and licence"), say("check the local rules and your licence")
    )
