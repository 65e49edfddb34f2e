"""What other programs can read: every export by its name, and writing one to a file."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal, get_args

from core.edit import PlanError
from core.export.calendar import calendar
from core.export.frames import frames_csv, frames_json
from core.export.geojson import geojson
from core.export.gpx import gpx
from core.export.kml import kml
from core.forecast import Forecast
from core.language import say
from core.outlook import Outlook
from core.plan import Plan
from core.planfile import SUFFIX
from core.safewrite import check_replaceable, file_name, unwritten_text, write_whole
from core.sentences import shown
from core.words import listed

ExportName = Literal["ics", "csv", "json", "gpx", "kml", "geojson"]
EXPORT_NAMES: Final[tuple[ExportName, ...]] = get_args(ExportName)


@dataclass(frozen=True)
class Export:
    """A format: what it is called in a list, and what makes it of a plan's forecast.

    The last argument is when the file is made, UTC seconds.
    """

    title: str
    content: Callable[[Plan, Forecast, float], bytes]


def _of_outlook(
    content: Callable[[Plan, Outlook, float], bytes],
) -> Callable[[Plan, Forecast, float], bytes]:
    return lambda plan, seen, made_s: content(plan, seen.outlook, made_s)


EXPORTS: Final[dict[ExportName, Export]] = {
    "ics": Export(say("Calendar with alarms"), _of_outlook(calendar)),
    "csv": Export(say("Table of frames"), frames_csv),
    "json": Export(say("Forecast and frames as JSON"), frames_json),
    "gpx": Export(say("Place and path as GPX 1.1"), _of_outlook(gpx)),
    "kml": Export(say("Place and path as KML 2.3"), _of_outlook(kml)),
    "geojson": Export(say("Place and path as GeoJSON"), _of_outlook(geojson)),
}


def export_named(name: str) -> ExportName | None:
    """The export of a name or of a file's suffix, None where there is none."""
    plain = name.removeprefix(".").lower()
    return next((known for known in EXPORT_NAMES if known == plain), None)


def export_for(path: Path) -> ExportName:
    """The export that a file's name asks for by its end.

    Raises
    ------
    PlanError
        When the name ends in none of them.
    """
    name = export_named(path.suffix)
    if name is None:
        ends = listed(tuple(f".{known}" for known in EXPORT_NAMES))
        named = shown(file_name(path))
        raise PlanError(
            say(
                "The file to write is {name}; a name that ends in {ends} was expected.",
                name=named,
                ends=ends,
            )
        )
    return name


def check_new(path: Path, way: str) -> None:
    """Refuse a file that is there and holds something.

    Parameters
    ----------
    way
        How to write it nevertheless: 'give another name'.

    Raises
    ------
    PlanError
        With one sentence that ends in the way.
    """
    holds = False
    # What cannot be looked at is told when it is written.
    with suppress(OSError, ValueError):
        holds = path.is_file() and path.stat().st_size > 0
    if holds:
        name = shown(file_name(path))
        raise PlanError(
            say("{name} is there already and stays as it is; {way}.", name=name, way=way)
        )


def write_to(path: Path, content: bytes) -> None:
    """Write an export whole or not at all; a file of the name is written over.

    Raises
    ------
    PlanError
        With one sentence, when it cannot be written, or the name is a plan's, a device's or
        that of a protected file; what was there is untouched.
    """
    if path.suffix.lower() == SUFFIX:
        raise PlanError(
            say("{file} is a name for a plan; give another end.", file=shown(file_name(path)))
        )
    try:
        check_replaceable(path)
        write_whole(path, content)
    except (OSError, ValueError) as refusal:
        raise PlanError(_unwritten(path, refusal)) from None


def _unwritten(path: Path, refusal: OSError | ValueError) -> str:
    name, why = shown(file_name(path)), unwritten_text(refusal)
    if isinstance(refusal, FileNotFoundError | NotADirectoryError):
        # What is said of a folder that is missing ends in the way out already.
        return say("{file} was not written: {why}.", file=name, why=why)
    return say("{file} was not written: {why}; choose another folder or name.", file=name, why=why)
