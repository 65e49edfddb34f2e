"""Real photographs read without a fault, and their tags as another reader tells them."""

from __future__ import annotations

import datetime as dt

import pytest

from core.review.stills import Still, files_of, opened, pixels, read_still
from tests.dusk import DATA, rows

FOLDER = DATA / "photographs"


@pytest.mark.parametrize("row", rows("photographs.csv"), ids=lambda row: row["file"])
def test_tags_are_those_that_another_reader_finds(row: dict[str, str]) -> None:
    # Photographs of piexif 1.1.3; tags by ExifRead 3.5.1.
    still = read_still(FOLDER / row["file"])
    assert isinstance(still, Still)
    told = dt.datetime.strptime(row["time"], "%Y:%m:%d %H:%M:%S").replace(tzinfo=dt.UTC)
    assert still.exif.clock_s is not None
    assert int(still.exif.clock_s) == told.timestamp()
    for name in ("exposure_s", "f_number", "iso"):
        value = getattr(still.exif, name)
        assert value == (pytest.approx(float(row[name])) if row[name] else None)


def test_every_photograph_is_read_and_its_picture_too() -> None:
    read = [read_still(path) for path in files_of(FOLDER)]
    stills = [one for one in read if isinstance(one, Still)]
    assert [one.file for one in read if not isinstance(one, Still)] == ["ORIGIN.txt"]
    assert len(stills) == 8
    for still in stills:
        with opened(FOLDER / still.file) as image:
            shown, scale = pixels(image)
        assert shown.shape == (still.height_px // scale, still.width_px // scale, 3)
