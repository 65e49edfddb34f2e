"""Figures that follow from a shoot's settings, and A beside B: pure functions of outlooks."""

from __future__ import annotations

import numpy as np

from app.widgets.readout import Cell
from core.clocks import clock_cut
from core.language import say
from core.motion import Motion
from core.outlook import Outlook
from core.words import (
    NOTHING,
    burnt_text,
    clock_text,
    cut_down,
    degrees_text,
    duration_text,
    filter_text,
    number_text,
    px_text,
    seconds_text,
    share_text,
    shortage_text,
    shutter_text,
    slack_text,
    spare_text,
)

#: Why nothing can be set while there is no plan.
NO_PLACE = say("There is no place yet: open a plan or start one for a new place.")


def readouts(
    seen: Outlook, motion: Motion, *, compared: bool = False
) -> tuple[tuple[str, str], ...]:
    """Label and value of what a take's settings make of it.

    Where A is `compared` with B beneath, what stands there gives way to what smears.
    """
    clip = seen.clip
    lost = light_lost_stops(seen)
    last = (
        (
            (say("path's smear"), px_text(motion.path_smear_px)),
            (say("soft by wind"), _soft_text(motion)),
        )
        if compared
        else ((say("mixed light"), mixed_text(seen)), (say("least slack"), least_slack_text(seen)))
    )
    return (
        (say("frames"), number_text(clip.frames)),
        (say("shooting"), duration_text(clip.shooting_s)),
        (say("speed-up"), f"{number_text(clip.speed_up, 0)} ×"),
        (say("shutter angle"), degrees_text(clip.shutter_angle_deg)),
        (say("write time left"), f"{number_text(cut_down(clip.write_left_s, 0.1), 1)} s"),
        (say("car per frame"), car_text(motion)),
        (
            say("light lost") if lost >= 0.0 else say("light gained"),
            say("{stops} stops", stops=number_text(abs(lost), 1)),
        ),
        *last,
    )


def _soft_text(motion: Motion) -> str:
    return share_text(motion.soft_share)


def car_text(motion: Motion) -> str:
    """How far a car at mid-ground moves from frame to frame; a dash where no ground is seen."""
    cars = motion.of("cars")
    return NOTHING if cars is None else px_text(cars.px_per_frame)


def light_lost_stops(seen: Outlook) -> float:
    """Stops by which the light on the ground falls from first to last frame."""
    light = seen.tones.illuminance_lx
    return float(np.log2(light[0] / light[-1]))


def mixed_text(seen: Outlook) -> str:
    """Share of the frames in which daylight and lamplight are near each other."""
    return share_text(float(np.mean(seen.tones.mixed_light)))


def worst_burnt_text(seen: Outlook) -> str:
    """The largest share of a frame that burns out, cut up."""
    return burnt_text(float(seen.tones.clipped_share.max()))


def least_slack_text(seen: Outlook) -> str:
    """Stops to the nearest limit, signed; a dash where no limit applies."""
    return slack_text(seen.judgement.slack_stops)


def last_frame_text(seen: Outlook) -> str:
    """The clock time of the last frame, cut to the second."""
    if seen.latest_stop_s is None:
        return NOTHING
    return clock_cut(seen.night, seen.latest_stop_s)


def spare_words(seen: Outlook) -> tuple[str, str, bool]:
    """Minutes to spare to the unlucky side, what they are, and whether they are missing."""
    margin = seen.flight.margin_min
    if margin is None:
        return NOTHING, say("min battery"), False
    if margin < 0.0:
        return shortage_text(margin), say("min short"), True
    return spare_text(margin), say("min battery"), False


def _spare_text(seen: Outlook) -> str:
    figure, unit, short = spare_words(seen)
    if figure == NOTHING:
        return NOTHING
    return f"{figure} {unit}" if short else say("{minutes} min", minutes=figure)


def comparison(a: Outlook, b: Outlook) -> tuple[tuple[Cell, ...], ...]:
    """Rows of label, A, a mark where they differ, and B."""
    rows = (
        (say("start"), _start_text(a), _start_text(b)),
        (say("slack"), least_slack_text(a), least_slack_text(b)),
        (say("clip"), _clip_text(a), _clip_text(b)),
        (say("interval"), seconds_text(a.shoot.interval_s), seconds_text(b.shoot.interval_s)),
        (say("shutter"), shutter_text(a.shoot.shutter_s), shutter_text(b.shoot.shutter_s)),
        ("ISO", number_text(a.shoot.iso), number_text(b.shoot.iso)),
        (say("filter"), filter_text(a.shoot.nd_stops), filter_text(b.shoot.nd_stops)),
        (say("mixed light"), mixed_text(a), mixed_text(b)),
        (say("burnt at worst"), worst_burnt_text(a), worst_burnt_text(b)),
        (say("last frame by"), last_frame_text(a), last_frame_text(b)),
        (say("to spare"), _spare_text(a), _spare_text(b)),
    )
    head = Cell(say("A against B"), 600), Cell("", flag="A"), Cell(""), Cell("", flag="B")
    return head, *(row_of(label, one, other) for label, one, other in rows)


def row_of(label: str, one: str, other: str) -> tuple[Cell, ...]:
    """A row of the comparison: what differs is heavier, and marked between."""
    differs = one != other
    weight = 600 if differs else 400
    ink = "ink" if differs else "ink2"
    mark = Cell("≠" if differs else "", ink="ink3", size_px=11)
    return Cell(label, ink="ink2"), Cell(one, weight, ink), mark, Cell(other, weight, ink)


def _start_text(seen: Outlook) -> str:
    return clock_text(seen.night.clock(seen.press_s), seconds=True)


def _clip_text(seen: Outlook) -> str:
    return f"{number_text(seen.clip.clip_length_s, 1)} s"
