"""A take reviewed: what its frames show beside what the plan expected of them."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec
import numpy as np

from core.edit import PlanError, checked
from core.exposure import FloatArray
from core.framesky import FrameSky
from core.language import say
from core.lastnight import as_flown, sky_as_flown, without_take
from core.memory import Memory
from core.night import Night, night_of
from core.outlook import Outlook
from core.path import LEVEL, Poses, Tilt, half_field_tangents, poses_along, tilted, time_law
from core.place import local_time
from core.plan import Part, Plan, Shoot, ShootName, Take, Twilight
from core.review.chain import Within, chained, departures_px
from core.review.geometry import Lens, Pose, each_pose, masks
from core.review.measure import Job, Look, Unseen, look_at
from core.review.stills import Still, Unread, files_of, read_still, without_twins
from core.review.timeline import Frame, Timeline, timeline_of
from core.review.workers import worked
from core.tones import Tones, mid_log2, tones_at

#: Frames that follow one another are looked at in runs; the key they are followed from is
#: decoded once more, and progress is told run by run.
RUN_FRAMES = 16
#: Heads of files that are read at a time, and up to how many are read faster right here.
_HEADS, _FEW_FILES = 64, 1000
#: The grid on which sky and ground are told apart.
_GRID = (64, 96)
#: A camera that takes so much longer than asked flies its path by frames, not by the clock.
_BY_FRAMES = 1.05
#: Settings this near are the same: cameras round what they write.
_SAME_SETTING_STOPS = 0.2

Progress = Callable[[int, int], None]
Cancelled = Callable[[], bool]


@dataclass(frozen=True)
class Reviewed:
    """A take's frames measured, each beside what the plan expected at its instant.

    `plan` is without what this take may have taught it before; `take` is the take as flown, by
    the clock and settings of the stills, which lie in `folder`. `tilt` is by how much its camera
    was off the planned poses: `seen.framesky`, `poses` and `tones` are of the camera as it was.
    `tones` is what was expected of each frame at the take's usual settings, `planned_sky_stops`
    the limit tone of its sky at the planned poses, `mid` the log2 luminance that those settings
    render as mid-grey; `above_mid` by how many stops a frame's own settings lie above it.
    `looks` holds None for a frame whose pixels cannot be read; `keys` is the place of the frame
    that each was followed from, its own for the first that can be seen.
    `departure_px` is (frame, right and down) in pixels of the still since the first frame, and
    `departure_sigma_px` its 1-sigma; `step_sigma_px` that of the step from its key alone.
    `complete` is False when it was cancelled.
    """

    plan: Plan
    take: Take
    folder: Path
    seen: Outlook
    timeline: Timeline
    unreadable: tuple[Unread, ...]
    tilt: Tilt
    tones: Tones
    planned_sky_stops: FloatArray
    poses: Poses
    mid: float
    above_mid: FloatArray
    looks: tuple[Look | None, ...]
    keys: tuple[int, ...]
    departure_px: FloatArray
    departure_sigma_px: FloatArray
    step_sigma_px: FloatArray
    complete: bool

    @property
    def frames(self) -> tuple[Frame, ...]:
        """The stills of the take, in order."""
        return self.timeline.frames

    @property
    def expected(self) -> dict[Part, tuple[FloatArray, FloatArray]]:
        """Each part's tone that was expected in each frame, and its 1-sigma, in stops.

        Of the sky it is the tone that the share of the frame which may burn exceeds.
        """
        land, street, sky = self.tones.land, self.tones.street, self.tones.sky
        return {
            "street": (street.stops, street.sigma_stops),
            "land": (land.stops, land.sigma_stops),
            "sky": (sky.limit_stops, sky.sigma_stops),
        }


def review(
    plan: Plan,
    name: ShootName,
    folder: str | Path,
    memory: Memory,
    *,
    tilt: Tilt | None = None,
    processes: int = 2,
    progress: Progress = lambda _done, _of: None,
    cancelled: Cancelled = lambda: False,
) -> Reviewed:
    """Read and measure the stills of a folder as a take of a shoot.

    Parameters
    ----------
    tilt
        By how much its camera was off the planned poses; None takes what the plan holds of the
        take, or that it was not.
    processes
        In which the files are read; 0 for this one.
    progress
        Told how many frames of how many were looked at.
    cancelled
        Asked between runs of frames; what was looked at by then is kept.

    Raises
    ------
    PlanError
        When the folder holds no take, or the take is of no night that the plan can reckon.
    """
    paths = files_of(folder)
    stills, unread = _stills(paths, processes, cancelled)
    timeline = timeline_of(stills, plan.place.time_zone)
    take = _take(plan, name, timeline)
    tilt = tilt or _tilt_kept(plan, take)
    # What it taught before must not teach it again.
    plan = without_take(plan, take.id, memory)
    frames = timeline.frames
    seen, tones, planned_sky_stops = _expected(plan, take, timeline, tilt, memory)
    by_name = {path.name: path for path in paths}
    jobs, firsts = _jobs(plan, seen, frames, tones.way, tilt, by_name, Path(folder))
    looks, keys, unseen, within, done = _looked(
        jobs, firsts, len(frames), processes, progress, cancelled
    )
    poses = tilted(poses_along(seen.path, tones.way), tilt)
    at = _seen_from(plan, frames, poses)
    off_px, sigma_px = departures_px(at, chained(jobs, firsts, within))
    _, step_sigma_px = departures_px(at, [look.departure if look else None for look in looks])
    own = [mid_log2(_with_settings(seen.shoot, frame.still)) for frame in frames]
    return Reviewed(
        plan=plan,
        take=take,
        folder=Path(folder),
        seen=seen,
        timeline=timeline,
        unreadable=tuple(sorted((*unread, *unseen), key=lambda one: one.file)),
        tilt=tilt,
        tones=tones,
        planned_sky_stops=planned_sky_stops,
        poses=poses,
        mid=seen.mid,
        above_mid=np.array(own) - seen.mid,
        looks=tuple(looks),
        keys=tuple(keys),
        departure_px=off_px,
        departure_sigma_px=sigma_px,
        step_sigma_px=step_sigma_px,
        complete=done,
    )


def _heads(paths: tuple[Path, ...]) -> list[Still | Unread]:
    return [read_still(path) for path in paths]


def _stills(
    paths: Sequence[Path], processes: int, cancelled: Cancelled
) -> tuple[list[Still], list[Unread]]:
    """What each file says of itself, or why it cannot be read."""
    runs = [tuple(paths[at : at + _HEADS]) for at in range(0, len(paths), _HEADS)]
    read: list[Still | Unread] = []
    shared_by = processes if len(paths) > _FEW_FILES else 0
    for at, answer in worked(_heads, runs, shared_by, cancelled):
        broke = [Unread(path.name, say("it broke the reader")) for path in runs[at]]
        read += broke if answer is None else answer
    stills, unread = without_twins(read)
    return sorted(stills, key=lambda one: one.file), unread


def _take(plan: Plan, name: ShootName, timeline: Timeline) -> Take:
    """The take as the stills tell it."""
    first_s = timeline.frames[0].time_s
    planned = plan.shoot(name)
    night = _night_at(plan, planned.twilight, first_s)
    usual = _usual(timeline.frames)
    flown = msgspec.structs.replace(
        _with_settings(planned, usual), date=night.date, twilight=night.twilight
    )
    start = dt.datetime.fromtimestamp(round(first_s, 3), dt.UTC).astimezone(
        night.clock(first_s).tzinfo
    )
    take = Take(
        id=f"take-{start:%Y%m%d-%H%M%S}",
        shoot=name,
        start=start.isoformat(),
        flown=flown,
    )
    # Refuses settings that no plan can hold.
    checked(msgspec.structs.replace(plan, takes=(*plan.takes, take)))
    return take


def _tilt_kept(plan: Plan, take: Take) -> Tilt:
    """By how much the camera was off in a take, as the plan holds it."""
    kept = next((one.summary for one in plan.takes if one.id == take.id), take.summary)
    return Tilt(kept.pitch_off_deg or 0.0, kept.roll_off_deg or 0.0)


def _night_at(plan: Plan, planned: Twilight, time_s: float) -> Night:
    """The night, dusk or dawn, on whose side of solar midnight an instant lies."""
    place, here = plan.place, local_time(time_s, plan.place.time_zone).date()
    other: Twilight = "dawn" if planned == "dusk" else "dusk"
    for twilight in (planned, other):
        for days in (0, -1, 1):
            night = night_of(
                place.latitude_deg, place.longitude_deg, place.time_zone,
                here + dt.timedelta(days=days), twilight,
            )  # fmt: skip
            side = (night.start_s, night.darkest_s) if twilight == "dusk" else (
                night.darkest_s, night.end_s
            )  # fmt: skip
            if side[0] <= time_s <= side[1]:
                return night
    raise PlanError(
        say("The stills were taken on no night of this place; look at the clock of the camera.")
    )


def _usual(frames: Sequence[Frame]) -> Still:
    """A still at the commonest settings of the take."""
    kinds = Counter(_settings(frame.still) for frame in frames)
    commonest = kinds.most_common(1)[0][0]
    return next(frame.still for frame in frames if _settings(frame.still) == commonest)


def _settings(still: Still) -> tuple[float | None, float | None, float | None]:
    return still.exif.exposure_s, still.exif.iso, still.exif.f_number


def _with_settings(shoot: Shoot, still: Still) -> Shoot:
    """A shoot at a still's settings, as the plan names them where they are the same."""
    exif = still.exif
    told = {
        "shutter_s": (exif.exposure_s, 1.0),
        "iso": (exif.iso, 1.0),
        "f_number": (exif.f_number, 2.0),
    }
    changes = {
        name: value
        for name, (value, stops) in told.items()
        if value is not None
        and stops * abs(np.log2(value / getattr(shoot, name))) > _SAME_SETTING_STOPS
    }
    return msgspec.structs.replace(shoot, **changes)


def _expected(
    plan: Plan, take: Take, timeline: Timeline, tilt: Tilt, memory: Memory
) -> tuple[Outlook, Tones, FloatArray]:
    """What was expected of a take: `seen`, `tones` and `planned_sky_stops` of `Reviewed`."""
    seen = as_flown(plan, take, memory)
    ways = _ways(seen, timeline)
    times_s = np.array([frame.time_s for frame in timeline.frames])

    def expected(framesky: FrameSky) -> Tones:
        return tones_at(
            times_s, ways, seen.mid, seen.light, framesky,
            plan.ground, plan.bands, plan.camera.highlight_stops,
        )  # fmt: skip

    tones = planned = expected(seen.framesky)
    if tilt != LEVEL:
        seen = replace(seen, framesky=sky_as_flown(plan, take, tilt, memory))
        tones = expected(seen.framesky)
    return seen, tones, planned.sky.limit_stops


def _seen_from(plan: Plan, frames: Sequence[Frame], poses: Poses) -> list[tuple[Lens, Pose]]:
    """The lens, in pixels of the still, and the pose of each frame."""
    return [
        (Lens.within(plan.camera, frame.still.width_px, frame.still.height_px), pose)
        for frame, pose in zip(frames, each_pose(poses), strict=True)
    ]


def _ways(seen: Outlook, timeline: Timeline) -> FloatArray:
    """Share of the way at each frame: by the clock from the first frame on."""
    frames, clip, flown = timeline.frames, seen.clip, seen.shoot
    slow = timeline.interval_s > _BY_FRAMES * flown.interval_s
    interval_s = timeline.interval_s if slow else flown.interval_s
    elapsed = np.array([frame.time_s - frames[0].time_s for frame in frames])
    return time_law(seen.path, elapsed / max((clip.frames - 1) * interval_s, 1e-9))


def _jobs(
    plan: Plan,
    seen: Outlook,
    frames: Sequence[Frame],
    ways: FloatArray,
    tilt: Tilt,
    by_name: dict[str, Path],
    folder: Path,
) -> tuple[list[Job], list[int]]:
    """Runs of frames, each beginning with the last of the run before; and where they begin."""
    tangents = half_field_tangents(plan.camera)
    jobs, firsts = [], list(range(0, max(len(frames) - 1, 1), RUN_FRAMES))
    for first in firsts:
        part = slice(first, first + RUN_FRAMES + 1)
        poses = tilted(poses_along(seen.path, ways[part]), tilt)
        sky, ground = masks(poses, plan.camera, plan.place.skyline, *_GRID)
        paths = tuple(by_name.get(f.still.file, folder / f.still.file) for f in frames[part])
        jobs.append(Job(paths, tuple(each_pose(poses)), sky, ground, *tangents))
    return jobs, firsts


def _looked(
    jobs: Sequence[Job],
    firsts: Sequence[int],
    count: int,
    processes: int,
    progress: Progress,
    cancelled: Cancelled,
) -> tuple[list[Look | None], list[int], list[Unread], Within, bool]:
    """Each frame's look and key, the files not seen, departures by run, and whether all is done."""
    looks: list[Look | None] = [None] * count
    keys = list(range(count))
    unseen: dict[str, Unread] = {}
    within: Within = {}
    for at, answer in worked(look_at, jobs, processes, cancelled):
        job, first = jobs[at], firsts[at]
        found = answer or [Unseen(path.name, say("it broke the reader")) for path in job.paths]
        within[at] = [look.departure if isinstance(look, Look) else None for look in found]
        key = next((k for k, look in enumerate(found) if isinstance(look, Look)), 0)
        for k, look in enumerate(found):
            if isinstance(look, Unseen):
                unseen[look.file] = Unread(look.file, look.reason)
            # A frame that two runs share was measured as the later one's key alone.
            elif k > 0 or first == 0:
                looks[first + k], keys[first + k] = look, first + key
            elif looks[first] is None:
                looks[first] = look
        progress(sum(look is not None for look in looks), count)
    return (
        looks,
        keys,
        list(unseen.values()),
        within,
        len(within) == len(jobs),
    )


def each_look(reviewed: Reviewed) -> Iterator[tuple[int, Look]]:
    """The frames whose pixels were read."""
    for k, look in enumerate(reviewed.looks):
        if look is not None:
            yield k, look
