"""The pilot's manner of writing: kept from one run to the next, the desktop's until chosen.

It is kept beside the settings in a file that is read without Qt: the language must be known
before the texts are imported, and Qt comes after them.
"""

from __future__ import annotations

import contextlib
import locale
import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

import msgspec
from msgspec.structs import replace
from platformdirs import user_config_path

from core.language import languages, region_of
from core.manner import OWN_LANGUAGE, Hours, Manner, System, adopt, manner
from core.safewrite import write_whole

#: Dates in plain words, day first, or as the region writes them.
Dates = Literal["plain", "region"]


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """What a pilot chose; None follows the desktop."""

    units: System | None = None
    hours: Hours | None = None
    dates: Dates | None = None
    language: str | None = None


class Desktop(msgspec.Struct, frozen=True):
    """What the desktop tells of its user: language and territory as "de_AT", "" for none."""

    name: str = ""
    is_imperial: bool = False
    is_twelve_hours: bool = False


def choices() -> Choices:
    """What the pilot chose; nothing where nothing usable is kept."""
    with contextlib.suppress(OSError, msgspec.MsgspecError):
        return msgspec.json.decode(_file().read_bytes(), type=Choices)
    return Choices()


def choose(changed: Choices, here: Desktop) -> None:
    """Keep what the pilot chose and write so from now on.

    Another language comes with the next start: texts that do not change are looked up once.

    Raises
    ------
    OSError
        Where it could not be kept; it holds for this run then.
    """
    adopt(manner_of(replace(changed, language=manner().language), here))
    path = _file()
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, msgspec.json.format(msgspec.json.encode(changed)))


def adopt_language() -> None:
    """Speak the pilot's language; to be called before any text is imported."""
    language = language_of(choices(), told_by_environment(os.environ))
    if language != OWN_LANGUAGE:
        adopt(manner_of(Choices(language=language), Desktop()))


def adopt_desktop(here: Desktop) -> None:
    """Write in the pilot's manner, in the language that is spoken already."""
    adopt(manner_of(replace(choices(), language=manner().language), here))


def told_by_environment(environ: Mapping[str, str]) -> str:
    """The language and territory that a process is run in, "de_AT"; "" for none (POSIX)."""
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        if environ.get(name):
            told = re.split(r"[.@]", environ[name])[0]
            return "" if told in ("C", "POSIX") else told
    with contextlib.suppress(ValueError):
        return locale.getlocale()[0] or ""
    return ""


def language_of(chosen: Choices, desktop: str) -> str:
    """The language to speak: the one chosen or the desktop's, if there is a catalogue of it."""
    wanted = chosen.language or desktop.partition("_")[0].casefold()
    return wanted if wanted in languages() else OWN_LANGUAGE


def manner_of(chosen: Choices, here: Desktop) -> Manner:
    """The manner of a pilot's choices on a desktop."""
    language = language_of(chosen, here.name)
    follows = bool(here.name) if chosen.dates is None else chosen.dates == "region"
    plain = language == OWN_LANGUAGE and not follows
    return Manner(
        units=chosen.units or ("imperial" if here.is_imperial else "metric"),
        hours=chosen.hours or ("12" if here.is_twelve_hours else "24"),
        language=language,
        dates="" if plain else region_of(language, here.name.partition("_")[2]),
    )


def _file() -> Path:
    return user_config_path("duskwright", appauthor=False) / "manner.json"
