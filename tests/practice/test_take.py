"""What a practice take holds can be read back from its files by plain means.

Nothing here uses the program's own way to review a take: files are read by an independent
reader of Exif, pictures by the inverse of IEC 61966-2-1 and by means over a patch.
"""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from pathlib import Path
from typing import Any

import exifread
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from tests.practice.plans import plan_of
from tests.practice.take import PracticeTake, write_take
from tests.practice.truth import Change, Handling, Lasting, Tonight, Truth

#: A camera that stores what sRGB stores, as bright in its corners as in its middle.
SRGB = Lasting(highlight_stops=float(np.log2(1.0 / 0.18)), curve="plain", vignette_stops=0.0)
NOISE_STOPS = 0.05

Picture = NDArray[np.float64]


def linear(path: Path) -> Picture:
    """Luminance over mid-grey's, by IEC 61966-2-1:1999 and the weights of Rec. 709."""
    stored = np.asarray(Image.open(path), dtype=float) / 255.0
    light = np.where(stored <= 0.04045, stored / 12.92, ((stored + 0.055) / 1.055) ** 2.4)
    return np.asarray(light @ [0.2126, 0.7152, 0.0722] / 0.18)


def stops(folder: Path, take: PracticeTake, part: slice = slice(None)) -> NDArray[np.float64]:
    """Mean of some rows of each frame, in stops from mid-grey."""
    return np.array([np.log2(linear(folder / one.file)[part].mean()) for one in take.frames])


def tags_of(path: Path) -> dict[str, Any]:
    """All tags by an independent reader, as plain values."""
    with path.open("rb") as file:
        return {name: tag.values for name, tag in exifread.process_file(file).items()}


def camera_clock(tags: dict[str, Any]) -> dt.datetime:
    """When a still says that it was taken."""
    text = f"{tags['EXIF DateTimeOriginal']}.{tags['EXIF SubSecTimeOriginal']}"
    return dt.datetime.strptime(
        text + str(tags["EXIF OffsetTimeOriginal"]), "%Y:%m:%d %H:%M:%S.%f%z"
    )


def folder_in(parent: Path, name: str) -> Path:
    folder = parent / name
    folder.mkdir()
    return folder


def test_exif_tells_time_settings_and_place_to_another_reader(tmp_path: Path) -> None:
    plan = plan_of(place__longitude_deg=-5.6, place__time_zone="Atlantic/Faroe")
    take = write_take(tmp_path, plan, Truth(), 1, (160, 120))
    for frame in take.frames:
        tags = tags_of(tmp_path / frame.file)
        assert camera_clock(tags).timestamp() == pytest.approx(frame.time_s, abs=0.0015)
        assert float(tags["EXIF ExposureTime"][0]) == frame.shoot.shutter_s
        assert tags["EXIF ISOSpeedRatings"] == [100]
        assert float(tags["EXIF FNumber"][0]) == 1.8
        assert (tags["EXIF ExifImageWidth"], tags["EXIF ExifImageLength"]) == ([160], [120])
        utc = dt.datetime.fromtimestamp(frame.time_s, dt.UTC)
        assert [int(part) for part in tags["GPS GPSTimeStamp"]] == [
            utc.hour,
            utc.minute,
            utc.second,
        ]
        assert tags["GPS GPSDate"] == f"{utc:%Y:%m:%d}"
        for name, ref, degrees in (("Latitude", "N", 62.2), ("Longitude", "W", 5.6)):
            parts = [float(part) for part in tags[f"GPS GPS{name}"]]
            assert tags[f"GPS GPS{name}Ref"] == ref
            assert parts[0] + parts[1] / 60.0 + parts[2] / 3600.0 == pytest.approx(
                degrees, abs=1e-5
            )
        assert float(tags["GPS GPSAltitude"][0]) == pytest.approx(84.0)


def test_the_same_seed_gives_the_same_bytes(tmp_path: Path) -> None:
    plan, truth = plan_of(3), Truth(handling=Handling(strangers=2, broken=("bytes",)))
    folders = [folder_in(tmp_path, name) for name in ("first", "again", "other")]
    for folder, seed in zip(folders, (1, 1, 2), strict=True):
        write_take(folder, plan, truth, seed, (160, 120))
    first, again, other = (
        {path.name: path.read_bytes() for path in sorted(folder.iterdir())} for folder in folders
    )
    assert first == again
    assert all(first[name] != other[name] for name in first)


@pytest.mark.parametrize("seed", [1, 2])
def test_land_shows_as_bright_as_it_was(tmp_path: Path, seed: int) -> None:
    truth = Truth(Lasting(level_stops=-0.6, ground_seed=seed, **_camera(SRGB)))
    take = write_take(tmp_path, plan_of(), truth, seed)
    true = np.array([one.land_log2 - one.mid_log2 for one in take.frames])
    # Each picture shows its own piece of a ground that is patchy.
    assert stops(tmp_path, take) == pytest.approx(true, abs=0.2)


def _camera(lasting: Lasting) -> dict[str, Any]:
    return {name: getattr(lasting, name) for name in ("highlight_stops", "curve", "vignette_stops")}


@pytest.mark.parametrize(
    "moved",
    [
        Truth(Lasting(level_stops=0.5, **_camera(SRGB))),
        Truth(SRGB, Tonight(weather_stops=-0.8)),
        Truth(SRGB, Tonight(haze_sigmas=1.5)),
    ],
    ids=["level", "weather", "haze"],
)
def test_a_patch_moves_by_the_night_s_offset(tmp_path: Path, moved: Truth) -> None:
    plan, shown, true = plan_of(2), [], []
    for name, truth in (("plain", Truth(SRGB)), ("moved", moved)):
        folder = folder_in(tmp_path, name)
        take = write_take(folder, plan, truth, 1)
        shown.append(stops(folder, take))
        true.append(take.frames[0].land_log2)
    assert abs(true[1] - true[0]) > 0.05
    assert shown[1] - shown[0] == pytest.approx(true[1] - true[0], abs=0.02)


def test_lamplight_lies_on_its_share_of_the_ground(tmp_path: Path) -> None:
    lit, lamps = 0.3, 0.8
    shown, plans = [], []
    for luminance in (0.0, lamps):
        plans.append(
            plan_of(
                2,
                ground__lamps__luminance_cd_m2=luminance,
                ground__lamps__lit_share=lit,
                shoots__A__start_after_event_min=75.0,
                shoots__A__shutter_s=0.5,
            )
        )
        folder = folder_in(tmp_path, str(luminance))
        truth = Truth(Lasting(lamps_stops=-0.5, **_camera(SRGB)))
        take = write_take(folder, plans[-1], truth, 1)
        shown.append([linear(folder / one.file) for one in take.frames])
    mid = 2.0 ** take.frames[0].mid_log2
    lamplight = (np.array(shown[1]) - np.array(shown[0])) * mid
    # Where the sky's light is as bright as the lamps', the land's own pattern hides the edge.
    assert (lamplight > 0.25 * lamps * 2.0**-0.5).mean() == pytest.approx(lit, abs=0.06)
    assert lamplight.mean() == pytest.approx(lit * lamps * 2.0**-0.5, rel=0.15)


def test_the_sky_is_as_bright_on_the_whole_as_it_was(tmp_path: Path) -> None:
    truth = Truth(SRGB, Tonight(sky_stops=-0.7, glow_stops=0.8, cloud_stops=0.1))
    plan = plan_of(2, pitch_deg=0.0, shoots__A__shutter_s=0.2)
    take = write_take(tmp_path, plan, truth, 1)
    true = np.array([one.sky_log2 - one.mid_log2 for one in take.frames])
    # Half of the frame is above the horizon. A colour that clips would take from the mean.
    assert true.max() < 1.5
    assert stops(tmp_path, take, slice(0, 149)) == pytest.approx(true, abs=NOISE_STOPS)


def test_corners_are_darker_by_the_vignette(tmp_path: Path) -> None:
    plan, shown = plan_of(1), []
    for loss in (0.0, 0.8):
        folder = folder_in(tmp_path, str(loss))
        lasting = Lasting(**(_camera(SRGB) | {"vignette_stops": loss}))
        take = write_take(folder, plan, Truth(lasting), 1)
        shown.append(linear(folder / take.frames[0].file))
    for corner in (np.s_[:12, :16], np.s_[-12:, -16:]):
        fall = np.log2(shown[0][corner].mean() / shown[1][corner].mean())
        assert fall == pytest.approx(0.8 * 0.96**2, abs=0.1)
    middle = np.s_[140:160, 190:210]
    assert shown[1][middle].mean() == pytest.approx(shown[0][middle].mean(), rel=0.02)


def test_flicker_shows_frame_by_frame(tmp_path: Path) -> None:
    truth = Truth(SRGB, handling=Handling(flicker_stops=0.08))
    take = write_take(tmp_path, plan_of(12), truth, 1)
    light = np.array([one.land_log2 - one.mid_log2 for one in take.frames])
    flicker = np.array([one.flicker_stops for one in take.frames])
    left = stops(tmp_path, take) - light
    assert left - left.mean() == pytest.approx(flicker - flicker.mean(), abs=0.01)
    assert flicker.std() == pytest.approx(0.08, rel=0.5)


def shift_by_gradients(before: Picture, after: Picture) -> tuple[float, float]:
    """Shift of a picture, right and down: gradients, again and again (Lucas & Kanade 1981)."""
    inner = np.s_[8:-8, 8:-8]
    slopes = np.stack([np.gradient(before, axis=axis)[inner].ravel() for axis in (1, 0)], -1)
    shift = np.zeros(2)
    for _ in range(8):
        left = (before - moved_back(after, shift))[inner]
        shift += np.linalg.lstsq(slopes, (left - left.mean()).ravel(), rcond=None)[0]
    return float(shift[0]), float(shift[1])


def moved_back(picture: Picture, shift: NDArray[np.float64]) -> Picture:
    """A picture shifted left and up, by the shift theorem of the Fourier transform."""
    rows, cols = (np.fft.fftfreq(count) for count in picture.shape)
    turn = np.exp(2j * np.pi * (cols[None, :] * shift[0] + rows[:, None] * shift[1]))
    return np.asarray(np.fft.ifft2(np.fft.fft2(picture) * turn).real)


def test_the_ground_moves_as_the_true_aim_says(tmp_path: Path) -> None:
    # Straight down the whole picture moves as one.
    plan = plan_of(8, pitch_deg=-90.0)
    truth = Truth(SRGB, handling=Handling(drift_m_min=(1.2, -0.8)))
    take = write_take(tmp_path, plan, truth, 1)
    pictures = [np.log2(linear(tmp_path / one.file)[50:250, 50:350]) for one in take.frames]
    seen = [shift_by_gradients(a, b) for a, b in pairwise(pictures)]
    true = take.shift_px()
    assert np.abs(true).max() > 0.1
    assert np.array(seen) == pytest.approx(true, abs=0.03)
    assert take.departure_px()[-1] == pytest.approx(true.sum(axis=0), abs=0.02)


def test_a_patch_of_the_ground_moves_as_the_camera_aims_amiss(tmp_path: Path) -> None:
    plan = plan_of(8, pitch_deg=-35.0)
    truth = Truth(SRGB, handling=Handling(wander_px=1.0, shake_px=0.2, drift_m_min=(0.3, 0.3)))
    take = write_take(tmp_path, plan, truth, 1)
    patch = np.s_[200:280, 160:240]
    pictures = [np.log2(linear(tmp_path / one.file)[patch]) for one in take.frames]
    seen = [shift_by_gradients(a, b) for a, b in pairwise(pictures)]
    assert np.array(seen) == pytest.approx(take.shift_px((0.5, 0.8)), abs=0.06)


def test_repeated_pictures_have_times_of_their_own(tmp_path: Path) -> None:
    take = write_take(tmp_path, plan_of(4), Truth(), 1, (64, 48), pictures=2)
    times = [camera_clock(tags_of(tmp_path / one.file)).timestamp() for one in take.frames]
    assert times == pytest.approx([one.time_s for one in take.frames], abs=0.0015)
    pixels = [Image.open(tmp_path / one.file).tobytes() for one in take.frames]
    assert pixels[0] == pixels[2] != pixels[1] == pixels[3]


def test_aiming_faults_are_of_the_stated_size(tmp_path: Path) -> None:
    truth = Truth(handling=Handling(wander_px=2.0, shake_px=0.5))
    take = write_take(tmp_path, plan_of(150), truth, 1, (64, 48), pictures=1)
    departure, shift = take.departure_px((0.5, 0.5)), take.shift_px((0.5, 0.5))
    assert departure.std(axis=0) == pytest.approx(np.hypot(2.0, 0.5), rel=0.5)
    # Frame to frame: the quick fault twice, and what the slow one does in a frame.
    slow = 2.0 * np.sqrt(2.0 * (1.0 - np.exp(-1.0 / 15.0)))
    assert shift.std(axis=0) == pytest.approx(np.hypot(0.5 * np.sqrt(2.0), slow), rel=0.2)


def test_missing_frames_leave_gaps_in_time_and_none_in_the_names(tmp_path: Path) -> None:
    truth = Truth(handling=Handling(missing=(2, 3), jitter_s=0.0, interval_error_s=0.05))
    take = write_take(tmp_path, plan_of(7), truth, 1, (64, 48))
    files = sorted(path.name for path in tmp_path.iterdir())
    assert (
        files == [f"DWK_{101 + k:04d}.JPG" for k in range(5)] == [one.file for one in take.frames]
    )
    times = [camera_clock(tags_of(tmp_path / name)).timestamp() for name in files]
    assert np.diff(times) == pytest.approx([3.05, 9.15, 3.05, 3.05], abs=0.002)


def test_a_wrong_camera_clock_shows_against_gps(tmp_path: Path) -> None:
    truth = Truth(handling=Handling(clock_error_s=-37.25))
    take = write_take(tmp_path, plan_of(2), truth, 1, (64, 48))
    for frame in take.frames:
        tags = tags_of(tmp_path / frame.file)
        clock = "".join(f"{int(part):02d}" for part in tags["GPS GPSTimeStamp"])
        gps = dt.datetime.strptime(f"{tags['GPS GPSDate']} {clock}+0000", "%Y:%m:%d %H%M%S%z")
        assert -37.25 <= (camera_clock(tags) - gps).total_seconds() + 0.002 < -36.2
        assert camera_clock(tags).timestamp() == pytest.approx(frame.time_s - 37.25, abs=0.002)


def test_changed_settings_are_told_and_shown(tmp_path: Path) -> None:
    truth = Truth(SRGB, handling=Handling(changes=(Change(2, iso=200.0, shutter_s=0.25),)))
    take = write_take(tmp_path, plan_of(4), truth, 1)
    told = [tags_of(tmp_path / one.file)["EXIF ISOSpeedRatings"][0] for one in take.frames]
    assert told == [100, 100, 200, 200]
    step = np.diff(stops(tmp_path, take))[1]
    # A second to a quarter is two stops down, ISO 100 to 200 one up.
    assert step == pytest.approx(-1.0, abs=NOISE_STOPS)


def test_strangers_and_torn_frames_lie_among_the_rest(tmp_path: Path) -> None:
    truth = Truth(handling=Handling(strangers=2, torn=(1,)))
    take = write_take(tmp_path, plan_of(3), truth, 1, (160, 120))
    assert [one.torn for one in take.frames] == [False, True, False]
    with Image.open(tmp_path / take.frames[1].file) as torn, pytest.raises(OSError, match="trunc"):
        torn.load()
    assert camera_clock(tags_of(tmp_path / take.frames[1].file)) is not None
    assert len(take.strangers) == 2
    for name in take.strangers:
        with Image.open(tmp_path / name) as stranger:
            assert stranger.size != take.size
        earlier_s = take.frames[0].time_s - camera_clock(tags_of(tmp_path / name)).timestamp()
        assert earlier_s > 3600.0


def test_the_skyline_of_the_place_stands_before_the_sky(tmp_path: Path) -> None:
    ridge = [[0.0, 8.0], [180.0, 8.0]]
    plan = plan_of(1, pitch_deg=0.0, place__skyline=ridge, shoots__A__shutter_s=0.2)
    take = write_take(tmp_path, plan, Truth(SRGB, Tonight(glow_stops=0.3, cloud_stops=0.0)), 1)
    column = linear(tmp_path / take.frames[0].file)[:, 195:205].mean(axis=1)
    edge = int(np.abs(np.diff(column)).argmax()) + 1
    # 24 mm equivalent at 4:3: half the height is 0.6 × 21.633 / 24 (tangent).
    assert edge == pytest.approx(
        150.0 * (1.0 - np.tan(np.radians(8.0)) / (0.6 * 21.633 / 24)), abs=1.5
    )


def test_what_stands_to_the_east_of_the_heading_shows_to_the_right(tmp_path: Path) -> None:
    peak = [[67.0, 0.0], [87.0, 12.0], [107.0, 0.0], [200.0, 0.0]]
    plan = plan_of(1, pitch_deg=0.0, place__skyline=peak, shoots__A__shutter_s=0.2)
    take = write_take(tmp_path, plan, Truth(SRGB, Tonight(glow_stops=0.3, cloud_stops=0.0)), 1)
    picture = linear(tmp_path / take.frames[0].file)[:150]
    dark = (picture < 0.5 * np.median(picture[:40])).sum(axis=0)
    # Heading 77°: the peak is 10° to the right; half the width is 0.8 × 21.633 / 24 (tangent).
    right = 200.0 * (1.0 + np.tan(np.radians(10.0)) / (0.8 * 21.633 / 24.0))
    assert int(np.convolve(dark, np.ones(9), "same").argmax()) == pytest.approx(right, abs=3.0)
