"""Renew the catalogues of the other languages: `python -m tests.catalogues`.

Takes every text of the program out of its source, adds the new ones to each catalogue in
`assets/languages`, drops those that are gone, and compiles what the program reads. New texts are
empty until someone translates them; a test asks for every one.
"""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "assets" / "languages"
#: Where the texts stand in each function's arguments.
_KEYWORDS = {"say": None, "say_as": ((1, "c"), 2), "say_count": (1, 2), "say_typed": None}
_SOURCES = [("**.py", "python")]
_FIRST = dt.datetime(2026, 11, 26, tzinfo=dt.UTC)


def texts() -> Catalog:
    """Every text of the program, with the files that it stands in."""
    found = Catalog(project="Duskwright", creation_date=_FIRST, revision_date=_FIRST)
    for part in ("core", "app"):
        for name, line, ids, _comments, context in extract_from_dir(
            ROOT / part, _SOURCES, keywords=_KEYWORDS
        ):
            found.add(ids, locations=[(f"{part}/{name}", line)], context=context)
    return found


def languages() -> Iterator[Path]:
    """The catalogue of every language."""
    yield from sorted(FOLDER.glob("*.po"))


def catalogue(path: Path) -> Catalog:
    """A catalogue as it stands."""
    with path.open("rb") as file:
        return read_po(file, locale=path.stem)


def renewed(path: Path) -> Catalog:
    """A catalogue with the texts that the program has now."""
    told = catalogue(path)
    told.update(texts(), no_fuzzy_matching=True)
    told.revision_date = _FIRST  # else the file would change with every run
    told.obsolete.clear()
    return told


def compiled(told: Catalog) -> bytes:
    """What the program reads."""
    out = BytesIO()
    write_mo(out, told)
    return out.getvalue()


def untranslated(told: Catalog) -> list[Message]:
    """The texts that still stand in English alone."""
    return [one for one in told if one.id and (not one.string or not all(_forms(one)))]


def _forms(message: Message) -> tuple[str, ...]:
    string = message.string or ""
    return (string,) if isinstance(string, str) else tuple(string)


def main() -> int:
    """Renew every catalogue; 1 where texts are left to translate."""
    missing = 0
    for path in languages():
        told = renewed(path)
        with path.open("wb") as file:
            # Without lines: they would change with every edit of a file.
            write_po(file, told, width=100, sort_output=True, include_lineno=False)
        path.with_suffix(".mo").write_bytes(compiled(told))
        missing += len(untranslated(told))
        print(f"{path.name}: {len(told)} texts, {len(untranslated(told))} untranslated")
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
