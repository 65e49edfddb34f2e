"""Findings about motion in the picture: what judders, smears, jumps or comes out soft."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from core.advice.mending import Bench, Trial, remedy_of
from core.clip import camera_keeps_up, clip_of, frame_count
from core.edit import with_values
from core.findings import Finding, Remedy
from core.language import say
from core.lightwords import frames_sentence
from core.measures import length_text, speed_text
from core.motion import JUMPING_LENGTHS, PICTURE_PX, SMEAR_PX, TRAIL_SHARE, Motion, motion_of
from core.outlook import Outlook
from core.plan import Plan
from core.scales import CLIP_LENGTHS_S, scale_of, with_setting
from core.steadiness import SOFT_PX
from core.words import cut_down, cut_up, number_text, seconds_text, share_text, shutter_text

#: More soft frames than this are worth a word: engineering judgement.
SOFT_SHARE = 0.2
#: A car shorter than this in the picture is a dot that nobody sees jump: engineering judgement.
SEEN_PX = 4.0
_NO_CODES: frozenset[str] = frozenset()
#: What a remedy of something worse may bring.
_NOTES = frozenset({"traffic_jumps"})
#: Shorter intervals that are tried for a longer clip: each costs a forecast.
_INTERVALS = 3
_ROUNDING = 1e-6


def motion_findings(plan: Plan, seen: Outlook, motion: Motion, tried: Trial) -> Iterator[Finding]:
    """What motion does to the take: too fast a pan, smear, soft frames, jumping traffic.

    `tried` gives the outlook of a changed plan.
    """
    spoilt = spoilt_codes(motion)
    workshop = _Workshop(Bench(plan, seen, tried), spoilt)
    if "pan" in spoilt:
        yield _pan(workshop, motion)
    if "smear" in _told(spoilt):
        yield _smear(workshop, motion)
    if "soft_frames" in spoilt:
        yield _soft_frames(workshop, motion)
    if "traffic_jumps" in spoilt:
        yield _traffic_jumps(workshop, motion)


def spoilt_codes(motion: Motion) -> frozenset[str]:
    """Codes of what motion spoils in a take."""
    cars = motion.of("cars")
    checks = {
        "pan": motion.fast_frames.size > 0,
        "smear": motion.smeared_frames.size > 0,
        "soft_frames": motion.soft_share > SOFT_SHARE,
        "traffic_jumps": cars is not None
        and cars.lengths_per_frame > JUMPING_LENGTHS
        and cars.px_per_frame > SEEN_PX * cars.lengths_per_frame
        and not motion.trails,
    }
    return frozenset(code for code, applies in checks.items() if applies)


def _told(codes: frozenset[str]) -> frozenset[str]:
    """Codes worth a word: what judders smears too, for the same reason, which is said once."""
    return codes - {"smear"} if "pan" in codes else codes


@dataclass(frozen=True)
class _Workshop:
    """Where remedies are tried: none may spoil the motion in another way, but for notes."""

    bench: Bench
    spoilt: frozenset[str]

    def remedy(
        self, code: str, motion: Motion, label: str, settings: Mapping[str, float]
    ) -> Remedy | None:
        """Settings that mend a code, with the exposure that keeps the light; None if none."""
        values = {self.bench.key(key): value for key, value in settings.items()}
        remedy = remedy_of(self.bench, _NO_CODES, label, values)
        if remedy is None:
            return None
        plan = with_values(self.bench.plan, dict(remedy.values))
        shoot = plan.shoot(self.bench.seen.name)
        clip = clip_of(shoot, plan.camera)
        after = spoilt_codes(motion_of(motion.sweep, shoot, clip, plan.craft.wind_limit_m_s))
        return None if code in after or _told(after) - self.spoilt - _NOTES else remedy

    def shutters(self, *, longer: bool) -> list[float]:
        """Shutters with which the camera keeps up, the nearest first."""
        shoot, camera = self.bench.seen.shoot, self.bench.plan.camera
        steps = [
            value
            for value in scale_of(camera, "shutter_s")
            if (value > shoot.shutter_s if longer else value < shoot.shutter_s)
            and camera_keeps_up(with_setting(shoot, "shutter_s", value), camera)
        ]
        return sorted(steps, reverse=not longer)

    def shutter(self, code: str, motion: Motion, *, longer: bool) -> tuple[Remedy, ...]:
        """The nearest shutter that mends a code."""
        plan, shoot = self.bench.plan, self.bench.seen.shoot
        for value in self.shutters(longer=longer):
            set_to = with_setting(shoot, "shutter_s", value)
            clip = clip_of(set_to, plan.camera)
            after = motion_of(motion.sweep, set_to, clip, plan.craft.wind_limit_m_s)
            if code not in spoilt_codes(after):
                label = say("Shutter {shutter}", shutter=shutter_text(value))
                remedy = self.remedy(code, motion, label, {"shutter_s": value})
                return () if remedy is None else (remedy,)
        return ()


def _pixels(px: float) -> str:
    return number_text(cut_up(px, 0.1), 1)


@dataclass(frozen=True)
class _Told:
    """What is said of the path's motion, by what of it moves fastest in the picture."""

    turn: str
    ground: str
    ground_at: str

    def of(self, motion: Motion, **values: str) -> str:
        """The sentence for a take."""
        if motion.turn_px_per_frame >= motion.scenery_px_per_frame:
            return self.turn.format(**values)
        sweep = motion.sweep
        near_m = float(sweep.near_m[int(sweep.scenery_px.argmax())])
        if not math.isfinite(near_m):
            return self.ground.format(**values)
        return self.ground_at.format(distance=length_text(near_m, cut=cut_down), **values)


_JUDDERS = _Told(
    say(
        "The camera's turn moves the picture by up to {pixels} px a frame of a {picture} px clip; "
        "beyond {limit} px it judders."
    ),
    say(
        "The nearest ground moves by up to {pixels} px a frame of a {picture} px clip; "
        "beyond {limit} px it judders."
    ),
    say(
        "The nearest ground, {distance} away, moves by up to {pixels} px a frame of a {picture} px "
        "clip; beyond {limit} px it judders."
    ),
)
_SMEARS = _Told(
    say(
        "The camera's turn moves the picture by up to {pixels} px of {picture} while the shutter "
        "is open; beyond {limit} px standing things smear."
    ),
    say(
        "The nearest ground moves by up to {pixels} px of {picture} while the shutter is open; "
        "beyond {limit} px standing things smear."
    ),
    say(
        "The nearest ground, {distance} away, moves by up to {pixels} px of {picture} while the "
        "shutter is open; beyond {limit} px standing things smear."
    ),
)
_PICTURE = f"{PICTURE_PX:.0f}"


def _pan(workshop: _Workshop, motion: Motion) -> Finding:
    """The whole picture beyond the pan rule is a caution, its lower edge alone a note."""
    seen = workshop.bench.seen
    fastest = motion.path_px_per_frame
    limit = number_text(cut_down(motion.pan_limit_px, 0.1), 1)
    fact = _JUDDERS.of(motion, pixels=_pixels(fastest), picture=_PICTURE, limit=limit)
    since = frames_sentence(motion.fast_frames, seen.clip.frames)
    needed_s = cut_up(_frames_needed(workshop, motion) / seen.shoot.frame_rate_fps, 0.1)
    slower = say(
        "A clip of {length}, a smaller turn or a shorter path slows it enough.",
        length=seconds_text(needed_s),
    )
    turning = motion.turn_px_per_frame > motion.pan_limit_px
    remedies = _longer_clip(workshop, motion)
    return Finding(
        "warn" if turning else "note", "pan", seen.name, fact, f"{since} {slower}", remedies
    )


def _frames_needed(workshop: _Workshop, motion: Motion) -> int:
    """Frames from which on the same path keeps the pan rule."""
    fastest = motion.path_px_per_frame
    steps = fastest * (workshop.bench.seen.clip.frames - 1) / motion.pan_limit_px
    return math.ceil(steps - _ROUNDING) + 1


def _longer_clip(workshop: _Workshop, motion: Motion) -> tuple[Remedy, ...]:
    """More frames, at this interval or at the longest shorter one that fits the flight."""
    seen, camera = workshop.bench.seen, workshop.bench.plan.camera
    shoot = seen.shoot
    needed = _frames_needed(workshop, motion)
    lengths_s = (s for s in CLIP_LENGTHS_S if frame_count(s, shoot.frame_rate_fps) >= needed)
    length_s = next(lengths_s, None)
    most_frames = seen.flight.max_frames
    if length_s is None or most_frames is None:
        return ()
    # Holding the station costs the same at any interval: what the battery cannot last for need
    # not be tried.
    frames = frame_count(length_s, shoot.frame_rate_fps)
    lasting_s = most_frames * shoot.interval_s
    intervals_s = sorted(
        (
            interval_s
            for interval_s in {*scale_of(camera, "interval_s"), shoot.interval_s}
            if interval_s <= shoot.interval_s
            and (frames - 1) * interval_s < lasting_s
            and camera_keeps_up(with_setting(shoot, "interval_s", interval_s), camera)
        ),
        reverse=True,
    )
    for interval_s in intervals_s[:_INTERVALS]:
        length = seconds_text(length_s)
        label, values = say("Clip length {length}", length=length), {"clip_length_s": length_s}
        if interval_s != shoot.interval_s:
            interval = seconds_text(interval_s)
            label = say(
                "Clip length {length}, interval {interval}", length=length, interval=interval
            )
            values["interval_s"] = interval_s
        remedy = workshop.remedy("pan", motion, label, values)
        if remedy is not None:
            return (remedy,)
    return ()


def _smear(workshop: _Workshop, motion: Motion) -> Finding:
    seen = workshop.bench.seen
    most = motion.path_smear_px
    limit = number_text(SMEAR_PX)
    fact = _SMEARS.of(motion, pixels=_pixels(most), picture=_PICTURE, limit=limit)
    since = frames_sentence(motion.smeared_frames, seen.clip.frames)
    sharper = say("A shorter shutter, or a slower path, keeps them sharp.")
    remedies = workshop.shutter("smear", motion, longer=False)
    return Finding("warn", "smear", seen.name, fact, f"{since} {sharper}", remedies)


def _soft_frames(workshop: _Workshop, motion: Motion) -> Finding:
    seen = workshop.bench.seen
    share = share_text(math.ceil(100.0 * motion.soft_share) / 100.0)
    gust = speed_text(motion.gust_m_s, cut=cut_up)
    fact = say(
        "About {share} of the frames come out soft: in gusts of {gust} the craft moves "
        "the picture by more than {limit} px of {picture} in {shutter}.",
        share=share,
        gust=gust,
        limit=number_text(SOFT_PX),
        picture=_PICTURE,
        shutter=shutter_text(seen.shoot.shutter_s),
    )
    why = (
        say("Through the whole take.")
        if motion.middle_m is None
        else say(
            "The ground in mid-picture is {distance} away.",
            distance=length_text(motion.middle_m, cut=cut_down),
        )
    )
    sharper = say("A shorter shutter, more distance or a calmer night keeps more of them sharp.")
    remedies = workshop.shutter("soft_frames", motion, longer=False)
    return Finding("warn", "soft_frames", seen.name, fact, f"{why} {sharper}", remedies)


def _traffic_jumps(workshop: _Workshop, motion: Motion) -> Finding:
    seen = workshop.bench.seen
    cars = motion.of("cars")
    way = length_text((cars.speed_m_s if cars else 0.0) * seen.shoot.interval_s)
    drawn = share_text(motion.streak_share)
    fact = say(
        "Cars move {distance} from frame to frame and draw {share} of it: they jump.",
        distance=way,
        share=drawn,
    )
    joined = seconds_text(cut_up(seen.shoot.interval_s * TRAIL_SHARE, 0.1))
    rest = say(
        "Through the whole take. From {shutter} of shutter on their lights join to trails.",
        shutter=joined,
    )
    remedies = workshop.shutter("traffic_jumps", motion, longer=True)
    return Finding("note", "traffic_jumps", seen.name, fact, rest, remedies)
