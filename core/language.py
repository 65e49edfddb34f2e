"""Texts in the pilot's language.

Every text that a pilot reads goes through `say`. It stands in the code in English; the other
languages stand in `assets/languages`, one catalogue each (GNU gettext). A catalogue is chosen
before anything else is imported, and for the whole run: texts that do not change are looked up
once, where they stand.
"""

from __future__ import annotations

from functools import cache
from gettext import GNUTranslations
from pathlib import Path

from core.manner import OWN_LANGUAGE, manner

_HERE = Path(__file__).resolve().parent


def say(text: str, /, **values: object) -> str:
    """Return a text in the pilot's language, with values in its {places}."""
    told = _catalogue(manner().language)
    translated = text if told is None else told.gettext(text)
    return translated.format(**values) if values else translated


def say_as(meaning: str, text: str, /, **values: object) -> str:
    """Return a text whose translation hangs on what it means there: 'left', the side."""
    told = _catalogue(manner().language)
    translated = text if told is None else told.pgettext(meaning, text)
    return translated.format(**values) if values else translated


def say_count(one: str, many: str, count: int, /, **values: object) -> str:
    """Return the text for a count, which has its place {count} among the others."""
    told = _catalogue(manner().language)
    plain = one if count == 1 else many
    translated = plain if told is None else told.ngettext(one, many, count)
    return translated.format(count=count, **values)


def say_typed(words: str, /) -> tuple[str, ...]:
    """What may be typed for one thing, in English and the pilot's language: 'yes, on, true'.

    Small letters; words are parted by commas, in the catalogue too.
    """
    told = _catalogue(manner().language)
    own = words if told is None else told.gettext(words)
    return tuple(dict.fromkeys(f"{words}, {own}".casefold().split(", ")))


def languages() -> tuple[str, ...]:
    """The languages that the program speaks, its own first."""
    return (OWN_LANGUAGE, *sorted(path.stem for path in _folder().glob("*.mo")))


def language_name(language: str) -> str:
    """What a language calls itself: 'Deutsch' (CLDR, languages)."""
    if language == OWN_LANGUAGE:
        return "English"
    from babel import Locale

    return (Locale.parse(language).get_display_name() or language).capitalize()


def decimal_mark() -> str:
    """What parts a whole number from its decimals in the pilot's language."""
    return _decimal_mark(manner().language)


@cache
def _decimal_mark(language: str) -> str:
    """The mark of a language (CLDR, numbers, decimal)."""
    if language == OWN_LANGUAGE:
        return "."
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(language)


def region_of(language: str, territory: str) -> str:
    """The region of the CLDR that writes dates in a language for a territory: "en_DE".

    Where the CLDR has none, the language as most of the world writes it.
    """
    from babel.localedata import exists

    regions = (f"{language}_{territory}", f"{language}_001", language)
    return next(filter(exists, regions), "")


@cache
def _catalogue(language: str) -> GNUTranslations | None:
    """The catalogue of a language; None for the language of the texts themselves."""
    if language == OWN_LANGUAGE:
        return None
    with (_folder() / f"{language}.mo").open("rb") as file:
        return GNUTranslations(file)


def _folder() -> Path:
    packed = _HERE / "_assets" / "languages"
    return packed if packed.exists() else _HERE.parent / "assets" / "languages"
