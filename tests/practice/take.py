"""Practice takes: folders of stills like those that a flight leaves, of which all is known.

Nothing of the program's predicted frames is in them but the luminances that it expects of
street, land and sky, moved by the truth: the ground, the sky's gradient, clouds, the camera's
curve, its corners and its noise are this package's own.
"""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from core.exposure import FloatArray
from core.path import half_field_tangents, poses_along, time_law
from core.place import local_time
from core.plan import Plan, Shoot, ShootName
from core.tones import lit_share, mid_log2
from tests.practice.broken import broken_file
from tests.practice.camera import developed, vignette
from tests.practice.exif import Shot, exif_of, with_exif
from tests.practice.light import SceneLight, TrueNight, true_night
from tests.practice.tiles import cloud_tile, ground_tile
from tests.practice.truth import Handling, Truth
from tests.practice.view import (
    Aim,
    Ground,
    Scene,
    Size,
    focal_of,
    ground_at,
    light_by_rows,
    middles,
    pixel_of,
    tangents,
)

Stored: TypeAlias = NDArray[np.uint8]

SMALL: Size = (400, 300)
TWELVE_MEGAPIXELS: Size = (4032, 3024)
QUALITY = 95
#: The number of the first frame in its file's name.
FIRST_NUMBER = 101
#: Frames over which a slow aiming fault lasts.
_WANDER_FRAMES = 15.0
#: The first frame's tell-tale place for a shift, in shares of the still: low in its middle.
_TELL_TALE = (0.5, 0.8)
_M_PER_DEG = 111_195.0


@dataclass(frozen=True)
class TrueFrame:
    """A still as it was taken: `index` counts from 0 in the plan's frames, missing ones too.

    `aim` is where the camera really looked, `planned` where the plan had it at that time since
    the first frame. `mid_log2` is the luminance that these settings make mid-grey, without
    flicker. Luminances are true ones, in log2 cd/m².
    """

    file: str
    index: int
    time_s: float
    planned: Aim
    aim: Aim
    shoot: Shoot
    mid_log2: float
    flicker_stops: float
    land_log2: float
    street_log2: float
    sky_log2: float
    torn: bool


@dataclass(frozen=True)
class PracticeTake:
    """A written take and all that is true of it; `frames` in the order they were taken."""

    plan: Plan
    truth: Truth
    size: Size
    frames: tuple[TrueFrame, ...]
    lamps_on_s: float | None
    lamps_off_s: float | None
    strangers: tuple[str, ...]
    broken: tuple[str, ...]

    @property
    def lamps_half_s(self) -> float | None:
        """When the lamps gave half of their light; None where they did not come on."""
        if self.lamps_on_s is None:
            return None
        return self.lamps_on_s + 30.0 * self.plan.ground.lamps.warm_up_min

    def departure_px(
        self, tell_tale: tuple[float, float] = _TELL_TALE, *, since_first: bool = False
    ) -> FloatArray:
        """How far the picture of the ground lies from where the plan has it, (frames, 2).

        Pixels of the still to the right and down, of the point of the ground that the plan has
        at `tell_tale` (shares of the still from its left and top); NaN where that is sky. With
        `since_first` for a camera that was aimed as planned in the first frame, and off as much
        less since.
        """
        first = _off_plan(self.frames[0]) if since_first else np.zeros(5)
        return np.array([
            self._moved(
                frame.planned,
                frame.planned,
                Aim(*(np.array(astuple(frame.planned)) + _off_plan(frame) - first)),
                tell_tale,
            )
            for frame in self.frames
        ])  # fmt: skip

    def shift_px(self, tell_tale: tuple[float, float] = _TELL_TALE) -> FloatArray:
        """How far the ground moves in the picture from each frame to the next, (frames - 1, 2).

        Pixels to the right and down, of the point of the ground that the earlier frame shows
        at `tell_tale`; NaN where that is sky.
        """
        pairs = zip(self.frames, self.frames[1:], strict=False)
        return np.array([
            self._moved(before.aim, before.aim, after.aim, tell_tale) for before, after in pairs
        ])  # fmt: skip

    def _moved(
        self, shown_by: Aim, before: Aim, after: Aim, tell_tale: tuple[float, float]
    ) -> tuple[float, float]:
        camera, size = self.plan.camera, self.size
        pixel = tell_tale[0] * size[0], tell_tale[1] * size[1]
        point = ground_at(shown_by, pixel, camera, size)
        if point is None:
            return np.nan, np.nan
        first, second = (pixel_of(aim, point, camera, size) for aim in (before, after))
        return second[0] - first[0], second[1] - first[1]


def _off_plan(frame: TrueFrame) -> FloatArray:
    """By how much a frame's aim is off, in the order of its fields."""
    return np.asarray(np.array(astuple(frame.aim)) - np.array(astuple(frame.planned)))


def write_take(
    folder: Path,
    plan: Plan,
    truth: Truth,
    seed: int,
    size: Size = SMALL,
    *,
    name: ShootName = "A",
    pictures: int | None = None,
) -> PracticeTake:
    """Write a take of a shoot's frames into a folder and tell what is true of it.

    The same plan, truth, seed and size give the same bytes.

    Parameters
    ----------
    size
        Pixels across and down; the lens shows the whole frame of the plan's camera in it.
    pictures
        Draw only so many different pictures and use each again under its own Exif: for
        measuring time alone, as drawing large stills takes longer than reading them.
    """
    night = true_night(plan, name, truth)
    frames, light = _frames(night, truth, seed, size)
    scene = _scene(plan, truth, seed, size)
    encoded: dict[int, bytes] = {}
    for at, frame in enumerate(frames):
        picture = at % (pictures or len(frames))
        if picture not in encoded:
            encoded[picture] = _jpeg(_still(scene, frame, light, at, truth, seed))
        jpeg = encoded[picture] if pictures else encoded.pop(picture)
        jpeg = with_exif(jpeg, exif_of(_shot(plan, truth.handling, frame, size)))
        # A torn file ends well before the last of its rows.
        (folder / frame.file).write_bytes(jpeg[: len(jpeg) // 2] if frame.torn else jpeg)
    strangers = tuple(_write_strangers(folder, plan, truth.handling, frames, size, seed))
    broken = tuple(_write_broken(folder, truth.handling, frames, seed))
    return PracticeTake(
        plan, truth, size, frames, night.lamps_on_s, night.lamps_off_s, strangers, broken
    )


def _frames(
    night: TrueNight, truth: Truth, seed: int, size: Size
) -> tuple[tuple[TrueFrame, ...], SceneLight]:
    """The frames that were taken, and the light of each."""
    plan, shoot, handling = night.plan, night.seen.shoot, truth.handling
    rng = np.random.default_rng(seed)
    count = night.seen.clip.frames
    elapsed_s: FloatArray = np.arange(count, dtype=float) * (
        shoot.interval_s + handling.interval_error_s
    )
    elapsed_s += handling.jitter_s * rng.standard_normal(count)
    aims_off = _aims_off(handling, rng, count)
    flicker = handling.flicker_stops * rng.standard_normal(count)
    time_s = night.seen.press_s + handling.press_late_s + elapsed_s
    way: FloatArray = time_law(night.seen.path, elapsed_s / max(night.seen.clip.shooting_s, 1.0))
    planned = _planned(night, way)
    kept = [k for k in range(count) if k not in handling.missing]
    light = night.at(time_s[kept], way[kept])
    frames = []
    for at, k in enumerate(kept):
        used = _settings(shoot, handling, k)
        frames.append(
            TrueFrame(
                file=f"DWK_{FIRST_NUMBER + at:04d}.JPG",
                index=k,
                time_s=float(time_s[k]),
                planned=planned[k],
                aim=_off(planned[k], plan, handling, aims_off[k], elapsed_s[k], size),
                shoot=used,
                mid_log2=mid_log2(used),
                flicker_stops=float(flicker[k]),
                land_log2=float(light.land_log2[at]),
                street_log2=float(light.street_log2[at]),
                sky_log2=float(light.sky_log2[at]),
                torn=k in handling.torn,
            )
        )
    return tuple(frames), light


def _planned(night: TrueNight, way: FloatArray) -> list[Aim]:
    poses = poses_along(night.seen.path, way)
    rows = zip(
        poses.east_m, poses.north_m, poses.up_m, poses.heading_deg, poses.pitch_deg, strict=True
    )
    return [Aim(*(float(value) for value in row)) for row in rows]


def _aims_off(handling: Handling, rng: np.random.Generator, count: int) -> FloatArray:
    """Aiming faults of each frame in pixels across and up, (count, 2): slow ones and quick ones."""
    slow, quick = rng.standard_normal((2, count, 2))
    stays = float(np.exp(-1.0 / _WANDER_FRAMES))
    for k in range(1, count):
        slow[k] = stays * slow[k - 1] + np.sqrt(1.0 - stays**2) * slow[k]
    return np.asarray(handling.wander_px * slow + handling.shake_px * quick)


def _off(
    planned: Aim, plan: Plan, handling: Handling, off_px: FloatArray, elapsed_s: float, size: Size
) -> Aim:
    focal = focal_of(plan.camera, size)
    east, north = (rate * elapsed_s / 60.0 for rate in handling.drift_m_min)
    # A level turn moves the middle of the picture by its cosine of the pitch.
    turn = np.degrees(off_px[0] / focal[0]) / max(np.cos(np.radians(planned.pitch_deg)), 0.1)
    return Aim(
        planned.east_m + float(east),
        planned.north_m + float(north),
        planned.up_m,
        planned.heading_deg + float(turn),
        planned.pitch_deg + float(np.degrees(off_px[1] / focal[1])),
    )


def _settings(shoot: Shoot, handling: Handling, frame: int) -> Shoot:
    for change in handling.changes:
        if frame >= change.frame:
            values = {key: getattr(change, key) for key in ("shutter_s", "iso", "f_number")}
            given = {key: value for key, value in values.items() if value is not None}
            shoot = msgspec.structs.replace(shoot, **given)
    return shoot


def _scene(plan: Plan, truth: Truth, seed: int, size: Size) -> Scene:
    ground_seed = truth.lasting.ground_seed
    tile = ground_tile(ground_seed, lit_share(plan.ground))
    turned = float(np.random.default_rng(ground_seed).uniform(0.0, 90.0))
    return Scene(
        plan.place, plan.camera, size, Ground(tile, turned), cloud_tile(seed), truth.tonight
    )


def _still(
    scene: Scene, frame: TrueFrame, light: SceneLight, at: int, truth: Truth, seed: int
) -> Stored:
    """Stored pixels of a frame, the `at`-th of those whose light is given."""
    cols, rows = scene.size
    right, up = tangents(scene.camera, scene.size, middles(cols), middles(rows))
    corner = float(np.hypot(*half_field_tangents(scene.camera)))
    exposed = np.float32(2.0 ** (frame.flicker_stops - frame.mid_log2))
    rng = np.random.default_rng((seed, frame.index))
    stored = np.empty((rows, cols, 3), dtype=np.uint8)
    for band, luminance in light_by_rows(scene, frame.aim, light, at, frame.time_s):
        relative = luminance * exposed * vignette(right, up[band], corner, truth.lasting)
        values = developed(relative, frame.shoot.iso, truth.lasting, rng)
        stored[band] = np.moveaxis(values, 0, -1)
    return stored


def _shot(plan: Plan, handling: Handling, frame: TrueFrame, size: Size) -> Shot:
    north = plan.place.latitude_deg + frame.aim.north_m / _M_PER_DEG
    per_deg = _M_PER_DEG * max(float(np.cos(np.radians(plan.place.latitude_deg))), 0.01)
    return Shot(
        clock=local_time(frame.time_s + handling.clock_error_s, plan.place.time_zone),
        gps_time=dt.datetime.fromtimestamp(frame.time_s, dt.UTC),
        latitude_deg=north,
        longitude_deg=plan.place.longitude_deg + frame.aim.east_m / per_deg,
        altitude_m=plan.place.elevation_m + frame.aim.up_m,
        shutter_s=frame.shoot.shutter_s,
        iso=frame.shoot.iso,
        f_number=frame.shoot.f_number,
        focal_equivalent_mm=plan.camera.focal_equivalent_mm,
        size=size,
    )


def _jpeg(pixels: Stored) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=QUALITY)
    return file.getvalue()


def _write_strangers(
    folder: Path,
    plan: Plan,
    handling: Handling,
    frames: tuple[TrueFrame, ...],
    size: Size,
    seed: int,
) -> Iterator[str]:
    """Stills that do not belong: of the afternoon before, upright, by another camera too."""
    rng = np.random.default_rng((seed, 1 << 20))
    upright = (max(size[1] // 2, 16), max(size[0] // 2, 16))
    for k in range(handling.strangers):
        clock = local_time(frames[0].time_s - 3.0 * 3600.0 - 47.0 * k, plan.place.time_zone)
        other = k % 2 == 1
        shot = Shot(
            clock=clock,
            gps_time=None if other else clock.astimezone(dt.UTC),
            latitude_deg=plan.place.latitude_deg,
            longitude_deg=plan.place.longitude_deg,
            altitude_m=plan.place.elevation_m,
            shutter_s=1 / 500,
            iso=100.0,
            f_number=2.8,
            focal_equivalent_mm=28.0,
            size=upright,
            maker="Tern" if other else "Skarv",
            model="P1" if other else "S2",
        )
        name = f"{'IMG' if other else 'DWK'}_{FIRST_NUMBER - 1 - k:04d}.JPG"
        shade = rng.integers(60, 200, (upright[1] // 8 + 1, upright[0] // 8 + 1, 3), np.uint8)
        picture = np.kron(shade, np.ones((8, 8, 1), np.uint8))[: upright[1], : upright[0]]
        (folder / name).write_bytes(with_exif(_jpeg(picture), exif_of(shot)))
        yield name


def _write_broken(
    folder: Path, handling: Handling, frames: tuple[TrueFrame, ...], seed: int
) -> Iterator[str]:
    whole = (folder / next(frame.file for frame in frames if not frame.torn)).read_bytes()
    for k, kind in enumerate(handling.broken):
        name = f"DWK_{FIRST_NUMBER + len(frames) + k:04d}.JPG"
        (folder / name).write_bytes(broken_file(kind, whole, (seed, k)))
        yield name
