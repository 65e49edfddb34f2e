"""What went wrong in a take, each fault on the frame where it begins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.exposure import FloatArray
from core.judge import frames_with_land_limit
from core.language import say
from core.measures import far_text
from core.plan import Plan
from core.review.estimate import PartSeen
from core.review.learn import Shown
from core.review.review import each_look
from core.review.smooth import SIGMA_PER_MEDIAN
from core.review.timeline import SettingChange
from core.runs import runs_of
from core.words import (
    f_number_text,
    iso_text,
    listed,
    number_text,
    share_text,
    shutter_text,
    signed_text,
)

FaultName = Literal[
    "elsewhere", "auto", "gap", "settings", "dark", "over", "burnt", "black", "leap", "flash"
]

#: Shares of burnt or black pixels that are worth a word (flight.md's bands: common practice).
_BURNT_SHARE, _BLACK_SHARE = 0.02, 0.25
#: A tone beyond a limit must stay there for so many frames, not to be a flicker of one.
_STAYS_FRAMES = 3
#: A frame that leaves its neighbours by so many of their 1-sigmas, and by so much, is told alone.
_SIGMAS = 5.0
_LEAST_FLASH_STOPS, _LEAST_LEAP_PX = 0.15, 3.0
#: Stills from further off than a path can reach are of another place, km.
_ELSEWHERE_KM = 5.0
#: A minute of arc is a nautical mile, 1.852 km.
_KM_PER_DEG = 60.0 * 1.852
#: Frames told one by one of what befalls single ones.
_MOST_ALONE = 20


@dataclass(frozen=True)
class Fault:
    """A fault that begins at a frame: `at` is its place among the frames that are there."""

    at: int
    name: FaultName
    sentence: str


def faults_of(shown: Shown) -> tuple[Fault, ...]:
    """The faults of a take, in the order in which they begin."""
    found = (
        fault
        for part in (_elsewhere, _autos, _gaps, _settings, _tones, _shares, _flashes, _leaps)
        for fault in part(shown)
    )
    return tuple(sorted(found, key=lambda fault: fault.at))


def _number(shown: Shown, at: int) -> int:
    """A frame as the pilot counts: from 1, missing ones too."""
    return shown.reviewed.frames[at].index + 1


def _elsewhere(shown: Shown) -> Iterator[Fault]:
    """Where the stills say that they were taken somewhere else."""
    place = shown.reviewed.plan.place
    told = [
        (exif.latitude_deg - place.latitude_deg, exif.longitude_deg - place.longitude_deg)
        for exif in (frame.still.exif for frame in shown.reviewed.frames)
        if exif.latitude_deg is not None and exif.longitude_deg is not None
    ]
    if not told:
        return
    north, east = np.median(np.array(told), axis=0)
    east = (east + 180.0) % 360.0 - 180.0
    across = np.cos(np.radians(place.latitude_deg))
    away_km = float(np.hypot(north, east * across)) * _KM_PER_DEG
    if away_km > _ELSEWHERE_KM:
        yield Fault(
            0,
            "elsewhere",
            say(
                "The stills were taken {away} from this place: see that they belong to "
                "this plan before it learns from them.",
                away=far_text(away_km, 0),
            ),
        )


def _autos(shown: Shown) -> Iterator[Fault]:
    """Where the camera was left to choose exposure or white balance."""
    for name, what in (
        ("auto_exposure", say("Automatic exposure")),
        ("auto_white", say("Automatic white balance")),
    ):
        autos = [getattr(frame.still.exif, name) for frame in shown.reviewed.frames]
        if any(autos):
            at = autos.index(True)
            told = say(
                "{what} is on from frame {number} on: lock it.",
                what=what,
                number=_number(shown, at),
            )
            yield Fault(at, "auto", told)


def _gaps(shown: Shown) -> Iterator[Fault]:
    """Each run of missing frames, on the frame after it."""
    index = [frame.index for frame in shown.reviewed.frames]
    for at in range(1, len(index)):
        gone = tuple(str(k + 1) for k in range(index[at - 1] + 1, index[at]))
        if len(gone) == 1:
            yield Fault(at, "gap", say("Frame {number} is missing.", number=gone[0]))
        elif gone:
            named = (
                listed(gone, "and")
                if len(gone) == 2
                else say("{first} to {last}", first=gone[0], last=gone[-1])
            )
            yield Fault(at, "gap", say("Frames {numbers} are missing.", numbers=named))


def _settings(shown: Shown) -> Iterator[Fault]:
    places = {frame.index: at for at, frame in enumerate(shown.reviewed.frames)}
    for change in shown.reviewed.timeline.changes:
        at = places[change.index]
        told = say(
            "{change} from frame {number} on; {way_out}.",
            change=_change_text(change),
            number=_number(shown, at),
            way_out=_way_out(change),
        )
        yield Fault(at, "settings", told)


def _way_out(change: SettingChange) -> str:
    ways = {
        "orientation": say("keep the camera as it was turned"),
        "focal_equivalent_mm": say("keep to one lens and zoom"),
    }
    return ways.get(change.name, say("lock the exposure"))


def _change_text(change: SettingChange) -> str:
    writers = {"exposure_s": shutter_text, "iso": iso_text, "f_number": f_number_text}
    names = {
        "exposure_s": say("The shutter"),
        "iso": say("The sensitivity"),
        "f_number": say("The aperture"),
        "orientation": say("The camera's orientation"),
        "focal_equivalent_mm": say("The focal length"),
    }
    write, name = writers.get(change.name), names.get(change.name, say("A setting of the camera"))
    if write is None or not (isinstance(change.before, float) and isinstance(change.after, float)):
        return say("{name} changes", name=name)
    return say(
        "{name} changes from {before} to {after}",
        name=name,
        before=write(change.before),
        after=write(change.after),
    )


def _tones(shown: Shown) -> Iterator[Fault]:
    """Where land or street, as the frames have it, leaves its band."""
    reviewed, bands, estimated = shown.reviewed, shown.reviewed.plan.bands, shown.estimated
    index = np.array([frame.index for frame in reviewed.frames])
    first = index < frames_with_land_limit(reviewed.seen.clip.frames, bands)
    land, street = (_rendered(shown, seen) for seen in (estimated.land, estimated.street))
    always, lit = index >= 0, reviewed.tones.lamp_output >= 0.5
    for part, stops, limits, held in (
        (say("The land"), land, bands.land, (first, always)),
        (say("The street"), street, bands.street, (lit, lit)),
    ):
        dark, over = stops < limits.low_stops, stops > limits.high_stops
        # Where a tone runs along its limit it leaves it again and again: the first time counts.
        for at in _beginnings(dark & held[0])[:1]:
            yield Fault(at, "dark", _tone_text(shown, part, at, stops, limits.low_stops))
        for at in _beginnings(over & held[1])[:1]:
            yield Fault(at, "over", _tone_text(shown, part, at, stops, limits.high_stops))


def _rendered(shown: Shown, seen: PartSeen) -> FloatArray:
    """A part's tones at each frame's own settings."""
    return np.asarray(seen.stops - shown.reviewed.above_mid)


def _tone_text(shown: Shown, part: str, at: int, stops: FloatArray, limit: float) -> str:
    values = {
        "part": part,
        "limit": signed_text(limit),
        "number": _number(shown, at),
        "stops": signed_text(float(stops[at])),
    }
    if stops[at] < limit:
        return say("{part} is darker than {limit} stops from frame {number} on: {stops}.", **values)
    return say("{part} is brighter than {limit} stops from frame {number} on: {stops}.", **values)


def _beginnings(beyond: NDArray[np.bool_]) -> list[int]:
    """Where runs of so many frames or more begin."""
    return [run.start for run in runs_of(beyond) if run.stop - run.start >= _STAYS_FRAMES]


def most_burnt_share(plan: Plan) -> float:
    """The share of a frame, 0 to 1, that may burn out without a word."""
    return max(_BURNT_SHARE, plan.bands.sky.clip_area_share)


def _shares(shown: Shown) -> Iterator[Fault]:
    """Where more of the frame burns out, or is black, than may be."""
    reviewed = shown.reviewed
    allowed = most_burnt_share(reviewed.plan)
    kinds: tuple[tuple[Literal["burnt", "black"], float], ...] = (
        ("burnt", allowed),
        ("black", _BLACK_SHARE),
    )
    for name, limit in kinds:
        shares = np.full(len(reviewed.looks), np.nan)
        for k, look in each_look(reviewed):
            shares[k] = getattr(look, f"{name}_share")
        for at in _beginnings(shares > limit)[:1]:
            worst = float(np.nanmax(shares))
            yield Fault(at, name, _share_text(shown, name, at, limit, worst))


def _share_text(shown: Shown, name: str, at: int, limit: float, worst: float) -> str:
    values = {
        "limit": share_text(limit),
        "number": _number(shown, at),
        "worst": share_text(worst),
    }
    if name == "burnt":
        return say(
            "More than {limit} of the frame is burnt out from frame {number} on, {worst} at worst.",
            **values,
        )
    return say(
        "More than {limit} of the frame is black from frame {number} on, {worst} at worst.",
        **values,
    )


def _flashes(shown: Shown) -> Iterator[Fault]:
    off = shown.estimated.flicker.off_stops
    for at in _alone(np.abs(off), _LEAST_FLASH_STOPS):
        values = {"number": _number(shown, at), "stops": number_text(abs(float(off[at])), 2)}
        told = (
            say("Frame {number} is {stops} stop brighter than its neighbours.", **values)
            if off[at] > 0.0
            else say("Frame {number} is {stops} stop darker than its neighbours.", **values)
        )
        yield Fault(at, "flash", told)


def _leaps(shown: Shown) -> Iterator[Fault]:
    off = np.hypot(*shown.steadiness.shake_px.T)
    for at in _alone(off, _LEAST_LEAP_PX):
        told = say(
            "Frame {number} leaps by {pixels} px out of its course.",
            number=_number(shown, at),
            pixels=number_text(float(off[at]), 0),
        )
        yield Fault(at, "leap", told)


def _alone(off: ArrayLike, least: float) -> list[int]:
    """Frames that are further off than the others are by chance."""
    off = np.asarray(off, dtype=float)
    known = off[np.isfinite(off)]
    if not known.size:
        return []
    limit = max(least, _SIGMAS * SIGMA_PER_MEDIAN * float(np.median(known)))
    return [int(at) for at in np.flatnonzero(off > limit)][:_MOST_ALONE]
